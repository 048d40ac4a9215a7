"""Whole-process time and memory of a log, against a bare script that draws five tracks.

Run it with ``python benchmarks/log.py [repeats]``. Every figure is a fresh process: read a CSV of
a 30 m sounding, correct, interpret, set the log as PDF. The bare scripts read the same file with
numpy and let matplotlib draw five tracks with grid and labels to PDF, once through pyplot as most
people write it and once without.
"""

from __future__ import annotations

import concurrent.futures
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

BARE = """
import sys
import numpy as np
{setup}
length, qc, fs, u2, tilt = np.loadtxt(sys.argv[1], delimiter=",", skiprows=1).T
qt = qc + u2 * 0.2 / 1000
rf = 100 * fs / (qt * 1000)
for ax, (values, label) in zip(axes, [(qt, "qt [MPa]"), (fs, "fs [kPa]"), (rf, "Rf [%]"),
                                      (u2, "u2 [kPa]"), (tilt, "tilt [deg]")]):
    ax.plot(values, length)
    ax.set_xlabel(label)
    ax.grid()
axes[0].invert_yaxis()
figure.savefig(sys.argv[2])
"""
PYPLOT = BARE.format(
    setup="""import matplotlib
matplotlib.use("Agg")
import matplotlib.pyplot as plt
figure, axes = plt.subplots(1, 5, sharey=True, figsize=(8.27, 11.69))"""
)
PLAIN = BARE.format(
    setup="""from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.figure import Figure
figure = Figure(figsize=(8.27, 11.69))
FigureCanvasPdf(figure)
axes = figure.subplots(1, 5, sharey=True)"""
)
OURS = """
import sys
import pushproof as pp
from pushproof.report import log_sheet
log_sheet(pp.interpret(pp.process(pp.read(sys.argv[1]))), sys.argv[2])
"""
EMPTY = "import numpy"


def made_up(path: Path, rows: int, step: float) -> None:
    """Write a made-up sounding: clay to 14 m, then sand and clay in turn."""
    rng = np.random.default_rng(5)
    length = step * np.arange(1, rows + 1)
    sand = (length > 14) & (np.sin(length) > -0.6)
    noise = np.convolve(rng.standard_normal(rows), np.ones(9) / 9, "same")
    qc = np.where(sand, 14.0, 0.5 + 0.02 * length) * np.exp(0.3 * noise)
    fs = qc * np.where(sand, 7.0, 25.0)
    u2 = 9.81 * length * np.where(sand, 1.0, 2.5)
    tilt = 0.3 + 0.05 * length
    heading = "length [m],qc [MPa],fs [kPa],u2 [kPa],tilt [deg]"
    table = np.column_stack([length, qc, fs, u2, tilt])
    np.savetxt(path, table, fmt="%.3f", delimiter=",", header=heading, comments="")


def run(code: list[str], *arguments: str) -> tuple[float, float]:
    """Run one process; return its wall time [s] and peak memory [MB]."""
    started = time.perf_counter()
    process = subprocess.Popen([*code, *arguments], stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    took = time.perf_counter() - started
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"{code[-1][:60]!r} ended with {process.returncode}")
    kilobytes = usage.ru_maxrss / (1024 if sys.platform == "darwin" else 1)
    return took, kilobytes / 1024


def best(code: list[str], repeats: int, *arguments: str) -> tuple[float, float]:
    """Return the shortest wall time [s] and the largest peak [MB] of several runs."""
    runs = [run(code, *arguments) for _ in range(repeats)]
    return min(took for took, _ in runs), max(peak for _, peak in runs)


def command(path: Path, out: Path) -> list[str] | None:
    """Return the ``pushproof log`` command, or None where it makes no log."""
    script = Path(sys.executable).with_name("pushproof")
    if not script.exists():
        return None
    out.unlink(missing_ok=True)
    code = [str(script), "log"]
    subprocess.run([*code, str(path), "-o", str(out)], capture_output=True, check=False)
    return code if out.exists() else None


def one(arguments: tuple[str, str]) -> int:
    """Make one log in a worker process."""
    import pushproof as pp
    from pushproof.report import log_sheet

    return len(log_sheet(pp.interpret(pp.process(pp.read(arguments[0]))), arguments[1]))


def many(path: Path, folder: Path, logs: int, workers: int) -> float:
    """Return the wall time [s] of many logs with worker processes, their start included."""
    jobs = [(str(path), str(folder / f"many-{k}.pdf")) for k in range(logs)]
    started = time.perf_counter()
    with concurrent.futures.ProcessPoolExecutor(workers) as pool:
        list(pool.map(one, jobs))
    return time.perf_counter() - started


def main(repeats: int) -> None:
    """Print the table."""
    python = [sys.executable, "-c"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        usual, long = folder / "usual.csv", folder / "long.csv"
        made_up(usual, 1500, 0.02)
        made_up(long, 13_637, 0.0051)
        out = str(folder / "out.pdf")
        rows = [
            ("bare script, pyplot", *best([*python, PYPLOT], repeats, str(usual), out)),
            ("bare script, no pyplot", *best([*python, PLAIN], repeats, str(usual), out)),
            ("import numpy only", *best([*python, EMPTY], repeats)),
            ("library, 30 m, 1,500 rows", *best([*python, OURS], repeats, str(usual), out)),
        ]
        tool = command(usual, folder / "tool.pdf")
        if tool:
            arguments = (str(usual), "-o", out, "--quiet")
            rows.append(("pushproof log, 30 m", *best(tool, repeats, *arguments)))
        rows.append(("library, 70 m, 13,637 rows", *best([*python, OURS], repeats, str(long), out)))
        base = rows[0][1]
        print(f"{'process':<28}{'time [s]':>10}{'of bare':>10}{'peak [MB]':>11}")
        for label, took, peak in rows:
            print(f"{label:<28}{took:>10.2f}{took / base:>10.2f}{peak:>11.0f}")
        took = many(usual, folder, 100, 2)
        print(f"\n100 logs, two workers: {took:.1f} s, {took / 100 * 1000:.0f} ms a log")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
