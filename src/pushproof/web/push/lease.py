"""Who controls a push: one page at a time, the others watch.

This keeps two people from pressing keys against each other; it is no protection, which is what
roles and passwords are for. Whoever presses a key while nobody controls takes control.
"""

from __future__ import annotations

import hashlib
import threading
import time
from dataclasses import dataclass, field

from pushproof.errors import RecordBusyError

AWAY = 15.0
"""A page that was not heard for so long does not hold control any more [s]; our own choice."""


class ControlledElsewhereError(RecordBusyError):
    """Somebody else controls the push."""

    def __init__(self, holder: str) -> None:
        super().__init__(f"{holder} controls this push; take over first")
        self.holder = holder


def mark_of(client: str) -> str:
    """Return a short mark of a client that tells pages apart and gives its name not away.

    Examples
    --------
    >>> mark_of("")
    ''
    """
    return hashlib.sha256(client.encode()).hexdigest()[:8] if client else ""


@dataclass
class Lease:
    """The right to control, and who watches."""

    holder: str = ""
    """The page that controls: the random name that it gave itself."""
    name: str = ""
    """What people call it."""
    _heard: float = 0.0
    _viewers: dict[int, str] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def away(self) -> float:
        """Seconds since the holder was last heard; 0 while it watches."""
        if self.holder in self._viewers.values():
            return 0.0
        return time.monotonic() - self._heard if self.name else 0.0

    @property
    def free(self) -> bool:
        """Whether nobody holds control, or the holder is gone."""
        return not self.name or self.away > AWAY

    @property
    def viewers(self) -> int:
        """Pages that follow now."""
        return len(self._viewers)

    def take(self, client: str, name: str, *, over: bool = False) -> None:
        """Take control.

        Parameters
        ----------
        client, name
            The page, and what people call it.
        over
            Whether to take it from somebody else.

        Raises
        ------
        ControlledElsewhereError
            If somebody else holds it and ``over`` is not given.
        """
        with self._lock:
            if not self.free and self.holder != client and not over:
                raise ControlledElsewhereError(self.name)
            self.holder, self.name = client, name or "somebody"
            self._heard = time.monotonic()

    def act(self, client: str, name: str = "") -> None:
        """Note that a page does something; it takes control if nobody has it.

        Raises
        ------
        ControlledElsewhereError
            If somebody else controls.
        """
        with self._lock:
            mine = self.holder == client and bool(self.name)
        if mine:
            self._heard = time.monotonic()
        else:
            self.take(client, name)

    def release(self, client: str) -> None:
        """Give control back, if this page has it."""
        with self._lock:
            if self.holder == client:
                self.holder = self.name = ""

    def watches(self, key: int, client: str) -> None:
        """Note that a page follows."""
        with self._lock:
            self._viewers[key] = client

    def left(self, key: int) -> None:
        """Note that a page does not follow any more."""
        with self._lock:
            client = self._viewers.pop(key, None)
            if client == self.holder:
                self._heard = time.monotonic()
