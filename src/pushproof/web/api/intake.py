"""Calls to bring files in: send, look, name the columns, keep."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request
from pydantic import BaseModel, Field

from pushproof.errors import FormatError
from pushproof.web.answers.intake import FilePreview, Kept
from pushproof.web.answers.problems import WRITING, answers, refusals
from pushproof.web.api.roles import DeskOf, SiteOf, may_edit
from pushproof.web.intake import Intake, preview

router = APIRouter(prefix="/intake", tags=["intake"], dependencies=[Depends(may_edit)])
Token = Annotated[str, Path(max_length=40, pattern=r"^[A-Za-z0-9_-]+$")]


BODY = {
    "required": True,
    "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
}
"""The file itself."""


class Columns(BaseModel):
    """How the columns of a text table are named."""

    columns: str = Field("", max_length=2000, description='as "depth=1:m, qc=2:MPa"')


def _intake(request: Request) -> Intake:
    intake = request.app.state.intake
    assert isinstance(intake, Intake)
    return intake


IntakeOf = Annotated[Intake, Depends(_intake)]


@router.post("/upload", openapi_extra={"requestBody": BODY}, responses=answers(FilePreview, 422))
async def upload(
    request: Request,
    intake: IntakeOf,
    name: Annotated[str, Query(min_length=1, max_length=200)],
) -> dict[str, Any]:
    """Take a file as the body of the request and return what is in it; nothing is kept yet."""
    content = await request.body()
    if not content:
        raise FormatError("the file is empty")
    return preview(intake.add(name, content))


@router.post("/{token}/preview", responses=answers(FilePreview, 404, 422))
def look(intake: IntakeOf, token: Token, given: Columns) -> dict[str, Any]:
    """Return what is in a file when its columns are named like this."""
    return preview(intake.get(token), plain_columns(given.columns))


@router.post("/{token}/keep", responses=answers(Kept, *WRITING))
def keep(
    intake: IntakeOf, site: SiteOf, desk: DeskOf, token: Token, given: Columns
) -> dict[str, Any]:
    """Keep a file byte for byte: in the job, or in the folder that is served."""
    waiting = intake.get(token)
    columns = plain_columns(given.columns)
    if site.job is not None:
        from pushproof.store import import_file

        with desk.writing(site.job) as job:
            names = list(import_file(job, waiting.path, columns=columns))
    else:
        fault = preview(waiting, columns)["fault"]
        if fault:
            raise FormatError(f"it is not kept: {fault}")
        target = site.folder / waiting.name
        with target.open("xb") if not target.exists() else _refuse(waiting.name) as file:
            file.write(waiting.path.read_bytes())
        names = [one.name for one in site.entries() if one.file == target]
    intake.drop(token)
    return {"soundings": names}


@router.delete("/{token}", status_code=204, responses=refusals(422))
def drop(intake: IntakeOf, token: Token) -> None:
    """Throw a file away."""
    intake.drop(token)


def _refuse(name: str) -> Any:
    raise FormatError(f"{name} is in the folder already; give the file another name")


def plain_columns(columns: str) -> str:
    """Return a mapping that is no path: a file of the server is never opened by its name."""
    if columns and "=" not in columns:
        raise FormatError('columns are named as "depth=1:m, qc=2:MPa"')
    return columns
