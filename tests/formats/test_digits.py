"""Numbers with fixed decimals: the same texts as formatting one by one."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.formats import digits
from pushproof.formats.digits import FEW, fixed_texts
from pushproof.formats.precision import clean, exact, fixed

NUMBERS = st.floats(-1e8, 1e8) | st.just(float("nan")) | st.floats(-1e-3, 1e-3)


def one_by_one(values, count):
    return ["" if v != v else f"{v:.{count}f}" for v in values.tolist()]


@given(st.lists(NUMBERS, min_size=1, max_size=40), st.integers(0, 6))
def test_they_are_those_of_formatting(numbers, count):
    rounded = np.round(np.array(numbers), count) + 0.0
    few, digits.FEW = digits.FEW, 0
    try:
        assert fixed_texts(rounded, count) == one_by_one(rounded, count)
    finally:
        digits.FEW = few


@pytest.mark.parametrize("count", [0, 1, 3])
@pytest.mark.parametrize("size", [1e2, 4.2e9, 1e15, 1e300])
def test_long_columns_of_any_size_are_written_whole(count, size):
    values = np.round(np.linspace(-size, size, 2 * FEW + 1), count) + 0.0
    values[::7] = np.nan
    assert fixed(values, count) == one_by_one(values, count)


def test_nothing_and_no_value_are_written_too():
    assert fixed_texts(np.array([]), 2) == []
    assert fixed(np.full(FEW + 1, np.nan), 2) == [""] * (FEW + 1)
    assert fixed(np.zeros(FEW + 1), 0) == ["0"] * (FEW + 1)
    assert fixed(np.full(FEW + 1, -1e-9), 1) == ["0.0"] * (FEW + 1)


@given(st.lists(st.floats(-1e12, 1e12), max_size=30))
def test_exact_texts_give_any_number_back(numbers):
    values = np.array(numbers)
    assert json.loads(f"[{', '.join(exact(values))}]") == clean(values).tolist()


def test_an_infinite_number_is_refused():
    with pytest.raises(ValueError, match="infinite"):
        exact(np.array([1.0, np.inf]))
