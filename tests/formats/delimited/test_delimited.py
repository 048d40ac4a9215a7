"""Delimited text: any separator, headings and units in many spellings, and a zoo of bad files."""

import random
from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.errors import ConfigurationError, FormatError
from pushproof.formats.delimited import DelimitedFormat, guess_columns
from pushproof.testing.formats import FormatContract


class TestContract(FormatContract):
    def make(self):
        return DelimitedFormat()

    def plain(self):
        return Path(__file__).parent / "zoo" / "plain.csv"


ROWS = [
    (0.5, 1.2, 14.0, 3.0),
    (0.52, 1.3, 15.5, 3.2),
    (0.54, 1.25, 13.0, 3.5),
    (0.56, 1.1, 9.0, 4.0),
]


def table(separator=",", decimal=".", heading=("depth [m]", "qc [MPa]", "fs [kPa]", "u2 [kPa]")):
    rows = [separator.join(f"{v:g}".replace(".", decimal) for v in row) for row in ROWS]
    return "\n".join([separator.join(heading), *rows]) + "\n"


@pytest.fixture
def write(tmp_path):
    def _write(text, name="table.csv", encoding="utf-8"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    return _write


def expect_rows(sounding):
    series = sounding.readings
    assert series["depth"] == pytest.approx([row[0] for row in ROWS])
    assert series["qc"] == pytest.approx([1000 * row[1] for row in ROWS])
    assert series["fs"] == pytest.approx([row[2] for row in ROWS])
    assert series["u2"] == pytest.approx([row[3] for row in ROWS])


@pytest.mark.parametrize(
    ("separator", "decimal"),
    [(",", "."), ("\t", "."), (";", "."), (";", ","), ("\t", ","), ("|", ".")],
)
def test_separators_and_decimal_signs(write, separator, decimal):
    expect_rows(pp.read(write(table(separator, decimal))))


@pytest.mark.parametrize("decimal", [".", ","])
def test_blanks_with_headings_of_one_word(write, decimal):
    text = table("  ", decimal, ("depth_m", "qc_MPa", "fs_kPa", "u2_kPa"))
    expect_rows(pp.read(write(text, "blanks.txt")))


@pytest.mark.parametrize(
    "heading",
    [
        ("Depth (m)", "Tip Resistance (MN/m2)", "Sleeve Friction (kN/m2)", "PWP2 (kPa)"),
        ("Diepte [m]", "Conusweerstand [MPa]", "Plaatselijke wrijving [kPa]", "u2 [kPa]"),
        ("Tiefe/m", "Spitzenwiderstand/MPa", "Mantelreibung/kPa", "Porenwasserdruck u2/kPa"),
        ("profondeur, m", "qc, MPa", "frottement latéral, kPa", "u2, kPa"),
    ],
)
def test_headings_of_the_trade_in_four_languages(write, heading):
    expect_rows(pp.read(write(table(";", ".", heading))))


def test_units_on_a_line_of_their_own(write):
    text = "Site works\ndepth,qc,fs,u2\nm,MPa,kPa,kPa\n" + table().partition("\n")[2]
    expect_rows(pp.read(write(text)))


def test_header_lines_become_metadata_and_travel_along(write):
    head = (
        "sounding: FEN-1\nx: 1200.5\ny = 340\nlevel [m]\t2.75\nwater level: 0.8 m\n"
        "area ratio: 0.79\ncone: T-77\ntip area: 10 cm2\nlooks odd but stays\n\n"
    )
    s = pp.read(write(head + table()))
    assert (s.name, s.location.x, s.location.y, s.location.level) == ("FEN-1", 1200.5, 340, 2.75)
    assert (s.water.level, s.cone.area_ratio, s.cone.serial) == (0.8, 0.79, "T-77")
    assert s.cone.tip_area == pytest.approx(1e-3)
    assert "looks odd but stays" in [item.value for item in s.header]
    assert len(s.header) == 9


def test_unknown_columns_are_kept(write):
    text = table(heading=("depth [m]", "qc [MPa]", "fs [kPa]", "hammer count"))
    s = pp.read(write(text))
    assert s.readings.quantity("column 4").name == "hammer count"
    assert s.readings["column 4"][3] == 4.0


def test_a_pore_pressure_that_does_not_say_where_is_marked(write):
    s = pp.read(write(table(heading=("depth [m]", "qc [MPa]", "fs [kPa]", "u [kPa]"))))
    (finding,) = [f for f in s.findings if f.id == "column-assumed"]
    assert "filter position not stated" in finding.found


def test_missing_units_are_assumed_from_the_size_and_say_so(write):
    s = pp.read(write(table(heading=("depth", "qc", "fs", "u2"))))
    assert s.readings["qc"][0] == 1200
    assert {f.channel for f in s.findings if f.id == "column-assumed"} >= {"qc", "fs", "u2"}


def test_mapping_by_number_and_by_heading(write):
    path = write(table(heading=("A", "B", "C", "D")))
    expect_rows(pp.read(path, columns="depth=1:m, qc=B:MPa, fs=3:kPa, u2=D:kPa"))


def test_mapping_from_a_file(write, tmp_path):
    mapping = tmp_path / "map.toml"
    mapping.write_text(
        '[columns]\ndepth = "1:m"\nqc = {column = 2, unit = "MPa"}\nfs = "3:kPa"\nu2 = "4:kPa"\n'
    )
    expect_rows(pp.read(write(table(heading=("A", "B", "C", "D"))), columns=str(mapping)))


@pytest.mark.parametrize(
    ("mapping", "message"),
    [
        ("depth=9:m", "no column '9' of 4"),
        ("depht=1:m", "depht: no such quantity"),
        ("depth=1:MPa", "MPa is no unit of it"),
        ("depth=1:furlong", "unknown unit 'furlong'"),
        ("depth", "not of the form"),
    ],
)
def test_a_bad_mapping_names_every_fault(write, mapping, message):
    with pytest.raises(ConfigurationError, match=message):
        pp.read(write(table()), columns=mapping)


def test_the_guess_can_be_shown_before_reading(write):
    guesses = guess_columns(write(table()))
    assert [(g.key, g.unit) for g in guesses][:2] == [("depth", "m"), ("qc", "MPa")]
    assert all(g.how == "name and unit" for g in guesses)


def test_voids_blank_fields_and_comments_inside_the_table(write):
    lines = table().splitlines()
    lines[2] = "0.52,-32768,,3.2"
    lines.insert(3, "# rod added")
    s = pp.read(write("\n".join(lines)))
    assert len(s.readings) == 4
    assert np.isnan(s.readings["qc"][1])
    assert np.isnan(s.readings["fs"][1])
    assert "rod added" in [i.value.lstrip("# ") for i in s.header]


def test_rows_that_end_early_are_void_at_the_end(write):
    lines = table().splitlines()
    lines[2] = "0.52,1.3"
    s = pp.read(write("\n".join(lines)))
    assert np.isnan(s.readings["u2"][1])
    (finding,) = [f for f in s.findings if f.id == "row-short"]
    assert finding.line == 3


def test_a_factor_of_a_thousand_is_reported_not_repaired(write):
    rows = "\n".join(f"{0.02 * i:.2f},{400 + i},{9 + i % 3}" for i in range(100))
    s = pp.read(write("depth [m],qc [MPa],fs [kPa]\n" + rows))
    assert s.readings["qc"][0] == 400_000
    assert "fs-unit-doubtful" in [f.id for f in s.findings]


def test_a_table_that_begins_with_void_rows_begins_at_its_heading(write):
    lines = table().splitlines()
    lines[1:1] = [f"{0.02 * i:.2f},,," for i in range(20)]
    s = pp.read(write("\n".join(lines)))
    assert len(s.readings) == 24
    assert int(np.isfinite(s.readings["qc"]).sum()) == 4


def test_a_separator_at_the_end_of_each_line_makes_no_column(write):
    text = "\n".join(line + ";" for line in table(";", ",").splitlines())
    s = pp.read(write(text))
    expect_rows(s)
    assert set(s.readings) == {"depth", "qc", "fs", "u2"}


BROKEN = {
    "prose": ("This is a letter.\nIt holds no table.\n", "no table of numbers"),
    "no-depth": ("qc [MPa],fs [kPa]\n1.0,2.0\n1.1,2.2\n1.2,2.3\n", "no column is a depth"),
    "empty": ("", "empty"),
    "blank": ("\n\n   \n", "empty"),
    "one-huge-line": ("1," * 800_000, "longer than any table"),
    "too-many-fields": (("1," * 20_000 + "1\n") * 3, "more than 500 fields"),
    "nul": (b"\0" * 5000, "empty|binary"),
    "binary": (bytes(range(256)) * 64, "no known format|binary"),
}


@pytest.mark.parametrize("defect", BROKEN)
def test_broken_file_gives_one_clear_message(write, defect):
    content, message = BROKEN[defect]
    with pytest.raises(FormatError, match=message):
        pp.read(write(content, f"{defect}.csv"))


def test_deep_quotes_neither_crash_nor_hang(write):
    text = table() + '"' * 200_000 + "\n" + '0.6,"""""1,2,3\n'
    assert len(pp.read(write(text)).readings) >= 4


def test_a_run_of_nul_bytes_inside_a_table_is_reported(write):
    lines = table().splitlines()
    lines.insert(3, "\0" * 512)
    s = pp.read(write("\n".join(lines + lines[4:] * 60)))
    assert "bytes-nul" in [f.id for f in s.findings]


def test_damaged_files_never_crash(write):
    rng = random.Random(11)
    data = ("sounding: A\nwater level: 1.0\n" + table(";", ",") * 2).encode()
    for _ in range(600):
        mutant = bytearray(data)
        for _ in range(rng.randint(1, 10)):
            place = rng.randrange(len(mutant) or 1)
            mutant[place : place + rng.randrange(8)] = bytes(
                rng.choices(range(256), k=rng.randrange(8))
            )
        try:
            pp.interpret(pp.process(pp.read(write(bytes(mutant), "fuzz.csv"))))
        except FormatError:
            continue


@pytest.mark.slow
def test_a_hundred_megabytes_are_read(write):
    rows = "".join(f"{i * 1e-4:.4f};{1 + i % 7},25;{10 + i % 5},5\n" for i in range(4_500_000))
    path = write("depth [m];qc [MPa];fs [kPa]\n" + rows)
    assert path.stat().st_size > 80e6
    assert len(pp.read(path).readings) == 4_500_000


@pytest.mark.shared
def test_usgs_file_agrees_with_an_independent_parse(shared_data):
    # US Geological Survey, CPT ALC008, Alameda, California; public domain.
    path = shared_data / "usgs" / "ALC008.txt"
    s = pp.read(path)
    lines = path.read_text().splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("Depth"))
    rows = [line.split("\t") for line in lines[start + 1 :] if line.strip()]
    assert len(s.readings) == len(rows) == 300
    assert s.readings["qc"] == pytest.approx([1000 * float(r[1]) for r in rows])
    assert s.readings["fs"] == pytest.approx([float(r[2]) for r in rows])
    assert (s.name, s.location.x, s.location.level, s.cone.serial) == ("ALC008", 567306, 1, "660")
    assert s.water.level == 1.0
    assert s.readings.measured("column 5")
    assert Path(s.source.name).suffix == ".txt"
