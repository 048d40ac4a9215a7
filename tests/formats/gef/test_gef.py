"""GEF-CPT: a plain file, its children, and a zoo of odd and broken ones."""

import random
from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.model.series import Reason
from pushproof.model.sounding import StopReason

HERE = Path(__file__).parent
PLAIN = (HERE / "plain.gef").read_text(encoding="utf-8")


def ids(sounding):
    return [finding.id for finding in sounding.findings]


@pytest.fixture
def write(tmp_path):
    def _write(text, name="odd.gef", encoding="utf-8"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    return _write


def test_plain_file_with_all_it_says():
    s = pp.read(HERE / "plain.gef")
    assert s.name == "MOSS-3"
    assert s.readings["qc"][1:3].tolist() == [410, 432]
    assert s.readings["fs"][1] == pytest.approx(8)
    assert (s.location.x, s.location.crs, s.location.level) == (121000, "EPSG:28992", -1.25)
    assert (s.cone.area_ratio, s.cone.tip_area) == (0.8, pytest.approx(1e-3))
    assert s.cone.tip_to_mid_sleeve == pytest.approx(0.08)
    assert (s.standard, s.quality_class) == ("NEN-EN-ISO 22476-1 / klasse 2", "2")
    assert s.stop_reason is StopReason.TARGET_DEPTH
    assert [z.value for z in (*s.zeros_before, *s.zeros_after)] == pytest.approx([10, 14])
    assert [(r.top, r.base) for r in s.removed] == [(0, 0.8), (0.8, 1.5)]
    assert f"{s.started:%Y-%m-%d %H:%M}" == "2031-04-02 09:30"
    assert len(s.source.sha256) == 64


def test_voids_are_per_column_and_have_a_reason():
    s = pp.read(HERE / "plain.gef")
    assert np.flatnonzero(np.isnan(s.readings["fs"])).tolist() == [0, 4]
    assert np.flatnonzero(np.isnan(s.readings["u2"])).tolist() == [0, 5]
    assert np.isnan(s.readings["tilt"][5])
    assert s.readings.reason("u2")[5] == Reason.VOID_IN_FILE


def test_unknown_column_is_kept_with_name_and_unit():
    s = pp.read(HERE / "plain.gef")
    row = s.readings.quantity("column 6")
    assert (row.name, row.unit) == ("sondeersnelheid", "cm/s")
    assert s.readings["column 6"][2] == 2.1


def test_every_header_line_travels_with_the_sounding():
    s = pp.read(HERE / "plain.gef")
    written = [line for line in PLAIN.splitlines() if line.startswith("#")][:-1]
    assert len(s.header) == len(written)
    assert {"MEASUREMENTVAR", "CHILD", "LASTSCAN"} <= {item.key for item in s.header}


def test_children_are_read_and_missing_ones_reported():
    s = pp.read(HERE / "plain.gef")
    (test,) = s.dissipations
    assert test.depth == 2.06
    assert test.readings["time"].tolist() == [0, 1, 10, 100]
    assert test.readings["u2"] == pytest.approx([25, 24.4, 23.1, 20.9])
    assert np.isnan(test.readings["qc"][2])
    assert "dissipation-not-delivered" in ids(s)


def test_wrong_row_count_and_text_for_a_number_are_findings():
    assert {"row-count-stated"} <= set(ids(pp.read(HERE / "plain.gef")))
    header = [i for i in pp.read(HERE / "plain.gef").header if "Electrical" in i.value]
    assert header


def test_a_dissipation_file_alone_says_what_to_read():
    with pytest.raises(FormatError, match="dissipation test"):
        pp.read(HERE / "plain-dis1.gef")


def test_header_lines_wrapped_in_quotes_by_a_spreadsheet(write):
    head, _, body = PLAIN.partition("#EOH=\n")
    quoted = "".join(f'"{line}"\n' for line in head.splitlines()) + "#EOH=\n" + body
    assert pp.read(write(quoted)).readings["qc"][1] == 410


def test_blank_separated_columns_and_windows_line_ends(write):
    text = PLAIN.replace("#COLUMNSEPARATOR= ;\n", "").replace("#RECORDSEPARATOR= !\n", "")
    head, _, body = text.partition("#EOH=\n")
    body = body.replace(";!", "").replace(";", " ")
    path = write((head + "#EOH=\n" + body).replace("\n", "\r\n"))
    assert pp.read(path).readings["qc"][1:3].tolist() == [410, 432]


def test_rows_on_one_line_cut_by_the_record_mark(write):
    head, _, body = PLAIN.partition("#EOH=\n")
    path = write(head + "#EOH=\n" + body.replace("\n", ""))
    assert len(pp.read(path).readings) == 6


def test_text_after_the_numbers_and_blanks_before_the_equals_sign(write):
    text = PLAIN.replace("#COLUMN= 6", "#COLUMN = 6").replace(
        "0.470;9.999;0.025;1;2.0;!", "0.470;9.999;0.025;1;2.0;rod added!"
    )
    assert pp.read(write(text)).readings["u2"][4] == 25


@pytest.mark.parametrize("encoding", ["iso-8859-1", "cp437", "utf-8-sig"])
def test_encodings(write, encoding):
    s = pp.read(write(PLAIN.replace("clay", "argile compacté"), encoding=encoding))
    assert s.removed[1].description == "argile compacté"


def test_void_not_declared_is_void_with_a_finding(write):
    text = PLAIN.replace("#COLUMNVOID= 2, 999.999\n", "").replace("999.999;9.999", "-9999;9.999")
    s = pp.read(write(text))
    assert np.isnan(s.readings["qc"][0])
    assert "void-not-declared" in ids(s)


def test_unit_of_another_kind_is_kept_aside_not_used(write):
    s = pp.read(write(PLAIN.replace("#COLUMNINFO= 4, MPa,", "#COLUMNINFO= 4, deg,")))
    assert "u2" not in s.readings
    assert "unit-mismatch" in ids(s)


def test_level_twice_and_position_zero_are_findings(write):
    text = PLAIN.replace("#ZID= 31000, -1.25", "#ZID= 31000, -1.25\n#ZID= 0, 7")
    s = pp.read(write(text.replace("121000.0, 487000.0", "0, 0")))
    assert {"level-twice", "position-zero"} <= set(ids(s))
    assert s.location.x is None
    assert s.location.level == -1.25


def test_a_field_that_is_no_number_is_missing_and_reported_with_its_line(write):
    path = write(PLAIN.replace("0.432;", "0.4x2;"))
    s = pp.read(path)
    assert np.isnan(s.readings["qc"][2])
    assert s.readings.reason("qc")[2] == Reason.UNREADABLE
    (finding,) = [f for f in s.findings if f.id == "field-unreadable"]
    assert path.read_text(encoding="utf-8").splitlines()[finding.line - 1].startswith("2.020")


BROKEN = {
    "no-end-of-header": (PLAIN.replace("#EOH=", ""), "has no end"),
    "no-data": (PLAIN.partition("#EOH=")[0] + "#EOH=\n", "no row of data"),
    "no-length-column": (PLAIN.replace("sondeertrajectlengte, 1\n", "x, 77\n"), "no column is pen"),
    "million-columns": (PLAIN.replace("#COLUMN= 6", "#COLUMN= 1000000"), "expected 1 to"),
    "columns-not-a-number": (PLAIN.replace("#COLUMN= 6", "#COLUMN= six"), "expected a number"),
    "empty": ("", "empty"),
    "binary": (b"#GEFID= 1\n" + bytes(range(1, 32)) * 300, "binary"),
    "borehole": (PLAIN.replace("GEF-CPT-Report", "GEF-BORE-Report"), "borehole"),
}


@pytest.mark.parametrize("defect", BROKEN)
def test_broken_file_gives_one_clear_message(write, defect):
    content, message = BROKEN[defect]
    path = write(content, f"{defect}.gef")
    with pytest.raises(FormatError, match=message) as caught:
        pp.read(path)
    assert defect in str(caught.value)


def _mutations(count, seed):
    rng = random.Random(seed)
    data = PLAIN.encode()
    for _ in range(count):
        mutant = bytearray(data)
        for _ in range(rng.randint(1, 12)):
            place = rng.randrange(len(mutant) or 1)
            kind = rng.randrange(4)
            if kind == 0:
                mutant[place : place + 1] = bytes([rng.randrange(256)])
            elif kind == 1:
                del mutant[place : place + rng.randrange(200)]
            elif kind == 2:
                mutant[place:place] = bytes(rng.choices(b'0;,!#=\n"- \0', k=rng.randrange(40)))
            else:
                mutant = mutant[: max(place, 1)]
        yield bytes(mutant)


@pytest.mark.parametrize(
    "count", [400, pytest.param(20_000, marks=[pytest.mark.slow, pytest.mark.timeout(600)])]
)
def test_damaged_files_never_crash(write, count):
    read = 0
    for mutant in _mutations(count, seed=count):
        try:
            pp.process(pp.read(write(mutant, "fuzz.gef")))
            read += 1
        except FormatError:
            pass
    assert read > count / 10


@pytest.mark.shared
@pytest.mark.parametrize(
    ("name", "rows", "void_u1"),
    [("CPT000000038871_IMBRO_A.gef", 921, 2), ("CPT000000157983_IMBRO.gef", 1310, None)],
)
def test_real_file_agrees_with_an_independent_parse(shared_data, name, rows, void_u1):
    # Dutch register of the subsurface, CC0. The parse below shares nothing with the reader.
    path = shared_data / "bro" / name
    s = pp.read(path)
    text = path.read_text(encoding="utf-8").split("#EOH=")[1]
    plain = [line.split(";") for line in text.strip().replace("!", "").splitlines()]
    assert len(s.readings) == len(plain) == rows
    for i, fields in enumerate(plain):
        assert s.readings["length"][i] == float(fields[0])
        assert s.readings["qc"][i] == pytest.approx(1000 * float(fields[1]), rel=1e-12)
    if void_u1 is not None:
        assert int(np.isnan(s.readings["u1"]).sum()) == void_u1
    derived = pp.interpret(pp.process(s))
    assert np.isfinite(derived.series["Ic"]).mean() > 0.9
