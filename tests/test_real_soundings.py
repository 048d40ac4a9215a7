"""The whole job on real soundings, from plain extracts made on the fly.

Sources are named in ``../shared/data/SOURCES.md``: the Dutch and Flemish registers, the Netherlands
Enterprise Agency, the Geotechnical Engineering Office of Hong Kong, the British Geological Survey.
"""

import numpy as np
import pytest

import pushproof as pp
from pushproof.report import log_sheet
from real import ags3, ags4, bro, column, dov, write_csv

pytestmark = pytest.mark.shared

BRO = ["CPT000000005925", "CPT000000061398", "CPT000000061549", "CPT000000115243",
       "CPT000000155283", "CPT000000198148", "CPT000000198154", "CPT000000204248",
       "CPT000000206112", "CPT000000206344", "CPT000000251670"]  # fmt: skip
UNITS = {"length": "m", "time": "s", "qc": "MPa", "fs": "MPa", "u1": "MPa", "u2": "MPa",
         "tilt": "deg", "tilt_x": "deg", "tilt_y": "deg"}  # fmt: skip


def run(path, recipe=None):
    derived = pp.interpret(pp.process(pp.read(path), recipe))
    finite = np.isfinite(derived.series["qt"])
    assert (np.diff(derived.series["depth"]) >= 0).all()
    assert (derived.series["depth"] <= derived.series["length"] + 1e-9).all()
    assert finite.any()
    return derived


@pytest.mark.parametrize("name", BRO)
def test_dutch_register(shared_data, tmp_path, name):
    columns, about = bro(shared_data / "bro" / f"{name}.xml")
    kept = {
        f"{key.replace('tilt_', 'tilt ')} [{UNITS[key]}]": columns[key]
        for key in UNITS
        if any(value is not None for value in columns[key])
    }
    path = write_csv(tmp_path / f"{name}.csv", kept)
    ratio = float(about.get("coneSurfaceQuotient", "nan"))
    recipe = pp.Recipe(area_ratio=ratio if 0 < ratio <= 1 else None)
    derived = run(path, recipe)
    assert len(derived) == len(columns["length"])
    measured = [value for value in columns["qc"] if value is not None]
    assert np.nanmax(derived.series["qc"]) == pytest.approx(1000 * max(measured))
    if name in ("CPT000000115243", "CPT000000204248", "CPT000000251670"):
        assert log_sheet(derived).startswith(b"%PDF")


@pytest.mark.parametrize("name", ["HKZ1-CPT01", "HKZ1-CPT02"])
def test_north_sea(shared_data, tmp_path, name):
    headings, units, rows = ags4(shared_data / "hkz" / f"{name}.ags")
    unit = dict(zip(headings, units, strict=False))
    table = {
        f"{key} [{unit[heading]}]": column(headings, rows, heading)
        for key, heading in (
            ("depth", "SCPT_DPTH"), ("qc", "SCPT_RES"), ("fs", "SCPT_FRES"), ("u2", "SCPT_PWP2")
        )
    }  # fmt: skip
    path = write_csv(tmp_path / f"{name}.csv", table)
    derived = run(path, pp.Recipe(area_ratio=0.58, water_level=-20.0))
    assert derived.series["depth"].max() > 45
    # The stored qt follows from the row's own qc and u2 on most rows only: u2 was shifted later.
    stored = np.array(column(headings, rows, "SCPT_QT"), dtype=float) * 1000
    same = np.abs(derived.series["qt"] - stored) < 20
    assert same.mean() > 0.6


@pytest.mark.parametrize("name", ["21761_MCP251", "27345_MCP234", "27345_MCP822"])
def test_hong_kong(shared_data, tmp_path, name):
    headings, rows = ags3(shared_data / "hk" / f"{name}.ags")
    table = {
        "depth [m]": column(headings, rows, "STCN_DPTH"),
        "qc [MPa]": column(headings, rows, "STCN_RES"),
        "fs [kPa]": column(headings, rows, "STCN_FRES"),
    }
    derived = run(write_csv(tmp_path / f"{name}.csv", table))
    assert np.isfinite(derived.series["Ic"]).mean() > 0.5


def test_british_till_with_negative_friction(shared_data, tmp_path):
    headings, rows = ags3(shared_data / "bgs" / "C6048.ags")
    first = rows[0][headings.index("HOLE_ID")]
    rows = [row for row in rows if row[headings.index("HOLE_ID")] == first]
    table = {
        "depth [m]": column(headings, rows, "STCN_DPTH"),
        "qc [MPa]": column(headings, rows, "STCN_RES"),
        "fs [kPa]": column(headings, rows, "STCN_FRES"),
    }
    derived = run(write_csv(tmp_path / "till.csv", table))
    fs = np.array(table["fs [kPa]"], dtype=float)
    assert np.nanmin(derived.series["fs"]) == pytest.approx(np.nanmin(fs))


def test_flemish_register(shared_data, tmp_path):
    columns = dov(shared_data / "dov" / "GEO-02-111-S1.xml")
    table = {
        "length [m]": columns["lengte"],
        "qc [MPa]": columns["qc"],
        "fs [kPa]": columns["fs"],
        "tilt [deg]": columns["i"],
    }
    derived = run(write_csv(tmp_path / "dov.csv", table), pp.Recipe(predrilled=6.3))
    assert len(derived) == len(columns["qc"])
