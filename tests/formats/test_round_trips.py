"""Write and read each real sounding in each format that is written; pairs of formats."""

from __future__ import annotations

import pytest

import pushproof as pp
from formats.ags.make import GIVEN
from formats.real_files import real_files
from pushproof.formats.writing import writable
from pushproof.testing.formats import round_trip

OPTIONS = {
    "ags4": GIVEN,
    "gef": {"producer": "Maker Ltd", "issue_date": "2031-05-02", "length": "depth"},
    "diggs": {
        "project": "Moss",
        "x": "1000",
        "y": "2000.5",
        "crs": "EPSG:26911",
        "issue_date": "2031-05-02",
        "along": "depth",
    },
}
"""What each format requires."""


def given(name):
    return OPTIONS.get(name, {})


@pytest.mark.shared
@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize("name", sorted(writable()))
def test_every_real_sounding_reads_back(name, shared_data, tmp_path):
    count = 0
    for path in real_files(shared_data):
        for found in pp.read_all(path):
            round_trip(writable()[name], [found], tmp_path, given(name))
            count += 1
    assert count >= 28


@pytest.mark.shared
@pytest.mark.parametrize("name", sorted(writable()))
def test_a_real_sounding_reads_back(name, shared_data, tmp_path):
    """The quick part of the test above: a dissipation test, voids, tilt, zero readings."""
    found = pp.read(shared_data / "bro" / "CPT000000115243.xml")
    round_trip(writable()[name], [found], tmp_path, given(name))
