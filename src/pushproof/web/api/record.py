"""The call that proves the record: the hash chain of every job that is served, and its sign-offs.

It reads a whole job, so it is asked for by a person and never by a page of its own accord, and one
proof runs at a time. None is kept: what was proved before says nothing of the file as it is now.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Depends, Response
from pydantic import BaseModel, ConfigDict, Field

from pushproof.recording.job_format import is_job
from pushproof.store import verify
from pushproof.web.answers.problems import READING, answers
from pushproof.web.answers.record import RecordProofs
from pushproof.web.api.roles import DeskOf, may_view
from pushproof.web.desk import Desk
from pushproof.web.numbers import answer

router = APIRouter(prefix="/record", tags=["record"], dependencies=[Depends(may_view)])
_ONE_AT_A_TIME = threading.Lock()


class Head(BaseModel):
    """A head that was noted before, if there is one."""

    model_config = ConfigDict(extra="forbid")

    head: str = Field("", max_length=100, description="must still be in the chain; one job only")


@router.post("/verify", responses=answers(RecordProofs, *READING))
def verify_record(desk: DeskOf, given: Head) -> Response:
    """Prove the hash chain of every job that is served, and say which sign-offs hold."""
    files = [one.file for one in desk.site.entries()] + [one.file for one in desk.site.unread()]
    jobs = [file for file in dict.fromkeys(files) if is_job(file)] or [
        *filter(None, [desk.site.job])
    ]
    if not jobs:
        raise LookupError("no job file is served here; a loose file has no chain to prove")
    if given.head and len(jobs) > 1:
        raise ValueError(f"{len(jobs)} jobs are served; a head belongs to one")
    return answer({"jobs": [_document(desk, job, given.head) for job in jobs]})


def _document(desk: Desk, job: Path, head: str) -> dict[str, Any]:
    with _ONE_AT_A_TIME:
        report = verify(job, expected=head or None)
    signed = [
        {"sounding": entry.name, "line": found[0].line, "changed": found[1]}
        for entry in desk.site.entries()
        if entry.file == job and report.ok and (found := desk.sign_off(entry.id)) is not None
    ]
    return {
        "file": job.name,
        "whole": report.ok and not any(one["changed"] for one in signed),
        "links": report.links,
        "head": None if report.head is None else str(report.head),
        "closed": report.closed,
        "anchors": report.anchors,
        "problems": [
            {"kind": one.kind, "text": desk.site.hide(one.text), "link": one.link}
            for one in report.problems
        ],
        "more": report.more,
        "notes": list(report.notes),
        "sign_offs": signed,
    }
