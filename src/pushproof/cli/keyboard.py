"""Single keys from the terminal, without waiting for Enter, on every system."""

from __future__ import annotations

import codecs
import os
import re
import sys
import time
from collections import deque
from typing import Any, Self

_SEQUENCE = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]|O[ -~]|[^\x1b\[O])")
"""What arrows, function keys and the like send."""


class Keyboard:
    """Reads single keys while it is entered; puts the terminal back afterwards.

    Where standard input is no terminal (a pipe, a service), no key ever comes. Arrows and function
    keys, which send several characters, are passed over: no part of them may act.
    """

    def __init__(self) -> None:
        self._saved: Any = None
        self._active = sys.stdin is not None and sys.stdin.isatty()
        self._decode = codecs.getincrementaldecoder("utf-8")(errors="ignore").decode
        self._waiting: deque[str] = deque()

    def __enter__(self) -> Self:
        """Turn line editing and echo off."""
        if self._active and sys.platform != "win32":
            import termios
            import tty

            self._saved = termios.tcgetattr(sys.stdin)
            tty.setcbreak(sys.stdin.fileno())
        return self

    def __exit__(self, *exception: object) -> None:
        """Put the terminal back."""
        if self._saved is not None and sys.platform != "win32":
            import termios

            termios.tcsetattr(sys.stdin, termios.TCSADRAIN, self._saved)

    def key(self, timeout: float) -> str:
        """Return the next key, empty if none came in time."""
        if self._waiting:
            return self._waiting.popleft()
        if not self._active:
            time.sleep(timeout)
            return ""
        if sys.platform == "win32":
            return _windows_key(timeout)
        import select

        # read past Python's own buffer: what it holds back, select does not see
        descriptor = sys.stdin.fileno()
        ready, _, _ = select.select([descriptor], [], [], timeout)
        if not ready:
            return ""
        data = os.read(descriptor, 1024)
        if not data:  # the terminal is gone
            self._active = False
            return ""
        self._waiting.extend(keys(self._decode(data)))
        return self._waiting.popleft() if self._waiting else ""


def keys(text: str) -> str:
    """Return the plain keys in what a terminal sent; a lone escape is a key too.

    Examples
    --------
    >>> keys("a\\x1b[Ar\\x1bOPq")
    'arq'
    """
    return _SEQUENCE.sub("", text)


def _windows_key(timeout: float) -> str:
    # the names are there on Windows only
    import msvcrt

    pressed: Any = msvcrt
    end = time.monotonic() + timeout
    while time.monotonic() < end:
        if pressed.kbhit():
            found: str = pressed.getwch()
            if found in ("\x00", "\xe0"):  # the first half of an arrow or function key
                pressed.getwch()
                return ""
            return found
        time.sleep(0.01)
    return ""
