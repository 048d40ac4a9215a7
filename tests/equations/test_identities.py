"""Identities that published relations must keep: circles, joins, limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.equations.behaviour import (
    BOUNDARIES,
    WORDS,
    Ic_robertson_wride_1998,
    curve_alternative,
    curve_robertson_2009,
    zone_robertson_2009,
)


@given(st.floats(0, 2 * np.pi), st.sampled_from(BOUNDARIES))
def test_zone_boundaries_are_circles_about_the_centre(angle, radius):
    # Robertson & Wride 1998: Ic is the distance from (log Fr, log Qtn) = (-1.22, 3.47).
    Qtn = 10 ** (3.47 + radius * np.sin(angle))
    Fr = 10 ** (-1.22 + radius * np.cos(angle))
    assert Ic_robertson_wride_1998(Qtn, Fr) == pytest.approx(radius, abs=1e-9)


@pytest.mark.parametrize("curve", [curve_robertson_2009, curve_alternative])
def test_zones_are_one_to_nine_everywhere_on_the_chart(curve):
    Fr, Qtn = np.meshgrid(np.geomspace(0.1, 10, 200), np.geomspace(1, 1000, 200))
    Ic = Ic_robertson_wride_1998(Qtn, Fr)
    zone = zone_robertson_2009(Ic, Qtn, Fr, curve(Fr))
    assert set(np.unique(zone)) == set(WORDS)
    plain = (zone > 1) & (zone < 8)
    edges = np.array([0, *BOUNDARIES, 99])
    assert (Ic[plain] >= edges[7 - zone[plain].astype(int)]).all()
    assert (Ic[plain] < edges[8 - zone[plain].astype(int)]).all()


def test_each_zone_lies_on_the_right_side_of_its_boundary():
    Ic = np.array([1.30, 1.31, 2.04, 2.05, 2.59, 2.60, 2.94, 2.95, 3.59, 3.60])
    zone = zone_robertson_2009(Ic, 50.0, 0.5, np.inf)
    assert zone.tolist() == [7, 6, 6, 5, 5, 4, 4, 3, 3, 2]
