"""Calls for the memory of the cone: what it restored, and bringing a read-out in."""

from __future__ import annotations

import math
from typing import Any

from fastapi import APIRouter, Depends
from pydantic import BaseModel, Field

from pushproof.recording.assemble import import_memory
from pushproof.web.answers.memory import MemoryDocument
from pushproof.web.answers.problems import READING, WRITING, answers
from pushproof.web.api.intake import IntakeOf, plain_columns
from pushproof.web.api.roles import DeskOf, Id, may_edit, may_view
from pushproof.web.desk import Desk

router = APIRouter(prefix="/soundings", tags=["proof"])


class ReadOut(BaseModel):
    """A read-out that was sent to ``/api/intake/upload``."""

    token: str = Field(max_length=40, pattern=r"^[A-Za-z0-9_-]+$")
    columns: str = Field("", max_length=2000, description='as "cone_time=1:s, qc=2:MPa"')


@router.get(
    "/{id}/memory", dependencies=[Depends(may_view)], responses=answers(MemoryDocument, *READING)
)
def memory(desk: DeskOf, id: Id) -> dict[str, Any]:
    """Return what link and memory hold of a push."""
    return _document(desk, id, None)


@router.post(
    "/{id}/memory", dependencies=[Depends(may_edit)], responses=answers(MemoryDocument, *WRITING)
)
def bring_memory(desk: DeskOf, intake: IntakeOf, id: Id, given: ReadOut) -> dict[str, Any]:
    """Keep the read-out of the memory of the cone in the job; the same file is kept once."""
    entry = desk.site.job_entry(id)
    waiting, columns = intake.get(given.token), plain_columns(given.columns)
    with desk.writing(entry.file) as job:
        count = import_memory(job, entry.name, waiting.path, columns=columns)
    intake.drop(given.token)
    desk.forget(id)
    return _document(desk, id, count)


def _document(desk: Desk, id: str, readings: int | None) -> dict[str, Any]:
    found = desk.merge_report(id)
    at = found.longest_gap_at
    numbers = ("expected", "received", "restored", "lost", "added", "duplicates", "unplaced")
    return {
        "text": found.text,
        **{name: getattr(found, name) for name in numbers},
        "longest_gap": round(found.longest_gap, 3),
        "longest_gap_at": round(at, 3) if math.isfinite(at) else None,
        "covered": round(found.covered, 4),
        "readings": readings,
    }
