"""The rehearsal rig: a small physical simulator of ground, cone and push.

For demonstrations, training and tests. Everything it makes is marked as simulated. The same seed
gives the same numbers.

:func:`push` gives a whole sounding at once; :class:`Rehearsal` gives the same push in time, as
messages, as bytes over real ports (:func:`serve_tcp`, :func:`serve_serial`) and as the truth.
"""

from pushproof.sources.rehearsal.faults import FAULTS, Faults, fault_help, parse_faults
from pushproof.sources.rehearsal.ground import Ground, Layer
from pushproof.sources.rehearsal.memory import write_memory
from pushproof.sources.rehearsal.push import Plan, Pushed, push
from pushproof.sources.rehearsal.rig import Rehearsal
from pushproof.sources.rehearsal.scenario import scenario
from pushproof.sources.rehearsal.serve import rehearse, serve_serial, serve_tcp
from pushproof.sources.rehearsal.source import RehearsalSource, from_address

__all__ = [
    "FAULTS",
    "Faults",
    "Ground",
    "Layer",
    "Plan",
    "Pushed",
    "Rehearsal",
    "RehearsalSource",
    "fault_help",
    "from_address",
    "parse_faults",
    "push",
    "rehearse",
    "scenario",
    "serve_serial",
    "serve_tcp",
    "write_memory",
]
