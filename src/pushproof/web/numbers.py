"""Arrays of numbers as short JSON: rounded to what a screen can tell apart, null where missing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from starlette.responses import Response

DIGITS = 5
"""Significant digits kept of the largest value of an array: a screen shows four at most."""


def compact(values: NDArray[Any], digits: int = DIGITS) -> NDArray[Any]:
    """Round floats to the digits that the largest of them needs; other arrays stay.

    Examples
    --------
    >>> compact(np.array([0.123456789, 12.3456789, np.nan]))
    array([ 0.123, 12.346,    nan])
    """
    if values.dtype.kind != "f":
        return values
    finite = values[np.isfinite(values)]
    if not finite.size:
        return values
    largest = float(np.abs(finite).max())
    if not largest:
        return values
    return np.round(values, digits - 1 - int(np.floor(np.log10(largest))))


def dumps(document: Any) -> bytes:
    """Return plain values and arrays as JSON; NaN and infinity become null."""
    return json.dumps(_plain(document), separators=(",", ":"), ensure_ascii=False).encode()


def answer(document: Any) -> Response:
    """Return plain values and arrays as the answer to a call."""
    return Response(dumps(document), media_type="application/json")


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return _listed(value)
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, float) and not np.isfinite(value):
        return None
    if isinstance(value, np.generic):
        return _plain(value.item())
    return value


def _listed(array: NDArray[Any]) -> list[Any]:
    if array.dtype.kind == "b":
        found: list[Any] = array.astype(int).tolist()
        return found
    if array.dtype.kind == "f" and not np.isfinite(array).all():
        plain = array.astype(object)
        plain[~np.isfinite(array)] = None
        return list(plain)
    return list(array.tolist())
