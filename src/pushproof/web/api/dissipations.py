"""Calls of the dissipation page: every test with its ways, picks tried at once, picks saved."""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Depends, Path, Response
from pydantic import BaseModel, ConfigDict, Field

from pushproof.interpretation.dissipation import dissipation, dissipations, with_choice
from pushproof.model.dissipation import DissipationResult
from pushproof.model.picks import DissipationChoice
from pushproof.model.sounding import Dissipation
from pushproof.web.answers.dissipation import (
    DissipationDocument,
    DissipationsDocument,
    SavedPicks,
)
from pushproof.web.answers.problems import READING, WRITING, answers
from pushproof.web.api.roles import DeskOf, Id, may_edit, may_view
from pushproof.web.desk import Desk
from pushproof.web.numbers import answer

router = APIRouter(prefix="/soundings", tags=["dissipation"])
Number = Annotated[int, Path(ge=1, le=10_000, description="number of the test, from 1")]
MOST_POINTS = 700
"""Points of a record that are sent; a long one is thinned evenly over log time."""


class Picks(BaseModel):
    """Picks to be saved, who decides, why, and the version of the recipe they were made on."""

    model_config = ConfigDict(extra="forbid")

    choice: DissipationChoice
    author: str = Field(min_length=2, max_length=200)
    reason: str = Field(min_length=3, max_length=2000)
    based_on: int = Field(ge=0, le=10**9)


@router.get(
    "/{id}/dissipations",
    dependencies=[Depends(may_view)],
    responses=answers(DissipationsDocument, *READING),
)
def all_tests(desk: DeskOf, id: Id) -> Response:
    """Return every test: record, ways side by side, fits, findings, picks."""
    found = dissipations(desk.log(id).interpretation)
    version = desk.book(id).versions()[-1].number
    return answer({"name": desk.site.entry(id).name, "version": version, "tests": documents(found)})


@router.post(
    "/{id}/dissipations/{number}/try",
    dependencies=[Depends(may_view)],
    responses=answers(DissipationDocument, *READING),
)
def try_picks(desk: DeskOf, id: Id, number: Number, choice: DissipationChoice) -> Response:
    """Return a test under picks that nobody saved."""
    within = desk.log(id).interpretation
    return answer(_document(dissipation(_test(desk, id, number), within, choice=choice)))


@router.put(
    "/{id}/dissipations/{number}",
    dependencies=[Depends(may_edit)],
    responses=answers(SavedPicks, *WRITING),
)
def save_picks(desk: DeskOf, id: Id, number: Number, picks: Picks) -> Response:
    """Save the picks of a test as a decision; refused with 409 if somebody decided meanwhile."""
    test = _test(desk, id, number)
    choice = picks.choice.model_copy(
        update={"number": number, "depth": round(test.depth, 3), "reason": picks.reason}
    )
    book = desk.book(id)
    newest = book.versions()[-1]
    saved = book.save(
        with_choice(newest.recipe, choice),
        author=picks.author,
        reason=picks.reason,
        based_on=picks.based_on,
    )
    return answer({"version": saved.number})


def _test(desk: Desk, id: str, number: int) -> Dissipation:
    tests = desk.log(id).interpretation.profile.sounding.dissipations
    if number > len(tests):
        raise LookupError(f"the sounding has {len(tests)} dissipation tests, not {number}")
    return tests[number - 1]


def documents(results: tuple[DissipationResult, ...]) -> list[dict[str, Any]]:
    """Return every result as a document for the page."""
    return [_document(one) for one in results]


def _document(result: DissipationResult) -> dict[str, Any]:
    kept = _thinned(result.time)
    document = result.document(arrays=False)
    return document | {
        "time": result.time[kept],
        "u": result.u[kept],
        "percent": result.percent[kept],
        "fits": [{"method": one.method, "time": one.time, "u": one.u} for one in result.fits],
    }


def _thinned(time: np.ndarray[Any, np.dtype[np.float64]]) -> np.ndarray[Any, np.dtype[np.intp]]:
    """Return the rows to show: all of a short record, else about evenly over log time."""
    if time.size <= MOST_POINTS:
        return np.arange(time.size)
    wanted = np.geomspace(1.0, float(time.size), MOST_POINTS)
    return np.unique(np.clip(np.round(wanted).astype(np.intp) - 1, 0, time.size - 1))
