"""Soundings made at random, for property tests of formats: what a file may hold, small.

Values have few decimals, as instruments give them; every part of a sounding may be there or not.
Needs the library hypothesis.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
from hypothesis import strategies as st

from pushproof.model.equipment import Cone
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import (
    Dissipation,
    Location,
    RemovedLayer,
    Sounding,
    StopReason,
    Water,
    WaterOrigin,
    Zero,
)

WORDS = st.text(st.sampled_from("abcXYZ019 -'/(),.äé\""), min_size=1, max_size=20)
"""Words of people: with commas, quotes, brackets and letters outside ASCII."""
_CHANNELS = {
    "qc": (-500, 60_000, 1),
    "fs": (-50, 900, 1),
    "u1": (-90, 3000, 1),
    "u2": (-90, 3000, 2),
    "u3": (-90, 3000, 1),
    "tilt": (0, 20, 1),
    "tilt_x": (-15, 15, 2),
    "tilt_y": (-15, 15, 2),
    "temperature": (-5, 30, 1),
    "Rf": (0, 12, 2),
}


def _decimal(low: float, high: float, places: int) -> st.SearchStrategy[float]:
    scale = 10**places
    return st.integers(round(low * scale), round(high * scale)).map(lambda n: n / scale)


def _words() -> st.SearchStrategy[str | None]:
    return st.none() | WORDS.map(str.strip).filter(_speaks)


def _speaks(text: str) -> bool:
    """Tell whether text says something: a lone dash or none means nothing in some formats."""
    return any(one.isalnum() for one in text) and text == " ".join(text.split())


@st.composite
def _column(draw: st.DrawFn, n: int, low: float, high: float, places: int) -> list[float]:
    value = _decimal(low, high, places)
    return draw(st.lists(value | st.just(float("nan")), min_size=n, max_size=n))


@st.composite
def _readings(draw: st.DrawFn) -> Series:
    n = draw(st.integers(1, 12))
    step = draw(st.sampled_from([0.01, 0.02, 0.025, 0.05]))
    start = draw(_decimal(0, 40, 2))
    along = np.round(start + step * np.arange(n), 3)
    shape = draw(st.sampled_from(["length", "depth", "both"]))
    series = Series()
    if shape != "depth":
        series = series.with_column("length", along)
    if shape != "length":
        series = series.with_column("depth", np.round(along * 0.998, 3))
    series = series.with_column("qc", draw(_column(n, *_CHANNELS["qc"])), Reason.VOID_IN_FILE)
    others = sorted(set(_CHANNELS) - {"qc"})
    for key in draw(st.lists(st.sampled_from(others), unique=True, max_size=5)):
        reason = draw(st.sampled_from([Reason.VOID_IN_FILE, Reason.LOST_ON_LINK]))
        series = series.with_column(key, draw(_column(n, *_CHANNELS[key])), reason)
    if draw(st.booleans()):
        series = series.with_column("time", np.round(along * 50, 1))
    return series


@st.composite
def _test(draw: st.DrawFn) -> Dissipation:
    n = draw(st.integers(1, 6))
    time = np.cumsum([0.0, *draw(st.lists(_decimal(0.1, 30, 1), min_size=n - 1, max_size=n - 1))])
    series = Series({"time": np.round(time, 1)})
    for key in draw(st.sets(st.sampled_from(["qc", "u1", "u2", "u3"]), min_size=1)):
        series = series.with_column(key, draw(_column(n, 0, 900, 1)), Reason.VOID_IN_FILE)
    return Dissipation(draw(_decimal(0.5, 40, 2)), series)


@st.composite
def _location(draw: st.DrawFn) -> Location:
    known = {}
    if draw(st.booleans()):
        known = {
            "x": draw(_decimal(1000, 900_000, 3)),
            "y": draw(_decimal(1000, 900_000, 3)),
            "crs": draw(st.sampled_from(["EPSG:28992", "EPSG:27700", "EPSG:26911"])),
        }
    if draw(st.booleans()):
        known |= {"level": draw(_decimal(-40, 900, 3)), "datum": draw(_words())}
    if draw(st.booleans()):
        known |= {"latitude": draw(_decimal(-89, 89, 6)), "longitude": draw(_decimal(-179, 179, 6))}
    if draw(st.booleans()):
        known["water_depth"] = draw(_decimal(0.1, 50, 2))
    return Location(**known)


@st.composite
def _cone(draw: st.DrawFn) -> Cone:
    return Cone(
        serial=draw(_words()),
        model=draw(_words()),
        tip_area=draw(st.none() | st.sampled_from([0.0005, 0.001, 0.0015])),
        area_ratio=draw(st.none() | _decimal(0.3, 0.95, 3)),
        sleeve_area=draw(st.none() | st.sampled_from([0.015, 0.0225])),
        sleeve_end_ratio=draw(st.none() | _decimal(0, 1.2, 2)),
        tip_to_mid_sleeve=draw(st.none() | _decimal(0.05, 0.2, 3)),
    )


def _zeros() -> st.SearchStrategy[tuple[Zero, ...]]:
    one = st.builds(Zero, channel=st.sampled_from(["qc", "fs", "u2"]), value=_decimal(-50, 50, 1))
    return st.lists(one, max_size=3, unique_by=lambda zero: zero.channel).map(
        lambda zeros: tuple(sorted(zeros, key=lambda z: ["qc", "fs", "u2"].index(z.channel)))
    )


@st.composite
def soundings(draw: st.DrawFn) -> Sounding:
    """Return soundings with readings, facts and dissipation tests, each there or not."""
    predrilled = draw(st.none() | _decimal(0.5, 3, 2))
    removed: tuple[RemovedLayer, ...] = ()
    if predrilled and draw(st.booleans()):
        removed = (RemovedLayer(top=0.0, base=predrilled, description="fill"),)
    tests = draw(st.lists(_test(), max_size=2, unique_by=lambda test: test.depth))
    start = st.integers(0, 10**9).map(lambda n: datetime(2031, 1, 1) + timedelta(seconds=n))
    level = _decimal(-2, 20, 2)
    return Sounding(
        name=draw(WORDS.map(str.strip).filter(_speaks)),
        readings=draw(_readings()),
        location=draw(_location()),
        cone=draw(_cone()),
        water=draw(st.none() | st.builds(Water, level=level, origin=st.sampled_from(WaterOrigin))),
        predrilled=predrilled,
        removed=removed,
        zeros_before=draw(_zeros()),
        zeros_after=draw(_zeros()),
        dissipations=tuple(tests),
        standard=draw(_words()),
        stop_reason=draw(st.none() | st.sampled_from(StopReason)),
        started=draw(st.none() | start),
        project=draw(_words()),
        client=draw(_words()),
        operator=draw(_words()),
        place=draw(_words()),
    )
