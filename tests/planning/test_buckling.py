"""Buckling against the handbooks.

Values of FHWA-NHI-05-039 equations 5-5 and 5-28 (rod 36/16 mm, E 210 GPa) and the printed example
of FHWA-NHI-16-009 section 8.5.3 (HP14x117).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.planning.buckling import bedded_load, column_load, euler_load, tube

AREA, SECOND = tube(0.036, 0.016)
STIFFNESS = 210e6 * SECOND


def test_section_of_a_rod():
    assert pytest.approx(816.8141, rel=1e-6) == AREA * 1e6
    assert pytest.approx(79230.97, rel=1e-6) == SECOND * 1e12


@pytest.mark.parametrize(
    ("length", "factor", "load"),
    [
        (1, 1, 164.2154),
        (1, 2, 41.05386),
        (1, 0.65, 388.6756),
        (2, 1, 41.05386),
        (2, 2, 10.26347),
        (2, 0.65, 97.16890),
        (3, 1, 18.24616),
        (3, 2, 4.56154),
        (3, 0.65, 43.18618),
    ],
)
def test_euler(length, factor, load):
    assert euler_load(STIFFNESS, length, factor) == pytest.approx(load, rel=1e-5)


def test_elastic_foundation():
    assert bedded_load(STIFFNESS, 500.0) == pytest.approx(182.4199, rel=1e-5)
    assert math.pi * (STIFFNESS / 500.0) ** 0.25 == pytest.approx(1.341794, rel=1e-5)


def test_the_printed_example_of_a_column():
    # kip and inches: Po 1720, Pe 6120, Pn 1529
    stiffness = 29_000 * 34.4 * 3.59**2
    euler = euler_load(stiffness, 120.0, 1.2)
    assert euler == pytest.approx(6119.6, rel=1e-4)
    assert column_load(stiffness, 1720.0, 120.0, 1.2) == pytest.approx(1529, abs=1)


def test_a_slender_column_bows_before_it_yields():
    # GEC-12 equation 8-44: 0.877 Pe where Pe/Po is below 0.44; here Pe is 1
    assert column_load(math.pi**-2, 100.0, 1.0) == pytest.approx(0.877)


@given(st.floats(0.2, 30.0), st.floats(0.0, 5000.0))
def test_ground_only_helps_and_a_long_rod_is_the_limit(length, subgrade):
    held = bedded_load(STIFFNESS, subgrade, length)
    assert held >= euler_load(STIFFNESS, length) * (1 - 1e-9)
    assert held >= bedded_load(STIFFNESS, subgrade) * (1 - 1e-9)


@given(st.floats(5.0, 60.0), st.floats(50.0, 5000.0))
def test_no_other_wave_is_lower(length, subgrade):
    waves = range(1, 200)
    loads = (
        math.pi**2 * STIFFNESS * m**2 / length**2 + subgrade * length**2 / (math.pi * m) ** 2
        for m in waves
    )
    assert bedded_load(STIFFNESS, subgrade, length) == pytest.approx(min(loads))
