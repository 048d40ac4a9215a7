"""``pushproof plan``: can this rig push there?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.options import AsJson, Columns, Debug, Quiet

if TYPE_CHECKING:
    from pushproof.planning.document import Plan
    from pushproof.planning.ground import Ground
    from pushproof.planning.outlook import Outlook


def plan(
    file: Annotated[
        Path | None, typer.Argument(help="The plan as a TOML file.", show_default=False)
    ] = None,
    near: Annotated[
        list[Path] | None,
        typer.Option("--near", help="A sounding nearby; give it again for more."),
    ] = None,
    target: Annotated[
        float | None,
        typer.Option("--target", help="Depth to reach [m].", show_default=False),
    ] = None,
    mass: Annotated[
        float | None, typer.Option("--mass", help="Mass of the rig [kg].", show_default=False)
    ] = None,
    thrust: Annotated[
        float | None,
        typer.Option("--thrust", help="Push cylinder capacity [kN].", show_default=False),
    ] = None,
    anchors: Annotated[
        int | None,
        typer.Option("--anchors", help="Number of anchors of the plan.", show_default=False),
    ] = None,
    as_json: AsJson = False,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="Sheet: .pdf, .svg or .png.", show_default=False),
    ] = None,
    columns: Columns = "",
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Forecast thrust, reaction, refusal and what closes the gap."""
    import json

    from pushproof.planning.outlook import work_out
    from pushproof.planning.plain import outlook_data

    chosen = _chosen(file, target, mass, thrust, anchors, bool(near))
    ground = planned_ground(chosen, file, near or [], columns)
    outlook = work_out(chosen, ground)
    if as_json:
        console().print_json(json.dumps(outlook_data(outlook)))
    else:
        show(outlook)
    if output is not None:
        from pushproof.report.plansheet import lay_plan

        for written in lay_plan(outlook).write(output):
            if not as_json:
                console().print(str(written), markup=False, soft_wrap=True)


def _chosen(
    file: Path | None,
    target: float | None,
    mass: float | None,
    thrust: float | None,
    anchors: int | None,
    near: bool,
) -> Plan:
    """Return the plan of the file with the options on top."""
    from pushproof.errors import ConfigurationError
    from pushproof.planning.document import load_plan, plan_from

    if file is None:
        missing = [
            word
            for word, value in (("--near", near or None), ("--target", target), ("--mass", mass))
            if value is None
        ]
        if missing:
            raise ConfigurationError(f"without a plan file give {', '.join(missing)} too")
    document: dict[str, Any] = (
        {} if file is None else load_plan(file).model_dump(exclude_unset=True)
    )
    if target is not None:
        document["target"] = target
    rig = dict(document.get("rig", {}))
    rig |= {k: v for k, v in (("mass", mass), ("thrust", thrust)) if v is not None}
    document["rig"] = rig
    if anchors is not None:
        if "anchors" not in document:
            raise ConfigurationError("--anchors: the plan describes no anchors; add [anchors]")
        document["anchors"] = {**document["anchors"], "count": anchors}
    if near:
        document |= {"layers": (), "profile": None, "near": ()}
    return plan_from(document, "options" if file is None else f"plan {file}")


def planned_ground(plan: Plan, file: Path | None, near: list[Path], columns: str) -> Ground:
    """Return the ground of a plan; files of soundings stand beside the plan file.

    Decisions that are kept for a sounding hold here as well: a stretch blanked because the cone was
    at fault says nothing of the ground.
    """
    from pushproof.cli.job import Reading
    from pushproof.model.recipe import Recipe
    from pushproof.planning.ground import from_soundings
    from pushproof.planning.outlook import ground_of
    from pushproof.processing import process

    folder = Path() if file is None else file.parent
    paths = near or [folder / name for name in plan.near]
    if not paths:
        return ground_of(plan, str(folder))
    reading = Reading(Recipe(), columns)
    return from_soundings([process(*one) for path in paths for one in reading.decided(path)])


def show(outlook: Outlook) -> None:
    """Print an outlook for people."""
    from rich.markup import escape
    from rich.table import Table

    from pushproof.cli.findings import findings_table
    from pushproof.planning.plain import NOTE, along, verdict

    out, plan = console(), outlook.plan
    out.print(f"[bold]{escape(plan.name)}[/]: {escape(verdict(outlook))}", soft_wrap=True)
    out.print(escape(f"ground: {outlook.ground.source}"), soft_wrap=True)
    name, force = outlook.limits.least
    forces = ", ".join(f"{key} {value:.0f}" for key, value in outlook.limits.force.items())
    out.print(escape(f"to push with: {force:.0f} kN, by {name} ({forces} kN)"), soft_wrap=True)
    table = Table(box=None, pad_edge=False, header_style="bold")
    heads = ("depth [m]", "qc [MPa]", "tip", "sleeve", "rods", "thrust [kN]", "10 to 90 %", "ended")
    for head in heads:
        table.add_column(head, justify="right")
    step = next(s for s in (1.0, 2.0, 2.5, 5.0) if plan.target / s <= 12 or s == 5.0)
    for row in along(outlook, step):
        table.add_row(
            f"{row['depth_m']:.1f}",
            f"{row['qc_MPa']:.1f}",
            f"{row['tip_kN']:.0f}",
            f"{row['sleeve_kN']:.0f}",
            f"{row['rods_kN']:.0f}",
            f"{row['thrust_kN']:.0f}",
            f"{row['low_kN']:.0f} to {row['high_kN']:.0f}",
            f"{100 * row['ended']:.0f} %",
        )
    out.print(table)
    out.print()
    choices = Table(box=None, pad_edge=False, header_style="bold")
    choices.add_column("option")
    for head in ("force [kN]", "by", "reaches target", "even odds"):
        choices.add_column(head, justify="left" if head == "by" else "right")
    for option in outlook.options:
        choices.add_row(
            escape(option.words),
            f"{option.available:.0f}",
            escape(option.governed_by),
            f"{100 * option.reached:.0f} %" + (" closes the gap" if option.closes else ""),
            "-" if option.likely_depth is None else f"{option.likely_depth:.1f} m",
        )
    out.print(choices)
    if outlook.data is not None:
        out.print()
        out.print(f"the cone works {outlook.data.seconds / 3600:.1f} h")
        asked = Table(box=None, pad_edge=False, header_style="bold")
        for head in ("data", "", "found", "basis"):
            asked.add_column(head, overflow="fold")
        for one in outlook.data.rows:
            asked.add_row(escape(one.what), one.verdict, escape(one.found), escape(one.basis))
        out.print(asked)
    out.print()
    out.print(findings_table(outlook.findings))
    out.print(escape(f"assumed: {'; '.join(outlook.assumptions)}"), soft_wrap=True)
    out.print(escape(NOTE), soft_wrap=True)
