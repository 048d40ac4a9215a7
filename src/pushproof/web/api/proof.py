"""Calls of the proof and equipment pages: what the checks say, zeros, calibrations, sign-off."""

from __future__ import annotations

from datetime import UTC, date, datetime

from fastapi import APIRouter, Response
from pydantic import BaseModel, Field

from pushproof.errors import ConfigurationError
from pushproof.model.equipment import Calibration, Cone
from pushproof.model.quantities import quantity
from pushproof.store.signing import keep_sign_off, sign
from pushproof.web.answers.equipment import EquipmentDocument
from pushproof.web.answers.problems import READING, WRITING, answers, refusals
from pushproof.web.answers.proof import ProofDocument, Signed, SummaryDocument
from pushproof.web.api.roles import EDIT, VIEW, DeskOf, Id
from pushproof.web.desk import Desk
from pushproof.web.numbers import answer
from pushproof.web.proofdocument import equipment_document, proof_document, summary_document

router = APIRouter(prefix="/soundings", tags=["proof"])


@router.get("/{id}/summary", dependencies=VIEW, responses=answers(SummaryDocument, *READING))
def summary(desk: DeskOf, id: Id) -> Response:
    """Return what the start page tells of a sounding: where, how deep, how it stands."""
    return answer(summary_document(desk.log(id), desk.growth(id).recording))


@router.get("/{id}/proof", dependencies=VIEW, responses=answers(ProofDocument, *READING))
def proof(desk: DeskOf, id: Id) -> Response:
    """Return the proof sheet: verdict, classes, zeros, rate, tilt, findings, corrections."""
    document = proof_document(desk.log(id))
    signing = {"sign_off": _sign_off(desk, id)} if desk.site.entry(id).is_job else {}
    return answer(document | {"id": id} | signing)


@router.get("/{id}/equipment", dependencies=VIEW, responses=answers(EquipmentDocument, *READING))
def equipment(desk: DeskOf, id: Id) -> Response:
    """Return cone, rods, rig and encoder, with calibrations and what is left of their life."""
    document = equipment_document(desk.sounding(id), date.today())
    return answer(document | {"id": id, "in_job": desk.site.entry(id).is_job})


@router.post("/{id}/calibrations", status_code=204, dependencies=EDIT, responses=refusals(*WRITING))
def add_calibration(desk: DeskOf, id: Id, calibration: Calibration) -> None:
    """Add a calibration to the cone of a sounding in a job; what was known before stays."""
    quantity(calibration.channel)  # one that nobody knows is refused: a fact cannot be taken back
    entry = desk.site.job_entry(id)
    with desk.writing(entry.file) as job:
        known = job.equipment(entry.name).get("cone")
        cone = known if isinstance(known, Cone) else desk.sounding(id).cone
        more = cone.model_copy(update={"calibrations": (*cone.calibrations, calibration)})
        job.add_equipment("cone", more, sounding=entry.name)
    desk.forget(id)


class Signature(BaseModel):
    """Who signs, and the recipe version that was looked at."""

    author: str = Field(min_length=2, max_length=200)
    based_on: int = Field(ge=0, le=10**9, description="version of the recipe that is signed")


@router.post("/{id}/sign", dependencies=EDIT, responses=answers(Signed, *WRITING))
def sign_sounding(desk: DeskOf, id: Id, given: Signature) -> Response:
    """Sign a sounding of a job off: facts, recipe and version are frozen under a name.

    Signing with a key is left to the command line: a key never travels to a page.
    """
    newest = desk.book(id).versions()[-1]
    if newest.number != given.based_on:
        raise ConfigurationError(
            f"the recipe is version {newest.number} by now, not {given.based_on}; look again"
        )
    entry, sounding = desk.site.job_entry(id), desk.sounding(id)
    with desk.writing(entry.file) as job:
        signed = sign(sounding, newest.recipe, given.author)
        keep_sign_off(job, signed, "signed off on the page")
    return answer({"line": signed.line, "time": datetime.now(UTC).isoformat()})


def _sign_off(desk: Desk, id: str) -> dict[str, object] | None:
    """Return the newest sign-off of a sounding, and what changed since."""
    found = desk.sign_off(id)
    return None if found is None else {"line": found[0].line, "changed": found[1]}
