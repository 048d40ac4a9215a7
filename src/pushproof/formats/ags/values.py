"""What the text of an AGS field means: amounts with units, angles, dates, why a push ended."""

from __future__ import annotations

import math
import re
from datetime import datetime

from pushproof.formats.numbers import parse_number
from pushproof.model.sounding import StopReason
from pushproof.model.units import unit


def amount(text: str, stated: str, standard: str) -> float | None:
    """Return a number in the unit inside; None if it is none or empty.

    The unit stated counts where it measures the same as the standard one, else the standard one.
    """
    try:
        value = parse_number(text)
    except ValueError:
        return None
    if math.isnan(value):
        return None
    expected = unit(standard)
    found = unit(stated) if stated else expected
    if found is None or (expected is not None and found.inside != expected.inside):
        found = expected
    return value if found is None else value * found.factor + found.offset


def degrees(text: str) -> float | None:
    """Return decimal degrees of ``dd:mm:ss.s`` or of a plain number."""
    parts = text.strip().split(":")
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        return None
    if not 1 <= len(numbers) <= 3 or not all(math.isfinite(n) for n in numbers):
        return None
    size = math.fsum(abs(n) / (1.0, 60.0, 3600.0)[i] for i, n in enumerate(numbers))
    return -size if text.strip().startswith("-") else size


def degrees_text(value: float | None) -> str | None:
    """Return degrees, minutes and seconds; 1e-5 s is under a millimetre.

    Examples
    --------
    >>> degrees_text(-1.5), degrees_text(52.999999999999), degrees_text(-0.25)
    ('-1:30:00', '53:00:00', '-0:15:00')
    """
    if value is None:
        return None
    units = round(abs(value) * 3600 * 100_000)
    seconds, part = divmod(units, 100_000)
    tail = f".{part:05d}".rstrip("0") if part else ""
    sign = "-" if value < 0 else ""
    return f"{sign}{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{tail}"


def date(text: str) -> datetime | None:
    """Return a date in ISO form (edition 4) or day first (edition 3), or None."""
    text = text.strip()
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        pass
    match = re.fullmatch(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})", text)
    if match is None:
        return None
    day, month, year = (int(part) for part in match.groups())
    if year < 100:
        year += 1900 if year >= 60 else 2000
    try:
        return datetime(year, month, day)
    except ValueError:
        return None


def stop_reason(text: str) -> StopReason | None:
    """Return why a push ended, if the words are one of ours."""
    low = text.strip().lower()
    return next((one for one in StopReason if one.value == low), None)
