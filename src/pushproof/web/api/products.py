"""Calls that build what is handed over: log, report, tables and exchange files."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path as File
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Path, Query, Response
from pydantic import BaseModel, Field

from pushproof.formats.contract import WritableFormat
from pushproof.formats.table import write_table
from pushproof.formats.writing import losses, missing, writable, write
from pushproof.model.profile import Interpretation
from pushproof.report import report as set_report
from pushproof.report import set_log
from pushproof.web.answers.problems import READING, file_answer, refusals
from pushproof.web.answers.products import ExportCheck, FormatDocument, TableDocument
from pushproof.web.api.roles import DeskOf, Id, may_view
from pushproof.web.attachment import ANY, TYPES, attachment
from pushproof.web.site import plain_id

router = APIRouter(tags=["products"], dependencies=[Depends(may_view)])
Paper = Literal["A4", "Letter"]


class ReportOrder(BaseModel):
    """Which soundings a report holds, and how it is set."""

    soundings: list[str] = Field(min_length=1, max_length=200)
    paper: Paper = "A4"
    scheme: str = Field("iso-22476-1-2012", max_length=100, pattern=r"^[a-z0-9-]+$")
    signed: bool = Field(True, description="carry the sign-offs that hold")


class Given(BaseModel):
    """What a format asks for and the sounding does not hold, by name."""

    fields: dict[str, str] = Field(default_factory=dict, max_length=60)


@router.get(
    "/soundings/{id}/log.pdf",
    response_class=Response,
    responses=file_answer("application/pdf"),
)
def log_pdf(desk: DeskOf, id: Id, paper: Paper = "A4") -> Response:
    """Return the log as PDF."""
    found = desk.log(id).interpretation
    line = desk.signed_line(id)
    sheet = set_log(found, paper=paper, signed=line, observed=desk.observed(id))
    return attachment(sheet.pdf(), f"{_name(found)}.pdf")


@router.get(
    "/soundings/{id}/table/{kind}",
    response_class=Response,
    responses=file_answer(TYPES[".csv"], TYPES[".xlsx"], ANY, json=TableDocument),
)
def table(desk: DeskOf, id: Id, kind: Literal["csv", "xlsx", "json", "parquet"]) -> Response:
    """Return the corrected and derived values as a table."""
    found = desk.log(id).interpretation
    with tempfile.TemporaryDirectory() as folder:
        path = File(folder) / f"table.{kind}"
        write_table(found, path)
        return attachment(path.read_bytes(), f"{_name(found)}.{kind}")


@router.post("/report", response_class=Response, responses=file_answer("application/pdf"))
def report(desk: DeskOf, order: ReportOrder) -> Response:
    """Return the report of one or more soundings as PDF."""
    found = [desk.log(id).interpretation for id in order.soundings]
    lines = {
        desk.site.entry(id).name: line
        for id in (order.soundings if order.signed else [])
        if (line := desk.signed_line(id)) is not None
    }
    observed = {desk.site.entry(id).name: desk.observed(id) for id in order.soundings}
    content = set_report(
        found, paper=order.paper, scheme=order.scheme, signed=lines, observed=observed
    )
    return attachment(content, "report.pdf")


@router.get("/formats", response_model=list[FormatDocument])
def formats() -> list[dict[str, Any]]:
    """Return the exchange formats that can be written, and what each asks for."""
    return [
        {
            "name": one.name,
            "title": one.title,
            "suffix": one.suffixes[0],
            "fields": [
                {"name": field.name, "words": field.words, "default": field.default}
                for field in one.fields
            ],
        }
        for one in writable().values()
    ]


@router.post(
    "/soundings/{id}/export/{format}/check",
    response_model=ExportCheck,
    responses=refusals(*READING),
)
def check(desk: DeskOf, id: Id, format: Annotated[str, Path(max_length=40)], given: Given) -> Any:
    """Return what a format cannot carry of a sounding, and what it still asks for."""
    found, fields = desk.log(id).interpretation, _fields(_target(format), given)
    return {
        "losses": [{"what": one.what, "why": one.why} for one in losses(found, format, **fields)],
        "missing": [
            {"field": one.field, "words": one.words, "required": one.required}
            for one in missing(found, format, **fields)
        ],
    }


@router.post(
    "/soundings/{id}/export/{format}",
    response_class=Response,
    responses=file_answer(*TYPES.values(), ANY),
)
def export(
    desk: DeskOf,
    id: Id,
    format: Annotated[str, Path(max_length=40)],
    given: Given,
    derived: Annotated[bool, Query(description="with the derived values")] = True,
) -> Response:
    """Return a sounding as an exchange file; several files come as a zip archive."""
    log = desk.log(id).interpretation
    what = log if derived else log.profile.sounding
    target = _target(format)
    fields: dict[str, Any] = _fields(target, given)
    with tempfile.TemporaryDirectory() as folder:
        name = f"{_name(log)}{target.suffixes[0]}"
        done = write(what, File(folder) / name, format, **fields)
        if len(done.paths) == 1:
            return attachment(done.paths[0].read_bytes(), done.paths[0].name)
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in done.paths:
                archive.write(path, path.name)
        return attachment(packed.getvalue(), f"{_name(log)}.zip")


def _target(format: str) -> WritableFormat:
    found = writable().get(format)
    if found is None:
        raise LookupError(f"no format {format!r} can be written")
    return found


def _fields(target: WritableFormat, given: Given) -> dict[str, str]:
    """Return the fields that were given; one that the format does not know is refused."""
    known = {field.name for field in target.fields}
    unknown = sorted(set(given.fields) - known)
    if unknown:
        raise ValueError(f"{target.title} does not ask for {', '.join(unknown)}")
    return given.fields


def _name(found: Interpretation) -> str:
    """Return the name of a sounding for the header of a download."""
    return plain_id(found.profile.sounding.name)
