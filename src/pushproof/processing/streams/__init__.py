"""Streams to readings along the length: order, depth, clocks, merge. The same code live and later.

Every class here is fed one reading at a time; feeding a whole record or feeding it in pieces, with
the state saved between the pieces, gives the same result.
"""

from pushproof.processing.streams.depth import DepthSettings, DepthTracker
from pushproof.processing.streams.sequence import SequenceWatch

__all__ = ["DepthSettings", "DepthTracker", "SequenceWatch"]
