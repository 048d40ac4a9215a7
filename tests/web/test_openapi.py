"""Calls made from the OpenAPI document itself: whatever it allows, the server does not fail.

The cases are made by schemathesis, a public tool for the open standard; they are the same in each
run. A case may be refused, with the words of an error; a fault of the server itself fails the test.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from pushproof.store import Job, import_file
from pushproof.testing import sample
from web.pushing import Feeder

schemathesis = pytest.importorskip("schemathesis", reason="the test extra is not installed")

CASES = 20
"""Cases of each call."""
ENDLESS = ("/api/push/stream",)
"""Calls whose answer does not end; tests of the push follow them."""


@pytest.fixture
def served(serve: Any, tmp_path: Path) -> Any:
    """A job with a sounding, and a station that can record the next."""
    from pushproof import write

    path, file = tmp_path / "site.job", tmp_path / "HM-1.json"
    with Job.create(path) as job:
        write(sample("clay-over-sand"), file, "json")
        import_file(job, file)
    return serve(path, station=Feeder(path).station)


@pytest.mark.slow
@pytest.mark.timeout(400)
def test_no_call_of_the_document_fails_the_server(served: Any) -> None:
    schema = schemathesis.openapi.from_url(f"{served.url}/api/openapi.json")
    made: dict[str, int] = {}
    faults: list[str] = []
    operations = [result.ok() for result in schema.get_all_operations()]

    def try_all(operation: Any, label: str) -> None:

        @settings(
            max_examples=CASES,
            derandomize=True,
            database=None,
            deadline=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy())
        def call(case: Any) -> None:
            answer = case.call(timeout=30)
            made[label] += 1
            if answer.status_code in (500, 501, 502, 504):
                faults.append(f"{label}: {answer.status_code} {case.as_curl_command()}")
            elif answer.status_code >= 400:
                # every refusal says why, and none tells of a path of this machine
                assert answer.json()["error"], label
                assert str(Path(__file__).parents[2]) not in answer.text, label

        call()

    for operation in operations:
        if operation.path not in ENDLESS:
            label = f"{operation.method.upper()} {operation.path}"
            made[label] = 0
            try_all(operation, label)
    assert len(made) == len(operations) - len(ENDLESS)
    assert len(made) > 40
    few = [label for label, count in made.items() if not count]
    assert not few, few
    assert not faults, "\n".join(faults)
