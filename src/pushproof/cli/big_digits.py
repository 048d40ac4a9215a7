"""Large digits for the terminal, three rows high, readable from across the cab."""

from __future__ import annotations

_GLYPHS = {
    "0": ("█▀█", "█ █", "▀▀▀"),
    "1": ("▀█ ", " █ ", "▀▀▀"),
    "2": ("▀▀█", "█▀▀", "▀▀▀"),
    "3": ("▀▀█", " ▀█", "▀▀▀"),
    "4": ("█ █", "▀▀█", "  ▀"),
    "5": ("█▀▀", "▀▀█", "▀▀▀"),
    "6": ("█▀▀", "█▀█", "▀▀▀"),
    "7": ("▀▀█", "  █", "  ▀"),
    "8": ("█▀█", "█▀█", "▀▀▀"),
    "9": ("█▀█", "▀▀█", "▀▀▀"),
    ".": (" ", " ", "▀"),
    "-": ("  ", "▀▀", "  "),
    "–": ("   ", "▀▀▀", "   "),
    " ": ("  ", "  ", "  "),
}


def big(text: str) -> tuple[str, str, str]:
    """Return three rows of block characters for a number.

    Raises
    ------
    ValueError
        If a character has no large form.

    Examples
    --------
    >>> print(*big("1.5"), sep="|")
    ▀█    █▀▀| █    ▀▀█|▀▀▀ ▀ ▀▀▀
    """
    unknown = sorted(set(text) - set(_GLYPHS))
    if unknown:
        raise ValueError(f"no large form of {unknown}")
    rows = [" ".join(_GLYPHS[sign][row] for sign in text) for row in range(3)]
    return rows[0], rows[1], rows[2]
