"""Hole volumes by geometry, grout densities by specific gravity against the listed mixes."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.planning.closing import (
    Bore,
    Closing,
    Grouting,
    cone_diameter,
    hole,
    method_findings,
    mixes,
)

GALLON, POUND = 3.785411784, 0.45359237


@pytest.mark.parametrize(("mm", "litres"), [(35.7, 1.00), (43.7, 1.50), (50.0, 1.96), (55.0, 2.38)])
def test_volume_per_metre(mm, litres):
    assert Bore(0, 1, mm / 1000).per_metre == pytest.approx(litres, abs=0.005)


def test_diameters_of_the_nominal_cones():
    # 35.7 and 43.7 mm for 10 and 15 cm2
    assert cone_diameter(0.001) == pytest.approx(0.0357, abs=5e-5)
    assert cone_diameter(0.0015) == pytest.approx(0.0437, abs=5e-5)


@pytest.mark.parametrize(
    ("name", "density"),
    [
        ("cement-bentonite-firm", 1.30),
        ("cement-bentonite-upper", 1.28),
        ("cement-bentonite-soft", 1.13),
        ("neat-cement", 1.81),
    ],
)
def test_density_of_the_listed_mixes(name, density):
    assert mixes()[name].density == pytest.approx(density, abs=0.006)


def test_the_firm_mix_is_heavier_than_the_nevada_floor():
    # Nev. Admin. Code 534.065: at least 10 lb per US gallon
    assert mixes()["cement-bentonite-firm"].density >= 10 * POUND / GALLON


@pytest.mark.parametrize(
    ("name", "gallons", "bentonite"),
    [("cement-bentonite-firm", 30, 25), ("cement-bentonite-soft", 75, 39)],
)
def test_ratios_are_those_of_the_sack(name, gallons, bentonite):
    # per 94 lb sack of cement, as the note prints it; its ratios are rounded
    mix = mixes()[name]
    assert mix.water == pytest.approx(gallons * GALLON / (94 * POUND), rel=0.07)
    assert mix.bentonite == pytest.approx(bentonite / 94, rel=0.13)


def test_neat_cement_is_six_gallons_to_the_sack():
    assert mixes()["neat-cement"].water == pytest.approx(6 * GALLON / (94 * POUND), abs=0.005)


def test_a_hole_is_as_wide_as_the_widest_that_passed():
    bores = hole(
        20.0, cone=0.0437, rods=0.036, reducer=0.05, reducer_above=0.8, casing_depth=3.0,
        casing=0.08, predrilled=1.0, predrilled_diameter=0.15,
    )  # fmt: skip
    assert [(b.top, b.base, b.diameter) for b in bores] == [
        (0.0, 1.0, 0.15),
        (1.0, 3.0, 0.08),
        (3.0, 19.2, 0.05),
        (19.2, 20.0, 0.0437),
    ]


@given(st.floats(1.0, 80.0), st.floats(0.03, 0.06), st.floats(0.03, 0.08), st.floats(0.0, 5.0))
def test_no_hole_is_smaller_than_its_cone(depth, cone, reducer, above):
    bores = hole(depth, cone=cone, reducer=reducer, reducer_above=above)
    assert bores[0].top == 0
    assert bores[-1].base == depth
    assert sum(b.base - b.top for b in bores) == pytest.approx(depth)
    assert sum(b.volume for b in bores) >= math.pi / 4 * cone**2 * depth * 1000 * (1 - 1e-9)


def test_batches_and_bags_are_whole_and_enough():
    plan = Grouting(hole(25.0, cone=0.0437, reducer=0.05), mixes()["cement-bentonite-firm"])
    assert plan.planned == pytest.approx(1.5 * plan.hole_volume)
    assert plan.batches * plan.batch >= plan.planned > (plan.batches - 1) * plan.batch
    water, cement, bentonite = plan.per_batch
    assert (water + cement + bentonite) / plan.batch == pytest.approx(plan.mix.density)
    assert water / cement == pytest.approx(2.5)
    bags, more = plan.bags
    assert bags * 25 >= cement * plan.batches > (bags - 1) * 25
    assert more * 25 >= bentonite * plan.batches > (more - 1) * 25


def test_pouring_into_a_deep_hole_is_stopped():
    assert [f.id for f in method_findings("pour", 12.0)] == ["grout-pour"]
    assert method_findings("pour", 2.5) == ()
    assert method_findings("tremie", 12.0) == ()


def test_below_water_it_must_be_grouted():
    # UFC 3-220-10 section 2-5.1.2: below the water table, artesian, environmental risk
    assert [f.id for f in method_findings("tremie", 12.0, water_level=2.0)] == ["grout-needed"]
    found = {f.id for f in method_findings("tremie", 1.0, water_level=2.0, artesian=True)}
    assert found == {"grout-artesian", "grout-needed"}


@pytest.mark.parametrize(
    ("changes", "finding"),
    [
        ({"take": 20}, "grout-short"),
        ({"take": 95}, "grout-lost"),
        ({"lowest": 10}, "grout-high"),
        ({"density": 1.15}, "grout-thin"),
    ],
)
def test_the_record_says_what_is_wrong(changes, finding):
    good = {
        "method": "tremie", "mix": "cement-bentonite-firm", "depth": 20, "lowest": 19,
        "hole_volume": 39, "planned": 59, "take": 45, "density": 1.3, "by": "KM",
    }  # fmt: skip
    assert Closing(**good).findings() == ()
    assert [f.id for f in Closing(**{**good, **changes}).findings()] == [finding]


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match=r"depth 0 m; casing is 2 m deep"):
        hole(0.0, casing_depth=2.0)
    with pytest.raises(ValueError, match="loss factor"):
        Grouting(hole(1.0), mixes()["neat-cement"], loss=0.5)
