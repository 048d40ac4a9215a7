"""Order statistics are those that sorting gives, whatever the values are like."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pushproof.interpretation import orderstatistics
from pushproof.interpretation.orderstatistics import FEW, order_statistics

PLACES = (0, 300, 1500, 2700, 2999)
MANY = 3000
RNG = np.random.default_rng(7)
LIKE = {
    "about zero": RNG.standard_normal(MANY),
    "over ten powers of ten": np.exp(5 * RNG.standard_normal(MANY)),
    "close together": 2.5 + 1e-4 * RNG.standard_normal(MANY),
    "all the same": np.full(MANY, 3.0),
    "held at limits": np.clip(RNG.standard_normal(MANY), -0.3, 0.3),
    "zero and above": np.maximum(RNG.standard_normal(MANY), 0.0),
    "two values": np.repeat([1.0, 2.0], MANY // 2),
    "one far out": np.append(RNG.standard_normal(MANY - 1), 1e30),
    "one without bound": np.append(RNG.standard_normal(MANY - 1), np.inf),
    "below zero": -np.exp(RNG.standard_normal(MANY)),
    "too wide for a difference": np.append(RNG.standard_normal(MANY - 2), (3.4e38, -3.4e38)),
}


@pytest.mark.parametrize("name", LIKE)
def test_they_are_those_of_sorting(name):
    values = LIKE[name].astype(np.float32)
    RNG.shuffle(values)
    before = values.copy()
    assert MANY > FEW
    assert order_statistics(values, PLACES) == np.sort(values)[list(PLACES)].tolist()
    assert np.array_equal(values, before)


@given(arrays(np.float32, 50, elements=st.floats(allow_nan=False, width=32)))
def test_they_are_those_of_sorting_for_any_numbers(values):
    few, orderstatistics.FEW = orderstatistics.FEW, 5
    try:
        found = order_statistics(values, range(50))
    finally:
        orderstatistics.FEW = few
    assert found == np.sort(values).tolist()
