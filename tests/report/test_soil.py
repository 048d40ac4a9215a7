"""The soil ramp for every kind of eye, and the words beside it."""

import numpy as np
import pytest

from pushproof.equations.behaviour import BOUNDARIES
from pushproof.report.soil import IC_HIGH, IC_LOW, ZONES, SoilRows, soil_rgb, soil_rows, stretches

# Machado, Oliveira and Fernandes (2009), "A physiologically-based model for simulation of color
# vision deficiency", full severity, on linear sRGB; matrices from memory.
EYES = {
    "usual": np.eye(3),
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
               [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
               [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
               [0.004733, 0.691367, 0.303900]],
}  # fmt: skip


def _linear(rgb):
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def _lightness(linear):
    """CIE 1976 L* of linear sRGB."""
    y = np.clip(linear @ [0.2126, 0.7152, 0.0722], 0, 1)
    return np.where(y > 216 / 24389, 116 * np.cbrt(y) - 16, y * 24389 / 27)


@pytest.mark.parametrize("eye", EYES)
def test_the_ramp_keeps_its_order_for_every_eye(eye):
    ic = np.linspace(IC_LOW, IC_HIGH, 200)
    seen = np.clip(_linear(soil_rgb(ic)) @ np.array(EYES[eye]).T, 0, 1)
    assert (np.diff(_lightness(seen)) < 0).all()


def test_neighbouring_zones_differ_in_grey():
    ic = [1.15, 1.7, 2.33, 2.78, 3.27, 3.9]
    light = _lightness(_linear(soil_rgb(ic)))
    assert (np.diff(light) < -7).all()


def test_every_zone_has_words_and_a_hatch_of_its_own():
    assert sorted(ZONES) == list(range(1, 10))
    assert len({zone.hatch for zone in ZONES.values()}) == 9
    assert all(zone.words for zone in ZONES.values())


def test_typical_ic_lies_in_its_zone():
    for number in (2, 3, 4, 5, 6, 7):
        expected = 7 - int(np.searchsorted(BOUNDARIES, ZONES[number].ic))
        assert expected == number


def test_rows_take_the_median_and_the_ruling_zone():
    depth = np.array([0.1, 0.2, 0.3, 0.6, 0.7])
    rows = soil_rows(
        depth,
        np.array([2.0, 2.2, 3.0, 3.3, np.nan]),
        np.array([6, 5, 5, 3, np.nan]),
        np.array([0.0, 0.5, 1.0]),
        gap=0.5,
    )
    assert rows.ic.tolist() == [2.2, 3.3]
    assert rows.zone[0] == 5


def test_rows_end_with_the_readings():
    depth = np.arange(50) * 0.02
    ic = np.full(50, 2.0)
    rows = soil_rows(depth, ic, np.full(50, 6.0), np.linspace(0, 4, 401), gap=0.15)
    assert np.isfinite(rows.ic[:98]).all()
    assert not np.isfinite(rows.ic[100:]).any()


def test_thin_bands_get_no_words_but_join_their_neighbours():
    zone = np.array([3] * 50 + [6] * 2 + [3] * 50 + [6] * 40)
    rows = SoilRows(np.arange(143) * 0.1, np.full(142, 3.0), zone)
    found = stretches(rows, least=1.0)
    assert [s.main for s in found] == ["clay", "sand"]
    assert found[0].base == pytest.approx(10.2)


def test_a_mixed_stretch_names_both_zones():
    zone = np.array(([3] * 4 + [6] * 3) * 10)
    rows = SoilRows(np.arange(71) * 0.1, np.full(70, 3.0), zone)
    assert [s.words for s in stretches(rows, least=1.0)] == ["clay / sand"]
