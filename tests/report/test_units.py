"""Units on the log and in the report."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from pushproof.interpretation import interpret
from pushproof.interpretation.layers import layers
from pushproof.model.layering import Boundary, LayerChoice
from pushproof.model.recipe import Recipe
from pushproof.processing import process
from pushproof.report.fullreport import lay_report
from pushproof.report.logsheet import lay_log
from pushproof.report.unitplate import apart
from pushproof.report.unitstable import units_facts
from pushproof.testing.samples import sample

BOXES = st.lists(st.tuples(st.floats(0, 200), st.floats(0.5, 6.0)), min_size=1, max_size=20).map(
    sorted
)


@given(BOXES)
def test_words_moved_apart_do_not_meet_and_stay_on_the_page(boxes) -> None:
    middles, heights = zip(*boxes, strict=True)
    found = apart(middles, heights, 200.0)
    for (a, h), (b, k) in itertools.pairwise(zip(found, heights, strict=True)):
        assert b - a >= (h + k) / 2 - 1e-4
    if sum(heights) <= 200.0:
        assert found[0] >= heights[0] / 2 - 1e-4
        assert found[-1] <= 200.0 - heights[-1] / 2 + 1e-4


def test_words_with_room_stay_where_they_are() -> None:
    assert apart([10.0, 50.0], [2.5, 2.5], 200.0) == [10.0, 50.0]
    assert apart([], [], 200.0) == []


def test_the_log_names_its_units_and_their_boundaries() -> None:
    derived = interpret(process(sample("clay-over-sand")))
    found = layers(derived)
    labels = [
        "".join(run[0] for run in label["runs"])
        for page in lay_log(derived).data["log"]["pages"]
        for label in page["picture"]["labels"]
    ]
    last = found.units[-1]
    assert any(text.startswith(f"{last.number}  ") for text in labels)
    edge = found.edges[-1]
    assert f"{edge.depth:.2f} ± {edge.spread:.2f}" in labels


def test_the_report_has_a_row_for_each_unit_and_says_who_set_a_boundary() -> None:
    choice = LayerChoice(boundaries=(Boundary(depth=6.0, reason="boring B1", author="A. Person"),))
    derived = interpret(process(sample("clay-over-sand"), Recipe(layers=choice)))
    facts = units_facts(derived, layers(derived))
    assert [row["top"] for row in facts["rows"]][-2:] == ["0.60", "6.00"]
    assert facts["decided"] == [{"depth": "6.00 m", "reason": "boring B1", "author": "A. Person"}]
    assert all(len(row["values"]) == len(facts["columns"]) for row in facts["rows"])
    sheet = lay_report([derived])
    assert sheet.data["soundings"][0]["units"] == facts
    assert sheet.pdf().startswith(b"%PDF")
