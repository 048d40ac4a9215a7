"""The page on relations holds what its script prints for the open soundings."""

import importlib.machinery
import importlib.util
import math
import sys
from pathlib import Path

import numpy as np
import pytest

from pushproof.equations import find

ROOT = Path(__file__).parents[2]
FILES = (
    "usgs/ALC008.txt",
    "hkz/HKZ1-CPT01.ags",
    "hk/27345_MCP234.ags",
    "bro/CPT000000115243.xml",
    "bro/CPT000000155283.xml",
)


@pytest.fixture(scope="module")
def script():
    path = str(ROOT / "scripts" / "compare_relations")
    loader = importlib.machinery.SourceFileLoader("compare_relations", path)
    module = importlib.util.module_from_spec(importlib.util.spec_from_loader(loader.name, loader))
    sys.modules[loader.name] = module
    loader.exec_module(module)
    yield module
    del sys.modules[loader.name]


def test_the_distance_is_in_standard_deviations_of_the_own_scatter(script):
    size = find("Vs_robertson_2009").scatter.size
    mine = np.array([100.0, 200.0, np.nan, 300.0])
    found = {
        "Vs_robertson_2009": mine,
        "near": mine * 1.1,
        "far": np.array([50.0, 100.0, 1.0, np.nan]),
    }
    apart, other = script.farthest("Vs_robertson_2009", found)
    assert other == "far"
    assert apart == pytest.approx(math.log(2) / size)
    phi = {"phi_kulhawy_mayne_1990": mine, "near": mine - 5.6}
    assert script.farthest("phi_kulhawy_mayne_1990", phi)[0] == pytest.approx(2.0)
    assert script.farthest("Vs_mayne_2006", found) == (None, "")


@pytest.mark.shared
def test_the_tables_of_the_page_are_those_of_the_script(script, shared_data):
    page = (ROOT / "docs/explanation/relations-compared.md").read_text(encoding="utf-8")
    found = {Path(name).stem: script.on_sounding(shared_data / name) for name in FILES}
    assert "\n".join(script.one_sounding(found["ALC008"])) in page
    assert "\n".join(script.all_soundings(found)) in page
    known = [one.apart for one in found["ALC008"] if one.apart is not None]
    assert (len(known), sum(one > 1 for one in known), sum(one > 2 for one in known)) == (9, 7, 2)
    assert "for seven of nine relations, beyond two for two" in " ".join(page.split())
