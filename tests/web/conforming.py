"""Holds an answer against the OpenAPI document: its status, its media type and its schema.

Stricter than the document itself: a field that the schema does not name is a fault here, so that
neither the answers nor their description can grow alone.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import httpx

from pushproof.web.app import create_app

TESTS = Path(__file__).parents[1]


@cache
def described() -> dict[str, Any]:
    """Return the document, with every object closed."""
    found = create_app(TESTS).openapi()
    _close(found["components"]["schemas"])
    return found


def _close(node: Any) -> None:
    if isinstance(node, dict):
        if "properties" in node and node.get("type") == "object":
            node.setdefault("additionalProperties", False)
        for inner in node.values():
            _close(inner)
    elif isinstance(node, list):
        for inner in node:
            _close(inner)


@cache
def _routes() -> list[tuple[re.Pattern[str], str]]:
    """Return every path as a pattern, the longest first, so that fixed parts win."""
    paths = sorted(described()["paths"], key=lambda one: (one.count("{"), -len(one)))
    return [(re.compile(re.sub(r"\{[^}]+\}", "[^/]+", one) + r"\Z"), one) for one in paths]


def operation(method: str, path: str) -> dict[str, Any] | None:
    """Return what the document says of a call; None where it knows no such call."""
    for pattern, template in _routes():
        if pattern.match(path):
            found: dict[str, Any] | None = described()["paths"][template].get(method.lower())
            if found is not None:
                return found
    return None


@cache
def _validator(reference: str) -> Any:
    import json

    import jsonschema_rs

    schema = json.loads(reference)
    return jsonschema_rs.validator_for(schema | {"components": described()["components"]})


def faults(method: str, path: str, answer: httpx.Response) -> list[str]:
    """Return what of an answer is not as the document says."""
    import json

    said = operation(method, path)
    if said is None:
        return []
    where = f"{method} {path}: {answer.status_code}"
    told = said["responses"].get(str(answer.status_code))
    if told is None:
        return [] if answer.status_code == 500 else [f"{where} is not in the document"]
    content = told.get("content")
    if content is None:
        return [f"{where} has a body"] if answer.content else []
    kind = answer.headers.get("content-type", "").split(";")[0]
    if kind not in content:
        return [f"{where} comes as {kind!r}, not as {', '.join(content)}"]
    if kind != "application/json":
        return []
    validator = _validator(json.dumps(content[kind]["schema"], sort_keys=True))
    return [
        f"{where} at /{'/'.join(map(str, one.instance_path))}: {one.message[:300]}"
        for one in validator.iter_errors(answer.json())
    ][:5]
