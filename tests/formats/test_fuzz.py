"""Every file of the zoo changed at random: a result or one clear error, no crash, no hang.

A workbook is changed inside its parts too, for a changed archive is mostly no archive. The usual
run tries ``FEW`` changes of each file, the slow one ``MANY``: with some 185 files that is about 900
and 37,000 inputs, each read plain and with salvage.
"""

import csv
import io
import random
import zipfile
import zlib
from pathlib import Path

import pytest

import pushproof as pp
from pushproof.errors import ConfigurationError, FormatError

HERE = Path(__file__).parent
with (HERE / "oddities.csv").open(newline="", encoding="utf-8") as _file:
    ROWS = list(csv.DictReader(_file))
FEW = 5
MANY = 200
WORDS = [b'"', b",", b";", b"\n", b"-", b"1e999", b"nan", b"\0", b"<", b">", b"&", b"#", b"=",
         b"9" * 40, b"\xff\xfe", b"uom", b"<a>", b"]]>", b"\xc3"]  # fmt: skip
HEAVY = ("unpacks-to-300", "row-number-of-a-billion")
"""Left out: each reading of them takes seconds before it is refused, as it should be."""


def changed(data, chance):
    found = bytearray(data)
    for _ in range(chance.choice((1, 2, 8, 40))):
        at = chance.randrange(len(found) or 1)
        kind = chance.randrange(5)
        if kind == 0 and found:
            found[at] = chance.randrange(256)
        elif kind == 1:
            del found[at : at + chance.randrange(1, 60)]
        elif kind == 2:
            found[at:at] = bytes(found[at : at + chance.randrange(1, 90)]) * chance.randrange(1, 4)
        elif kind == 3:
            found[at:at] = chance.choice(WORDS)
        elif chance.random() < 0.2:
            del found[at:]
    return bytes(found) or b"x"


def changed_inside(data, chance):
    """Change one part of a zip archive."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as old:
            parts = {name: old.read(name) for name in old.namelist()}
    except (zipfile.BadZipFile, zlib.error, EOFError):
        return changed(data, chance)
    name = chance.choice(sorted(parts))
    parts[name] = changed(parts[name], chance)
    sink = io.BytesIO()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as new:
        for part, content in parts.items():
            new.writestr(zipfile.ZipInfo(part), content)
    return sink.getvalue()


def attempt(row, count, folder):
    source = HERE / row["file"]
    if source.name.startswith(HEAVY):
        return 0
    data = source.read_bytes()
    chance = random.Random(row["file"])
    path = folder / source.name
    results = 0
    for number in range(count):
        inside = source.suffix == ".xlsx" and number % 4
        content = (changed_inside if inside else changed)(data, chance)
        path.write_bytes(content)
        for salvage in (False, True):
            try:
                results += len(pp.read_all(path, format=row["format"], salvage=salvage))
            except (FormatError, ConfigurationError):
                continue
    return results


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["file"])
def test_a_few_changes_of_each_file(row, tmp_path):
    assert attempt(row, FEW, tmp_path) >= 0


@pytest.mark.slow
@pytest.mark.timeout(300)
@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["file"])
def test_many_changes_of_each_file(row, tmp_path):
    assert attempt(row, MANY, tmp_path) >= 0


def test_the_changes_leave_files_that_can_be_read(tmp_path):
    """The fuzz would prove nothing if every input were refused at the door."""
    by_format = {}
    for row in ROWS:
        if row["outcome"] == "reads" and row["format"] not in by_format:
            by_format[row["format"]] = attempt(row, 60, tmp_path)
    assert all(results >= 3 for results in by_format.values()), by_format
