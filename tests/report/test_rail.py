"""The proof rail: origin, gaps, marks and numbered findings."""

import itertools

import numpy as np
import pytest

from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Reason
from pushproof.report.rail import Trace, number_findings, rail


def test_rail_of_a_heavy_sounding(cases):
    found = rail(cases.heavy())
    kinds = {span.trace for span in found.spans}
    assert kinds == {Trace.PREDRILLED, Trace.LIVE, Trace.MEMORY, Trace.MISSING, Trace.BLANKED}
    memory = next(span for span in found.spans if span.trace is Trace.MEMORY)
    assert memory.top == pytest.approx(6.1, abs=0.03)
    assert memory.base == pytest.approx(9.8, abs=0.03)
    assert [r.fast for r in found.rate] == [False, True]
    assert sum(mark.kind == "rod-change" for mark in found.marks) == 24
    tilt = [mark.depth for mark in found.marks if mark.kind == "tilt-step"]
    assert tilt[0] == pytest.approx(13.2, abs=0.05)


def test_spans_lie_end_to_end(cases):
    spans = rail(cases.heavy()).spans
    assert spans[0].top == 0.0
    for one, other in itertools.pairwise(spans):
        assert other.top == pytest.approx(one.base, abs=1e-9)


def test_a_file_is_imported(cases):
    assert rail(cases.made()).traces == [Trace.IMPORTED]


def test_rows_that_never_came_are_missing(cases):
    made = cases.made(last=10.0)
    z = made.series["depth"]
    cut = cases.with_series(made, made.series.take((z < 4.0) | (z > 5.5)))
    missing = [s for s in rail(cut).spans if s.trace is Trace.MISSING]
    assert len(missing) == 1
    assert missing[0].top == pytest.approx(4.0, abs=0.03)
    assert missing[0].base == pytest.approx(5.5, abs=0.03)


def test_a_stop_in_the_clock_is_a_pause(cases):
    made = cases.made(last=8.0)
    late = made.series["time"] + np.where(made.series["depth"] > 3.0, 600.0, 0.0)
    found = rail(cases.with_series(made, made.series.with_column("time", late)))
    pauses = [mark for mark in found.marks if mark.kind == "pause"]
    assert len(pauses) == 1
    assert pauses[0].seconds == pytest.approx(600.0, abs=5)
    assert not found.rate


def test_void_values_are_missing(cases):
    made = cases.made(last=8.0)
    z = made.series["depth"]
    series = made.series.blank("qc", (z > 2) & (z < 3), Reason.VOID_IN_FILE)
    assert Trace.MISSING in rail(cases.with_series(made, series)).traces


def test_findings_are_numbered_from_the_top_whole_sounding_first():
    deep = Finding("b", Severity.STOP, "deep", top=9.0)
    shallow = Finding("a", Severity.INFO, "shallow", top=1.0)
    whole = Finding("c", Severity.CAUTION, "whole")
    found = number_findings([deep, shallow, whole])
    assert [(n.number, n.finding.found) for n in found] == [
        (1, "whole"),
        (2, "shallow"),
        (3, "deep"),
    ]


def test_a_clock_of_whole_seconds_makes_no_false_rates(cases):
    made = cases.made(last=10.0)
    steady = np.floor(made.series["length"] / 0.0201)
    found = rail(cases.with_series(made, made.series.with_column("time", steady)))
    assert found.rate == ()
