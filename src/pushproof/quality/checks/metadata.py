"""Metadata that a report or an exchange format asks for."""

from __future__ import annotations

from collections.abc import Iterator

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.model.sounding import WaterOrigin
from pushproof.quality.checks.registry import check


@check(
    "metadata",
    "what a report must say",
    "content list of the Dutch register (verified); ISO and ASTM extras (from memory)",
)
def metadata(profile: Profile) -> Iterator[Finding]:
    """Report what nobody stated."""
    sounding = profile.sounding
    cone, place = sounding.cone, sounding.location
    wanted = {
        "position": place.x is not None or place.latitude is not None,
        "coordinate system": place.crs is not None or place.latitude is not None,
        "level": place.level is not None,
        "vertical datum": place.datum is not None,
        "date": sounding.started is not None,
        "cone serial number": cone.serial is not None or cone.model is not None,
        "tip area": cone.tip_area is not None,
        "sleeve area": cone.sleeve_area is not None or not profile.series.measured("fs"),
        "net area ratio": profile.area_ratio is not None or not profile.series.measured("u2"),
        "standard": sounding.standard is not None,
        "reason for the end": sounding.stop_reason is not None,
        "water level": profile.water is not None
        and profile.water.origin is not WaterOrigin.ASSUMED,
    }
    lacking = [name for name, known in wanted.items() if not known]
    if lacking:
        yield Finding(
            "metadata-missing",
            Severity.INFO,
            f"not stated: {', '.join(lacking)}",
            "state what is known; registers refuse some of it missing",
        )
