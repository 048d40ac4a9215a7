"""Pages: true scale, whole pages, the same 200 mm of plot."""

import itertools

import pytest

from pushproof.report.layout import PAPERS, PLOT_HEIGHT, lay_columns, plan_depth

TRACKS = {"cone": True, "sleeve": True, "ratio": True, "pore": True, "blows": True, "soil": True}


@pytest.mark.parametrize(("scale", "metres"), [(50, 10.0), (100, 20.0), (200, 40.0)])
def test_true_scales(scale, metres):
    plan = plan_depth(0.0, 29.9, scale)
    assert plan.metres == metres
    assert plan.mm_per_metre == pytest.approx(1000.0 / scale)
    assert plan.pages[0].top == 0.0
    assert plan.pages[-1].base >= 29.9
    for one, other in zip(plan.pages, plan.pages[1:], strict=False):
        assert one.base == other.top


@pytest.mark.parametrize(
    ("last", "pages", "metres"), [(3.0, 1, 4.0), (29.9, 1, 30.0), (42.0, 2, 25.0), (69.7, 2, 35.0)]
)
def test_fitted_scale_fills_whole_pages(last, pages, metres):
    plan = plan_depth(0.0, last, "fit")
    assert (len(plan.pages), plan.metres) == (pages, metres)
    assert "fitted" in plan.words


def test_empty_pages_above_the_first_reading_are_left_out_and_told():
    plan = plan_depth(45.0, 58.0, 100)
    assert [(p.top, p.base) for p in plan.pages] == [(40.0, 60.0)]
    assert plan.left_out == 40.0


@pytest.mark.parametrize("scale", [0, 4, 99999, "big", 1.5, True])
def test_bad_scale(scale):
    with pytest.raises(ValueError, match="scale"):
        plan_depth(0.0, 10.0, scale)


@pytest.mark.parametrize("paper", PAPERS.values(), ids=lambda p: p.name)
@pytest.mark.parametrize("level", [True, False])
def test_columns_fill_the_width_without_overlap(paper, level):
    columns = lay_columns(paper.content, TRACKS, level=level)
    edges = [columns.depth, columns.rail, *columns.tracks.values()]
    for one, other in itertools.pairwise(edges):
        assert other.left >= one.right
    assert edges[-1].right <= paper.content + 1e-6
    foot = paper.plot_top + PLOT_HEIGHT + 3.6 + paper.keys + 7.5
    assert foot < paper.height - 4.0


def test_a_channel_that_lacks_makes_room():
    full = lay_columns(188.0, TRACKS, level=False)
    less = lay_columns(188.0, TRACKS | {"pore": False}, level=False)
    assert less.tracks["cone"].width > full.tracks["cone"].width
    assert less.tracks["pore"].width < full.tracks["pore"].width
