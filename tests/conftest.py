"""Shared by all tests: where the open soundings are, and what is skipped without them."""

from __future__ import annotations

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
