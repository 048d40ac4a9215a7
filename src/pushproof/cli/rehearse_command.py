"""``pushproof rehearse``: the simulated rig, over real ports."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, Quiet


def rehearse(
    point: Annotated[str, typer.Option("--point", help="Point of the demo site.")] = "HM-1",
    fault: Annotated[
        str,
        typer.Option("--fault", help="Planted faults, as loose-joint@12,loss=0.2,clock=40ppm."),
    ] = "",
    serial: Annotated[
        Path | None,
        typer.Option("--serial", help="Folder for two serial ports.", show_default=False),
    ] = None,
    tcp: Annotated[
        int | None,
        typer.Option(
            "--tcp", help="TCP port of the cone; the encoder is on the next.", show_default=False
        ),
    ] = None,
    speed: Annotated[float, typer.Option("--speed", min=0.01, help="Times as fast.")] = 1.0,
    seed: Annotated[int, typer.Option("--seed", help="The same seed, the same push.")] = 1,
    memory: Annotated[
        Path | None,
        typer.Option(
            "--memory", help="File for the memory read-out at the end.", show_default=False
        ),
    ] = None,
    equipment: Annotated[
        Path | None,
        typer.Option(
            "--equipment", help="Write the equipment of the rig, for push.", show_default=False
        ),
    ] = None,
    faults: Annotated[bool, typer.Option("--faults", help="List the faults.")] = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Run the simulated rig: cone and encoder over TCP or serial ports."""
    from rich.markup import escape

    from pushproof.sources.rehearsal import fault_help
    from pushproof.sources.rehearsal import rehearse as run

    screen = console()
    if faults:
        screen.print(escape(fault_help()))
        return
    if equipment is not None:
        from pushproof.formats.equipment import write_equipment
        from pushproof.recording.session import rehearsed
        from pushproof.sources.rehearsal import Rehearsal

        write_equipment(rehearsed(Rehearsal(point, fault, seed)), equipment)
        screen.print(escape(f"equipment: {equipment}"), soft_wrap=True)
    run(
        point,
        fault,
        seed,
        tcp=tcp,
        serial=serial,
        speed=speed,
        memory=memory,
        told=lambda text: screen.print(escape(text), soft_wrap=True),
    )
