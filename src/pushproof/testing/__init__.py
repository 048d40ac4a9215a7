"""Public helpers for tests of sources, formats and results."""
