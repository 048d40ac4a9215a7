"""The checks: each a small function from a profile to findings, with its source."""

from pushproof.quality.checks import (  # noqa: F401
    interruptions,
    metadata,
    motion,
    pore_pressure,
    record,
    saturation,
    sleeve,
    zeros,
)
from pushproof.quality.checks.registry import Check, checks

__all__ = ["Check", "checks"]
