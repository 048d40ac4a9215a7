"""Seismic cone: velocities against times worked out in the test, and against open data."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from pushproof.interpretation import interpret
from pushproof.interpretation.seismic.compare import compared
from pushproof.interpretation.seismic.correlate import Handling, shift
from pushproof.interpretation.seismic.derive import seismic
from pushproof.interpretation.seismic.rays import travel_time, velocities
from pushproof.model.picks import MeasuredVelocity
from pushproof.model.recipe import Methods, Recipe
from pushproof.model.seismic import Arrival, IntervalKind, SeismicTest, Trace
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding
from pushproof.processing import process

# U.S. Geological Survey, sounding ALC008, Alameda, 7 December 2000 (public domain): depth [m] and
# S-wave travel time [ms], source 0.96 m from the rods.
USGS = [(1.75, 11.72), (3.75, 24.12), (5.75, 38.16), (7.75, 51.45), (9.75, 59.75), (11.75, 67.75),
        (13.75, 75.79)]  # fmt: skip


def _arrivals(rows, offset, **words):
    return tuple(Arrival(depth=z, time=t, offset=offset, **words) for z, t in rows)


def _ids(result):
    return {one.id for one in result.findings}


def snell(layers, offset, depth):
    """Travel time through level layers, as a table of (base, velocity); independent of the code.

    Fermat: the horizontal run of each layer is found by Snell's law with the ray parameter p, and
    p by bisection on the whole run.
    """
    parts, top = [], 0.0
    for base, velocity in layers:
        thick = min(base, depth) - top
        if thick > 0:
            parts.append((thick, velocity))
        top = base
    fastest = max(velocity for _, velocity in parts)

    def run(p):
        return sum(h * p * v / math.sqrt(1 - (p * v) ** 2) for h, v in parts) - offset

    p = brentq(run, 0.0, (1 - 1e-12) / fastest, xtol=1e-16, rtol=1e-14)
    return sum(h / (v * math.sqrt(1 - (p * v) ** 2)) for h, v in parts)


def wavelet(time, arrival, frequency=60.0):
    """A decaying wave that begins smoothly at its arrival."""
    later = time - arrival
    envelope = np.where(later > 0, (later / 0.01) ** 2 * np.exp(-later / 0.008), 0.0)
    return envelope * np.sin(2 * np.pi * frequency * later)


def test_the_usgs_sounding_by_hand():
    found = seismic(SeismicTest("ALC008", _arrivals([(z, t / 1e3) for z, t in USGS], 0.96)))
    # by hand: (sqrt(3.75^2 + 0.96^2) - sqrt(1.75^2 + 0.96^2)) / 12.40 ms = 151.2 m/s, and so on
    by_hand = [151.2024, 139.5030, 148.9570, 239.5099, 249.0179, 248.0456]
    assert [one.Vs for one in found.intervals] == pytest.approx(by_hand, rel=1e-4)
    assert {one.kind for one in found.intervals} == {IntervalKind.PSEUDO}
    assert not found.findings


@pytest.mark.shared
def test_the_usgs_file_holds_the_same_arrivals(shared_data):
    from pushproof.formats import read
    from pushproof.formats.seismic import arrivals_of

    test = arrivals_of(read(shared_data / "usgs" / "ALC008.txt"))
    assert [(one.depth, round(one.time * 1e3, 2)) for one in test.arrivals] == USGS
    assert {one.offset for one in test.arrivals} == {0.96}


def test_uniform_ground_gives_its_velocity_by_both_paths():
    rows = [(z, math.hypot(z, 1.5) / 180.0) for z in (0.5, 1.5, 2.5, 6.0)]
    found = seismic(SeismicTest("A", _arrivals(rows, 1.5)))
    for one in found.intervals:
        assert one.Vs == pytest.approx(180.0, rel=1e-9)
        assert one.refracted == pytest.approx(180.0, rel=1e-6)


def test_layered_ground_by_bent_rays():
    layers = [(1.0, 90.0), (3.0, 150.0), (6.0, 260.0), (10.0, 190.0)]
    bases = [1.0, 3.0, 6.0, 10.0]
    offset = 2.0
    times = [snell(layers, offset, z) for z in bases]
    assert velocities(bases, times, [offset] * 4) == pytest.approx([90, 150, 260, 190], rel=1e-6)
    found = seismic(SeismicTest("A", _arrivals(zip(bases, times, strict=True), offset)))
    bent = [one.refracted for one in found.intervals]
    assert bent == pytest.approx([150, 260, 190], rel=1e-6)
    straight = [one.Vs for one in found.intervals]
    # the straight path is right at depth and wrong near the surface, and that is told
    assert straight[-1] == pytest.approx(190, rel=0.03)
    assert abs(straight[0] / 150 - 1) > 0.1
    assert "seismic-bent-rays" in _ids(found)


def test_travel_times_of_the_code_agree_with_those_of_the_test():
    layers = [(2.0, 120.0), (5.0, 300.0), (9.0, 80.0)]
    thickness, velocity = np.array([2.0, 3.0, 4.0]), np.array([120.0, 300.0, 80.0])
    for offset in (0.3, 3.0, 15.0):
        expected = snell(layers, offset, 9.0)
        assert travel_time(thickness, velocity, offset) == pytest.approx(expected, rel=1e-8)
    assert travel_time(thickness, velocity, 0.0) == pytest.approx(2 / 120 + 3 / 300 + 4 / 80)


@pytest.mark.parametrize("delay", [5.0, 5.013, 5.25, 5.499, 7.77])
def test_correlation_finds_a_shift_finer_than_a_sample(delay):
    interval = 2.5e-4
    time = np.arange(0, 0.3, interval)
    pair = [
        Trace(z, 0.0, 0.0, interval, wavelet(time, 0.04 + k * delay * 1e-3) * (1 - 0.3 * k))
        for k, z in enumerate((4.0, 5.0))
    ]
    found = shift(pair[0], pair[1], 1.0, Handling())
    assert found.time == pytest.approx(delay * 1e-3, abs=interval / 100)
    assert found.correlation > 0.999


def test_true_and_pseudo_intervals_are_kept_apart():
    # two receivers 1 m apart; the trigger of the second depth is 3 ms late
    rng = np.random.default_rng(5)
    interval = 1e-4
    time = np.arange(0, 0.25, interval)
    traces = []
    for tip, late in ((5.0, 0.0), (6.0, 0.003)):
        for strike, sign in (("left", 1.0), ("right", -1.0)):
            for receiver, depth in (("upper", tip - 1.0), ("lower", tip)):
                arrival = math.hypot(depth, 1.2) / 200.0 + late
                values = sign * wavelet(time, arrival) + rng.normal(0, 0.002, len(time))
                shot = f"{tip}-{strike}"
                traces.append(Trace(depth, 1.2, 0.0, interval, values, receiver, strike, shot))
    found = seismic(SeismicTest("A", traces=tuple(traces)), Handling(lowpass=300.0))
    true = [one for one in found.intervals if one.kind is IntervalKind.TRUE]
    pseudo = [one for one in found.intervals if one.kind is IntervalKind.PSEUDO]
    assert [(one.top, one.base, one.strikes) for one in true] == [(4, 5, 2), (5, 6, 2)]
    assert [one.Vs for one in true] == pytest.approx([200.0, 200.0], rel=0.01)
    # the late trigger spoils the pseudo interval: 4.87 ms become 7.87 ms
    assert [one.Vs for one in pseudo] == pytest.approx([200 * 4.87 / 7.87] * 2, rel=0.02)
    assert "low-pass 300 Hz" in found.method
    assert all(one.correlation > 0.95 for one in found.intervals)
    assert [one.Vs for one in found.decisions()] == pytest.approx([200, 200], rel=0.01)
    assert all("true interval" in one.reason for one in found.decisions())


def test_a_window_keeps_an_earlier_wave_out():
    interval = 1e-4
    time = np.arange(0, 0.3, interval)
    early = 3.0 * wavelet(time, 0.01, 150.0)
    pair = tuple(
        Trace(z, 0.0, 0.0, interval, early + wavelet(time, 0.1 + k * 0.006))
        for k, z in enumerate((10.0, 11.0))
    )
    windowed = seismic(SeismicTest("A", traces=pair), Handling(window=(0.08, 0.25)))
    assert windowed.intervals[0].Vs == pytest.approx(1.0 / 0.006, rel=0.01)
    assert "window 80 to 250 ms" in windowed.method
    whole = seismic(SeismicTest("A", traces=pair))
    assert abs(whole.intervals[0].Vs * 0.006 - 1.0) > 0.05  # the early wave pulls it off


def test_a_tight_window_does_not_cut_the_wave_off_the_lower_trace():
    interval = 1e-4
    time = np.arange(0, 0.2, interval)
    pair = tuple(
        Trace(z, 0.0, 0.0, interval, wavelet(time, 0.03 + k * 0.009))
        for k, z in enumerate((5.0, 6.0))
    )
    found = seismic(SeismicTest("A", traces=pair), Handling(window=(0.028, 0.055)))
    assert found.intervals[0].time == pytest.approx(0.009, abs=2e-5)
    assert found.intervals[0].correlation > 0.99


def test_what_cannot_be_is_told():
    rows = [(4.0, 0.030), (5.0, 0.029), (6.0, 0.0292), (7.0, 0.080)]
    found = seismic(SeismicTest("A", _arrivals(rows, 1.0)))
    assert math.isnan(found.intervals[0].Vs)
    assert {"seismic-backward", "seismic-implausible"} <= _ids(found)
    assert [one.top for one in found.decisions()] == []  # 5000 and 20 m/s are no velocities of soil
    both = (
        *_arrivals([(4.0, 0.030), (5.0, 0.035)], 1.0, strike="left"),
        *_arrivals([(4.0, 0.030), (5.0, 0.037)], 1.0, strike="right"),
    )
    differ = seismic(SeismicTest("A", both))
    assert differ.intervals[0].strikes == 2
    assert differ.intervals[0].time == pytest.approx(0.006)
    assert "seismic-strikes-differ" in _ids(differ)
    odd = [(4.0, 0.020), (5.0, 0.025), (6.0, 0.0265), (7.0, 0.0315), (8.0, 0.0365)]
    assert "seismic-stands-out" in _ids(seismic(SeismicTest("A", _arrivals(odd, 0.5))))
    with pytest.raises(ValueError, match="no two arrivals"):
        seismic(SeismicTest("A", _arrivals([(4.0, 0.02)], 1.0)))


def test_unlike_traces_are_told():
    rng = np.random.default_rng(2)
    pair = tuple(Trace(z, 0.5, 0.0, 1e-4, rng.normal(size=2000)) for z in (4.0, 5.0))
    found = seismic(SeismicTest("A", traces=pair))
    assert _ids(found) & {"seismic-correlation", "seismic-no-shift"}
    with pytest.raises(ValueError, match="sample intervals"):
        shift(pair[0], Trace(5.0, 0.5, 0.0, 2e-4, np.zeros(2000)), 1.0, Handling())
    with pytest.raises(ValueError, match="low-pass"):
        shift(pair[0], pair[1], 1.0, Handling(lowpass=9000.0))


def test_receivers_above_the_tip_are_raised():
    test = SeismicTest("A", _arrivals([(4.5, 0.02), (5.5, 0.026)], 1.0)).raised(0.5)
    assert [one.depth for one in test.arrivals] == [4.0, 5.0]


def _derived(recipe=None):
    depth = np.arange(0.5, 12.0, 0.1)
    columns = {
        "length": depth,
        "qc": np.full(len(depth), 6000.0),
        "fs": np.full(len(depth), 40.0),
        "u2": np.maximum(9.81 * (depth - 1.0), 0.0),
    }
    return interpret(process(Sounding("A", Series(columns)), recipe or Recipe()))


def test_a_measured_velocity_takes_the_place_of_the_estimate():
    recipe = Recipe(
        wave_velocity=(MeasuredVelocity(top=4.0, base=6.0, Vs=300.0, reason="seismic cone"),)
    )
    plain, measured = _derived(), _derived(recipe)
    depth = measured.series["depth"]
    inside = (depth >= 4.0) & (depth < 6.0)
    assert inside.sum() == 20
    assert (measured.series["Vs"][inside] == 300.0).all()
    # G0 = gamma / g Vs^2, by hand
    by_hand = measured.series["gamma"][inside] / 9.80665 * 300.0**2
    assert measured.series["G0"][inside] == pytest.approx(by_hand)
    for key in ("Vs", "G0", "E", "M"):
        outside = ~inside if key in ("Vs", "G0") else np.ones(len(depth), bool)
        np.testing.assert_array_equal(measured.series[key][outside], plain.series[key][outside])
    said = next(one for one in measured.findings if one.id == "seismic-measured")
    assert "20 rows" in said.found
    other = Recipe(wave_velocity=recipe.wave_velocity, methods=Methods(g0="G0_robertson_2009"))
    np.testing.assert_array_equal(
        _derived(other).series["G0"],
        _derived(Recipe(methods=Methods(g0="G0_robertson_2009"))).series["G0"],
    )


def test_bands_and_explanation_follow_the_measurement():
    from pushproof.interpretation.band import bands
    from pushproof.interpretation.explaining import explain

    recipe = Recipe(
        wave_velocity=(MeasuredVelocity(top=4.0, base=6.0, Vs=300.0, reason="seismic cone 3"),)
    )
    measured = _derived(recipe)
    made = bands(measured, keys=["Vs", "G0", "M"])
    inside = (measured.series["depth"] >= 4.0) & (measured.series["depth"] < 6.0)
    for key in ("Vs", "G0"):
        assert np.isnan(made[key].p50[inside]).all()
        assert np.isfinite(made[key].p50[~inside]).any()
    assert np.isfinite(made["M"].p50[inside]).all()
    told = explain(measured, "G0", 5.0)
    vs = next(link for link in told.links if link.gives == "Vs")
    assert vs.value == 300.0
    assert "seismic cone 3" in vs.note
    assert told.links[-1].result == pytest.approx(told.value)
    assert told.band is None
    assert "in the place of the estimate" not in explain(measured, "G0", 9.0).text


def test_velocities_outside_the_sounding_are_told():
    recipe = Recipe(
        wave_velocity=(MeasuredVelocity(top=40.0, base=60.0, Vs=300.0, reason="seismic cone"),)
    )
    assert "seismic-unused" in {one.id for one in _derived(recipe).findings}
    with pytest.raises(ValueError, match="below top"):
        MeasuredVelocity(top=5.0, base=5.0, Vs=200.0, reason="seismic cone")


def test_a_measured_velocity_stands_beside_the_estimate():
    derived = _derived()
    rows = [(z, math.hypot(z, 1.0) / 250.0) for z in (4.0, 5.0, 6.0)]
    found = compared(seismic(SeismicTest("A", _arrivals(rows, 1.0))), derived)
    first = found[0]
    inside = (derived.series["depth"] >= 4.0) & (derived.series["depth"] < 5.0)
    estimate = 1.0 / np.mean(1.0 / derived.series["Vs"][inside])
    assert first.estimate == pytest.approx(estimate)
    assert first.ratio == pytest.approx(250.0 / estimate)
    weight = derived.series["gamma"][inside].mean()
    assert pytest.approx(weight / 9.80665 * 250.0**2) == first.G0
