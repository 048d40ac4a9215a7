"""Layers: planted boundaries are found, decisions count, what was not read stays apart."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from pushproof.interpretation import interpret
from pushproof.interpretation.layercells import Ground as Cells
from pushproof.interpretation.layerpruning import step_lead
from pushproof.interpretation.layers import Layers, layers
from pushproof.interpretation.layersearch import Search, partition, scatter_of, without_seams
from pushproof.model.layering import Boundary, LayerChoice
from pushproof.model.profile import Interpretation
from pushproof.model.recipe import BlankedInterval, Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Location, RemovedLayer, Sounding
from pushproof.processing import process
from pushproof.sources.rehearsal import Ground, Layer, Plan, push
from pushproof.testing.samples import sample

CLAY = Layer(6.0, "soft clay", 16.0, su=18, su_gradient=1.4, friction=3.4, pore=0.5)
SAND = Layer(4.0, "sand", 19.5, density=0.7, friction=0.6, scatter=0.1)
STIFF = Layer(9.0, "stiff clay", 19.0, su=110, su_gradient=4, friction=3.6, pore=0.3)


def read(*layers_: Layer, recipe: Recipe | None = None, depth: float = 17.0) -> Interpretation:
    sounding = push(Ground(layers_, 1.0), Plan("PLANTED", depth), 3).sounding
    return interpret(process(sounding, recipe or Recipe()))


def steps(*parts: tuple[float, float, float]) -> Interpretation:
    """A sounding of exact steps: (thickness m, qc kPa, fs kPa), a row each 20 mm."""
    qc = np.concatenate([np.full(round(t / 0.02), q) for t, q, _ in parts])
    fs = np.concatenate([np.full(round(t / 0.02), f) for t, _, f in parts])
    length = 0.02 + 0.02 * np.arange(len(qc))
    sounding = Sounding("STEPS", Series({"length": length, "qc": qc, "fs": fs}))
    return interpret(process(sounding))


def ends(found: Layers) -> list[float]:
    return [edge.depth for edge in found.edges]


def test_planted_boundaries_are_found_within_two_decimetres() -> None:
    found = layers(read(CLAY, SAND, STIFF))
    assert found.automatic
    for planted in (6.0, 10.0):
        nearest = min(found.edges, key=lambda edge: abs(edge.depth - planted))
        assert nearest.depth == pytest.approx(planted, abs=0.2)
        assert nearest.confidence is not None
        assert nearest.confidence > 0.8
    clay, sand, stiff = (found.at(z) for z in (4.0, 8.0, 14.0))
    assert clay is not None
    assert sand is not None
    assert stiff is not None
    assert clay.ic is not None
    assert clay.ic > 2.8
    assert sand.name.startswith("sand")
    assert "su" in clay.statistics
    assert "su" not in sand.statistics
    assert stiff.statistics["su"].mean == pytest.approx(110 + 4 * 3.5, rel=0.25)


def test_units_cover_the_sounding_without_gaps_and_none_is_too_thin() -> None:
    found = layers(read(CLAY, SAND, STIFF))
    assert found.units[0].top == 0.0
    for upper, lower, edge in zip(found.units, found.units[1:], found.edges, strict=False):
        assert upper.base == lower.top == round(edge.depth, 4)
    assert min(unit.thickness for unit in found.units) >= found.min_thickness - 1e-3
    assert [unit.number for unit in found.units] == list(range(1, len(found) + 1))


def test_a_thin_seam_is_a_note_of_its_unit() -> None:
    found = layers(steps((4.0, 600.0, 20.0), (0.16, 6000.0, 40.0), (4.0, 700.0, 24.0)))
    unit = found.at(4.1)
    assert unit is not None
    assert unit.thickness > 2.5
    assert unit.notes == ("coarse-grained seam at 4.02 m (0.16 m thick)",)


def test_a_thin_unit_between_its_neighbours_is_no_unit() -> None:
    soft, middle, firm = (5.0, 600.0, 20.0), (0.6, 1700.0, 40.0), (4.0, 5000.0, 75.0)
    found = layers(steps(soft, middle, firm))
    near = [z for z in ends(found) if 4.0 < z < 7.0]
    assert len(near) == 1
    assert min(abs(near[0] - z) for z in (5.0, 5.6)) < 0.1
    # as thick as a layer it is one
    found = layers(steps(soft, (1.5, *middle[1:]), firm))
    assert len([z for z in ends(found) if 4.0 < z < 7.5]) == 2
    # and so is a thin one that is not between them
    found = layers(steps(soft, (0.6, 5000.0, 75.0), (4.0, 1700.0, 40.0)))
    assert len([z for z in ends(found) if 4.0 < z < 7.0]) == 2


def test_a_steady_change_is_not_cut_and_a_step_in_it_is() -> None:
    length = 0.02 * np.arange(1, 601)

    def over(strength: np.ndarray) -> Layers:
        columns = {"length": length, "qc": strength, "fs": 0.03 * strength}
        sounding = Sounding("SLOPE", Series(columns))
        return layers(interpret(process(sounding)))

    # resistance that grows by a factor of e in two metres, and stays one kind of ground
    slope = 3000.0 * np.exp(length / 2.0)
    assert ends(over(slope)) == []
    (edge,) = ends(over(np.where(length < 6.0, slope, 3.0 * slope)))
    assert edge == pytest.approx(6.0, abs=0.1)


def test_a_line_against_a_step_is_worked_out_from_sums_of_squares() -> None:
    depth = np.array([0.0, 1.0, 2.0, 3.0, 4.0, 5.0])

    def lead(values: list[float], penalty: float = 10.0) -> float:
        ground = Cells(depth, np.arange(6), np.array(values)[:, None], ("Ic",))
        search = Search(ground, 0.5, penalty, np.array([0.1]), 0.05)
        return step_lead(search, 0.0, 2.5, 6.0)

    # a step of one: no residual; the line leaves 1.5 - slope^2 17.5, slope 4.5 / 17.5
    assert lead([0, 0, 0, 1, 1, 1]) == pytest.approx(1.5 - 4.5**2 / 17.5)
    # a line of one a metre: no residual; each side of the step leaves 2
    assert lead([0, 1, 2, 3, 4, 5]) == pytest.approx(-4.0)
    # a step of four in a line of one a metre: with both there is no residual. The line alone
    # leaves 16 (1.5 - 4.5^2 / 17.5) = 5.49, times 5 m for 6 rows: 4.57
    both = [0, 1, 2, 7, 8, 9]
    assert lead(both, 4.6) == pytest.approx(16 * (1.5 - 4.5**2 / 17.5) - 4.0)
    assert lead(both, 4.5) == np.inf


def test_a_layer_as_thick_as_a_unit_is_one() -> None:
    found = layers(steps((4.0, 600.0, 20.0), (0.6, 6000.0, 40.0), (4.0, 700.0, 24.0)))
    unit = found.at(4.3)
    assert unit is not None
    assert (unit.top, unit.base) == pytest.approx((4.0, 4.6), abs=0.03)


def test_the_same_input_gives_the_same_layers() -> None:
    one = layers(read(CLAY, SAND, STIFF))
    assert one == layers(read(CLAY, SAND, STIFF))


def test_uniform_ground_is_one_unit() -> None:
    found = layers(interpret(process(sample("dense-sand"))))
    assert len([unit for unit in found.units if unit.top > 1.0]) <= 1


def test_a_boundary_of_exact_steps_is_where_it_is() -> None:
    found = layers(steps((5.0, 500.0, 15.0), (5.0, 8000.0, 50.0)))
    assert min(abs(z - 5.0) for z in ends(found)) <= 0.02


def test_a_set_boundary_takes_the_place_of_the_search_and_is_judged() -> None:
    choice = LayerChoice(
        boundaries=(
            Boundary(depth=10.0, reason="boring B1", author="A. Person"),
            Boundary(depth=6.5, reason="boring B1"),
        )
    ).named(8.0, "fill", reason="boring B1")
    recipe = Recipe(layers=choice)
    found = layers(read(CLAY, SAND, STIFF, recipe=recipe))
    assert not found.automatic
    assert ends(found) == [6.5, 10.0]
    assert [unit.name for unit in found.units][1] == "fill"
    assert found.units[1].named
    assert found.units[1].behaviour.startswith("sand")
    first, second = found.edges
    assert second.author == "A. Person"
    assert second.origin == "set"
    assert first.confidence is not None
    assert second.confidence is not None
    assert second.confidence > 0.8


def test_a_boundary_where_there_is_no_step_has_no_confidence() -> None:
    choice = LayerChoice(boundaries=(Boundary(depth=8.0, reason="a guess"),))
    found = layers(read(CLAY, SAND, STIFF), choice)
    assert found.edges[0].confidence == 0.0


def test_found_boundaries_become_a_decision_that_gives_the_same_units() -> None:
    ground = read(CLAY, SAND, STIFF)
    found = layers(ground)
    again = layers(ground, found.choice(author="A. Person"))
    assert ends(again) == pytest.approx(ends(found), abs=1e-3)
    assert [unit.name for unit in again.units] == [unit.name for unit in found.units]
    moved = layers(ground, found.choice().moved(6.0, 6.4, reason="boring B1"))
    assert 6.4 in ends(moved)
    assert layers(ground, moved.choice()).edges == moved.edges


def test_a_choice_is_edited_by_depth() -> None:
    choice = LayerChoice(boundaries=())
    choice = choice.added(4.0, reason="seen").added(2.0, reason="seen")
    assert choice.boundaries is not None
    assert [one.depth for one in choice.boundaries] == [2.0, 4.0]
    assert len(choice.removed(3.9).boundaries or ()) == 1
    with pytest.raises(ValueError, match="found by the search"):
        LayerChoice().moved(1.0, 2.0, reason="seen")
    with pytest.raises(ValidationError, match="two boundaries at one depth"):
        choice.added(4.0, reason="seen")


def test_what_was_excavated_or_blanked_is_a_unit_of_its_own() -> None:
    recipe = Recipe(predrilled=1.5, blanked=(BlankedInterval(top=7.0, base=7.4, reason="stones"),))
    found = layers(read(CLAY, SAND, STIFF, recipe=recipe))
    kinds = [(unit.kind, unit.top, unit.base) for unit in found.units if unit.kind != "ground"]
    assert kinds[0] == ("pre-excavated", 0.0, 1.5)
    assert kinds[1][0] == "blanked"
    assert kinds[1][1:] == pytest.approx((7.0, 7.4), abs=0.03)
    blanked = found.at(7.2)
    assert blanked is not None
    assert blanked.name == "stones"
    assert blanked.statistics == {}
    assert all(edge.confidence is None for edge in found.edges if edge.origin == "record")


def test_removed_layers_name_the_excavated_unit() -> None:
    base = push(Ground((CLAY,), 1.0), Plan("R", 5.0), 3).sounding
    sounding = replace(
        base,
        predrilled=1.0,
        removed=(RemovedLayer(top=0.0, base=1.0, description="pavement"),),
        location=Location(level=12.5),
    )
    found = layers(interpret(process(sounding)))
    assert found.units[0].name == "pavement"
    assert found.units[0].level_base == pytest.approx(11.5)


def test_a_boundary_set_where_nothing_was_read_is_told() -> None:
    recipe = Recipe(predrilled=1.5)
    choice = LayerChoice(boundaries=(Boundary(depth=0.8, reason="boring B1"),))
    found = layers(read(CLAY, SAND, recipe=recipe, depth=9.0), choice)
    assert "0.80 m is not used" in found.notes[0]


def test_without_sleeve_friction_there_are_units_without_behaviour() -> None:
    found = layers(interpret(process(sample("no-fs"))))
    assert min(abs(z - 12.0) for z in ends(found)) < 0.3
    assert {unit.name for unit in found.units if unit.kind == "ground"} == {
        "soil behaviour not known"
    }
    assert found.units[-1].ic is None


def test_nothing_measured_is_one_unit_without_values() -> None:
    length = 0.02 * np.arange(1, 60)
    sounding = Sounding("E", Series({"length": length, "qc": np.full(59, np.nan)}))
    found = layers(interpret(process(sounding)))
    assert [unit.kind for unit in found.units] in (["no values"], ["no readings"])
    assert len(found.edges) == 0


def test_the_table_and_the_plain_values_say_the_same() -> None:
    found = layers(read(CLAY, SAND, STIFF), parameters=("qt", "su"))
    frame = found.to_frame()
    data = json.loads(json.dumps(found.as_data(), allow_nan=False))
    assert len(frame) == len(data["units"]) == len(found)
    assert frame["mean qt [MPa]"][1] == pytest.approx(
        data["units"][1]["statistics"]["qt"]["mean"], rel=1e-4
    )
    assert data["boundaries"][0]["origin"] == "found"


def test_statistics_of_a_unit_are_those_of_its_rows() -> None:
    ground = read(CLAY, SAND, STIFF)
    found = layers(ground)
    unit = found.at(8.0)
    assert unit is not None
    depth = ground.series["depth"]
    qt = ground.series["qt"][(depth >= unit.top) & (depth < unit.base)] / 1e3
    told = unit.statistics["qt"]
    assert told.count == len(qt)
    assert told.mean == pytest.approx(qt.mean())
    assert told.deviation == pytest.approx(np.std(qt, ddof=1))
    assert (told.p10, told.p90) == pytest.approx(tuple(np.quantile(qt, [0.1, 0.9])))


def test_scatter_of_white_noise_is_its_variance_times_the_row() -> None:
    """The variance of a mean of m independent values is the variance over m."""
    noise = np.random.default_rng(5).normal(0.0, 1.0, (40000, 2))
    assert scatter_of([noise], 0.05) == pytest.approx([0.05, 0.05], rel=0.1)


@pytest.mark.parametrize("seed", range(6))
def test_the_division_is_that_of_the_library_ruptures(seed: int) -> None:
    """The library's own search (kernel change points, linear kernel) on steps and noise."""
    ruptures = pytest.importorskip("ruptures")
    rng = np.random.default_rng(seed)
    walk = np.repeat(rng.normal(0.0, 2.0, (12, 2)), rng.integers(8, 60, 12), axis=0)
    cells = walk + rng.normal(0.0, 0.6, walk.shape)
    algorithm = ruptures.KernelCPD(kernel="linear", min_size=5).fit(cells - cells.mean(axis=0))
    for penalty in (3.0, 12.0, 40.0):
        assert partition(cells, 5, penalty) == algorithm.predict(pen=penalty)[:-1]


def test_the_running_median_is_that_of_scipy() -> None:
    from scipy.ndimage import median_filter

    cells = np.random.default_rng(2).normal(size=(80, 2))
    told = median_filter(cells, size=(9, 1), mode="nearest")
    assert without_seams(cells, 5) == pytest.approx(told)


def test_an_unknown_parameter_is_refused() -> None:
    with pytest.raises(ValueError, match="unknown quantity"):
        layers(read(CLAY, depth=5.0), parameters=("strength",))
