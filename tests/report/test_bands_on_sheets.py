"""Bands on the parameter page: drawn where they are, told in the notes."""

import numpy as np
import pytest

from pushproof.interpretation import interpret
from pushproof.processing import process
from pushproof.report import looks
from pushproof.report.logsheet import lay_log
from pushproof.report.parameters import parameter_bands, parameter_tracks
from pushproof.testing import sample


@pytest.fixture(scope="module")
def derived():
    return interpret(process(sample("clay-over-sand")))


def test_the_main_curve_of_each_track_has_the_band_of_its_column(derived):
    found = parameter_bands(derived)
    made = parameter_tracks(derived, found)
    assert {"strength", "history", "stiffness", "flow"} <= set(made)
    for name, track in made.items():
        if name == "soil":
            continue
        main = track.curves[-1]
        low, high = main.band
        inside = np.isfinite(low)
        assert inside.any(), name
        assert (low[inside] <= main.values[inside] + 1e-9).all(), name
        assert (high[inside] >= main.values[inside] - 1e-9).all(), name
        assert (np.isfinite(low) == np.isfinite(high)).all(), name
        assert all(curve.band is None for curve in track.curves[:-1])


def test_the_sheet_draws_the_bands_and_says_what_they_rest_on(derived):
    sheet = lay_log(derived, parameters=True)
    pages = sheet.data["log"]["pages"]
    page = next(one["plate"] for one in pages if one["title"] == "Parameters")
    assert looks.BAND_FILL.lower() in sheet.pictures[page].lower()
    told = sheet.data["log"]["bands"]
    assert "first order" in told["how"]
    assert any("UFC 3-220-20" in row["relation"] for row in told["rows"])
    assert told["channels"]


def test_a_log_without_parameters_makes_no_bands(derived, monkeypatch):
    def refuse(*_):
        raise AssertionError("no band was asked for")

    monkeypatch.setattr("pushproof.report.logsheet.parameter_bands", refuse)
    assert lay_log(derived).data["log"]["bands"] is None
