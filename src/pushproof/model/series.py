"""Series: aligned named arrays with a reason for every missing value.

A missing value is NaN and carries a reason; it is never an invented number. A series is not
changed in place: each method returns a new one that shares the arrays it did not touch.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pushproof.model.quantities import QUANTITIES, Kind, Quantity

FloatArray = NDArray[np.float64]
ReasonArray = NDArray[np.uint8]


class Reason(IntEnum):
    """Why a value is missing."""

    PRESENT = 0
    VOID_IN_FILE = 1
    NOT_MEASURED = 2
    LOST_ON_LINK = 3
    ROD_CHANGE = 4
    PREDRILLED = 5
    BLANKED = 6
    OUTSIDE_VALIDITY = 7
    NOT_CONVERGED = 8
    UNREADABLE = 9

    @property
    def words(self) -> str:
        """The reason in words."""
        return _REASON_WORDS[self]


_REASON_WORDS = {
    Reason.PRESENT: "present",
    Reason.VOID_IN_FILE: "void in the file",
    Reason.NOT_MEASURED: "not measured",
    Reason.LOST_ON_LINK: "lost on the link",
    Reason.ROD_CHANGE: "rod change",
    Reason.PREDRILLED: "pre-excavated",
    Reason.BLANKED: "blanked by a decision",
    Reason.OUTSIDE_VALIDITY: "outside the validity of the relation",
    Reason.NOT_CONVERGED: "iteration did not converge",
    Reason.UNREADABLE: "unreadable in the file",
}


class Origin(IntEnum):
    """Where the readings of a row came from (values of the ``origin`` column)."""

    UNKNOWN = 0
    LIVE = 1
    MEMORY = 2
    IMPORTED = 3
    SIMULATED = 4


@dataclass(frozen=True)
class Series:
    """Aligned columns of float64 with a reason array beside each column that has gaps.

    Parameters
    ----------
    columns
        Key to array of shape (n,) in the inside unit.
    reasons
        Key to array of :class:`Reason` codes of shape (n,). A NaN without a reason array counts
        as ``VOID_IN_FILE``.
    extras
        Quantity rows for columns that are not in the vocabulary, kept as the file gave them.

    Raises
    ------
    ValueError
        Listing every column of the wrong shape or with an unknown key.
    """

    columns: Mapping[str, FloatArray] = field(default_factory=dict)
    reasons: Mapping[str, ReasonArray] = field(default_factory=dict)
    extras: Mapping[str, Quantity] = field(default_factory=dict)

    def __post_init__(self) -> None:
        columns: dict[str, FloatArray] = {}
        for key, values in self.columns.items():
            array = np.asarray(values, dtype=np.float64)
            if array.flags.writeable:
                array = array.view()
                array.flags.writeable = False
            columns[key] = array
        faults = [
            f"{key}: not in the vocabulary and not declared as an extra"
            for key in columns
            if key not in QUANTITIES and key not in self.extras
        ]
        shapes = {key: array.shape for key, array in columns.items()}
        n = max((shape[0] for shape in shapes.values() if shape), default=0)
        faults += [
            f"{key}: shape {shape}, expected ({n},)"
            for key, shape in shapes.items()
            if shape != (n,)
        ]
        faults += [
            f"{key}: reasons without a column or of another length"
            for key, codes in self.reasons.items()
            if key not in columns or codes.shape != (n,)
        ]
        if faults:
            raise ValueError("; ".join(faults))
        object.__setattr__(self, "columns", MappingProxyType(columns))
        object.__setattr__(self, "reasons", MappingProxyType(dict(self.reasons)))
        object.__setattr__(self, "extras", MappingProxyType(dict(self.extras)))

    def __len__(self) -> int:
        """Return the number of rows."""
        for array in self.columns.values():
            return len(array)
        return 0

    def __contains__(self, key: object) -> bool:
        """Tell whether a column is there (it may be all missing)."""
        return key in self.columns

    def __iter__(self) -> Iterator[str]:
        """Iterate over the column keys."""
        return iter(self.columns)

    def __getitem__(self, key: str) -> FloatArray:
        """Return a column, read-only."""
        try:
            return self.columns[key]
        except KeyError:
            have = " ".join(self.columns) or "none"
            raise KeyError(f"no column {key!r}; columns: {have}") from None

    def get(self, key: str) -> FloatArray:
        """Return a column, or all NaN where there is none."""
        found = self.columns.get(key)
        return np.full(len(self), np.nan) if found is None else found

    def measured(self, key: str) -> bool:
        """Tell whether a column holds at least one value."""
        return key in self.columns and bool(np.isfinite(self.columns[key]).any())

    def quantity(self, key: str) -> Quantity:
        """Return the vocabulary row of a column, known or extra."""
        return QUANTITIES[key] if key in QUANTITIES else self.extras[key]

    def reason(self, key: str) -> ReasonArray:
        """Return the reason codes of a column, ``PRESENT`` where it has a value."""
        if key not in self.columns:
            return np.full(len(self), Reason.NOT_MEASURED, dtype=np.uint8)
        missing = ~np.isfinite(self.columns[key])
        codes = self.reasons.get(key)
        if codes is None:
            codes = np.full(len(self), Reason.VOID_IN_FILE, dtype=np.uint8)
        named = np.where(codes == Reason.PRESENT, np.uint8(Reason.VOID_IN_FILE), codes)
        return np.where(missing, named, np.uint8(Reason.PRESENT)).astype(np.uint8)

    def with_column(
        self,
        key: str,
        values: ArrayLike,
        reason: ReasonArray | Reason | None = None,
        extra: Quantity | None = None,
    ) -> Series:
        """Return a series with a column added or replaced.

        Parameters
        ----------
        key
            Key of the vocabulary, or a new key together with ``extra``.
        values
            Shape (n,), inside unit.
        reason
            Reason for the missing values: one for all, or codes of shape (n,).
        extra
            Quantity row of a column that is not in the vocabulary.
        """
        array = np.array(values, dtype=np.float64)
        reasons = {name: codes for name, codes in self.reasons.items() if name != key}
        if isinstance(reason, Reason):
            if not np.isfinite(array).all():
                codes = np.where(np.isfinite(array), Reason.PRESENT, reason)
                reasons[key] = codes.astype(np.uint8)
        elif reason is not None:
            reasons[key] = np.asarray(reason, dtype=np.uint8)
        extras = dict(self.extras) if extra is None else {**self.extras, key: extra}
        return replace(self, columns={**self.columns, key: array}, reasons=reasons, extras=extras)

    def blank(self, key: str, rows: NDArray[np.bool_], reason: Reason) -> Series:
        """Return a series with the values of ``rows`` missing for ``reason``."""
        values = np.where(rows, np.nan, self[key])
        codes = np.where(rows & np.isfinite(self[key]), np.uint8(reason), self.reason(key))
        return self.with_column(key, values, codes.astype(np.uint8))

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> Series:
        """Return a series with the given rows, in the given order."""
        return replace(
            self,
            columns={key: array[rows] for key, array in self.columns.items()},
            reasons={key: codes[rows] for key, codes in self.reasons.items()},
        )

    def without(self, *keys: str) -> Series:
        """Return a series without the given columns."""
        return replace(
            self,
            columns={k: v for k, v in self.columns.items() if k not in keys},
            reasons={k: v for k, v in self.reasons.items() if k not in keys},
            extras={k: v for k, v in self.extras.items() if k not in keys},
        )

    def missing(self, key: str) -> dict[Reason, int]:
        """Count the missing values of a column by reason."""
        codes, counts = np.unique(self.reason(key), return_counts=True)
        return {
            Reason(int(code)): int(count)
            for code, count in zip(codes, counts, strict=True)
            if code != Reason.PRESENT
        }


def extra_quantity(key: str, name: str, unit: str) -> Quantity:
    """Return the quantity row for a column that nobody knows: kept, shown, not interpreted."""
    shown = unit or "-"
    return Quantity(key, name, shown, shown, name, -np.inf, np.inf, 3, Kind.RECORD)
