"""Seismic cone: arrivals or traces to shear wave velocities, and these in the place of estimates.

:func:`seismic` lives in ``derive`` and is loaded on first use, so that a chain without measured
velocities does not load the signal processing.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pushproof.interpretation.seismic.correlate import Handling
    from pushproof.interpretation.seismic.derive import seismic

__all__ = ["Handling", "seismic"]


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name == "seismic":
        from pushproof.interpretation.seismic.derive import seismic

        return seismic
    if name == "Handling":
        from pushproof.interpretation.seismic.correlate import Handling

        return Handling
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
