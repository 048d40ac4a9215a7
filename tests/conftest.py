"""Shared by all tests: where the open soundings are, what is skipped without them, PDF as text."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

SHARED = Path(__file__).resolve().parents[2] / "shared" / "data"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip tests marked ``shared`` where the open soundings are not beside the project."""
    if SHARED.is_dir():
        return
    skip = pytest.mark.skip(reason="the open soundings (../shared/data) are not here")
    for item in items:
        if item.get_closest_marker("shared"):
            item.add_marker(skip)


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Folder of the open soundings; use it only in tests marked ``shared``."""
    return SHARED


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
