"""The simulator gives what its layers say, the same each time."""

import numpy as np
import pytest

from pushproof.formats import read
from pushproof.model.series import Origin
from pushproof.model.sounding import StopReason
from pushproof.processing import process
from pushproof.sources.rehearsal import Ground, Layer, Plan, push, scenario
from pushproof.sources.rehearsal.export import export_text
from pushproof.testing import SAMPLES, sample


def test_same_seed_same_bytes():
    one, two = scenario(5)[0].sounding, scenario(5)[0].sounding
    for key in one.readings:
        assert one.readings[key].tobytes() == two.readings[key].tobytes()
    other = scenario(6)[0].sounding
    assert one.readings["qc"].tobytes() != other.readings["qc"].tobytes()


def test_thick_clay_shows_its_strength_away_from_boundaries():
    # Net resistance over the cone factor is the strength put in: su = qn / Nkt.
    clay = Layer(20.0, "clay", 16.0, su=20, su_gradient=2, friction=2, pore=0.5, scatter=0.0)
    pushed = push(Ground((clay,), 1.0), Plan("C", 18.0, zero_drift=(0, 0, 0)), 1)
    series = process(pushed.sounding).series
    z, qt = series["depth"], series["qt"]
    middle = (z > 3) & (z < 16)
    assert (qt[middle] - 16 * z[middle]) / 14 == pytest.approx(20 + 2 * z[middle], rel=0.08)


def test_pore_pressure_in_loose_sand_is_near_hydrostatic():
    sand = Layer(15.0, "loose sand", 18.0, density=0.3, friction=0.5)
    series = process(push(Ground((sand,), 2.0), Plan("S", 12.0), 2).sounding).series
    deep = series["depth"] > 4
    assert series["u2"][deep] == pytest.approx(9.81 * (series["depth"][deep] - 2), abs=12)


def test_a_thin_sand_never_shows_its_full_resistance():
    thin = Layer(0.2, "sand", 19.0, density=0.7, scatter=0.0)
    clay = Layer(6.0, "clay", 16.0, su=20, friction=2, scatter=0.0)
    pushed = push(Ground((clay, thin, clay), 1.0), Plan("T", 10.0), 3)
    full = pushed.ground.resistance(np.array([6.1]))[0]
    assert 1.5 * pushed.felt.at("qt", 5.0) < pushed.felt.qt.max() < 0.75 * full


def test_refusal_ends_the_push_with_its_reason():
    refused = scenario()[1].sounding
    assert refused.stop_reason is StopReason.TIP
    assert refused.readings["length"][-1] < 8
    assert refused.readings["qc"].max() > 47_000


def test_air_in_the_filter_makes_pore_pressure_late_and_low():
    bad, good = sample("desaturated"), sample("clay-over-sand")

    def clay(sounding):
        length, u2 = sounding.readings["length"], sounding.readings["u2"]
        return float(np.median(u2[(length > 3) & (length < 6)]))

    assert clay(bad) < 0.6 * clay(good)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_is_marked_as_simulated_and_processes(name):
    sounding = sample(name)
    assert set(sounding.readings["origin"]) == {Origin.SIMULATED}
    assert len(process(sounding)) > 100


def test_an_exported_sounding_is_read_back(tmp_path):
    original = sample("clay-over-sand")
    export_text(original, tmp_path / "a.csv")
    back = read(tmp_path / "a.csv")
    assert back.name == original.name
    assert back.cone.area_ratio == original.cone.area_ratio
    assert back.predrilled == original.predrilled
    assert back.removed == original.removed
    assert len(back.events) == len(original.events)
    assert [z.value for z in back.zeros_after] == [z.value for z in original.zeros_after]
    assert back.readings["qc"] == pytest.approx(original.readings["qc"], abs=0.6)
    assert not [f for f in back.findings if f.severity > 1]
