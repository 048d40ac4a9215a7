"""Check values from outside the project, with their provenance, against every equation.

The tables in ``tests/checks`` name for each value its source and how it was obtained: ``printed``
(a worked result), ``table``, ``figure``, ``computed`` (from the printed equation, by hand or by an
independent program), ``practice`` or ``memory``. None is computed with the code under test.
"""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from pushproof.equations import equations, find
from pushproof.equations.registry import Mark

FOLDER = Path(__file__).parents[1] / "checks"
HOW = {"printed", "table", "figure", "computed", "practice", "memory"}
FIELDS = ["function", "inputs", "expected", "tolerance", "source", "where", "how"]


def lines():
    found = []
    for path in sorted(FOLDER.glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as file:
            reader = csv.DictReader(file)
            assert reader.fieldnames == FIELDS, path.name
            for number, row in enumerate(reader, start=2):
                name = f"{path.stem}:{number}:{row['function']}"
                found.append(pytest.param(row, id=name))
    return found


@pytest.mark.parametrize("row", lines())
def test_check_value(row):
    assert row["how"] in HOW
    assert row["source"]
    assert row["where"]
    found = find(row["function"])
    if row["how"] == "computed":
        assert found.mark is not Mark.MEMORY, "an equation from memory gives a value from memory"
    function = found.function
    expected = np.array(json.loads(row["expected"]), dtype=float)
    kind, bound = row["tolerance"].split()
    assert kind in ("rel", "abs")
    tolerance = {"rel": 0.0, "abs": 0.0, kind: float(bound)}
    result = np.asarray(function(**json.loads(row["inputs"])), dtype=float)
    assert result == pytest.approx(expected, nan_ok=True, **tolerance)


def test_every_equation_has_at_least_two_check_lines():
    count = dict.fromkeys(equations(), 0)
    for line in lines():
        count[line.values[0]["function"]] += 1
    assert {name: n for name, n in count.items() if n < 2} == {}


def test_every_equation_names_its_source_and_validity():
    for one in equations().values():
        assert one.citation, one.name
        assert one.validity, one.name
        assert one.formula, one.name
        assert one.summary.endswith("."), one.name


ALONG_DEPTH = {"sigma_v0_layers"}
"""Equations whose rows depend on the rows above."""
MAY_BE_MISSING = {("zone_robertson_2009", "curve")}
"""Inputs that are rightly missing where they do not matter."""


def element_wise():
    return [line for line in lines() if line.values[0]["function"] not in ALONG_DEPTH]


@pytest.mark.parametrize("row", element_wise())
def test_array_manners(row):
    """Scalars and arrays agree, inputs stay untouched, a missing input gives a missing result."""
    function = find(row["function"]).function
    given = {key: np.asarray(v, float) for key, v in json.loads(row["inputs"]).items()}
    arrays = {
        key: v.copy() for key, v in zip(given, np.broadcast_arrays(*given.values()), strict=True)
    }
    before = {key: value.copy() for key, value in arrays.items()}
    whole = np.asarray(function(**arrays))
    for key, value in arrays.items():
        np.testing.assert_array_equal(value, before[key])
    shape = next(iter(arrays.values())).shape
    assert whole.shape == shape
    assert whole.dtype == np.float64
    for index in np.ndindex(shape):
        alone = float(function(**{key: float(value[index]) for key, value in arrays.items()}))
        np.testing.assert_allclose(alone, whole[index], rtol=1e-12, atol=1e-12)
    for key in arrays:
        if (row["function"], key) not in MAY_BE_MISSING:
            holed = function(**{**arrays, key: np.full(shape, np.nan)})
            assert np.isnan(holed).all(), f"{key} missing"
