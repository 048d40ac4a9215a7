"""The one bibliography: key to full reference. Every equation points into it."""

from __future__ import annotations

from types import MappingProxyType

REFERENCES = MappingProxyType(
    {
        "gec-5": "Loehr, J.E. et al. (2017). Geotechnical Site Characterization. Geotechnical "
        "Engineering Circular No. 5, FHWA NHI-16-072.",
        "gec-12": "Hannigan, P.J. et al. (2016). Design and Construction of Driven Pile "
        "Foundations. Geotechnical Engineering Circular No. 12, FHWA-NHI-16-009.",
        "iso-22476-1-2012": "ISO 22476-1:2012, Geotechnical investigation and testing - Field "
        "testing - Part 1: Electrical cone and piezocone penetration test.",
    }
)
