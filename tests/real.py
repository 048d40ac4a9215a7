"""Plain extracts of the open soundings in ``../shared/data``, sharing nothing with the readers.

Each function returns columns as lists of text or None, in the order of the file, with the unit of
each column as the file means it.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path
from xml.etree import ElementTree

Columns = dict[str, list[float | None]]


def _number(text: str, void: str | None = None) -> float | None:
    text = text.strip().replace("- ", "-")
    if not text or text == void or text.startswith("%"):
        return None
    return float(text)


def bro(path: Path) -> tuple[Columns, dict[str, str]]:
    """Dutch register XML: length m, qc MPa, fs MPa, u1, u2 MPa, tilt deg, depth m, time s."""
    text = path.read_text(encoding="utf-8")
    block = re.search(r"<[^>]*cptResult[^>]*>.*?values>(.*?)</", text, re.DOTALL)
    assert block is not None
    rows = [row.split(",") for row in block[1].strip().split(";") if row.strip()]
    place = {"length": 0, "depth": 1, "time": 2, "qc": 3, "tilt_x": 13, "tilt_y": 14, "tilt": 15,
             "fs": 18, "u1": 21, "u2": 22}  # fmt: skip
    columns: Columns = {
        key: [None if float(row[i]) == -999999 else float(row[i]) for row in rows]
        for key, i in place.items()
    }
    about = dict(
        re.findall(r"<(?:\w+:)?(coneSurfaceQuotient|finalDepth|stopCriterion)[^>]*>([^<]+)", text)
    )
    return columns, about


def ags4(path: Path, group: str = "SCPT") -> tuple[list[str], list[str], list[list[str]]]:
    """AGS 4: headings, units and rows of one group."""
    headings: list[str] = []
    units: list[str] = []
    rows: list[list[str]] = []
    inside = False
    with path.open(newline="", encoding="latin-1") as file:
        for row in csv.reader(file):
            if row[:1] == ["GROUP"]:
                inside = row[1] == group
            elif inside and row[:1] == ["HEADING"]:
                headings = row[1:]
            elif inside and row[:1] == ["UNIT"]:
                units = row[1:]
            elif inside and row[:1] == ["DATA"]:
                rows.append(row[1:])
    return headings, units, rows


def ags3(path: Path, group: str = "STCN") -> tuple[list[str], list[list[str]]]:
    """AGS 3 or older: headings and rows of one group, units row left out."""
    headings: list[str] = []
    rows: list[list[str]] = []
    inside = False
    text = path.read_text(encoding="latin-1").replace("\0", "")
    for row in csv.reader(text.splitlines()):
        if not row:
            continue
        if row[0].startswith("**"):
            inside = row[0].strip("*?") == group
        elif inside and row[0].startswith("*"):
            headings += [name.strip("*?") for name in row if name.strip()]
        elif inside and row[0] not in ("<UNITS>", "<CONT>"):
            rows.append(row)
    return headings, rows


def dov(path: Path) -> Columns:
    """Flemish register XML: lengte m, qc MPa, fs kPa, u kPa, i deg."""
    columns: Columns = {key: [] for key in ("lengte", "diepte", "qc", "fs", "u", "i")}
    for row in ElementTree.parse(path).iter():
        if row.tag.endswith("meetdata"):
            found = {child.tag.rpartition("}")[2]: child.text or "" for child in row}
            for key in columns:
                columns[key].append(_number(found.get(key, "")))
    return columns


def column(headings: list[str], rows: list[list[str]], name: str) -> list[float | None]:
    """Return one column of an AGS table as numbers."""
    place = headings.index(name)
    return [_number(row[place]) if place < len(row) else None for row in rows]


def write_csv(path: Path, columns: dict[str, list[float | None]]) -> Path:
    """Write columns whose names carry their unit as a comma-separated table."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        for row in zip(*columns.values(), strict=True):
            writer.writerow(["" if value is None else repr(value) for value in row])
    return path


BRO_NAMES = [
    "penetrationLength", "depth", "elapsedTime", "coneResistance", "correctedConeResistance",
    "netConeResistance", "magneticFieldStrengthX", "magneticFieldStrengthY",
    "magneticFieldStrengthZ", "magneticFieldStrengthTotal", "electricalConductivity",
    "inclinationEW", "inclinationNS", "inclinationX", "inclinationY", "inclinationResultant",
    "magneticInclination", "magneticDeclination", "localFriction", "poreRatio", "temperature",
    "porePressureU1", "porePressureU2", "porePressureU3", "frictionRatio",
]  # fmt: skip


def bro_all(
    path: Path,
) -> tuple[Columns, list[tuple[float, list[list[float | None]]]], dict[str, str]]:
    """Dutch register XML whole: its 25 columns, dissipation tests (length, rows), single values."""
    root = ElementTree.parse(path).getroot()
    columns: Columns = {}
    tests = []
    about: dict[str, str] = {}
    for element in root.iter():
        name = element.tag.rpartition("}")[2]
        if name == "cptResult":
            rows = _bro_rows(element)
            columns = {key: [row[i] for row in rows] for i, key in enumerate(BRO_NAMES)}
        elif name == "dissipationTest":
            length = next(e for e in element.iter() if e.tag.endswith("}penetrationLength"))
            tests.append((float(length.text or "nan"), _bro_rows(element)))
        elif element.text and element.text.strip() and name not in about:
            about[name] = element.text.strip()
    return columns, tests, about


def _bro_rows(element: ElementTree.Element) -> list[list[float | None]]:
    values = next(e for e in element.iter() if e.tag.endswith("}values"))
    rows = [row.split(",") for row in (values.text or "").strip().split(";") if row.strip()]
    return [[None if float(v) == -999999 else float(v) for v in row] for row in rows]


def gef(path: Path) -> tuple[list[tuple[str, str, int]], list[list[float | None]], dict[str, str]]:
    """GEF-CPT: (name, unit, quantity) of each column, the columns, and header lines by word."""
    head, _, body = path.read_text(encoding="utf-8").partition("#EOH=")
    info: dict[int, tuple[str, str, int]] = {}
    voids: dict[int, float] = {}
    about: dict[str, str] = {}
    for line in head.splitlines():
        word, _, value = line.lstrip("#").partition("=")
        parts = [part.strip() for part in value.split(",")]
        if word.strip() == "COLUMNINFO":
            info[int(parts[0])] = (parts[2], parts[1], int(parts[3]))
        elif word.strip() == "COLUMNVOID":
            voids[int(parts[0])] = float(parts[1])
        elif word.strip() in ("MEASUREMENTVAR", "MEASUREMENTTEXT", "SPECIMENVAR"):
            about[f"{word.strip()} {parts[0]}"] = parts[1]
        else:
            about[word.strip()] = value.strip()
    rows = [line.rstrip("!").rstrip(";").split(";") for line in body.split() if line]
    columns = [
        [None if float(row[i]) == voids.get(i + 1) else float(row[i]) for row in rows]
        for i in range(len(info))
    ]
    return [info[i + 1] for i in range(len(info))], columns, about
