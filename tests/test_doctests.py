"""Every example in a docstring gives what it says."""

import doctest
import importlib
import pkgutil

import pytest

import pushproof

MODULES = sorted(
    module.name
    for module in pkgutil.walk_packages(pushproof.__path__, "pushproof.")
    if "__main__" not in module.name
)


@pytest.mark.parametrize("name", MODULES)
def test_examples(name):
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0
