"""The read-out of a cone's memory as a text table: readings on the clock of the cone.

Any delimited text with a column of the cone's own time serves; it has no depth, for the cone does
not know it. The columns are guessed and can be said as for any text table.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.delimited.reader import TextTable
from pushproof.formats.text import read_bytes
from pushproof.model.stream import Reading, StreamKind

LARGEST = ReadOptions().max_bytes


def read_memory(path: str | Path, *, columns: str = "", arrival: float = 0.0) -> list[Reading]:
    """Read what a cone remembered.

    Parameters
    ----------
    path
        The file.
    columns
        Column mapping as for delimited text.
    arrival
        When it was read out, seconds since 1970 UTC.

    Returns
    -------
    list of Reading
        One for each row, of the memory stream, with ``cone_time`` and what else it holds.

    Raises
    ------
    FormatError
        If there is no table, or no column is the time of the cone.
    """
    path = Path(path)
    table = TextTable(read_bytes(path, LARGEST), path, columns)
    series, _ = table.series()
    clock = "cone_time" if "cone_time" in series else "time" if "time" in series else ""
    if not clock:
        found = ", ".join(repr(h) for h in table.structure.heading) or "no headings"
        raise FormatError(
            f"no column is the time of the cone (found: {found}); name it with "
            '--columns "cone_time=1:s, qc=2:MPa"',
            path=path,
            line=table.structure.above + 1,
        )
    keys = [key for key in series if key not in series.extras and key != clock]
    rows = zip(series[clock].tolist(), *(series[key].tolist() for key in keys), strict=True)
    readings = []
    for number, (time, *values) in enumerate(rows):
        if not np.isfinite(time):
            continue
        known = {key: value for key, value in zip(keys, values, strict=True) if value == value}
        reading = {"cone_time": time, **known}
        readings.append(Reading(StreamKind.MEMORY, arrival, 0.0, reading, number))
    return readings
