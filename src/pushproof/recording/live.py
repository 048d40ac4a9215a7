"""The live state as the screens get it.

``LiveState`` and its parts are in :mod:`pushproof.recording.snapshot`; they are named here too,
because this is where screens look for them.
"""

from __future__ import annotations

from pushproof.recording.snapshot import LiveState, as_json

__all__ = ["LiveState", "as_json"]
