"""Streams and soundings to a corrected, depth-true profile. Never judges."""

from pushproof.processing.profile import process

__all__ = ["process"]
