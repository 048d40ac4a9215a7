"""A dissipation test while it runs: schedule, percent, t50, what it fell short of."""

import math
import pickle

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.model.sounding import Water, WaterOrigin
from pushproof.processing.streams.dissipation import DissipationLog, hydrostatic, interval_asked


def decay(t, u0=60.0, start=260.0, t50=120.0):
    return u0 + (start - u0) * 0.5 ** (t / t50)


def played(times, u=decay, **kw):
    log = DissipationLog(1000.0, 7.5, **kw)
    kept = [log.push(1000.0 + t, {"u2": u(t), "qc": 500.0, "u3": math.nan}) for t in times]
    return log, kept


def test_percent_and_t50_are_those_of_the_curve():
    log, _ = played([i / 2 for i in range(601)], u0=60.0)
    assert log.t50 == pytest.approx(120.0, abs=0.01)
    assert log.percent == pytest.approx(100 * (1 - 0.5 ** (300 / 120)), abs=1e-6)
    assert log.findings() == ()


def test_the_schedule_is_followed():
    """2 a second for a minute, 1 to 10 min, then 1 in 2 s, then 1 in 5 s (practice, memory)."""
    log, kept = played([i / 4 for i in range(4 * 7000)])
    times = log.result().readings["time"]
    for low, high, step in ((0, 60, 0.5), (61, 600, 1.0), (602, 6000, 2.0), (6005, 6999, 5.0)):
        inside = times[(times >= low) & (times <= high)]
        assert set((inside[1:] - inside[:-1]).tolist()) == {step}
        assert interval_asked(high) == step
    assert log.logged == sum(kept)


def test_a_slow_link_keeps_every_reading_and_says_what_the_schedule_wanted():
    log, kept = played(range(200), u0=60.0)
    assert all(kept[:200])
    assert [f.id for f in log.findings()] == ["dissipation-schedule"]
    assert "1.0 readings a second" in log.findings()[0].found


def test_a_record_that_rises_first_is_counted_from_its_peak():
    log, _ = played([i / 2 for i in range(400)], lambda t: 200 + min(t, 40) - max(t - 40, 0), u0=40)
    assert log.peak == 240
    assert log.t50 == pytest.approx(140.0)


def test_without_an_in_situ_pressure_there_is_no_percent():
    log, _ = played(range(100))
    assert (log.percent, log.t50) == (None, None)
    assert DissipationLog(0.0, 1.0).percent is None
    # Nor where there is no excess to speak of, as in sand.
    log, _ = played(range(100), lambda t: 63.0 - t, u0=60.0)
    assert (log.percent, log.t50) == (None, None)


def test_an_early_end_and_a_late_first_reading_are_findings():
    log, _ = played([i / 2 for i in range(8, 100)], u0=60.0)
    assert [f.id for f in log.findings()] == ["dissipation-first-reading", "dissipation-short"]
    ids = [f.id for f in DissipationLog(0.0, 1.0).findings()]
    assert ids == ["dissipation-first-reading"]


def test_the_reading_before_the_stop_counts_as_time_zero():
    log, _ = played([1, 2, 3], lambda t: 150.0 - t, u0=50.0, before=250.0)
    assert log.peak == 250.0
    assert log.percent == pytest.approx(51.5)


def test_still_water_needs_a_water_level():
    assert hydrostatic(8.0, None) is None
    assert hydrostatic(8.0, Water(level=2.0, origin=WaterOrigin.MEASURED)) == pytest.approx(58.86)
    assert hydrostatic(1.0, Water(level=2.0, origin=WaterOrigin.MEASURED)) == 0.0


def test_times_that_go_back_are_refused():
    log, kept = played([5, 4, -1, 6])
    assert kept == [True, False, False, True]
    result = log.result()
    assert result.depth == 7.5
    assert list(result.readings) == ["time", "qc", "u2", "u3"]
    assert not result.readings.measured("u3")


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.05, 20), st.floats(-50, 500)), min_size=1, max_size=80),
    st.sets(st.integers(0, 80)),
)
def test_in_pieces_as_whole(steps, cuts):
    whole, part = DissipationLog(0.0, 5.0, u0=20.0), DissipationLog(0.0, 5.0, u0=20.0)
    time = 0.0
    for n, (step, u) in enumerate(steps):
        time += step
        if n in cuts:
            part = pickle.loads(pickle.dumps(part))
        assert whole.push(time, {"u2": u}) == part.push(time, {"u2": u})
    assert (whole.t50, whole.percent, whole.logged) == (part.t50, part.percent, part.logged)
