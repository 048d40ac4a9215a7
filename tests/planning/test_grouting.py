"""What is typed of a hole counts before what is known of it; wrong numbers are named."""

import pytest

from pushproof.errors import ConfigurationError
from pushproof.planning.closing import GroutOrder, Take
from pushproof.planning.grouting import Hole, hole_of, plan_grout
from pushproof.testing import sample

KNOWN = Hole("A-1", depth=12.0, tip_area=0.0015, rods=0.036, water_level=2.0)


def test_what_is_typed_counts_before_what_is_known():
    known = plan_grout(GroutOrder(), KNOWN)
    assert known.grouting.depth == 12.0
    assert known.grouting.bores[0].diameter == pytest.approx(0.0437, abs=1e-4)  # 15 cm2
    typed = plan_grout(GroutOrder(depth=10.0, reducer=0.05, water_level=20.0), KNOWN)
    assert typed.grouting.depth == 10.0
    assert typed.grouting.bores[0].diameter == 0.05
    assert [one.id for one in known.found] == ["grout-needed"]
    assert typed.found == ()


def test_an_order_goes_over_another_and_names_its_faults():
    base = GroutOrder(batch=80.0, method="re-entry")
    assert GroutOrder.of({"batch": None, "loss": 2.0}, base) == GroutOrder(
        batch=80.0, method="re-entry", loss=2.0
    )
    with pytest.raises(ConfigurationError, match=r"reducer: .*0\.5.*found 50.*method: .*tremie"):
        GroutOrder.of({"reducer": 50, "method": "hope"})
    with pytest.raises(ConfigurationError, match=r"take: .*by: "):
        Take.of({"take": -1, "by": ""})


def test_a_hole_without_a_depth_asks_for_it():
    with pytest.raises(ConfigurationError, match="give the depth"):
        plan_grout(GroutOrder(), Hole())
    with pytest.raises(ConfigurationError, match="known are cement-bentonite-firm"):
        plan_grout(GroutOrder(depth=3, mix="mud"), Hole())


def test_a_sounding_tells_of_its_hole():
    one = sample("clay-over-sand")
    hole = hole_of(one)
    assert hole.depth == pytest.approx(max(one.readings["length"]), abs=0.01)
    assert hole.water_level == one.water.level
    assert hole.tip_area == one.cone.tip_area
