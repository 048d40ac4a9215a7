"""What a call answers when it is refused, and which status says what."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, Field

from pushproof.web.answers.recipes import RECIPE, FieldChange

WORDS = {
    401: "A password is needed: send it as bearer token, or log in.",
    403: "The role is too low, or a page of another site asked.",
    404: "There is no such thing here; the text says what is not.",
    409: "The record stands against it: it cannot be read, somebody else decided meanwhile, "
    "or nothing is recorded now.",
    410: "The draft is not kept any more; send it again.",
    413: "The body is larger than what may be sent here.",
    421: "The server is not known under the name that was asked for.",
    422: "What was sent is no good; every fault is named.",
    423: "Somebody else holds it: another program has the job open for writing, "
    "or another page steers the push.",
    429: "Too many wrong passwords; the text says how long to wait.",
    503: "A source of readings cannot be opened.",
    507: "The disk is full; what is stored is safe.",
}
"""Status to what it means."""
READING = (404, 409, 422)
"""What may stand against reading a sounding."""
WRITING = (404, 409, 422, 423, 507)
"""What may stand against adding to a job."""


class Problem(BaseModel):
    """What went wrong, in words for people."""

    error: str = Field(description="what happened, where, what was expected, what to do next")


class Conflict(Problem):
    """Somebody else saved meanwhile: which versions, and what they changed."""

    based_on: int = Field(description="version that the refused decision was made from")
    newest: int = Field(description="version that is newest now")
    author: str = Field(description="who saved it")
    reason: str = Field(description="and why")
    changed: list[FieldChange] = Field(description="what changed between the two")
    document: dict[str, Any] = RECIPE


def answers(
    model: Any, *refused: int, status: int = 200, words: str = ""
) -> dict[int | str, dict[str, Any]]:
    """Return what a call answers, for its ``responses``: a document, and how it may be refused.

    What the gate refuses is not named here: it is the same for all calls and put into the
    document by :mod:`pushproof.web.openapi`.
    """
    said = words or " ".join((getattr(model, "__doc__", "") or "").split("\n\n")[0].split())
    return {status: {"model": model, "description": said}} | refusals(*refused)


def file_answer(*media: str, json: Any = None) -> dict[int | str, dict[str, Any]]:
    """Return what a call answers that gives a file, of one of these media types.

    Parameters
    ----------
    json
        The document that the file is where it is JSON, if that is one.
    """
    bytes_of: dict[str, Any] = {"type": "string", "format": "binary"}
    kinds = {kind.split(";")[0] for kind in media} - ({"application/json"} if json else set())
    content = {
        kind: {"schema": {"type": "object"} if kind == "application/json" else bytes_of}
        for kind in sorted(kinds)
    }
    told: dict[str, Any] = {"description": "The file.", "content": content}
    return {200: told | ({"model": json} if json else {})} | refusals(*READING)


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Return how a call may be refused, for its ``responses``."""
    return {one: {"model": Problem, "description": WORDS[one]} for one in sorted(statuses)}
