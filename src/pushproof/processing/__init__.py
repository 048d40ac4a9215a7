"""Streams and soundings to a corrected, depth-true profile. Never judges."""
