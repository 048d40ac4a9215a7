"""Every real file, every column, value by value, against a parse that shares nothing with ours.

The plain parses are in ``tests/real.py`` (csv, ElementTree, str.split). What a file holds besides
is checked against ``../shared/data/SOURCES.md``, sentence by sentence.
"""

import csv

import numpy as np
import pytest

import pushproof as pp
from pushproof.model.sounding import StopReason
from real import BRO_NAMES, ags4, bro_all, column, gef

pytestmark = pytest.mark.shared

BRO = ["CPT000000005925", "CPT000000061398", "CPT000000061549", "CPT000000115243",
       "CPT000000155283", "CPT000000198148", "CPT000000198154", "CPT000000204248",
       "CPT000000206112", "CPT000000206344", "CPT000000251670"]  # fmt: skip
BRO_KEYS = {
    "penetrationLength": ("length", 1), "depth": ("depth", 1), "elapsedTime": ("time", 1),
    "coneResistance": ("qc", 1000), "correctedConeResistance": ("qt", 1000),
    "netConeResistance": ("qn", 1000), "inclinationX": ("tilt_x", 1),
    "inclinationY": ("tilt_y", 1), "inclinationResultant": ("tilt", 1),
    "localFriction": ("fs", 1000), "poreRatio": ("Bq", 1), "temperature": ("temperature", 1),
    "porePressureU1": ("u1", 1000), "porePressureU2": ("u2", 1000), "porePressureU3": ("u3", 1000),
    "frictionRatio": ("Rf", 1),
}  # fmt: skip
DISSIPATION = (("time", 1), ("qc", 1000), ("u1", 1000), ("u2", 1000), ("u3", 1000))
AGS_FACTOR = {"m": 1, "MN/m2": 1000, "kN/m2": 1, "%": 1, "": 1, "deg": 1, "MPa": 1000, "kPa": 1,
              "kN/m3": 1}  # fmt: skip


def numbers(values, factor=1.0):
    return np.array(values, dtype=float) * factor


def same(found, expected):
    np.testing.assert_allclose(found, expected, rtol=1e-12, atol=0)


@pytest.mark.parametrize("name", BRO)
def test_dutch_register_whole(shared_data, name):
    path = shared_data / "bro" / f"{name}.xml"
    s = pp.read(path)
    columns, tests, about = bro_all(path)
    used = set()
    for field in BRO_NAMES:
        values = numbers(columns[field])
        if not np.isfinite(values).any():
            continue
        key, factor = BRO_KEYS.get(field, (None, 1))
        if field in ("inclinationEW", "inclinationNS") and key is None:
            axis = "tilt_x" if field == "inclinationEW" else "tilt_y"
            cone = "inclinationX" if field == "inclinationEW" else "inclinationY"
            key = field if np.isfinite(numbers(columns[cone])).any() else axis
        same(s.readings[key or field], values * factor)
        used.add(key or field)
    assert used == set(s.readings)
    assert len(tests) == len(s.dissipations)
    for (length, rows), test in zip(tests, s.dissipations, strict=True):
        assert test.depth == length
        rows = sorted(rows, key=lambda row: row[0])
        for i, (key, factor) in enumerate(DISSIPATION):
            values = numbers([row[i] for row in rows], factor)
            if key == "time":
                values = values - values[0] if values[0] > 60 else values
            if np.isfinite(values).any():
                same(test.readings[key], values)
    assert s.name == about["broId"]
    assert s.predrilled == float(about["predrilledDepth"])
    deepest = np.nanmax(s.readings["depth" if "depth" in s.readings else "length"])
    assert deepest == pytest.approx(float(about["finalDepth"]), abs=0.1)
    if "coneSurfaceQuotient" in about:
        assert s.cone.area_ratio == float(about["coneSurfaceQuotient"])
    if "coneSurfaceArea" in about:
        assert s.cone.tip_area == pytest.approx(float(about["coneSurfaceArea"]) * 1e-6)


@pytest.mark.parametrize("name", ["CPT000000038871_IMBRO_A", "CPT000000157983_IMBRO"])
def test_gef_whole(shared_data, name):
    path = shared_data / "bro" / f"{name}.gef"
    s = pp.read(path)
    info, columns, about = gef(path)
    keys = {1: "length", 2: "qc", 3: "fs", 4: "Rf", 5: "u1", 6: "u2", 8: "tilt", 9: "tilt_y",
            10: "tilt_x", 11: "depth", 12: "time"}  # fmt: skip
    for i, ((_, unit, quantity), values) in enumerate(zip(info, columns, strict=True)):
        key = keys.get(quantity, f"column {i + 1}")
        same(s.readings[key], numbers(values, 1000 if unit.startswith("MPa") else 1))
    assert len(s.readings.columns) == len(info)
    assert s.name == about["TESTID"]
    assert s.cone.area_ratio == float(about["MEASUREMENTVAR 3"])
    assert s.predrilled == float(about["MEASUREMENTVAR 13"])
    x, y = (float(part) for part in about["XYID"].split(",")[1:3])
    assert (s.location.x, s.location.y, s.location.crs) == (x, y, "EPSG:28992")
    assert s.location.level == float(about["ZID"].split(",")[1])


@pytest.mark.parametrize("name", ["HKZ1-CPT01", "HKZ1-CPT02"])
def test_ags_4_whole(shared_data, name):
    path = shared_data / "hkz" / f"{name}.ags"
    s = pp.read(path)
    headings, units, rows = ags4(path)
    keys = {"SCPT_DPTH": "depth", "SCPT_RES": "qc", "SCPT_FRES": "fs", "SCPT_PWP2": "u2",
            "SCPT_FRR": "Rf", "SCPT_QT": "qt", "SCPT_FT": "ft", "SCPT_QNET": "qn",
            "SCPT_BQ": "Bq", "SCPT_ISPP": "u0", "SCPT_CPO": "sigma_v0", "SCPT_CPOD": "sigma_v0_eff",
            "SCPT_NQT": "Qt", "SCPT_NFR": "Fr", "SCPT_SLP1": "tilt_x",
            "SCPT_SLP2": "tilt_y"}  # fmt: skip
    compared = 0
    for heading, unit in zip(headings, units, strict=True):
        if not heading.startswith("SCPT_"):
            continue
        try:
            values = numbers(column(headings, rows, heading))
        except ValueError:
            continue
        if not np.isfinite(values).any():
            continue
        key = keys.get(heading, heading)
        same(s.readings[key], values * (AGS_FACTOR[unit] if heading in keys else 1))
        compared += 1
    assert compared == len(s.readings.columns)
    assert len(s.readings) == len(rows)


def test_usgs_whole(shared_data):
    path = shared_data / "usgs" / "ALC008.txt"
    s = pp.read(path)
    with path.open(newline="") as file:
        lines = list(csv.reader(file, delimiter="\t"))
    start = next(i for i, line in enumerate(lines) if line and line[0].startswith("Depth"))
    rows = [line + [""] * 5 for line in lines[start + 1 :] if line and line[0].strip()]
    for i, (key, factor) in enumerate(
        (("depth", 1), ("qc", 1000), ("fs", 1), ("tilt", 1), ("column 5", 1))
    ):
        texts = [row[i].strip() for row in rows]
        values = [float(text) if text and text != "-32768" else None for text in texts]
        same(s.readings[key], numbers(values, factor))
    # SOURCES.md: top 15 m, 102 MPa in road base
    assert len(s.readings) == 300
    assert s.readings["depth"].max() == 15
    assert s.readings["qc"].max() == pytest.approx(102_000, rel=0.01)


def test_dutch_register_is_as_sources_says(shared_data):
    read = {name: pp.read(shared_data / "bro" / f"{name}.xml") for name in BRO}
    for s in read.values():
        assert (s.location.crs, s.location.datum) == ("EPSG:28992", "NAP")
    one = read["CPT000000115243"]
    assert (one.quality_class, len(one.readings), one.cone.area_ratio) == ("1", 755, 0.71)
    assert one.readings["length"].max() == pytest.approx(15.1, abs=0.05)
    assert one.zeros_before
    assert one.zeros_after
    (test,) = one.dissipations
    assert len(test.readings) == 301
    assert np.ptp(test.readings["u2"]) == 0
    assert "dissipation-flat" in {f.id for f in one.findings}
    one = read["CPT000000155283"]
    assert (one.quality_class, len(one.readings), one.predrilled) == ("1", 305, 0.5)
    (test,) = one.dissipations
    u2 = test.readings["u2"]
    assert (test.depth, len(u2)) == (4.01, 4163)
    low = int(np.nanargmin(u2[:2000]))
    assert u2[0] > u2[low] < np.nanmax(u2[low:]) > u2[-1]  # falls, rises, then decays
    for name in ("CPT000000198148", "CPT000000061398"):
        assert -20 < np.nanmin(read[name].readings["qc"]) < 0
    assert np.nanmax(read["CPT000000198154"].readings["tilt"]) == 14
    assert [read[f"CPT000000{n}"].predrilled for n in ("198148", "198154")] == [3.8, 2.98]
    one = read["CPT000000206344"]
    assert one.cone.filters == ("u1",)
    assert one.readings["length"].max() == pytest.approx(29, abs=0.1)
    first = one.readings["length"][np.isfinite(one.readings["qc"])].min()
    assert (first, one.predrilled) == (2.0, 0.0)
    assert "start-void" in {f.id for f in one.findings}
    one = read["CPT000000251670"]
    assert len(one.readings) == 13637
    assert one.readings["length"].max() == pytest.approx(69.7, abs=0.05)
    one = read["CPT000000204248"]
    assert one.readings["length"].max() == pytest.approx(3.44, abs=0.005)
    assert np.nanmax(one.readings["qc"]) == pytest.approx(78_000, rel=0.01)
    axes = [read[f"CPT000000{n}"].readings[k] for n in ("061549", "061398") for k in
            ("tilt_x", "tilt_y", "tilt") if k in read[f"CPT000000{n}"].readings]  # fmt: skip
    assert max(np.nanmax(np.abs(values)) for values in axes) == 19
    one = read["CPT000000206112"]
    steps = np.diff(np.sort(one.readings["length"]))
    assert np.median(steps) == pytest.approx(0.01)
    assert not {"depth", "time", "tilt"} & set(one.readings)
    one = read["CPT000000005925"]
    assert one.started.year == 1986
    jumps = {name[-6:]: int((np.diff(s.readings["length"]) < 0).sum()) for name, s in read.items()}
    # records are not sorted by length: up to 15 jumps in a file, none in five of these
    assert {name: n for name, n in jumps.items() if n} == {
        "061398": 12, "061549": 12, "115243": 5, "155283": 1, "198148": 1, "198154": 15
    }  # fmt: skip


def test_the_others_are_as_sources_says(shared_data):
    for name in ("HKZ1-CPT01", "HKZ1-CPT02"):
        s = pp.read(shared_data / "hkz" / f"{name}.ags")
        assert s.readings["depth"].max() == pytest.approx(50, abs=1)
        assert (s.cone.tip_area, s.cone.area_ratio) == (pytest.approx(15e-4), 0.58)
        assert "qt-not-of-row" in {f.id for f in s.findings}
    for name in ("21761_MCP251", "27345_MCP234", "27345_MCP822"):
        s = pp.read(shared_data / "hk" / f"{name}.ags")
        assert "units-not-stated" in {f.id for f in s.findings}
    assert len(pp.read_all(shared_data / "bgs" / "C6048.ags")) == 10
    over_u1, over_water = (pp.read(p) for p in sorted((shared_data / "bro").glob("*.gef")))
    assert over_u1.cone.filters == ("u1",)
    assert over_u1.removed
    assert over_u1.stop_reason is StopReason.TARGET_DEPTH
    missing = [f for f in over_u1.findings if f.id == "dissipation-not-delivered"]
    assert len(missing) == 4
    assert {"tilt", "tilt_x", "tilt_y"} <= set(over_water.readings)
    assert over_water.location.water_depth > 0
    assert over_water.location.zero == "waterbodem"
