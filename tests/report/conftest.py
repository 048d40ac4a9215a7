"""Made-up and registered soundings for the tests of the sheets."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

HERE = Path(__file__).parent


def _module(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"report_{name}", HERE / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def cases() -> ModuleType:
    """Module that makes interpretations."""
    return _module("made")


@pytest.fixture(scope="session")
def register_sounding() -> Callable:
    """Reader of register documents, far enough to draw them."""
    return _module("register").register_sounding
