"""Routes of the log page: soundings, their tracks and values, and the decisions on them.

Reading routes take ``recipe``, the fingerprint of a draft from ``preview``; without it they answer
for the newest saved recipe. Nothing here computes a result.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from pushproof.errors import ConfigurationError, DecisionConflictError
from pushproof.formats.recipe import recipe_from
from pushproof.model.recipe import Recipe
from pushproof.store.recipes import Version, changes, plain
from pushproof.web import methods
from pushproof.web.answers.log import LogDocument, TrackDocument, WindowDocument
from pushproof.web.answers.problems import READING, WRITING, Conflict, Problem, answers
from pushproof.web.answers.recipes import RECIPE, RecipeDocument, RecipePreview, SavedRecipe
from pushproof.web.answers.values import ExplanationDocument, LayersDocument, ValuesAt
from pushproof.web.api.roles import EDIT, Id, desk_of, may_view
from pushproof.web.logdocument import Log
from pushproof.web.logtracks import choices, page_tracks
from pushproof.web.logwindow import log_window
from pushproof.web.numbers import answer, dumps
from pushproof.web.observed import observed_json

MOST_PIXELS = 8000
"""More pixel rows than any screen has."""

Draft = Annotated[str, Query(description="fingerprint of a draft; empty: newest", max_length=64)]
Depth = Annotated[float, Query(ge=-100, le=2000, allow_inf_nan=False, description="[m]")]


class Decision(BaseModel):
    """A recipe to be saved, who decides, why, and the version it was made from."""

    model_config = ConfigDict(extra="forbid")

    document: dict[str, Any] = RECIPE
    author: str = Field(min_length=2, max_length=200)
    reason: str = Field(min_length=3, max_length=2000)
    based_on: int = Field(ge=0, le=10**9, description="version that the decision was made from")


class Return(BaseModel):
    """Going back to an older version, which makes a new one."""

    model_config = ConfigDict(extra="forbid")

    to: int = Field(ge=0, le=10**9, description="version whose recipe is taken again")
    author: str = Field(min_length=2, max_length=200)
    reason: str = Field("", max_length=2000)
    based_on: int = Field(ge=0, le=10**9, description="version that was looked at")


class Sketch(BaseModel):
    """A recipe that is only looked at."""

    model_config = ConfigDict(extra="forbid")

    document: dict[str, Any] = RECIPE


router = APIRouter(prefix="/soundings", tags=["soundings"], dependencies=[Depends(may_view)])
DRAFTS = (*READING, 410)
SAVED = answers(SavedRecipe, *WRITING) | {
    409: {"model": Conflict | Problem, "description": "Somebody else saved meanwhile; look first."}
}


def _log(request: Request, id: str, recipe: str) -> Log:
    desk = desk_of(request)
    if not recipe:
        return desk.log(id)
    draft = desk.draft(recipe)
    if draft is None:
        raise HTTPException(410, "this draft is not kept any more; send it again")
    return desk.log(id, draft)


@router.get("/{id}/log", responses=answers(LogDocument, *DRAFTS))
def log(request: Request, id: Id, recipe: Draft = "") -> Response:
    """Return all of a log but its values: rail, findings, classes, assumptions, tracks."""
    found = _log(request, id, recipe)
    document = found.document() | {
        "id": id,
        "observed": observed_json(desk_of(request).observed(id)),
        "newest": desk_of(request).newest(id, found),
        "choices": choices(found.interpretation),
        "usual": [track.name for track in page_tracks(found.interpretation)],
    }
    return answer(document)


@router.get(
    "/{id}/tracks",
    responses=answers(list[TrackDocument], *DRAFTS, words="The tracks, in the order asked."),
)
def tracks(
    request: Request,
    id: Id,
    names: Annotated[str, Query(description="by comma; empty: those of the sheet")] = "",
    recipe: Draft = "",
) -> Response:
    """Return tracks with their scales and curves, without values."""
    found = _log(request, id, recipe)
    made = page_tracks(found.interpretation, _names(names))
    return answer([track.as_json() for track in made])


@router.get("/{id}/window", responses=answers(WindowDocument, *DRAFTS))
def window(
    request: Request,
    id: Id,
    top: Depth,
    base: Depth,
    pixels: Annotated[int, Query(ge=1, le=MOST_PIXELS, description="height in pixel rows")],
    names: Annotated[str, Query(description="tracks, by comma")] = "",
    bands: Annotated[bool, Query(description="with p10 and p90 where there are")] = False,
    recipe: Draft = "",
) -> Response:
    """Return the curves of tracks between two depths, reduced to pixel rows where denser."""
    found = _log(request, id, recipe)
    return answer(log_window(found, _names(names), top, base, pixels, with_bands=bands))


@router.get("/{id}/at", responses=answers(ValuesAt, *DRAFTS))
def at(request: Request, id: Id, depth: Depth, recipe: Draft = "") -> Response:
    """Return every value of the row nearest to a depth, with unit, origin and reason."""
    return answer(_log(request, id, recipe).at(depth))


@router.get("/{id}/explain", responses=answers(ExplanationDocument, *DRAFTS))
def explain(
    request: Request,
    id: Id,
    depth: Depth,
    key: Annotated[str, Query(description="quantity", max_length=40)],
    recipe: Draft = "",
) -> Response:
    """Explain one number: equations with its numbers, sources, assumed values, band."""
    return answer(_log(request, id, recipe).explain(key, depth))


@router.get("/{id}/layers", responses=answers(LayersDocument, *DRAFTS))
def layers(request: Request, id: Id, recipe: Draft = "") -> Response:
    """Return units and boundaries, and the same as a decision that can be edited."""
    return answer(_log(request, id, recipe).layers())


@router.get("/{id}/recipe", responses=answers(RecipeDocument, *READING))
def recipe_versions(request: Request, id: Id) -> Response:
    """Return the newest recipe, every version before it, and what can be chosen."""
    versions = desk_of(request).book(id).versions()
    newest = versions[-1]
    return answer(
        {
            "version": newest.number,
            "document": plain(newest.recipe),
            "versions": [_version(one, before) for before, one in _pairs(versions)],
            "choices": methods.choices(newest.recipe),
        }
    )


@router.put("/{id}/recipe", dependencies=EDIT, responses=SAVED)
def save_recipe(request: Request, id: Id, decision: Decision) -> Response:
    """Save a recipe as a new version; refused with 409 if it was not based on the newest."""
    recipe = recipe_from(decision.document)
    return _save(request, id, recipe, decision.author, decision.reason, decision.based_on)


@router.post("/{id}/undo", dependencies=EDIT, responses=SAVED)
def undo(request: Request, id: Id, back: Return) -> Response:
    """Take the recipe of an older version again, as a new version."""
    versions = desk_of(request).book(id).versions()
    old = next((one for one in versions if one.number == back.to), None)
    if old is None:
        raise ConfigurationError(f"there is no version {back.to}")
    reason = back.reason.strip() or f"back to version {back.to}"
    return _save(request, id, old.recipe, back.author, reason, back.based_on)


@router.post("/{id}/preview", responses=answers(RecipePreview, *READING))
def preview(request: Request, id: Id, sketch: Sketch) -> Response:
    """Keep a recipe as a draft, without saving it; its fingerprint opens every reading route."""
    desk = desk_of(request)
    recipe = recipe_from(sketch.document)
    newest = desk.book(id).versions()[-1]
    desk.log(id, recipe)
    return answer(
        {
            "recipe": desk.keep_draft(recipe),
            "document": plain(recipe),
            "changed": [_change(one) for one in changes(newest.recipe, recipe)],
            "choices": methods.choices(recipe),
        }
    )


def _save(
    request: Request, id: str, recipe: Recipe, author: str, reason: str, based_on: int
) -> Response:
    desk = desk_of(request)
    book = desk.book(id)
    desk.log(id, recipe)
    try:
        saved = book.save(recipe, author=author.strip(), reason=reason.strip(), based_on=based_on)
    except DecisionConflictError as error:
        return _conflict(book.versions(), error)
    return answer({"version": saved.number, "document": plain(saved.recipe)})


def _conflict(versions: list[Version], error: DecisionConflictError) -> Response:
    newest = versions[-1]
    base = next(one for one in versions if one.number == error.based_on)
    document = {
        "error": " ".join(str(error).split()),
        "based_on": error.based_on,
        "newest": newest.number,
        "author": newest.author,
        "reason": newest.reason,
        "changed": [_change(one) for one in changes(base.recipe, newest.recipe)],
        "document": plain(newest.recipe),
    }
    return Response(dumps(document), 409, media_type="application/json")


def _pairs(versions: list[Version]) -> list[tuple[Version, Version]]:
    return list(zip([versions[0], *versions[:-1]], versions, strict=True))


def _version(one: Version, before: Version) -> dict[str, Any]:
    return {
        "number": one.number,
        "author": one.author,
        "reason": one.reason,
        "time": one.time.isoformat(timespec="seconds") if one.time else None,
        "changed": [_change(c) for c in changes(before.recipe, one.recipe)],
    }


def _change(change: Any) -> dict[str, Any]:
    return {"field": change.field, "before": change.before, "after": change.after}


def _names(text: str) -> list[str] | None:
    return [name for name in text.split(",") if name][:60] or None
