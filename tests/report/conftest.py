"""Made-up and registered soundings for the tests of the sheets."""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
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


@pytest.fixture(scope="session")
def pdf_text(tmp_path_factory: pytest.TempPathFactory) -> Callable[[bytes], str]:
    """Text of a PDF as another program reads it (poppler)."""
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext (poppler) is not installed")

    def read(pdf: bytes) -> str:
        path = tmp_path_factory.mktemp("pdf") / "sheet.pdf"
        path.write_bytes(pdf)
        done = subprocess.run(
            [tool, "-layout", str(path), "-"], capture_output=True, check=True, timeout=60
        )
        return done.stdout.decode()

    return read
