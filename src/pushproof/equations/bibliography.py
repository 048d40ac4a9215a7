"""The one bibliography: key to full reference. Every equation points into it."""

from __future__ import annotations

from types import MappingProxyType

REFERENCES = MappingProxyType(
    {
        "iso-22476-1-2012": "ISO 22476-1:2012, Geotechnical investigation and testing - Field "
        "testing - Part 1: Electrical cone and piezocone penetration test.",
    }
)
