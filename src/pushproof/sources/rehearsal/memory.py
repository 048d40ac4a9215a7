"""The read-out of the memory of the cone, as a text table of its own clock.

The file has no depth: the cone does not know it. Header lines are ``key: value``, headings carry
their unit, values are in the units people read.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pushproof.errors import SourceError
from pushproof.model.units import to_display
from pushproof.sources.rehearsal.rig import Rehearsal


def write_memory(rehearsal: Rehearsal, path: Path) -> int:
    """Write what the cone remembers and return the number of readings.

    Raises
    ------
    SourceError
        If the cone kept no record.
    OSError
        If the file cannot be written.
    """
    memory = rehearsal.memory()
    if not len(memory):
        raise SourceError(f"{rehearsal.name}: the cone kept no record (fault no-memory)")
    keys = list(memory)
    heads = [f"{key} [{memory.quantity(key).display_unit}]" for key in keys]
    table = np.column_stack([to_display(key, memory[key]) for key in keys])
    formats = [f"%.{memory.quantity(key).decimals}f" for key in keys]
    rows = [",".join(f % v for f, v in zip(formats, row, strict=True)) for row in table.tolist()]
    lines = [
        "record: memory of the cone",
        f"sounding: {rehearsal.name}",
        f"cone serial: {rehearsal.cone.serial}",
        "remark: simulated by the rehearsal rig",
        "",
        ",".join(heads),
        *rows,
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    return len(rows)
