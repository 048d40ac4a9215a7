"""Sliding windows over a growing position: extremes, first value and sums at constant cost.

The position is usually the penetration length ("the last metre") or time. Positions must not go
back; a push below the last one is refused by returning False.
"""

from __future__ import annotations

from collections import deque


class SlidingRange:
    """Largest and smallest value within ``width`` behind the newest position.

    Parameters
    ----------
    width
        Width of the window, in the unit of the position.

    Examples
    --------
    >>> window = SlidingRange(1.0)
    >>> for x, v in [(0.0, 5.0), (0.5, 1.0), (1.0, 3.0), (1.6, 2.0)]:
    ...     added = window.push(x, v)
    >>> window.low, window.high, window.count
    (2.0, 3.0, 2)
    """

    def __init__(self, width: float) -> None:
        self.width = width
        self._all: deque[tuple[float, float]] = deque()
        self._highs: deque[tuple[float, float]] = deque()
        self._lows: deque[tuple[float, float]] = deque()

    def push(self, position: float, value: float) -> bool:
        """Add a value; return False where the position goes back."""
        if self._all and position < self._all[-1][0]:
            return False
        entry = (position, value)
        self._all.append(entry)
        while self._highs and self._highs[-1][1] <= value:
            self._highs.pop()
        self._highs.append(entry)
        while self._lows and self._lows[-1][1] >= value:
            self._lows.pop()
        self._lows.append(entry)
        for queue in (self._all, self._highs, self._lows):
            while queue[0][0] < position - self.width - 1e-9:
                queue.popleft()
        return True

    def clear(self) -> None:
        """Forget everything."""
        for queue in (self._all, self._highs, self._lows):
            queue.clear()

    @property
    def count(self) -> int:
        """Values in the window."""
        return len(self._all)

    @property
    def span(self) -> float:
        """Distance from the first to the last position in the window."""
        return self._all[-1][0] - self._all[0][0] if self._all else 0.0

    @property
    def first(self) -> tuple[float, float] | None:
        """Oldest position and value in the window."""
        return self._all[0] if self._all else None

    @property
    def last(self) -> tuple[float, float] | None:
        """Newest position and value."""
        return self._all[-1] if self._all else None

    @property
    def high(self) -> float:
        """Largest value; the window must not be empty."""
        return self._highs[0][1]

    @property
    def low(self) -> float:
        """Smallest value; the window must not be empty."""
        return self._lows[0][1]


class SlidingSum:
    """Sum of values within ``width`` behind the newest position.

    Meant for counts: whole numbers add up without error.
    """

    def __init__(self, width: float) -> None:
        self.width = width
        self.total = 0.0
        self._all: deque[tuple[float, float]] = deque()

    def push(self, position: float, value: float) -> None:
        """Add a value; a position that goes back counts at the newest one."""
        if self._all:
            position = max(position, self._all[-1][0])
        self._all.append((position, value))
        self.total += value
        while self._all[0][0] < position - self.width - 1e-9:
            self.total -= self._all.popleft()[1]
