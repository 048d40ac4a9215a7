"""``pushproof close``: grout for a hole, and the record of closing it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, Quiet

if TYPE_CHECKING:
    from pushproof.planning.closing import Closing, Grouting, Mix


def close(
    job: Annotated[
        Path | None, typer.Argument(help="A job file; the hole is one of its soundings.")
    ] = None,
    sounding: Annotated[str, typer.Option("--sounding", help="Which sounding.")] = "",
    depth: Annotated[
        float | None, typer.Option("--depth", help="Depth of the hole [m].", show_default=False)
    ] = None,
    cone: Annotated[
        float | None,
        typer.Option("--cone", help="Area of the tip [cm2]; 10 if not known.", show_default=False),
    ] = None,
    reducer: Annotated[
        float | None,
        typer.Option("--reducer", help="Friction reducer [mm].", show_default=False),
    ] = None,
    casing: Annotated[
        tuple[float, float] | None,
        typer.Option("--casing", help="Casing: depth [m] and diameter [mm].", show_default=False),
    ] = None,
    predrilled: Annotated[
        tuple[float, float] | None,
        typer.Option("--predrilled", help="Depth [m] and diameter [mm].", show_default=False),
    ] = None,
    mix: Annotated[
        str | None,
        typer.Option(
            "--mix",
            help="Name of the mix, else cement-bentonite-firm; --mixes lists them.",
            show_default=False,
        ),
    ] = None,
    mixes: Annotated[bool, typer.Option("--mixes", help="List the mixes.")] = False,
    loss: Annotated[
        float | None,
        typer.Option("--loss", help="Planned over hole volume; 1.5.", show_default=False),
    ] = None,
    batch: Annotated[
        float | None,
        typer.Option("--batch", help="Volume of a batch [L]; 60.", show_default=False),
    ] = None,
    cement_bag: Annotated[
        float | None, typer.Option("--cement-bag", help="[kg]; 25.", show_default=False)
    ] = None,
    bentonite_bag: Annotated[
        float | None, typer.Option("--bentonite-bag", help="[kg]; 25.", show_default=False)
    ] = None,
    method: Annotated[
        str | None,
        typer.Option(
            "--method", help="retraction, re-entry, tremie or pour; tremie.", show_default=False
        ),
    ] = None,
    water_level: Annotated[
        float | None,
        typer.Option("--water-level", help="Depth of the water table [m].", show_default=False),
    ] = None,
    artesian: Annotated[
        bool, typer.Option("--artesian", help="Water flows or may flow from the hole.")
    ] = False,
    take: Annotated[
        float | None,
        typer.Option("--take", help="Grout that went in [L]: recorded.", show_default=False),
    ] = None,
    lowest: Annotated[
        float | None, typer.Option("--from", help="Grout placed from [m].", show_default=False)
    ] = None,
    density: Annotated[
        float | None, typer.Option("--density", help="Measured [kg/L].", show_default=False)
    ] = None,
    top_up: Annotated[
        float | None, typer.Option("--top-up", help="After settling [L].", show_default=False)
    ] = None,
    permit: Annotated[str, typer.Option("--permit", help="Number of the permit.")] = "",
    by: Annotated[str, typer.Option("--by", help="Who closed it.")] = "",
    remark: Annotated[str, typer.Option("--remark", help="Anything to remark.")] = "",
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="Sheet: .pdf, .svg or .png.", show_default=False),
    ] = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Plan the grout for a hole, and record that it was closed."""
    from pushproof.errors import ConfigurationError
    from pushproof.planning.closing import GroutOrder, Take
    from pushproof.planning.closing import mixes as known
    from pushproof.planning.grouting import Hole, plan_grout
    from pushproof.recording.closings import close_hole, closings, known_hole
    from pushproof.store import Job

    if mixes:
        _list(known())
        return
    cased, drilled = casing or (None, None), predrilled or (None, None)
    typed: dict[str, Any] = {
        "depth": depth, "tip_area": _times(cone, 1e-4), "reducer": _times(reducer, 1e-3),
        "casing_depth": cased[0], "casing": _times(cased[1], 1e-3),
        "predrilled": drilled[0], "predrilled_diameter": _times(drilled[1], 1e-3),
        "mix": mix, "loss": loss, "batch": batch, "cement_bag": cement_bag,
        "bentonite_bag": bentonite_bag, "method": method, "water_level": water_level,
        "artesian": artesian or None,
    }  # fmt: skip
    if take is not None and (job is None or not by):
        raise ConfigurationError("--take: give the job, --sounding and --by to record it")
    if job is None:
        if depth is None:
            raise ConfigurationError("give --depth, or a job and --sounding")
        plan, kept = plan_grout(GroutOrder.of(typed), Hole()), None
    else:
        with Job.open(job, write=take is not None) as opened:
            hole, before = known_hole(opened, sounding), closings(opened, sounding)
            kept = before[-1] if before else None
            # what was recorded stands with the plan it was recorded with
            base = None if kept is None else kept.closing.order
            plan = plan_grout(GroutOrder.of(typed, base), hole)
            if take is not None:
                said = Take.of(
                    {
                        "take": take, "lowest": lowest, "density": density, "top_up": top_up,
                        "permit": permit, "by": by, "remark": remark,
                    }
                )  # fmt: skip
                kept = close_hole(opened, sounding, plan, said)
    _show(plan.grouting, plan.order.method, None if kept is None else kept.closing)
    from pushproof.cli.findings import findings_table

    found = plan.found if kept is None else kept.closing.findings()
    console().print(findings_table(found))
    if output is not None:
        from pushproof.report.closingsheet import lay_hole

        for path in lay_hole(plan, kept).write(output):
            console().print(str(path), markup=False, soft_wrap=True)


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _show(grouting: Grouting, method: str, done: Closing | None) -> None:
    from rich.markup import escape
    from rich.table import Table

    from pushproof.planning.closing import LOCAL_LAW, METHODS

    out, mix = console(), grouting.mix
    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in ("from [m]", "to [m]", "diameter [mm]", "[L/m]", "[L]"):
        table.add_column(escape(head), justify="right")
    for b in grouting.bores:
        table.add_row(
            f"{b.top:.2f}",
            f"{b.base:.2f}",
            f"{b.diameter * 1000:.1f}",
            f"{b.per_metre:.2f}",
            f"{b.volume:.1f}",
        )
    out.print(table)
    water, cement, bentonite = grouting.per_batch
    bags, more = grouting.bags
    lines = [
        f"hole {grouting.hole_volume:.1f} L, planned {grouting.planned:.0f} L "
        f"({grouting.loss:g} times)",
        f"{mix.words}, {mix.ratio} by weight, {mix.density:.2f} kg/L ({mix.mark})",
        f"{grouting.batches} of {grouting.batch:g} L to mix: water {water:.1f} kg, cement "
        f"{cement:.1f} kg, bentonite {bentonite:.1f} kg each",
        f"bags: {bags} of {grouting.cement_bag:g} kg cement, {more} of "
        f"{grouting.bentonite_bag:g} kg bentonite",
        f"{method}: {METHODS[method]}",
    ]
    if done is not None:
        lines.append(f"recorded: {done.text}")
    for line in [*lines, LOCAL_LAW]:
        out.print(escape(line), soft_wrap=True)


def _list(known: dict[str, Mix]) -> None:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in ("mix", "water : cement : bentonite", "kg/L", "mark", "source"):
        table.add_column(head)
    for name, mix in known.items():
        table.add_row(name, mix.ratio, f"{mix.density:.2f}", mix.mark, mix.source or mix.words)
    console().print(table)
