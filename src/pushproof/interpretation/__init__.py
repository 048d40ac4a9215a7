"""Corrected profile to derived parameters, bands, layers and dissipation results."""

from pushproof.interpretation.band import Band, Bands, bands
from pushproof.interpretation.derive import interpret

__all__ = ["Band", "Bands", "bands", "interpret"]
