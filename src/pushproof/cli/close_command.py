"""``pushproof close``: grout for a hole, and the record of closing it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, Quiet

if TYPE_CHECKING:
    from pushproof.planning.closing import Bore, Closing, Grouting, Mix
    from pushproof.report.closingsheet import Place


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
        str, typer.Option("--mix", help="Name of the mix; --mixes lists them.")
    ] = "cement-bentonite-firm",
    mixes: Annotated[bool, typer.Option("--mixes", help="List the mixes.")] = False,
    loss: Annotated[float, typer.Option("--loss", help="Planned over hole volume.")] = 1.5,
    batch: Annotated[float, typer.Option("--batch", help="Volume of a batch [L].")] = 60.0,
    cement_bag: Annotated[float, typer.Option("--cement-bag", help="[kg]")] = 25.0,
    bentonite_bag: Annotated[float, typer.Option("--bentonite-bag", help="[kg]")] = 25.0,
    method: Annotated[
        str, typer.Option("--method", help="retraction, re-entry, tremie or pour.")
    ] = "tremie",
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
    from pushproof.planning.closing import Closing, Grouting, method_findings
    from pushproof.planning.closing import mixes as known

    if mixes:
        _list(known())
        return
    if mix not in known():
        raise ConfigurationError(f"mix {mix!r}: known are {', '.join(known())}")
    hole_of = _hole_of(job, sounding, depth, cone, water_level)
    bores = _bores(hole_of, reducer, casing, predrilled)
    grouting = Grouting(bores, known()[mix], loss, batch, cement_bag, bentonite_bag)
    done, closed = None, ""
    if job is not None and take is None:
        done, closed = _kept(job, hole_of.place.name)
    if take is not None:
        if job is None or not by:
            raise ConfigurationError("--take: give the job, --sounding and --by to record it")
        fields = {
            "method": method, "mix": mix, "depth": grouting.depth, "lowest": lowest,
            "hole_volume": grouting.hole_volume, "planned": grouting.planned, "take": take,
            "batches": None, "density": density, "top_up": top_up, "permit": permit, "by": by,
            "remark": remark,
        }  # fmt: skip
        done = Closing.model_validate(fields)
        _keep(job, hole_of.place.name, done)
        done, closed = _kept(job, hole_of.place.name)
    found = (
        method_findings(method, grouting.depth, water_level=hole_of.water_level, artesian=artesian)
        if done is None
        else done.findings()
    )
    _show(grouting, method, done)
    from pushproof.cli.findings import findings_table

    console().print(findings_table(found))
    if output is not None:
        from pushproof.report.closingsheet import lay_closing

        place = replace(hole_of.place, closed=closed)
        for path in lay_closing(place, grouting, method, done, found=found).write(output):
            console().print(str(path), markup=False, soft_wrap=True)


@dataclass(frozen=True)
class _Hole:
    """What is known of the hole before the options."""

    place: Place
    depth: float
    tip_area: float
    rods: float
    water_level: float | None


def _hole_of(
    job: Path | None,
    name: str,
    depth: float | None,
    cone: float | None,
    water_level: float | None,
) -> _Hole:
    """Return the hole: from the options, and from the job where there is one."""
    from pushproof.errors import ConfigurationError
    from pushproof.report.closingsheet import Place

    area = None if cone is None else cone / 1e4
    if job is None:
        if depth is None:
            raise ConfigurationError("give --depth, or a job and --sounding")
        rows = (("Depth", f"{depth:.2f} m"),)
        return _Hole(Place("Hole", rows), depth, area or 0.001, 0.036, water_level)
    import numpy as np

    from pushproof.recording.assemble import sounding as assembled
    from pushproof.store import Job

    with Job.open(job) as opened:
        names = opened.soundings()
        if name not in names:
            raise ConfigurationError(f"{job}: name a sounding of it: {', '.join(names)}")
        one = assembled(opened, name)
    reached = one.readings.get("length")
    if not np.isfinite(reached).any():
        reached = one.readings.get("depth")
    depth = float(np.nanmax(reached)) if depth is None else depth
    level = one.water.level if water_level is None and one.water is not None else water_level
    pairs = [
        ("Project", one.project or ""),
        ("Place", one.place or ""),
        ("Pushed", "" if one.started is None else one.started.strftime("%Y-%m-%d")),
        ("Depth", f"{depth:.2f} m"),
        ("Water table", "" if level is None else f"{level:.2f} m below ground"),
    ]
    place = Place(name, tuple((key, text) for key, text in pairs if text))
    rods = 0.036 if one.rods is None else one.rods.outer_diameter
    return _Hole(place, depth, area or one.cone.tip_area or 0.001, rods, level)


def _bores(
    known: _Hole,
    reducer: float | None,
    casing: tuple[float, float] | None,
    predrilled: tuple[float, float] | None,
) -> tuple[Bore, ...]:
    from pushproof.planning.closing import cone_diameter, hole

    cased, drilled = casing or (0.0, 0.0), predrilled or (0.0, 0.0)
    return hole(
        known.depth,
        cone=cone_diameter(known.tip_area),
        rods=known.rods,
        reducer=None if reducer is None else reducer / 1000,
        casing_depth=cased[0],
        casing=cased[1] / 1000 or None,
        predrilled=drilled[0],
        predrilled_diameter=drilled[1] / 1000 or None,
    )


def _keep(job: Path, sounding: str, done: Closing) -> None:
    from pushproof.store import Job

    with Job.open(job, write=True) as opened:
        opened.add_event(
            "closing",
            sounding=sounding,
            depth=done.depth,
            author=done.by,
            text=done.text,
            details=done.model_dump(mode="json"),
        )


def _kept(job: Path, sounding: str) -> tuple[Closing | None, str]:
    """Return the newest closing of a sounding and when it was recorded, None if there is none."""
    from datetime import datetime

    from pushproof.planning.closing import Closing
    from pushproof.store import Job

    with Job.open(job) as opened:
        found = opened.events(sounding, kind="closing")
    if not found:
        return None, ""
    at = datetime.fromtimestamp(found[-1].at).strftime("%Y-%m-%d %H:%M")
    return Closing.model_validate(dict(found[-1].details)), at


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
