"""A small depth plot for the terminal: cone resistance as bars, soil behaviour in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pushproof.model.units import to_display

if TYPE_CHECKING:
    from rich.table import Table

    from pushproof.model.profile import Interpretation

_EIGHTHS = " ▏▎▍▌▋▊▉█"


def bar(value: float, full: float, width: int) -> str:
    """Return a bar of block characters, to an eighth of a character.

    Examples
    --------
    >>> bar(5.0, 10.0, 4)
    '██'
    >>> bar(float("nan"), 10.0, 4)
    ''
    """
    if not np.isfinite(value) or value <= 0 or full <= 0:
        return ""
    eighths = round(min(value / full, 1.0) * width * 8)
    whole, part = divmod(eighths, 8)
    return "█" * whole + (_EIGHTHS[part] if part else "")


def depth_plot(derived: Interpretation, rows: int = 24, width: int = 20) -> Table:
    """Return a table with one line for each depth step.

    Parameters
    ----------
    derived
        What is shown.
    rows
        Number of depth steps.
    width
        Characters of the longest bar.
    """
    from rich.table import Table

    series = derived.series
    depth = series["depth"]
    finite = np.isfinite(depth)
    top, base = float(depth[finite].min()), float(depth[finite].max())
    edges = np.linspace(top, base, rows + 1)
    step = np.clip(np.searchsorted(edges, depth, side="right") - 1, 0, rows - 1)
    values = {
        key: [_middle(to_display(key, series.get(key))[finite & (step == i)]) for i in range(rows)]
        for key in ("qt", "Rf", "u2", "Ic")
    }
    ordinary = [value for value in values["qt"] if np.isfinite(value)]
    full = float(np.quantile(ordinary, 0.9)) if ordinary else 0.0
    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("depth [m]", justify="right", no_wrap=True)
    table.add_column(f"qt [MPa], full bar {full:.1f}", min_width=width + 8, no_wrap=True)
    table.add_column("Rf [%]", justify="right", no_wrap=True)
    table.add_column("u2 [kPa]", justify="right", no_wrap=True)
    table.add_column("soil behaviour", no_wrap=True)
    for i in range(rows):
        qt = values["qt"][i]
        mark = "▸" if np.isfinite(qt) and full > 0 and qt > full * 1.001 else " "
        number = f"{qt:6.2f}" if np.isfinite(qt) else "     –"
        table.add_row(
            f"{(edges[i] + edges[i + 1]) / 2:.2f}",
            f"{number} {bar(qt, full, width)}{mark}",
            _number(values["Rf"][i], 1),
            _number(values["u2"][i], 0),
            behaviour_word(values["Ic"][i]),
        )
    return table


def behaviour_word(ic: float) -> str:
    """Return the soil behaviour of an index in one or two words; empty where there is none."""
    from pushproof.equations.behaviour import zone_words

    return zone_words(ic)


def _middle(values: np.ndarray) -> float:
    finite = values[np.isfinite(values)]
    return float(np.median(finite)) if finite.size else float("nan")


def _number(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}" if np.isfinite(value) else "–"
