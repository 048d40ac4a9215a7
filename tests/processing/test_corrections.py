"""Corrections are decisions: each does what it says, declares itself, and changes no fact."""

import numpy as np
import pytest
from pydantic import ValidationError

from pushproof.formats.recipe import recipe_from
from pushproof.model.corrections import Truncate
from pushproof.model.series import Reason
from pushproof.processing import process
from pushproof.testing import sample

SOUNDING = sample("clay-over-sand")
PLAIN = process(SOUNDING).series


def corrected(**correction):
    return process(SOUNDING, recipe_from({"corrections": [{"reason": "test", **correction}]}))


def test_nothing_is_applied_by_default():
    profile = process(SOUNDING)
    assert profile.effects == ()
    assert profile.declarations == type(profile.declarations)(False, False, False)


def test_zero_shift_is_shared_over_time_from_the_zero_readings():
    profile = corrected(kind="zero-shift", channel="qc")
    change = profile.series["qc"] - PLAIN["qc"]
    # the zero moved by 12 kPa: nothing at the start, all of it at the end
    assert change[0] == pytest.approx(0, abs=0.05)
    assert change[-1] == pytest.approx(-12.0)
    (effect,) = profile.effects
    assert (effect.channel, effect.largest) == ("qc", pytest.approx(12.0))
    assert effect.changed > 1000
    assert profile.declarations.signal_processing


def test_sleeve_shift_moves_friction_up_and_leaves_the_end_empty():
    profile = corrected(kind="sleeve-shift", distance=0.1)
    assert profile.series["fs"][:-10] == pytest.approx(PLAIN["fs"][5:-5], abs=1e-6)
    assert np.isnan(profile.series["fs"][-4:]).all()
    assert profile.declarations.expert_corrections


def test_rod_changes_are_blanked_with_their_reason():
    profile = corrected(kind="rod-change", channels=["u2"], recovery=0.2)
    gone = profile.series.reason("u2") == Reason.ROD_CHANGE
    starts = {e.depth for e in SOUNDING.events if e.kind in ("rod-change", "dissipation")}
    assert len(starts) * 8 <= gone.sum() <= len(starts) * 11
    assert profile.declarations.interruptions_edited
    assert np.isfinite(profile.series["qc"]).all()


def test_despike_leaves_a_single_reading_out_and_nothing_else():
    values = np.array(SOUNDING.readings["fs"])
    values[500] = 900.0
    import dataclasses

    spiked = dataclasses.replace(SOUNDING, readings=SOUNDING.readings.with_column("fs", values))
    recipe = recipe_from({"corrections": [{"kind": "despike", "channel": "fs", "reason": "bump"}]})
    series = process(spiked, recipe).series
    assert np.flatnonzero(np.isnan(series["fs"])).tolist() == [500]


@pytest.mark.parametrize(
    ("correction", "key", "expected"),
    [
        ({"kind": "offset", "channel": "u2", "amount": 5.0}, "u2", PLAIN["u2"] + 5.0),
        ({"kind": "depth-shift", "distance": -0.1}, "length", PLAIN["length"] - 0.1),
        (
            {"kind": "temperature", "channel": "qc", "coefficient": 2.0, "reference": 10.0},
            "qc",
            PLAIN["qc"] - 2.0 * (PLAIN["temperature"] - 10.0),
        ),
    ],
)
def test_plain_shifts(correction, key, expected):
    assert corrected(**correction).series[key] == pytest.approx(expected)


def test_truncate_leaves_out_with_a_reason_and_needs_an_end():
    profile = corrected(kind="truncate", base=10.0)
    below = profile.series["length"] > 10.0
    assert (profile.series.reason("qc")[below] == Reason.BLANKED).all()
    with pytest.raises(ValidationError, match="give top or base"):
        Truncate(reason="none given")


def test_order_counts_and_each_step_says_what_it_did():
    steps = [
        {"kind": "offset", "channel": "qc", "amount": 10.0, "reason": "first"},
        {"kind": "truncate", "base": 10.0, "reason": "second"},
        {"kind": "offset", "channel": "fs", "amount": 0.0, "reason": "does nothing"},
    ]
    profile = process(SOUNDING, recipe_from({"corrections": steps}))
    kinds = [(e.kind, e.channel) for e in profile.effects]
    assert kinds[0] == ("offset", "qc")
    assert ("truncate", "u2") in kinds
    assert kinds[-1] == ("offset", "")


def test_facts_stay_as_they_were():
    before = {key: SOUNDING.readings[key].tobytes() for key in SOUNDING.readings}
    corrected(kind="zero-shift", channel="qc")
    assert {key: SOUNDING.readings[key].tobytes() for key in SOUNDING.readings} == before
