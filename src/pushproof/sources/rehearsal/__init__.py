"""The rehearsal rig: a small physical simulator of ground, cone and push.

For demonstrations, training and tests. Everything it makes is marked as simulated. The same seed
gives the same numbers.
"""

from pushproof.sources.rehearsal.ground import Ground, Layer
from pushproof.sources.rehearsal.push import Plan, Pushed, push
from pushproof.sources.rehearsal.scenario import scenario

__all__ = ["Ground", "Layer", "Plan", "Pushed", "push", "scenario"]
