"""The OpenAPI document: what the calls declare, and what holds for all of them.

The gate stands before every call, so what it refuses is put in here once and not at each call;
so are the words of the summaries, the ways to log in, and the right that a call needs.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fastapi import APIRouter, FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute
from pydantic import BaseModel

from pushproof.model.recipe import Recipe
from pushproof.planning.document import Plan
from pushproof.web.access import COOKIE, Role
from pushproof.web.answers.problems import WORDS, Problem
from pushproof.web.answers.recipes import HOLDS
from pushproof.web.api.roles import RIGHTS
from pushproof.web.gate import OPEN, SAFE

PREFIX = "/api"
UNSAID = "Successful Response"
"""What the framework says where a call says nothing."""
ABOUT = """Everything that the page does is a call of this document.

A refusal, whatever its status, is `{"error": text}` with words for people. A status of 500 is a
fault of the server itself; the record is not touched by it. A missing value is null.
`x-right` says which right a call needs: view, edit or control; each includes the ones before it.
"""
TAGS = {
    "session": "Who asks, logging in and out, what is served.",
    "soundings": "The log: its words, tracks and values, and the decisions on it.",
    "proof": "What the checks say, equipment and calibrations, sign-off.",
    "record": "Whether the record proves itself.",
    "dissipation": "Dissipation tests, and the picks on them.",
    "products": "Logs, reports, tables and exchange files.",
    "intake": "Bringing files in: send, look, name the columns, keep.",
    "push": "The push: what is shown, who steers, every key.",
    "plan": "Can this rig push there.",
    "field": "The checklist, closing a hole, the day.",
}
"""What each group of calls is for; a group that is not named here gets no words."""
DOCUMENTS: tuple[type[BaseModel], ...] = (Recipe, Plan)
"""Documents that calls take as plain objects, so that their faults are named in one wording."""


def document(app: FastAPI, routers: Iterable[APIRouter]) -> dict[str, Any]:
    """Return the OpenAPI document of an application.

    Parameters
    ----------
    routers
        The routers that the application includes under ``/api``.
    """
    found = get_openapi(title=app.title, version=app.version, description=ABOUT, routes=app.routes)
    schemas = found.setdefault("components", {}).setdefault("schemas", {})
    named: list[type[BaseModel]] = [Problem, *DOCUMENTS]
    for model in named:
        _add(schemas, model)
    _point(schemas)
    rights = dict(_rights(routers))
    for path, operations in found["paths"].items():
        for method, operation in operations.items():
            operation["x-right"] = rights[method, path]
            _said_first(operation)
            _words_of_what_comes(operation, schemas)
            _refused_by_the_gate(path, method, operation)
    for unused in ("HTTPValidationError", "ValidationError"):
        schemas.pop(unused, None)
    found["components"]["securitySchemes"] = {
        "token": {"type": "http", "scheme": "bearer", "description": "The password itself."},
        "session": {
            "type": "apiKey",
            "in": "cookie",
            "name": COOKIE,
            "description": "From POST /api/login; for a page.",
        },
    }
    # without a password nothing is needed, so that is one of the ways
    found["security"] = [{"token": []}, {"session": []}, {}]
    found["tags"] = [{"name": name, "description": words} for name, words in TAGS.items()]
    return found


def operation_id(route: APIRoute) -> str:
    """Return the name of a call: its group and its function, as ``soundings-log``."""
    return f"{route.tags[0]}-{route.name.replace('_', '-')}" if route.tags else route.name


def _add(schemas: dict[str, Any], model: type[BaseModel]) -> None:
    """Put the schema of a document among the others."""
    made = model.model_json_schema(ref_template="#/components/schemas/{model}")
    parts = made.pop("$defs", {})
    for name, schema in (parts | {model.__name__: made}).items():
        schemas.setdefault(name, schema)


def _point(schemas: dict[str, Any]) -> None:
    """Let a plain object that a field marks with :data:`HOLDS` have the schema of its document."""
    for schema in schemas.values():
        for name, field in schema.get("properties", {}).items():
            if HOLDS in field:
                target = {"$ref": f"#/components/schemas/{field[HOLDS]}"}
                schema["properties"][name] = target | {"description": field["description"]}


def _said_first(operation: dict[str, Any]) -> None:
    """Make the first sentence of what a call says the summary."""
    words = operation.get("description", "").split("\n\n")
    operation["summary"] = " ".join(words[0].split()).rstrip(".")
    rest = "\n\n".join(words[1:]).strip()
    if rest:
        operation["description"] = rest
    else:
        operation.pop("description", None)


def _words_of_what_comes(operation: dict[str, Any], schemas: dict[str, Any]) -> None:
    """Say what comes in the words of its document, where the call does not say it itself."""
    for status, answer in operation["responses"].items():
        if answer["description"] != UNSAID:
            continue
        content = answer.get("content", {}).get("application/json", {}).get("schema", {})
        content = content.get("items", content)
        name = content.get("$ref", "").rsplit("/", 1)[-1]
        words = schemas.get(name, {}).get("description", "").split("\n\n")[0]
        answer["description"] = " ".join(words.split()) or ("Done." if status == "204" else UNSAID)


def _refused_by_the_gate(path: str, method: str, operation: dict[str, Any]) -> None:
    """Add what the gate refuses, and the words for what is no good."""
    answers = operation["responses"]
    at_the_gate = [421]
    if not path.startswith(OPEN):
        at_the_gate.append(401)
    if method.upper() not in SAFE:
        at_the_gate += [403, 413]
    elif operation["x-right"] in ("edit", "control"):
        at_the_gate.append(403)
    if "422" in answers:
        at_the_gate.append(422)
    for status in at_the_gate:
        answers[str(status)] = {
            "description": WORDS[status],
            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
    operation["responses"] = dict(sorted(answers.items()))


def _rights(routers: Iterable[APIRouter]) -> Iterable[tuple[tuple[str, str], str]]:
    """Give method and path of every call with the right that it needs."""
    for router in routers:
        for route in router.routes:
            if not isinstance(route, APIRoute):
                continue
            path = f"{PREFIX}{route.path}"
            least = Role.NONE if path.startswith(OPEN) else Role.VIEW
            asked = [RIGHTS[one.dependency] for one in route.dependencies
                     if one.dependency in RIGHTS]  # fmt: skip
            for method in route.methods or ():
                yield (method.lower(), path), max([least, *asked]).word
