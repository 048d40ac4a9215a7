"""Sheets of soundings that nobody would wish for: they are set, or refused with a reason."""

import numpy as np
import pytest

import pushproof as pp
from pushproof.model.series import Series
from pushproof.model.sounding import (
    Dissipation,
    Event,
    Location,
    RemovedLayer,
    Sounding,
    Water,
    WaterOrigin,
)
from pushproof.report import log_sheet, report

SCALES = {"qc": 5000, "fs": 60, "u2": 200, "u1": 300, "tilt": 4, "time": 900, "tilt_x": 2}


def odd(seed: int) -> Sounding:
    """Return a sounding with random channels, gaps, signs, sizes, places and steps."""
    rng = np.random.default_rng(seed)
    n = int(rng.choice([1, 2, 3, 10, 60, 400]))
    step = float(rng.choice([0.005, 0.02, 0.2, 1.0]))
    length = rng.choice([0, 0, 5, 33]) + step * np.arange(1, n + 1)
    columns = {"length": length}
    for key, scale in SCALES.items():
        if key != "qc" and rng.random() < 0.4:
            continue
        values = np.abs(rng.normal(size=n)) * scale * 10 ** rng.uniform(-2, 2)
        values = np.sort(values) if key == "time" else values * rng.choice([1, 1, -1])
        if rng.random() < 0.4:
            values[rng.random(n) < rng.random()] = np.nan
        columns[key] = values
    flat = Series({"time": np.arange(20.0), "u2": np.full(20, 3.0)})
    return Sounding(
        name=f"ODD-{seed} " + "W" * int(rng.integers(0, 60)),
        readings=Series(columns),
        predrilled=float(rng.uniform(0, 1.4 * length[-1])) if rng.random() < 0.4 else None,
        removed=(
            RemovedLayer(top=0, base=0.1, description="x" * int(rng.integers(1, 90))),
            RemovedLayer(top=0.1, base=1.5, description="fill"),
        ),
        water=Water(level=float(rng.uniform(-20, 60)), origin=WaterOrigin.STATED),
        location=Location(x=1.0, y=2.0, level=float(rng.uniform(-50, 3000)), datum="D" * 15),
        events=(Event("pause", float(length[0]), duration=3.0), Event("note", 1.0)),
        dissipations=(Dissipation(1.0, flat),),
    )


@pytest.mark.parametrize("seed", range(24))
def test_an_odd_sounding_is_set_or_refused_with_a_reason(seed):
    paper = "A4" if seed % 2 else "Letter"
    scale = ("fit", 50, 100, 200)[seed % 4]
    one = pp.interpret(pp.process(odd(seed)))
    try:
        log = log_sheet(one, paper=paper, scale=scale, parameters=True)
        whole = report([one], paper=paper)
    except ValueError as refusal:
        assert "no reading has a depth" in str(refusal)  # noqa: PT017
    else:
        assert log.startswith(b"%PDF")
        assert whole.startswith(b"%PDF")
