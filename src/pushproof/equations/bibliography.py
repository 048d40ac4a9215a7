"""The one bibliography: key to full reference. Every equation points into it."""

from __future__ import annotations

from types import MappingProxyType

REFERENCES = MappingProxyType(
    {
        "das-sobhan-9": "Das, B.M. & Sobhan, K. Principles of Geotechnical Engineering, 9th "
        "edition. Cengage Learning.",
        "gec-5": "Loehr, J.E. et al. (2017). Geotechnical Site Characterization. Geotechnical "
        "Engineering Circular No. 5, FHWA NHI-16-072.",
        "gec-12": "Hannigan, P.J. et al. (2016). Design and Construction of Driven Pile "
        "Foundations. Geotechnical Engineering Circular No. 12, FHWA-NHI-16-009.",
        "iso-22476-1-2012": "ISO 22476-1:2012, Geotechnical investigation and testing - Field "
        "testing - Part 1: Electrical cone and piezocone penetration test.",
        "jefferies-davies-1993": "Jefferies, M.G. & Davies, M.P. (1993). Use of CPTu to estimate "
        "equivalent SPT N60. Geotechnical Testing Journal 16(4), 458-468.",
        "liao-whitman-1986": "Liao, S.S.C. & Whitman, R.V. (1986). Overburden correction factors "
        "for SPT in sand. Journal of Geotechnical Engineering 112(3), 373-377.",
        "mayne-2014": "Mayne, P.W. (2014). Interpretation of geotechnical parameters from seismic "
        "piezocone tests. Keynote 2, CPT'14, Las Vegas.",
        "robertson-1990": "Robertson, P.K. (1990). Soil classification using the cone penetration "
        "test. Canadian Geotechnical Journal 27(1), 151-158.",
        "robertson-2009": "Robertson, P.K. (2009). Interpretation of cone penetration tests - a "
        "unified approach. Canadian Geotechnical Journal 46(11), 1337-1355.",
        "robertson-2012": "Robertson, P.K. (2012). Interpretation of in-situ tests - some "
        "insights. J.K. Mitchell Lecture, ISC'4, Porto de Galinhas.",
        "robertson-cabal-2010": "Robertson, P.K. & Cabal, K.L. (2010). Estimating soil unit weight "
        "from CPT. CPT'10, Huntington Beach.",
        "robertson-wride-1998": "Robertson, P.K. & Wride, C.E. (1998). Evaluating cyclic "
        "liquefaction potential using the cone penetration test. Canadian Geotechnical Journal "
        "35(3), 442-459.",
        "ufc-3-220-10": "UFC 3-220-10 (2022). Soil Mechanics (DM 7.1). US Department of Defense.",
        "zhang-2002": "Zhang, G., Robertson, P.K. & Brachman, R.W.I. (2002). Estimating "
        "liquefaction-induced ground settlements from CPT for level ground. Canadian Geotechnical "
        "Journal 39(5), 1168-1180.",
    }
)
