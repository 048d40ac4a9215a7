"""The zoo: every odd or broken file of ``oddities.csv`` is handled or reported as its line says.

Each file is named for its defect. ``outcome`` is ``reads`` (nothing worse than a caution),
``finding ID``, ``error WORDS``, or ``salvage ID``: an error that offers ``--salvage``, and with it
a result with that finding. ``holds`` says what must be in the first sounding.
"""

import csv
import re
from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.model.findings import Severity

HERE = Path(__file__).parent
with (HERE / "oddities.csv").open(newline="", encoding="utf-8") as _file:
    ROWS = list(csv.DictReader(_file))


def check(found, holds):
    first = found[0]
    for part in holds.split():
        name, _, expected = part.partition("=")
        column = re.fullmatch(r"(.+)\[(-?\d+)\]", name)
        if column:
            named = {key.replace(" ", "_"): key for key in first.readings}
            value = first.readings[named[column[1]]]
            assert value[int(column[2])] == pytest.approx(float(expected), nan_ok=True), part
        elif name == "rows":
            assert len(first.readings) == int(expected)
        elif name == "soundings":
            assert len(found) == int(expected)
        elif name == "tests":
            assert len(first.dissipations) == int(expected)
        else:
            assert str(getattr(first, name)) == expected.replace("_", " "), part


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["file"])
def test_each_oddity_is_handled_or_reported(row):
    path = HERE / row["file"]
    kind, _, what = row["outcome"].partition(" ")
    if kind == "error":
        for salvage in (False, True):
            with pytest.raises(FormatError, match=what) as caught:
                pp.read_all(path, salvage=salvage)
            assert path.name in str(caught.value)
        return
    if kind == "salvage":
        with pytest.raises(FormatError, match="--salvage") as caught:
            pp.read_all(path)
        assert caught.value.line is not None
    found = pp.read_all(path, salvage=kind == "salvage")
    findings = [finding for one in found for finding in one.findings]
    if kind == "reads":
        assert [f for f in findings if f.severity == Severity.STOP] == []
    else:
        assert what in {f.id for f in findings}
    for one in found:
        key = "length" if one.readings.measured("length") else "depth"
        assert np.isfinite(one.readings[key]).any()
    check(found, row["holds"])


def test_every_file_of_a_zoo_has_its_line():
    listed = {row["file"] for row in ROWS}
    assert len(listed) == len(ROWS)
    kept = {
        path.relative_to(HERE).as_posix()
        for path in HERE.glob("*/zoo/*")
        if not path.name.startswith("child-of-")
    }
    assert kept - listed == set()
    assert [name for name in listed if not (HERE / name).is_file()] == []
