"""How far the recording of a sounding is: what a log page asks while it follows a push."""

from __future__ import annotations

from fastapi import APIRouter, Depends

from pushproof.web.answers.log import GrowthDocument
from pushproof.web.answers.problems import READING, answers
from pushproof.web.api.roles import DeskOf, Id, may_view

router = APIRouter(prefix="/soundings", tags=["soundings"], dependencies=[Depends(may_view)])


@router.get("/{id}/growth", responses=answers(GrowthDocument, *READING))
def growth(desk: DeskOf, id: Id) -> GrowthDocument:
    """Return how far the recording of a sounding is; cheap, to be asked every two seconds."""
    found = desk.growth(id)
    return GrowthDocument(recording=found.recording, newest=found.newest, pace=found.pace)
