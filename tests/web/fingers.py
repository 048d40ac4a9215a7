"""Fingers on a page: touches as the browser gets them from a screen, one after the other."""

from __future__ import annotations

from typing import Any

Place = tuple[float, float]


class Fingers:
    """Touches a page through the protocol of the browser, with as many fingers as are given."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.session = page.context.new_cdp_session(page)

    def _send(self, kind: str, places: list[Place]) -> None:
        points = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(places)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def down(self, *places: Place) -> None:
        """Put fingers down."""
        self._send("touchStart", list(places))

    def move(self, *places: Place) -> None:
        """Move the fingers that are down."""
        self._send("touchMove", list(places))

    def up(self) -> None:
        """Take all fingers away."""
        self._send("touchEnd", [])

    def tap(self, place: Place, hold: float = 40.0) -> None:
        """Touch a place for so long [ms]."""
        self._send("touchStart", [place])
        self.page.wait_for_timeout(hold)
        self._send("touchEnd", [])

    def drag(self, *ways: tuple[Place, Place], steps: int = 12) -> None:
        """Move fingers from where each begins to where it ends, at the same time."""
        self._send("touchStart", [begin for begin, _ in ways])
        for step in range(1, steps + 1):
            part = step / steps
            places = [(a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part) for a, b in ways]
            self._send("touchMove", places)
            self.page.wait_for_timeout(16)
        self._send("touchEnd", [])


def middle(locator: Any) -> Place:
    """Return the middle of what is drawn."""
    box = locator.bounding_box()
    assert box is not None, "it is not drawn"
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
