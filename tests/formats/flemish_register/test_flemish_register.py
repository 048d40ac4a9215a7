"""Flemish register XML: a plain document and the real one."""

from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.formats.flemish_register import FlemishRegisterFormat
from pushproof.model.sounding import StopReason, WaterOrigin
from pushproof.testing.formats import FormatContract
from real import dov

HERE = Path(__file__).parent


class TestContract(FormatContract):
    def make(self):
        return FlemishRegisterFormat()

    def plain(self):
        return HERE / "plain.xml"


def test_plain_document_with_all_it_says():
    s = pp.read(HERE / "plain.xml")
    assert (s.name, s.project, s.operator) == ("MADE-31/7-S2", "MADE-31/7", "N. Nemo")
    assert s.readings["length"].tolist() == [0.95, 1, 1.05]
    assert s.readings["depth"][2] == 1.049
    assert s.readings["qc"] == pytest.approx([540, 570, 630])
    assert s.readings["fs"][1:].tolist() == [10, 10]
    assert s.readings["tilt"].tolist() == [0.5, 0.5, 0.6]
    place = s.location
    assert (place.x, place.y, place.crs) == (150000.5, 210000.25, "EPSG:31370")
    assert (place.level, place.datum, place.zero) == (7.5, "TAW", "ground level")
    assert (s.water.level, s.water.origin) == (1.4, WaterOrigin.STATED)
    assert (s.cone.area_ratio, s.cone.tip_area, s.cone.model) == (0.8, pytest.approx(1e-3), "U")
    assert [z.value for z in (*s.zeros_before, *s.zeros_after)] == pytest.approx([120, 140])
    assert {"zero-unit-not-stated"} <= {f.id for f in s.findings}
    assert (s.predrilled, s.rig.name) == (0.9, "200 kN rig")
    assert [(e.kind, e.depth) for e in s.events] == [("dissipation", 1.0), ("note", 0.9)]
    assert s.stop_reason is StopReason.UNKNOWN
    assert s.started.isoformat() == "2031-04-02T00:00:00"


@pytest.mark.shared
def test_real_document_agrees_with_a_plain_parse(shared_data):
    # Databank Ondergrond Vlaanderen, free licence; parsed by ElementTree in real.py.
    path = shared_data / "dov" / "GEO-02-111-S1.xml"
    s = pp.read(path)
    columns = dov(path)
    factor = {"qc": 1000}
    names = {"lengte": "length", "diepte": "depth", "qc": "qc", "fs": "fs", "u": "u2", "i": "tilt"}
    assert len(s.readings) == len(columns["qc"]) == 473
    for name, key in names.items():
        expected = np.array(columns[name], dtype=float) * factor.get(name, 1)
        np.testing.assert_allclose(s.readings[key], expected, rtol=1e-12)
    assert np.all(s.readings["fs"] % 10 == 0)
    assert (s.predrilled, s.cone.area_ratio, s.water.level) == (6.3, 0.8, 3.6)
    assert [e.depth for e in s.events if e.kind == "dissipation"] == [8.0, 14.0]
    assert not [f for f in s.findings if f.id.endswith("-doubtful")]
