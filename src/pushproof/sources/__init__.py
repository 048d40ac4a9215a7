"""Where readings come from: serial, network, replay and the rehearsal rig."""

from pushproof.sources.address import load_decoder, open_source
from pushproof.sources.contract import LinkSource, Pump, Source
from pushproof.sources.decoder import Decoder
from pushproof.sources.description import Description, describe, load_description
from pushproof.sources.lines import LineDecoder, SharedDecoder
from pushproof.sources.nmea import PositionDecoder
from pushproof.sources.replay import ReplaySource

__all__ = [
    "Decoder",
    "Description",
    "LineDecoder",
    "LinkSource",
    "PositionDecoder",
    "Pump",
    "ReplaySource",
    "SharedDecoder",
    "Source",
    "describe",
    "load_decoder",
    "load_description",
    "open_source",
]
