"""Reading of every format: MB/s against the bare parser beneath it, memory, many files.

The bare parser takes the file apart and makes numbers of its readings; it knows no void, no unit,
no line, no metadata and finds nothing odd. Text tables and AGS: ``csv.reader`` and ``float``. GEF:
``numpy.loadtxt`` on the rows. Register and DIGGS XML: ``lxml`` and ``numpy.loadtxt`` or ``float``.
Workbooks: ``openpyxl``. Parquet: ``pyarrow``. The files are made here.

Run: ``python benchmarks/formats.py [rows ...]``; 13637 is the largest sounding of the tests.
"""

from __future__ import annotations

import csv
import io
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

ROUNDS = 3
GOAL = 2.0
MANY = 1000


def columns(rows: int) -> np.ndarray:
    """Return depth m, qc MPa, fs kPa, u2 kPa of an invented push, shape (rows, 4)."""
    z = 0.005 * np.arange(1, rows + 1)
    qc = 4 + 3 * np.sin(z) + 0.1 * np.cos(31 * z)
    return np.column_stack([z, qc, 15 * qc, 9.81 * z + 10 * np.sin(7 * z)])


def lines(rows: int, mark: str, end: str, fill: str = "{:.3f}") -> str:
    """Return rows as text."""
    form = mark.join([fill] * 4) + end
    return "".join(form.format(*row) for row in columns(rows).tolist())


def make_delimited(rows: int) -> bytes:
    return ("depth [m],qc [MPa],fs [kPa],u2 [kPa]\n" + lines(rows, ",", "\n")).encode()


def make_voids(rows: int) -> bytes:
    """A text table where every tenth row has an empty field."""
    table = lines(rows, ",", "\n").splitlines()
    table[::10] = [row.rpartition(",")[0] + "," for row in table[::10]]
    return ("depth [m],qc [MPa],fs [kPa],u2 [kPa]\n" + "\n".join(table) + "\n").encode()


def make_gef(rows: int) -> bytes:
    head = (
        "#GEFID= 1, 1, 0\n#COLUMN= 4\n#COLUMNINFO= 1, m, length, 1\n#COLUMNINFO= 2, MPa, qc, 2\n"
        "#COLUMNINFO= 3, kPa, fs, 3\n#COLUMNINFO= 4, kPa, u2, 6\n#COLUMNSEPARATOR= ;\n"
        "#RECORDSEPARATOR= !\n#REPORTCODE= GEF-CPT-Report, 1, 1, 2\n#EOH=\n"
    )
    return (head + lines(rows, ";", ";!\n")).encode()


def make_ags(rows: int) -> bytes:
    head = (
        '"GROUP","LOCA"\r\n"HEADING","LOCA_ID"\r\n"UNIT",""\r\n"TYPE","ID"\r\n"DATA","A"\r\n\r\n'
        '"GROUP","SCPT"\r\n"HEADING","LOCA_ID","SCPT_DPTH","SCPT_RES","SCPT_FRES","SCPT_PWP2"\r\n'
        '"UNIT","","m","MPa","kPa","kPa"\r\n"TYPE","ID","3DP","3DP","3DP","3DP"\r\n'
    )
    body = lines(rows, '","', "\n").splitlines()
    return (head + "".join(f'"DATA","A","{row}"\r\n' for row in body)).encode()


def make_dutch(rows: int) -> bytes:
    data = columns(rows)
    void = "-999999"
    records = []
    for z, qc, fs, u2 in data.tolist():
        fields = [void] * 25
        fields[0], fields[3] = f"{z:.3f}", f"{qc:.3f}"
        fields[18], fields[22] = f"{fs / 1000:.4f}", f"{u2 / 1000:.4f}"
        records.append(",".join(fields))
    return (
        '<r xmlns="http://www.broservices.nl/xsd/dscpt/1.1"><CPT_O><broId>CPT1</broId><cptResult>'
        f"<values>{';'.join(records)};</values></cptResult></CPT_O></r>"
    ).encode()


def make_flemish(rows: int) -> bytes:
    body = "".join(
        f"<meetdata><lengte>{z:.3f}</lengte><qc>{qc:.3f}</qc><fs>{fs:.1f}</fs><u>{u:.1f}</u>"
        "</meetdata>\n"
        for z, qc, fs, u in columns(rows).tolist()
    )
    return (
        '<ns4:dov-schema xmlns:ns4="http://kern.schemas.dov.vlaanderen.be"><sondering>'
        f"<sondeernummer>A</sondeernummer>{body}</sondering></ns4:dov-schema>"
    ).encode()


def make_diggs(rows: int) -> bytes:
    data = columns(rows)
    kinds = (("tip_resistance", "MPa"), ("sleeve_friction", "kPa"), ("pore_pressure_u2", "kPa"))
    properties = "".join(
        f'<Property index="{i}"><propertyName>{code}</propertyName>'
        f'<propertyClass codeSpace="x#{code}">{code}</propertyClass><uom>{uom}</uom></Property>'
        for i, (code, uom) in enumerate(kinds, start=1)
    )
    depths = " ".join(f"{z:.3f}" for z in data[:, 0].tolist())
    rows_text = "\n".join(f"{a:.3f},{b:.3f},{c:.3f}" for a, b, c in data[:, 1:].tolist())
    return (
        '<Diggs xmlns="http://diggsml.org/schemas/2.6"><Sounding id="s"><units>m</units></Sounding>'
        "<Test><name>A</name><outcome><MultiPointLocation>"
        f"<posList>{depths}</posList></MultiPointLocation><ResultSet>{properties}"
        f'<dataValues cs="," ts=" " decimal=".">{rows_text}</dataValues></ResultSet></outcome>'
        "<StaticConePenetrationTest/></Test></Diggs>"
    ).encode()


def make_xlsx(rows: int) -> bytes:
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("A")
    sheet.append(["depth [m]", "qc [MPa]", "fs [kPa]", "u2 [kPa]"])
    for row in np.round(columns(rows), 3).tolist():
        sheet.append(row)
    sink = io.BytesIO()
    book.save(sink)
    return sink.getvalue()


def make_parquet(rows: int) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    data = np.round(columns(rows), 3)
    names = ["depth [m]", "qc [MPa]", "fs [kPa]", "u2 [kPa]"]
    sink = io.BytesIO()
    pq.write_table(pa.table({n: data[:, i] for i, n in enumerate(names)}), sink)
    return sink.getvalue()


def bare_csv(path: Path) -> int:
    with path.open(newline="", encoding="utf-8") as file:
        reader = csv.reader(file)
        next(reader)
        return len([[float(text) if text else None for text in row] for row in reader])


def bare_ags(path: Path) -> int:
    with path.open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.reader(file) if row and row[0] == "DATA" and len(row) > 2]
    return len([[float(text) for text in row[2:]] for row in rows])


def bare_gef(path: Path) -> int:
    body = path.read_text(encoding="utf-8").partition("#EOH=\n")[2]
    return len(np.loadtxt(io.StringIO(body), delimiter=";", usecols=range(4)))


def bare_dutch(path: Path) -> int:
    from lxml import etree

    parser = etree.XMLParser(huge_tree=True)
    values = etree.parse(str(path), parser).getroot().find(".//{*}values").text
    return len(np.loadtxt(io.StringIO(values.rstrip(";").replace(";", "\n")), delimiter=","))


def bare_flemish(path: Path) -> int:
    from lxml import etree

    root = etree.parse(str(path)).getroot()
    return len([[float(field.text) for field in row] for row in root.iter("{*}meetdata")])


def bare_diggs(path: Path) -> int:
    from lxml import etree

    root = etree.parse(str(path), etree.XMLParser(huge_tree=True)).getroot()
    depths = np.array(root.find(".//{*}posList").text.split(), dtype=float)
    values = np.loadtxt(io.StringIO(root.find(".//{*}dataValues").text), delimiter=",")
    return min(len(depths), len(values))


def bare_xlsx(path: Path) -> int:
    from openpyxl import load_workbook

    book = load_workbook(path, read_only=True)
    rows = list(book.worksheets[0].iter_rows(min_row=2, values_only=True))
    return len(np.array(rows, dtype=float))


def bare_parquet(path: Path) -> int:
    import pyarrow.parquet as pq

    table = pq.read_table(path, use_threads=False)
    return len(np.column_stack([column.to_numpy() for column in table.columns]))


FORMATS: dict[str, tuple[str, Callable[[int], bytes], Callable[[Path], int]]] = {
    "text table": ("a.csv", make_delimited, bare_csv),
    "text, voids": ("a.csv", make_voids, bare_csv),
    "GEF": ("a.gef", make_gef, bare_gef),
    "AGS 4": ("a.ags", make_ags, bare_ags),
    "Dutch XML": ("a.xml", make_dutch, bare_dutch),
    "Flemish XML": ("a.xml", make_flemish, bare_flemish),
    "DIGGS": ("a.xml", make_diggs, bare_diggs),
    "xlsx": ("a.xlsx", make_xlsx, bare_xlsx),
    "Parquet": ("a.parquet", make_parquet, bare_parquet),
}


def ours(path: Path) -> int:
    import pushproof as pp

    return len(pp.read(path).readings)


def best(run: Callable[[Path], int], path: Path, rows: int) -> float:
    """Return the seconds of the fastest of a few rounds."""
    times = []
    for _ in range(1 if rows > 100_000 else ROUNDS):
        begun = time.process_time()  # other work on the machine must not count
        if run(path) != rows:
            raise SystemExit(f"{path}: not every row was read")
        times.append(time.process_time() - begun)
    return min(times)


PEAK = """
import re
from pathlib import Path
import pushproof as pp
from pushproof.formats import formats
def said(name):
    return int(re.search(name + r":\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1])
formats(); pp.read({small!r})
Path("/proc/self/clear_refs").write_text("5")
before = said("VmRSS")
pp.read({path!r})
print(said("VmHWM") - before)
"""
"""Growth of the peak of memory [kB], on Linux."""


def memory(path: Path, small: Path) -> float:
    """Return how much the peak of memory grows by reading a file [MB], in a process of its own."""
    code = PEAK.format(path=str(path), small=str(small))
    call = [sys.executable, "-c", code]
    result = subprocess.run(call, capture_output=True, text=True, check=True)
    return int(result.stdout) / 1024


def one_file(path: Path) -> int:
    return ours(path)


def many(folder: Path, workers: int) -> None:
    """Read many small files of all formats with workers."""
    paths = []
    kinds = [kind for kind in FORMATS if kind != "text, voids"]
    made = {kind: FORMATS[kind][1](500) for kind in kinds}
    for i in range(MANY):
        kind = kinds[i % len(kinds)]
        path = folder / f"{i}{Path(FORMATS[kind][0]).suffix}"
        path.write_bytes(made[kind])
        paths.append(path)
    begun = time.perf_counter()
    with ProcessPoolExecutor(workers) as pool:
        rows = sum(pool.map(one_file, paths, chunksize=20))
    seconds = time.perf_counter() - begun
    size = sum(path.stat().st_size for path in paths) / 1e6
    print(
        f"\n{len(paths)} files of {len(kinds)} formats, {rows:,} rows, {size:.0f} MB, "
        f"{workers} workers: {seconds:.1f} s, {len(paths) / seconds:.0f} files/s"
    )


def main(sizes: list[int]) -> None:
    print(f"{os.cpu_count()} processors; goal: at most {GOAL:g} times the bare parser\n")
    head = f"{'format':12} {'rows':>8} {'MB':>6} {'ours MB/s':>10} {'bare MB/s':>10} {'times':>6}"
    print(f"{head} {'memory MB':>10}")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for rows in sizes:
            for kind, (name, make, bare) in FORMATS.items():
                path, small = folder / name, folder / f"small-{name}"
                path.write_bytes(make(rows))
                small.write_bytes(make(50))
                ours(small)
                size = path.stat().st_size / 1e6
                mine, theirs = best(ours, path, rows), best(bare, path, rows)
                print(
                    f"{kind:12} {rows:8,} {size:6.2f} {size / mine:10.1f} {size / theirs:10.1f} "
                    f"{mine / theirs:6.2f} {memory(path, small):10.0f}",
                    flush=True,
                )
        many(folder, 2)


if __name__ == "__main__":
    main([int(re.sub(r"\D", "", text)) for text in sys.argv[1:]] or [13_637, 500_000])
