"""The one bibliography: key to full reference. Every equation points into it.

Titles, volumes and pages of papers are from memory unless a check line in ``tests/checks`` says
that the place was seen.
"""

from __future__ import annotations

from types import MappingProxyType

REFERENCES = MappingProxyType(
    {
        "agaiby-mayne-2018": "Agaiby, S.S. & Mayne, P.W. (2018). Evaluating undrained "
        "rigidity index of clays from piezocone data. CPT'18, Delft.",
        "andrus-2007": "Andrus, R.D. et al. (2007). Predicting shear-wave velocity from cone "
        "penetration resistance. 4ICEGE, Thessaloniki, paper 1454.",
        "baldi-1986": "Baldi, G. et al. (1986). Interpretation of CPTs and CPTUs, 2nd part: "
        "drained penetration of sands. 4th International Geotechnical Seminar, Singapore, "
        "143-156.",
        "been-jefferies-1992": "Been, K. & Jefferies, M.G. (1992). Towards systematic CPT "
        "interpretation. Wroth Memorial Symposium, Oxford, 44-55.",
        "boulanger-idriss-2014": "Boulanger, R.W. & Idriss, I.M. (2014). CPT and SPT based "
        "liquefaction triggering procedures. Report UCD/CGM-14/01, University of California "
        "at Davis.",
        "astm-d7400": "ASTM D7400. Standard Test Methods for Downhole Seismic Testing.",
        "burns-mayne-1998": "Burns, S.E. & Mayne, P.W. (1998). Monotonic and dilatory pore- "
        "pressure decay during piezocone tests in clay. Canadian Geotechnical Journal 35(6), "
        "1063-1073.",
        "das-sobhan-9": "Das, B.M. & Sobhan, K. Principles of Geotechnical Engineering, 9th "
        "edition. Cengage Learning.",
        "en-1997-1": "EN 1997-1:2004. Eurocode 7: Geotechnical design - Part 1: General rules.",
        "en-1997-2": "EN 1997-2:2007. Eurocode 7: Geotechnical design - Part 2: Ground "
        "investigation and testing.",
        "gec-12": "Hannigan, P.J. et al. (2016). Design and Construction of Driven Pile "
        "Foundations. Geotechnical Engineering Circular No. 12, FHWA-NHI-16-009.",
        "gec-5": "Loehr, J.E. et al. (2017). Geotechnical Site Characterization. Geotechnical "
        "Engineering Circular No. 5, FHWA NHI-16-072.",
        "hegazy-mayne-1995": "Hegazy, Y.A. & Mayne, P.W. (1995). Statistical correlations "
        "between Vs and CPT data for different soil types. CPT'95, Linkoping, Vol. 2, "
        "173-178.",
        "hegazy-mayne-2006": "Hegazy, Y.A. & Mayne, P.W. (2006). A global statistical "
        "correlation between shear wave velocity and cone penetration data. GeoShanghai 2006, "
        "ASCE.",
        "idriss-boulanger-2008": "Idriss, I.M. & Boulanger, R.W. (2008). Soil liquefaction "
        "during earthquakes. Monograph MNO-12, Earthquake Engineering Research Institute.",
        "iso-22476-1-2012": "ISO 22476-1:2012, Geotechnical investigation and testing - Field "
        "testing - Part 1: Electrical cone and piezocone penetration test.",
        "jamiolkowski-1985": "Jamiolkowski, M. et al. (1985). New developments in field and "
        "laboratory testing of soils. 11th ICSMFE, San Francisco, Vol. 1, 57-153.",
        "jamiolkowski-2001": "Jamiolkowski, M., Lo Presti, D.C.F. & Manassero, M. (2001). "
        "Evaluation of relative density and shear strength of sands from CPT and DMT. Soil "
        "Behavior and Soft Ground Construction, ASCE GSP 119, 201-238.",
        "jefferies-davies-1993": "Jefferies, M.G. & Davies, M.P. (1993). Use of CPTu to "
        "estimate equivalent SPT N60. Geotechnical Testing Journal 16(4), 458-468.",
        "karlsrud-2005": "Karlsrud, K. et al. (2005). CPTU correlations for clays. 16th "
        "ICSMGE, Osaka, 693-702.",
        "keaveny-mitchell-1986": "Keaveny, J.M. & Mitchell, J.K. (1986). Strength of fine- "
        "grained soils using the piezocone. Use of In Situ Tests in Geotechnical Engineering, "
        "ASCE GSP 6, 668-685.",
        "kulhawy-mayne-1990": "Kulhawy, F.H. & Mayne, P.W. (1990). Manual on estimating soil "
        "properties for foundation design. Report EL-6800, EPRI.",
        "lengkeek-2018": "Lengkeek, H.J., de Greef, J. & Joosten, S. (2018). CPT based unit "
        "weight estimation extended to soft organic soils and peat. CPT'18, Delft.",
        "lengkeek-brinkgreve-2022": "Lengkeek, H.J. & Brinkgreve, R.B.J. (2022). CPT-based "
        "unit weight estimation extended to soft organic clays and peat: an update. CPT'22, "
        "Bologna.",
        "liao-whitman-1986": "Liao, S.S.C. & Whitman, R.V. (1986). Overburden correction "
        "factors for SPT in sand. Journal of Geotechnical Engineering 112(3), 373-377.",
        "lunne-1997": "Lunne, T., Robertson, P.K. & Powell, J.J.M. (1997). Cone penetration "
        "testing in geotechnical practice. Blackie.",
        "mayne-1991": "Mayne, P.W. (1991). Determination of OCR in clays by piezocone tests "
        "using cavity expansion and critical state concepts. Soils and Foundations 31(2), "
        "65-76.",
        "mayne-2006": "Mayne, P.W. (2006). In-situ test calibrations for evaluating soil "
        "parameters. Characterization and Engineering Properties of Natural Soils, Singapore.",
        "mayne-2007": "Mayne, P.W. (2007). Cone penetration testing. NCHRP Synthesis 368, "
        "Transportation Research Board.",
        "mayne-2009": "Mayne, P.W. et al. (2009). Geomaterial behavior and testing. 17th "
        "ICSMGE, Alexandria, Vol. 4, 2777-2872.",
        "mayne-2010": "Mayne, P.W., Peuchen, J. & Bouwmeester, D. (2010). Soil unit weight "
        "estimation from CPTs. CPT'10, Huntington Beach.",
        "mayne-2014": "Mayne, P.W. (2014). Interpretation of geotechnical parameters from "
        "seismic piezocone tests. Keynote 2, CPT'14, Las Vegas.",
        "mayne-agaiby-dasenbrock-2017": "Mayne, P.W., Agaiby, S.S. & Dasenbrock, D. (2017). "
        "Paper on the exponent of the yield stress by soil behaviour; title not seen.",
        "mayne-campanella-2005": "Mayne, P.W. & Campanella, R.G. (2005). Versatile site "
        "characterization by seismic piezocone. 16th ICSMGE, Osaka, Vol. 2, 721-724.",
        "mayne-peuchen-2012": "Mayne, P.W. & Peuchen, J. (2012). Unit weight trends with cone "
        "resistance in soft to firm clays. ISC'4, Porto de Galinhas.",
        "mayne-peuchen-2018": "Mayne, P.W. & Peuchen, J. (2018). Evaluation of CPTU Nkt cone "
        "factor for undrained strength of clays. CPT'18, Delft.",
        "mayne-rix-1995": "Mayne, P.W. & Rix, G.J. (1995). Correlations between shear wave "
        "velocity and cone tip resistance in natural clays. Soils and Foundations 35(2), "
        "107-110.",
        "parez-fauriel-1988": "Parez, L. & Fauriel, R. (1988). Le piezocone: ameliorations "
        "apportees a la reconnaissance de sols. Revue Francaise de Geotechnique 44, 13-27.",
        "plewes-1992": "Plewes, H.D., Davies, M.P. & Jefferies, M.G. (1992). CPT based "
        "screening procedure for evaluating liquefaction susceptibility. 45th Canadian "
        "Geotechnical Conference, Toronto.",
        "robertson-1986": "Robertson, P.K. et al. (1986). Use of piezometer cone data. In "
        "Situ '86, ASCE GSP 6, 1263-1280.",
        "robertson-1990": "Robertson, P.K. (1990). Soil classification using the cone "
        "penetration test. Canadian Geotechnical Journal 27(1), 151-158.",
        "robertson-1992": "Robertson, P.K. et al. (1992). Estimating coefficient of "
        "consolidation from piezocone tests. Canadian Geotechnical Journal 29(4), 539-550.",
        "robertson-2009": "Robertson, P.K. (2009). Interpretation of cone penetration tests - "
        "a unified approach. Canadian Geotechnical Journal 46(11), 1337-1355.",
        "robertson-2010": "Robertson, P.K. (2010). Soil behaviour type from the CPT: an "
        "update. CPT'10, Huntington Beach.",
        "robertson-2010-flow": "Robertson, P.K. (2010). Estimating in-situ soil permeability "
        "from CPT and CPTu. CPT'10, Huntington Beach.",
        "robertson-2010-state": "Robertson, P.K. (2010). Estimating in-situ state parameter "
        "and friction angle in sandy soils from CPT. CPT'10, Huntington Beach.",
        "robertson-2012": "Robertson, P.K. (2012). Interpretation of in-situ tests - some "
        "insights. J.K. Mitchell Lecture, ISC'4, Porto de Galinhas.",
        "robertson-2016": "Robertson, P.K. (2016). Cone penetration test (CPT)-based soil "
        "behaviour type (SBT) classification system - an update. Canadian Geotechnical "
        "Journal 53(12), 1910-1927.",
        "robertson-cabal-2010": "Robertson, P.K. & Cabal, K.L. (2010). Estimating soil unit "
        "weight from CPT. CPT'10, Huntington Beach.",
        "robertson-cabal-2015": "Robertson, P.K. & Cabal, K.L. (2015). Guide to cone "
        "penetration testing for geotechnical engineering, 6th edition.",
        "robertson-campanella-1983": "Robertson, P.K. & Campanella, R.G. (1983). "
        "Interpretation of cone penetration tests. Part I: sand. Canadian Geotechnical "
        "Journal 20(4), 718-733.",
        "robertson-wride-1998": "Robertson, P.K. & Wride, C.E. (1998). Evaluating cyclic "
        "liquefaction potential using the cone penetration test. Canadian Geotechnical "
        "Journal 35(3), 442-459.",
        "suzuki-1998": "Suzuki, Y., Sanematsu, T. & Tokimatsu, K. (1998). Correlation between "
        "SPT and seismic CPT. ISC'98, Atlanta.",
        "teh-houlsby-1991": "Teh, C.I. & Houlsby, G.T. (1991). An analytical study of the "
        "cone penetration test in clay. Geotechnique 41(1), 17-34.",
        "ufc-3-220-10": "UFC 3-220-10 (2022). Soil Mechanics (DM 7.1). US Department of Defense.",
        "ufc-3-220-20": "UFC 3-220-20. Foundations and Earth Structures. US Department of Defense.",
        "youd-2001": "Youd, T.L. et al. (2001). Liquefaction resistance of soils: summary "
        "report from the 1996 NCEER and 1998 NCEER/NSF workshops. Journal of Geotechnical and "
        "Geoenvironmental Engineering 127(10), 817-833.",
        "zhang-2002": "Zhang, G., Robertson, P.K. & Brachman, R.W.I. (2002). Estimating "
        "liquefaction-induced ground settlements from CPT for level ground. Canadian "
        "Geotechnical Journal 39(5), 1168-1180.",
    }
)
