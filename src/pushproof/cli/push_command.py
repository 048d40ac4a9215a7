"""``pushproof push``: record a push, guarded, with a full-screen view."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import Debug, Quiet, console

if TYPE_CHECKING:
    from pushproof.formats.equipment import Equipment
    from pushproof.recording.session import Session
    from pushproof.store import Job


def push(
    job: Annotated[Path, typer.Argument(help="The job file; made if it is not there.")],
    sounding: Annotated[str, typer.Option("--sounding", help="Name of the sounding.")],
    source: Annotated[
        str, typer.Option("--source", help="Where the cone sends: tcp://host:port, serial:PORT.")
    ],
    depth_source: Annotated[
        str, typer.Option("--depth-source", help="Where the depth encoder sends.")
    ],
    equipment: Annotated[
        Path | None,
        typer.Option("--equipment", help="Equipment as a TOML file.", show_default=False),
    ] = None,
    seconds: Annotated[
        float | None,
        typer.Option("--seconds", help="End by itself after so long.", show_default=False),
    ] = None,
    plain: Annotated[
        bool, typer.Option("--plain", help="Lines of text instead of the full screen.")
    ] = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Record a push: readings are stored before they are shown, and judged as they come."""
    from rich.markup import escape

    from pushproof.formats.equipment import Equipment, load_equipment
    from pushproof.recording.session import Session
    from pushproof.sources import open_source
    from pushproof.store import Job

    given = load_equipment(equipment) if equipment else Equipment()
    cone, depth = open_source(source), open_source(depth_source, decoder="depth-box")
    with Job.open(job, write=True) if job.exists() else Job.create(job) as opened:
        _equip(opened, sounding, given)
        with Session(opened, sounding, [cone, depth]) as session:
            end = None if seconds is None else time.monotonic() + seconds
            if plain or not console().is_terminal:
                _lines(session, end)
            else:
                _screen(session, end)
        stored = session.recorder.state.stored
    console().print(escape(f"{job}: {stored} messages of {sounding} are in the record"))


def _equip(job: Job, sounding: str, given: Equipment) -> None:
    from pushproof.model.sounding import Water, WaterOrigin
    from pushproof.recording.session import equip

    if sounding not in job.soundings():
        job.add_sounding(sounding)
    equip(job, sounding, cone=given.cone, rods=given.rods, rig=given.rig, encoder=given.encoder)
    if given.predrilled is not None:
        job.add_statement(sounding, predrilled=given.predrilled)
    if given.water_level is not None:
        water = Water(level=given.water_level, origin=WaterOrigin.MEASURED)
        job.add_statement(sounding, water=water)


def _lines(session: Session, end: float | None) -> None:
    """Print one line a second, for a log file or a pipe."""
    out = console()
    try:
        while session.running and (end is None or time.monotonic() < end):
            time.sleep(min(1.0, max(0.0, end - time.monotonic())) if end else 1.0)
            state = session.state()
            advance = state.advance
            length = 0.0 if advance.length is None else advance.length
            rate = 0.0 if advance.rate is None else advance.rate * 1000
            alarms = [a.text for a in state.alarms if not a.cleared]
            out.print(
                f"{length:7.2f} m  {rate:5.1f} mm/s  {state.cone.received} readings  "
                f"{advance.state.value}  {'; '.join(alarms)}",
                markup=False,
                soft_wrap=True,
            )
    except KeyboardInterrupt:
        out.print("ended by the operator")


def _screen(session: Session, end: float | None) -> None:
    """Draw the full screen and take keys until the operator ends it."""
    from rich.live import Live as Screen

    from pushproof.cli.keyboard import Keyboard
    from pushproof.cli.push_view import render

    out = console()
    note: str | None = None
    with Keyboard() as keyboard, Screen(console=out, screen=True, auto_refresh=False) as screen:
        while end is None or time.monotonic() < end:
            prompt = "" if note is None else f" note: {note}_"
            size = out.size
            screen.update(
                render(session.state(), max(size.width, 80), max(size.height, 24), prompt),
                refresh=True,
            )
            key = keyboard.key(0.2)
            if note is not None:
                note = _typed(session, note, key)
            elif key == "n":
                note = ""
            elif key in ("q", "\x03"):
                return
            else:
                act(session, key)


def _typed(session: Session, note: str, key: str) -> str | None:
    """Take a key of a note; return what is typed so far, or None when it is done."""
    if key in ("\r", "\n"):
        session.note(note)
        return None
    if key == "\x1b":
        return None
    if key in ("\x7f", "\b"):
        return note[:-1]
    return note + key if key.isprintable() else note


def act(session: Session, key: str) -> None:
    """Do what a key means."""
    actions = {
        " ": session.push,
        "r": session.rod_added,
        "d": session.dissipation,
        "z": session.zeros,
        "a": session.acknowledge,
    }
    if key in actions:
        actions[key]()
