"""Made-up interpretations for the tests of the sheets. Names, firms and sites are invented.

The derived columns come from short formulas good enough to draw; nothing here checks them.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import numpy as np

from pushproof.model.equipment import Calibration, Cone, Rig, Rods
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Assumption, Interpretation, Profile
from pushproof.model.recipe import Recipe
from pushproof.model.series import Origin, Reason, Series
from pushproof.model.sounding import (
    Event,
    Location,
    RemovedLayer,
    Sounding,
    SourceFile,
    StopReason,
    Water,
    WaterOrigin,
)

SOFT_OVER_SAND = [
    (1.6, 3.0, 2.2, 0),
    (4.2, 0.9, 4.5, 0.35),
    (12.5, 0.55, 2.6, 0.6),
    (14.0, 2.5, 2.2, 0.15),
    (18.5, 9.0, 0.7, 0),
    (19.3, 1.1, 3.4, 0.5),
    (40.0, 17.0, 0.6, 0.0),
]
DEEP = [
    (3.0, 1.2, 2.4, 0.2),
    (22.0, 0.7, 3.0, 0.55),
    (35.0, 12.0, 0.8, 0),
    (48.0, 2.2, 2.8, 0.5),
    (51.0, 19.0, 0.7, 0),
    (80.0, 3.8, 3.4, 0.6),
]


def made(
    layers: list[tuple[float, float, float, float]] = SOFT_OVER_SAND,
    *,
    last: float = 29.84,
    step: float = 0.02,
    first: float = 0.0,
    water: float = 1.2,
    u2: bool = True,
    fs: bool = True,
    seed: int = 3,
    name: str = "LM-03",
    findings: tuple[Finding, ...] = (),
    assumptions: tuple[Assumption, ...] = (),
    sounding: dict[str, Any] | None = None,
) -> Interpretation:
    """Return an interpretation of layers (base [m], qt [MPa], Rf [%], excess u2 / qn)."""
    rng = np.random.default_rng(seed)
    z = np.arange(max(first, step), last + step / 2, step)
    base = np.array([layer[0] for layer in layers])
    k = np.minimum(np.searchsorted(base, z), len(layers) - 1)
    params = np.array(layers)[k]
    width = max(3, round(0.25 / step))
    smooth = np.hanning(width) / np.hanning(width).sum()

    def soft(values: np.ndarray) -> np.ndarray:
        pad = np.pad(values, width, mode="edge")
        return np.convolve(pad, smooth, mode="same")[width:-width]

    noise = soft(rng.normal(size=len(z))) * 2.5
    wave = np.convolve(rng.normal(size=len(z)), np.ones(40) / 40, mode="same") * 3
    sandy = params[:, 1] > 4
    qt = soft(params[:, 1] * 1000 * (1 + 0.012 * (z - z.mean())))
    qt = qt * np.exp(np.where(sandy, 0.16, 0.03) * (noise + 2.2 * wave)) + rng.normal(0, 3, len(z))
    rf = soft(params[:, 2]) * np.exp(0.1 * noise)
    u0 = np.maximum(0, (z - water) * 9.81)
    sigma = 18.0 * z
    excess = soft(params[:, 3]) * np.maximum(qt - sigma, 0)
    u = u0 + excess * (1 + 0.02 * noise) + np.where(sandy, rng.normal(0, 2, len(z)), 0)
    columns: dict[str, np.ndarray] = {
        "length": z.copy(),
        "depth": z,
        "time": np.cumsum(step / 0.02 * (1 + 0.05 * noise)),
        "qc": qt - (u * 0.2 if u2 else 0),
        "qt": qt,
        "tilt": 0.4 + 0.05 * z + 0.02 * np.cumsum(rng.normal(size=len(z))) * np.sqrt(step),
    }
    eff = np.maximum(sigma - u0, 1.0)
    columns |= {"gamma": np.full(len(z), 18.0), "sigma_v0": sigma, "u0": u0, "sigma_v0_eff": eff}
    if u2:
        columns["u2"] = u
    if fs:
        columns["fs"] = qt * rf / 100
        columns["Rf"] = rf
        qn = np.maximum(qt - sigma, 10.0)
        fr = 100 * columns["fs"] / qn
        n = np.full(len(z), 1.0)
        for _ in range(8):
            qtn = qn / 100 * (100 / eff) ** n
            ic = np.hypot(3.47 - np.log10(qtn), np.log10(fr) + 1.22)
            n = np.clip(0.381 * ic + 0.05 * eff / 100 - 0.15, 0.2, 1.0)
        zone = np.array([7, 6, 5, 4, 3, 2])[np.searchsorted([1.31, 2.05, 2.6, 2.95, 3.6], ic)]
        zone = np.where(qtn < 12 * np.exp(-1.4 * fr), 1, zone)
        columns |= {
            "qn": qn,
            "Fr": fr,
            "Qtn": qtn,
            "Ic": ic,
            "zone": zone.astype(float),
            "n": n,
            "N60": qt / 100 / 10 ** (1.1268 - 0.2817 * ic),
        }
    series = Series(columns)
    facts: dict[str, Any] = {
        "name": name,
        "readings": series,
        "location": Location(
            x=412350.2,
            y=5541210.7,
            crs="EPSG:25832",
            level=4.37,
            datum="DHHN2016",
            zero="ground level",
        ),
        "cone": Cone(
            serial="K10-218",
            tip_area=0.001,
            sleeve_area=0.015,
            area_ratio=0.8 if u2 else None,
            filters=("u2",) if u2 else (),
            filter_fluid="silicone oil" if u2 else None,
            tip_to_mid_sleeve=0.10,
            calibrations=(Calibration(channel="qc", date=date(2025, 2, 11)),),
        ),
        "rods": Rods(),
        "rig": Rig(name="20 t truck", thrust=200),
        "water": Water(level=water, origin=WaterOrigin.MEASURED),
        "standard": "ISO 22476-1:2012",
        "quality_class": "application class 2",
        "stop_reason": StopReason.TARGET_DEPTH,
        "started": datetime(2025, 6, 17, 9, 42, tzinfo=UTC),
        "project": "Lindmoor lock, east approach",
        "client": "Lindmoor Waterway Board",
        "operator": "J. Halvard",
        "place": "Lindmoor",
        "source": SourceFile(name="LM-03.gef", sha256="3f9a6c0d" * 8, size=241_334, format="gef"),
    }
    facts |= sounding or {}
    made_sounding = Sounding(**facts)
    profile = Profile(
        made_sounding,
        Recipe(),
        series,
        np.arange(len(z)),
        made_sounding.water,
        0.8 if u2 else None,
        np.full(len(z), not u2),
        False,
        assumptions,
        findings,
    )
    methods = {
        "gamma": "gamma_robertson_2010",
        "n": "n_robertson_2009",
        "Ic": "ic_robertson_2009",
        "N60": "n60_ratio_robertson_2012",
    }
    return Interpretation(
        profile, series, methods if fs else {"gamma": methods["gamma"]}, assumptions, findings
    )


def with_series(interpretation: Interpretation, series: Series) -> Interpretation:
    """Return the interpretation with another series all through."""
    profile = replace(interpretation.profile, series=series)
    return replace(interpretation, profile=profile, series=series)


def heavy() -> Interpretation:
    """A cordless sounding with many findings, gaps, pauses, rod changes and mixed origins."""
    rng = np.random.default_rng(11)
    found = [
        Finding(
            "zero-shift",
            Severity.CAUTION,
            "The zero of qc moved by 41 kPa.",
            "At most 35 kPa for class 1.",
            source="ISO 22476-1:2012 (from memory)",
        ),
        Finding(
            "no-calibration",
            Severity.INFO,
            "The calibration date of u2 is not stated.",
            "State it.",
        ),
    ]
    words = [
        "qc repeats the same value",
        "Tilt changes by 1.4 deg",
        "A spike in fs",
        "Readings lost on the link",
        "u2 does not respond at a layer change",
        "Rate outside 15 to 25 mm/s",
        "fs is negative",
    ]
    for k in range(26):
        top = float(np.round(rng.uniform(0.5, 24), 2))
        base = top + float(rng.choice([0, 0.3, 1.2]))
        severity = Severity(int(rng.choice([1, 2, 2, 3])))
        found.append(
            Finding(
                f"f-{k % 7}",
                severity,
                f"{words[k % 7]} over {base - top:.2f} m.",
                "A value from the sensor, not a repeat." if k % 2 else "",
                top,
                base,
                "common practice" if k % 3 else "",
            )
        )
    events = [Event("rod-change", float(d)) for d in range(1, 25)]
    events += [Event("pause", 7.0, duration=420.0), Event("dissipation", 11.02, duration=1860.0)]
    assumed = (
        Assumption(
            "water_level",
            "Water level 0.00 m below ground level (assumed)",
            0.0,
            "neither the file nor the recipe gives one",
        ),
        Assumption("area_ratio", "Net area ratio a = 0.80 (assumed)", 0.8, "not in the file"),
    )
    base = made(
        last=24.6,
        first=1.5,
        water=0.0,
        findings=tuple(found),
        assumptions=assumed,
        seed=8,
        name="LM-07",
        sounding={
            "predrilled": 1.5,
            "removed": (
                RemovedLayer(top=0, base=0.3, description="topsoil"),
                RemovedLayer(top=0.3, base=1.5, description="fill: sand, brick pieces"),
            ),
            "events": tuple(events),
            "stop_reason": StopReason.TILT,
            "water": Water(level=0.0, origin=WaterOrigin.ASSUMED),
        },
    )
    s = base.series
    z = s["depth"]
    origin = np.where((z > 6.1) & (z < 9.8), Origin.MEMORY, Origin.LIVE).astype(float)
    s = s.with_column("origin", origin)
    spike = s["qt"].copy()
    spike[np.searchsorted(z, [5.2, 9.1, 16.4])] = [61_000.0, 44_000.0, 72_500.0]
    s = s.with_column("qt", spike)
    tilt = s["tilt"] + np.where(z > 13.2, 1.6, 0)
    s = s.with_column("tilt", tilt)
    lost = (z > 10.2) & (z < 10.9)
    blank = (z > 15.0) & (z < 15.3)
    for key in ("qc", "qt", "fs", "Rf", "u2", "Ic", "zone", "N60"):
        s = s.blank(key, lost, Reason.LOST_ON_LINK).blank(key, blank, Reason.BLANKED)
    rate = np.full(len(z), 0.02)
    rate[(z > 3.0) & (z < 4.4)] = 0.011
    rate[(z > 17.0) & (z < 18.6)] = 0.031
    return with_series(base, s.with_column("rate", rate))
