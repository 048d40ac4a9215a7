"""Public helpers for tests of sources, formats and results."""

from pushproof.testing.samples import SAMPLES, sample

__all__ = ["SAMPLES", "sample"]
