"""The public names are few, sorted and all importable."""

import subprocess
import sys

import pytest

import pushproof


def test_public_names_are_sorted_and_load():
    assert pushproof.__all__ == sorted(pushproof.__all__)
    for name in pushproof.__all__:
        assert getattr(pushproof, name) is not None


def test_import_loads_no_heavy_library():
    heavy = "{'numpy', 'scipy', 'pandas', 'matplotlib', 'pydantic', 'fastapi', 'sqlalchemy'}"
    code = f"import pushproof, sys; print(sorted({heavy} & set(sys.modules)))"
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "[]"


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no_such_name"):
        pushproof.no_such_name  # noqa: B018
