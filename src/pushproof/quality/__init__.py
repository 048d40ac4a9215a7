"""Checks: sounding in, findings out. Never edits."""

from pushproof.quality.assess import Assessment, assess
from pushproof.quality.schemes import Scheme, load_scheme, scheme_names

__all__ = ["Assessment", "Scheme", "assess", "load_scheme", "scheme_names"]
