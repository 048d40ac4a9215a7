"""Corrected profile to derived parameters, layers and dissipation results."""

from pushproof.interpretation.derive import interpret

__all__ = ["interpret"]
