"""Recorder, guard, link watch and recovery."""
