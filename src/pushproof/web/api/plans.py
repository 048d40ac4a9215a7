"""Calls of the plan page: can this rig push there, worked out while a slider moves."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Response
from pydantic import BaseModel, ConfigDict, Field

from pushproof.planning.document import Plan, plan_from
from pushproof.planning.ground import Ground, from_soundings
from pushproof.planning.outlook import ground_of, work_out
from pushproof.planning.plain import outlook_data
from pushproof.web.answers.plan import OutlookDocument
from pushproof.web.answers.problems import READING, answers, file_answer
from pushproof.web.answers.recipes import HOLDS
from pushproof.web.api.roles import DeskOf, may_view
from pushproof.web.attachment import TYPES, attachment
from pushproof.web.desk import Desk
from pushproof.web.numbers import answer

router = APIRouter(prefix="/plan", tags=["plan"], dependencies=[Depends(may_view)])


class PlanOrder(BaseModel):
    """A plan, and the soundings nearby that show the ground if it describes none itself."""

    model_config = ConfigDict(extra="forbid")

    plan: dict[str, Any] = Field(
        description="as in a plan file, without profile and near",
        json_schema_extra={HOLDS: "Plan"},
    )
    near: list[Annotated[str, Field(max_length=200)]] = Field(
        default_factory=list, max_length=40, description="ids of soundings that are served"
    )


def _worked(desk: Desk, order: PlanOrder) -> tuple[Plan, Ground]:
    """Return plan and ground; a plan of a page names no files."""
    if {"profile", "near"} & set(order.plan):
        raise ValueError("a plan of the page names no files; give ids in near")
    plan = plan_from(order.plan)
    if order.near:
        return plan, from_soundings([desk.log(id).interpretation.profile for id in order.near])
    return plan, ground_of(plan)


@router.post("", responses=answers(OutlookDocument, *READING))
def outlook(desk: DeskOf, order: PlanOrder) -> Response:
    """Return the forecast of a push: thrust along depth, reaction, refusal, options."""
    plan, ground = _worked(desk, order)
    found = outlook_data(work_out(plan, ground), step=max(0.1, plan.target / 150))
    return answer(found)


@router.post("/sheet.pdf", response_class=Response, responses=file_answer(TYPES[".pdf"]))
def sheet(desk: DeskOf, order: PlanOrder) -> Response:
    """Return the plan as a sheet."""
    from pushproof.report.plansheet import lay_plan

    plan, ground = _worked(desk, order)
    return attachment(lay_plan(work_out(plan, ground)).pdf(), "plan.pdf")
