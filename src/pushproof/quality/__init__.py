"""Checks: sounding in, findings out. Never edits."""
