"""What the bands of a sheet rest on, for its notes: one row per parameter, one per channel."""

from __future__ import annotations

from typing import Any

from pushproof.interpretation import Bands
from pushproof.interpretation.band import NOT_IN_A_BAND
from pushproof.report.formula import lowered
from pushproof.report.tracks import symbol

NONE_KNOWN = "no published scatter: the band holds the measurement only"


def band_facts(found: Bands) -> dict[str, Any]:
    """Return the words on bands: how they were made, the channels, and a row per parameter."""
    channels: dict[str, None] = {}
    rows = []
    for key, band in found.items():
        basis = band.basis
        channels.update(dict.fromkeys(basis.measurement))
        related = "; ".join(text for _, text in basis.relation)
        rows.append(
            {
                "symbol": lowered(symbol(key)),
                "relation": related or NONE_KNOWN,
                "unknown": ", ".join(basis.unknown) or "–",
            }
        )
    return {
        "how": found.words,
        "channels": [_channel(text) for text in channels],
        "rows": rows,
        "not_in_it": NOT_IN_A_BAND,
    }


def _channel(text: str) -> dict[str, Any]:
    """Return the symbol of a channel and what its error rests on."""
    key, _, rest = text.partition(": ")
    return {"symbol": lowered(symbol(key)), "text": rest}
