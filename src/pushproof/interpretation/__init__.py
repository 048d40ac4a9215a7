"""Corrected profile to derived parameters, bands, layers and dissipation results."""

from pushproof.interpretation.band import Band, Bands, bands
from pushproof.interpretation.derive import interpret
from pushproof.interpretation.explaining import explain
from pushproof.interpretation.explanation import Explanation

__all__ = ["Band", "Bands", "Explanation", "bands", "explain", "interpret"]
