"""Where readings come from: serial, network, replay and the rehearsal rig."""

from pushproof.sources.address import open_source
from pushproof.sources.contract import LinkSource, Pump, Source
from pushproof.sources.decoder import Decoder
from pushproof.sources.description import Description, describe, load_description

__all__ = [
    "Decoder",
    "Description",
    "LinkSource",
    "Pump",
    "Source",
    "describe",
    "load_description",
    "open_source",
]
