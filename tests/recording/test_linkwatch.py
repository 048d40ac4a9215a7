"""The link watch tells a bad joint, steady loss and rig noise apart, and is silent on good strings.

Rates over many seeds are in ``benchmarks/linkwatch.py``; here is one string of each kind, made
from the same planted faults with scatter of its own.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.recording.linkwatch import (
    ADVICE,
    Cells,
    LinkModel,
    LinkWatch,
    Trouble,
    judge,
)


def packets(seed=1, rods=14, *, joint=0, along=0.0, step=9.0, slope=0.4, noise=0.0, loss=0.0):
    """Yield (level or None, rod, along, engine)."""
    rng = np.random.default_rng(seed)
    for rod in range(1, rods + 1):
        seat = rng.normal(0, 0.6)
        for n in range(60):
            engine = n < 48
            here = min(n / 48, 1.0)
            bad = joint and (rod > joint or (rod == joint and along and here >= along))
            level = 40 + seat - slope * rod - step * bool(bad) - noise * engine
            level += rng.standard_t(4)
            heard = rng.random() >= loss and level > 6
            yield (level if heard else None, rod, here, engine)


def watched(stream, watch=None):
    watch = watch or LinkWatch()
    for level, rod, along, engine in stream:
        if level is None:
            watch.missed(1, rod, along, engine)
        else:
            watch.heard(level, rod, along, engine)
    return watch


@pytest.mark.parametrize("joint", [2, 7, 12])
def test_a_bad_joint_is_named(joint):
    verdict = watched(packets(joint=joint)).verdict()
    assert verdict.words == f"joint above rod {joint}"
    assert (verdict.trouble, verdict.joint) == (Trouble.JOINT, joint)
    assert verdict.probability > 0.9
    assert verdict.size == pytest.approx(9.0, abs=1.5)
    assert verdict.advice == ADVICE[Trouble.JOINT]


def test_a_joint_that_gives_way_during_the_push_is_told_from_one_that_came_in_bad():
    verdict = watched(packets(joint=7, along=0.5)).verdict()
    assert verdict.trouble is Trouble.LOOSENED
    assert verdict.joint is None


def test_steady_loss_is_told_by_its_size_per_rod():
    verdict = watched(packets(slope=1.9)).verdict()
    assert verdict.trouble is Trouble.STEADY
    assert verdict.size == pytest.approx(1.9, abs=0.2)


def test_noise_is_told_by_the_engine():
    verdict = watched(packets(noise=6.0)).verdict()
    assert verdict.trouble is Trouble.NOISE
    assert verdict.size == pytest.approx(6.0, abs=0.7)


def test_two_troubles_are_both_named_and_the_joint_comes_first():
    verdict = watched(packets(joint=6, noise=6.0)).verdict()
    assert verdict.words == "joint above rod 6"
    assert verdict.also == ("rig noise with the engine",)


def test_a_good_string_is_called_nothing():
    for seed in range(5):
        verdict = watched(packets(seed)).verdict()
        assert (verdict.trouble, verdict.words, verdict.advice) == (Trouble.NONE, "", "")


def test_a_joint_that_lets_nothing_through_is_found_by_the_silence():
    stream = list(packets(rods=9))
    deaf = [(None, r, a, e) if r > 8 else (v, r, a, e) for v, r, a, e in stream]
    verdict = watched(deaf).verdict()
    assert verdict.words == "joint above rod 8"


def test_a_level_that_rises_is_no_trouble():
    verdict = watched(packets(joint=7, step=-9.0)).verdict()
    assert verdict.trouble is Trouble.NONE
    assert watched(packets(noise=-3.0)).verdict().trouble is Trouble.NONE


def test_too_little_is_no_verdict():
    watch = LinkWatch()
    assert watch.verdict().trouble is Trouble.NONE
    watch.heard(math.nan, 1)
    watch.heard(30.0, 1)
    assert (watch.verdict().trouble, watch.verdict().packets) == (Trouble.NONE, 1)


def test_the_likelihood_of_one_hypothesis_is_that_of_the_normal_distribution():
    """The weights agree with scipy's multivariate normal, a reference of its own."""
    from scipy.stats import multivariate_normal

    from pushproof.recording.linkwatch import _evidence

    model = LinkModel()
    rod = np.array([1.0, 1, 2, 2, 3, 3])
    engine = np.array([0.0, 1, 0, 1, 0, 1])
    level = np.array([40.0, 38, 39, 37, 30, 28])
    cells = Cells(rod, np.zeros(6), engine, level, np.full(6, 0.1), np.full(6, np.nan))
    edges = np.array([1.0, 2.0])
    logs, _ = _evidence(cells, model, rod, edges, 0.8)
    columns = np.stack([np.ones(6), -(rod - 1), -engine, -(rod > 2).astype(float)], axis=1)
    mean = columns @ np.array([0.0, model.slope, model.noise, model.step])
    spread = np.diag([30.0, model.slope_spread, model.noise_spread, model.step_spread]) ** 2
    base = np.diag(np.full(6, 0.1 + model.cell_scatter**2))
    base += 0.8**2 * (rod[:, None] == rod[None, :])
    expected = multivariate_normal.logpdf(
        level - level.mean(), mean, base + columns @ spread @ columns.T
    )
    assert logs[0, 1, 2] + -3 * math.log(2 * math.pi) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(
    ("rise", "level", "trouble"),
    [(4.0, 30.0, Trouble.NONE), (16.0, 40.0, Trouble.NOISE), (16.0, 70.0, Trouble.NONE)],
)
def test_a_receiver_that_tells_its_noise_is_believed(rise, level, trouble):
    """The usual engine is no trouble, nor is a loud one far below the packets."""
    rng = np.random.default_rng(5)
    watch = LinkWatch()
    for heard, rod, along, engine in packets(5):
        noise = 18 + rise * engine + rng.normal(0, 1)
        watch.heard(heard - 40 + level, rod, along, engine, noise)
    assert watch.verdict().trouble is trouble
    if trouble is Trouble.NOISE:
        assert watch.verdict().size == pytest.approx(16, abs=0.5)


def test_judging_nothing_is_no_trouble():
    empty = np.empty(0)
    assert judge(Cells(*(empty,) * 6), LinkModel()).trouble is Trouble.NONE


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(0, 839), max_size=5), st.integers(0, 5))
def test_asking_in_between_changes_nothing(asks, seed):
    stream = list(packets(seed, joint=6, loss=0.2))
    watch = LinkWatch()
    for n, packet in enumerate(stream):
        watched([packet], watch)
        if n in asks:
            watch.verdict()
    assert watch.verdict() == watched(stream).verdict()
