"""Dutch register XML: a plain document, odd ones, broken ones, and the real ones."""

from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.dutch_register import DutchRegisterFormat
from pushproof.model.series import Reason
from pushproof.model.sounding import StopReason, WaterOrigin
from pushproof.testing.formats import FormatContract
from real import bro

HERE = Path(__file__).parent
PLAIN = (HERE / "plain.xml").read_text(encoding="utf-8")
REAL = ["CPT000000005925", "CPT000000061398", "CPT000000061549", "CPT000000115243",
        "CPT000000155283", "CPT000000198148", "CPT000000198154", "CPT000000204248",
        "CPT000000206112", "CPT000000206344", "CPT000000251670"]  # fmt: skip


class TestContract(FormatContract):
    def make(self):
        return DutchRegisterFormat()

    def plain(self):
        return HERE / "plain.xml"


def ids(sounding):
    return [finding.id for finding in sounding.findings]


@pytest.fixture
def write(tmp_path):
    def _write(text, name="odd.xml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return _write


def test_plain_document_with_all_it_says():
    s = pp.read(HERE / "plain.xml")
    assert s.name == "CPT999999999901"
    assert s.readings["length"].tolist() == [0.44, 0.42, 0.46]  # the order of the file
    assert s.readings["qc"] == pytest.approx([432, 410, 455])
    assert (s.location.x, s.location.y, s.location.crs) == (140000.5, 450000.25, "EPSG:28992")
    assert (s.location.latitude, s.location.longitude) == (52.1, 5.2)
    assert (s.location.level, s.location.datum, s.location.zero) == (-1.25, "NAP", "ground level")
    assert (s.water.level, s.water.origin) == (1.1, WaterOrigin.STATED)
    assert s.cone.tip_area == pytest.approx(1e-3)
    assert (s.cone.area_ratio, s.cone.sleeve_area, s.cone.filters) == (0.8, None, ("u2",))
    assert [z.value for z in (*s.zeros_before, *s.zeros_after)] == pytest.approx([-20, -10])
    assert (s.standard, s.quality_class) == ("ISO 22476-1", "2")
    assert s.stop_reason is StopReason.TARGET_DEPTH
    assert [(r.top, r.base, r.description) for r in s.removed] == [(0, 0.4, "sand, brown")]
    assert s.started.isoformat() == "2031-04-02T09:30:00+02:00"
    kept = {item.key.rpartition("/")[2]: item.value for item in s.header}
    assert kept["qualityRegime"] == "IMBRO"


def test_void_values_have_a_reason_and_empty_columns_are_not_made_up():
    s = pp.read(HERE / "plain.xml")
    assert np.flatnonzero(np.isnan(s.readings["fs"])).tolist() == [1]
    assert s.readings.reason("u2")[2] == Reason.VOID_IN_FILE
    assert "qt" not in s.readings
    assert "channel-empty" in ids(s)  # temperature is announced, but no record has one


def test_dissipation_is_sorted_and_counted_from_its_start():
    s = pp.read(HERE / "plain.xml")
    (test,) = s.dissipations
    assert test.depth == pytest.approx(0.46)
    assert test.readings["time"].tolist() == [0, 2, 4]
    assert test.readings["u2"] == pytest.approx([120, 118, 117])
    assert {"dissipation-unsorted", "dissipation-time-shifted"} <= set(ids(s))
    assert any(i.value == "600" for i in test.header if i.key.startswith("time of the first"))


def test_separators_are_those_the_document_names(write):
    text = PLAIN.replace(
        'tokenSeparator="," blockSeparator=";"', 'tokenSeparator=";" blockSeparator="|"'
    )
    head, values, tail = text.partition("<cptcommon:values>")
    rows, end, rest = tail.partition("</cptcommon:values>")
    first = head + values + rows.replace(";", "|").replace(",", ";") + end
    head, values, tail = rest.partition("<cptcommon:values>")
    rows, end, rest = tail.partition("</cptcommon:values>")
    whole = first + head + values + rows.replace(";", "|").replace(",", ";") + end + rest
    s = pp.read(write(whole))
    assert s.readings["qc"] == pytest.approx([432, 410, 455])


def test_separators_of_several_characters_are_read_too(write):
    head, values, tail = PLAIN.replace('tokenSeparator=","', 'tokenSeparator=",="', 1).partition(
        "<cptcommon:values>"
    )
    rows, end, rest = tail.partition("</cptcommon:values>")
    s = pp.read(write(head + values + rows.replace(",", ",=") + end + rest))
    assert s.readings["qc"] == pytest.approx([432, 410, 455])


def test_a_field_that_is_no_number_is_unreadable_and_reported(write):
    s = pp.read(write(PLAIN.replace(",0.410,", ",0.4x0,")))
    assert s.readings.reason("qc")[1] == Reason.UNREADABLE
    assert "field-unreadable" in ids(s)


def test_a_doctype_is_refused_before_anything_is_expanded(write):
    bomb = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    with pytest.raises(FormatError, match="DOCTYPE"):
        pp.read(write(PLAIN.replace('<?xml version="1.0" encoding="UTF-8"?>', bomb)))


def test_a_cut_document_names_line_and_way_out_and_salvages(write):
    path = write(PLAIN[: PLAIN.index("<cptcommon:dissipationTest")])
    with pytest.raises(FormatError, match=r"line \d+: .*--salvage"):
        pp.read(path)
    s = pp.read(path, salvage=True)
    assert len(s.readings) == 3
    assert "file-damaged" in ids(s)


def test_a_document_without_results_says_so(write):
    head, _, tail = PLAIN.partition("<cptcommon:cptResult>")
    with pytest.raises(FormatError, match="no cone test with results"):
        pp.read(write(head + tail.partition("</cptcommon:cptResult>")[2].replace("disResult", "x")))


def test_deep_nesting_is_refused(write):
    deep = PLAIN.replace("<dispatchDocument>", "<dispatchDocument>" + "<a>" * 5000, 1)
    deep = deep.replace("</dispatchDocument>", "</a>" * 5000 + "</dispatchDocument>")
    with pytest.raises(FormatError, match=r"line \d+: the elements are nested deeper"):
        pp.read(write(deep))


def test_a_result_of_more_than_ten_megabytes_is_read(write):
    head, values, tail = PLAIN.partition("<cptcommon:values>")
    rows, end, rest = tail.partition("</cptcommon:values>")
    times = 11_000_000 // len(rows)
    s = pp.read(write(head + values + rows * times + end + rest))
    assert len(s.readings) == 3 * times
    assert s.readings["qc"][-3:] == pytest.approx([432, 410, 455])


def test_an_encoding_that_could_hide_a_doctype_is_refused(write):
    hidden = '<?xml version="1.0" encoding="UTF-7"?>+ADwAIQ-DOCTYPE x+AFs-+AF0APg-'
    text = PLAIN.replace('<?xml version="1.0" encoding="UTF-8"?>', hidden)
    with pytest.raises(FormatError, match="encoding 'UTF-7'"):
        pp.read(write(text))


def test_a_document_over_the_limit_says_the_limit():
    with pytest.raises(FormatError, match="more than the limit of 0 MB"):
        DutchRegisterFormat().read(HERE / "plain.xml", ReadOptions(max_bytes=1000))


@pytest.mark.shared
@pytest.mark.parametrize("name", REAL)
def test_real_documents_agree_with_a_plain_parse(shared_data, name):
    """Value by value with an extract that shares nothing with the reader."""
    columns, about = bro(shared_data / "bro" / f"{name}.xml")
    s = pp.read(shared_data / "bro" / f"{name}.xml")
    factor = {"qc": 1000, "fs": 1000, "u1": 1000, "u2": 1000}
    for key, expected in columns.items():
        values = np.array(expected, dtype=float) * factor.get(key, 1)
        if key in ("tilt_x", "tilt_y") and not np.isfinite(values).any():
            continue  # the compass axes stand in where the axes of the cone are void
        np.testing.assert_allclose(s.readings.get(key), values, rtol=1e-12)
    assert s.name == name
    if "coneSurfaceQuotient" in about:
        assert s.cone.area_ratio == float(about["coneSurfaceQuotient"])


@pytest.mark.shared
def test_real_documents_hold_what_sources_says(shared_data):
    folder = shared_data / "bro"
    assert len(pp.read(folder / "CPT000000251670.xml").readings) == 13637
    soft = pp.read(folder / "CPT000000115243.xml")
    assert (len(soft.readings), soft.cone.area_ratio) == (755, 0.71)
    assert len(soft.dissipations[0].readings) == 301
    decay = pp.read(folder / "CPT000000155283.xml")
    assert (len(decay.readings), decay.predrilled) == (305, 0.5)
    assert [(t.depth, len(t.readings)) for t in decay.dissipations] == [(4.01, 4163)]
    assert len(pp.read(folder / "CPT000000061549.xml").removed) == 2
