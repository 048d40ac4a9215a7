"""Corrected profile to derived parameters, layers and dissipation results."""
