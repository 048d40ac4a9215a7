"""Anchors against published factors and the mechanics of a plate.

Torque factors: Hoyt and Clemence (1989) as quoted in a technical manual (10 per foot for squares
and small round shafts, 7 for 89 mm), and ICC-ES AC358 as printed by Souissi (2016).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.planning.anchors import (
    AnchorGround,
    bearing_capacity,
    column_capacity,
    cylinder_capacity,
    sand_factor,
    torque_factor,
)
from pushproof.planning.document import Anchors, PushRig
from pushproof.planning.reaction import estimate_anchor, reaction_of

FOOT, INCH = 0.3048, 0.0254


@pytest.mark.parametrize(
    ("inches", "per_foot"), [(2.375, 10.0), (2.875, 8.4), (3.0, 8.1), (3.5, 7.0), (4.5, 5.6)]
)
def test_torque_factor_of_round_shafts_is_the_published_one(inches, per_foot):
    # values calculated from the formula that AC358 prints; 7.0 at 3.5 in is also Hoyt and Clemence
    assert torque_factor("round", inches * INCH) * FOOT == pytest.approx(per_foot, abs=0.05)


def test_torque_factor_of_a_small_square_is_that_of_hoyt_and_clemence():
    assert torque_factor("square", 1.5 * INCH) == pytest.approx(32.8, abs=0.05)


@pytest.mark.parametrize("size", [0.0889, 0.1016, 0.1143, 0.168])
def test_the_factor_of_small_shafts_is_refused_for_tubes(size):
    with pytest.raises(ValueError, match="refused for a round shaft"):
        torque_factor("round", size, 33.0)


def test_no_factor_is_made_up_outside_the_published_sizes():
    with pytest.raises(ValueError, match="no published torque factor"):
        torque_factor("round", 0.168)
    assert torque_factor("round", 0.168, 9.0) == 9.0


def test_a_plan_with_a_refused_factor_does_not_go_through():
    anchors = Anchors(count=2, shaft="round", shaft_size=0.1143, torque=5.0, torque_factor=33.0)
    with pytest.raises(ValueError, match="does not hold for tubes"):
        reaction_of(PushRig(mass=10_000), anchors)


def test_torque_with_a_safety_factor_of_two():
    each = estimate_anchor(Anchors(count=2, torque=2.0, depth=1.5, helices=(0.2,)))
    assert each.ultimate["torque"] == pytest.approx(65.6, abs=0.1)
    assert (each.used, each.safety) == ("torque", 2.0)
    assert each.allowable == pytest.approx(32.8, abs=0.05)


def test_sand_factor_is_that_of_tables():
    # Nq of the usual bearing tables: 18.4 at 30 deg, 33.3 at 35 deg, 64.2 at 40 deg
    assert [sand_factor(phi) for phi in (30, 35, 40)] == pytest.approx([18.4, 33.3, 64.2], rel=3e-3)


def test_a_deep_plate_in_clay_bears_nine_times_its_strength():
    area = math.pi / 4 * 0.3**2
    held = bearing_capacity([0.3], [3.0], AnchorGround(su=50.0))
    assert held == pytest.approx(area * 450.0)


def test_far_plates_bear_alone_and_near_plates_as_a_cylinder():
    ground = AnchorGround(su=50.0)
    near = cylinder_capacity([0.3, 0.3], [3.0, 3.3], ground)
    far = cylinder_capacity([0.3, 0.3], [3.0, 6.0], ground)
    alone = bearing_capacity([0.3, 0.3], [3.0, 6.0], ground)
    assert near < alone < far


@given(st.floats(0.5, 5.0), st.floats(0.1, 0.4))
def test_a_shallow_plate_holds_more_with_depth(depth, diameter):
    ground = AnchorGround(phi=32.0)
    here, below = (column_capacity(diameter, z, ground) for z in (depth, depth + 0.1))
    assert 0 < here < below


def test_shallow_group_and_edge_are_said():
    anchors = Anchors(
        count=4, torque=1.0, depth=0.6, helices=(0.3,), spacing=0.5, edge=0.4, to_rods=0.5
    )
    each = estimate_anchor(anchors)
    found = {finding.id for finding in each.findings}
    assert {"anchor-shallow", "anchor-group", "anchor-edge", "anchor-rods"} <= found
    assert each.group == pytest.approx(0.5 / 0.9)


def test_anchors_that_nothing_is_known_of_count_as_nothing():
    reaction = reaction_of(PushRig(mass=10_000), Anchors(count=4))
    assert reaction.anchors == 0
    assert "anchor-unknown" in {finding.id for finding in reaction.findings}


def test_a_slope_and_an_offset_leave_less():
    flat = reaction_of(PushRig(mass=10_000), None)
    slope = reaction_of(PushRig(mass=10_000, slope=10.0), None)
    assert slope.usable == pytest.approx(flat.usable * math.cos(math.radians(10)))
    off = reaction_of(PushRig(mass=10_000, support_width=2.0, rod_offset=0.5), None)
    # moments about the near support line: F (1.0 + 0.5) = W 1.0
    assert off.tipping == pytest.approx(98.1 / 1.5)
    assert off.usable == pytest.approx(0.85 * 98.1 / 1.5)


def test_mats_on_soft_ground_are_stopped():
    rig = PushRig(mass=20_000, mat_area=0.5, mats=4, surface_strength=25.0, pull=40.0)
    reaction = reaction_of(rig, None)
    assert reaction.mat_pressure == pytest.approx((196.2 + 40) / 2.0)
    # Prandtl: (pi + 2) su, halved
    assert reaction.allowed_pressure == pytest.approx(5.1416 * 25 / 2, rel=1e-4)
    assert "mat-pressure" in {finding.id for finding in reaction.findings}
