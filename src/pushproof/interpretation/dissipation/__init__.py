"""Dissipation tests: record and picks to t50, ch and kh, every way side by side."""

from pushproof.interpretation.dissipation.derive import (
    choice_for,
    dissipation,
    dissipations,
    with_choice,
)
from pushproof.interpretation.dissipation.factors import time_of_degree

__all__ = ["choice_for", "dissipation", "dissipations", "time_of_degree", "with_choice"]
