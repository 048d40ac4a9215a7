"""Corrected profile to derived parameters, bands, layers and dissipation results."""

from pushproof.interpretation.band import Band, Bands, MeanBand, bands, mean_band
from pushproof.interpretation.derive import interpret
from pushproof.interpretation.explaining import explain
from pushproof.interpretation.explanation import Explanation

__all__ = ["Band", "Bands", "Explanation", "MeanBand", "bands", "explain", "interpret", "mean_band"]
