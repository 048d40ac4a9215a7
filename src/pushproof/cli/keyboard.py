"""Single keys from the terminal, without waiting for Enter, on every system."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Any, Self


class Keyboard:
    """Reads single keys while it is entered; puts the terminal back afterwards.

    Where standard input is no terminal (a pipe, a service), no key ever comes.
    """

    def __init__(self) -> None:
        self._saved: Any = None
        self._active = sys.stdin.isatty()

    def __enter__(self) -> Self:
        """Turn line editing and echo off."""
        if self._active and sys.platform != "win32":
            import termios
            import tty

            self._saved = termios.tcgetattr(sys.stdin)
            tty.setcbreak(sys.stdin.fileno())
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Put the terminal back."""
        if self._saved is not None and sys.platform != "win32":
            import termios

            termios.tcsetattr(sys.stdin, termios.TCSADRAIN, self._saved)

    def key(self, timeout: float) -> str:
        """Return the next key, empty if none came in time."""
        import time

        if not self._active:
            time.sleep(timeout)
            return ""
        if sys.platform == "win32":
            import msvcrt

            end = time.monotonic() + timeout
            while time.monotonic() < end:
                if msvcrt.kbhit():
                    return msvcrt.getwch()
                time.sleep(0.01)
            return ""
        import select

        ready, _, _ = select.select([sys.stdin], [], [], timeout)
        return sys.stdin.read(1) if ready else ""
