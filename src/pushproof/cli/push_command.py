"""``pushproof push``: record a push, guarded, with a full-screen view."""

from __future__ import annotations

import logging
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, EquipmentFile, PositionSource, PushPlan, Quiet

if TYPE_CHECKING:
    from pushproof.recording.session import Session


def push(
    job: Annotated[Path, typer.Argument(help="The job file; made if it is not there.")],
    sounding: Annotated[str, typer.Option("--sounding", help="Name of the sounding.")],
    source: Annotated[
        str, typer.Option("--source", help="Where the cone sends: tcp://host:port, serial:PORT.")
    ],
    depth_source: Annotated[
        str, typer.Option("--depth-source", help="Where the depth encoder sends.")
    ],
    position_source: PositionSource = None,
    equipment: EquipmentFile = None,
    plan: PushPlan = None,
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

    from pushproof.formats.equipment import load_equipment
    from pushproof.recording.playback import recorded
    from pushproof.recording.session import Session, brought_by, equip_from
    from pushproof.sources import open_source
    from pushproof.store import Job

    wanted = [(source, "link-box"), (depth_source, "depth-box")]
    wanted += [(position_source, "nmea-position")] if position_source else []
    sources = [open_source(place, decoder, recorded=recorded) for place, decoder in wanted]
    given = load_equipment(equipment) if equipment else brought_by(sources)
    with Job.open(job, write=True) if job.exists() else Job.create(job) as opened:
        equip_from(opened, sounding, given)
        if plan is not None:
            opened.add_equipment("plan", kept_plan(plan), sounding=sounding)
        with Session(opened, sounding, sources) as session:
            end = None if seconds is None else time.monotonic() + seconds
            if plain or not console().is_terminal:
                _lines(session, end)
            else:
                _screen(session, end)
        stored = session.recorder.state.stored
    console().print(escape(f"{job}: {stored} messages of {sounding} are in the record"))


def kept_plan(path: Path) -> dict[str, Any]:
    """Return a plan and its ground as they are kept in a job as a fact of a sounding."""
    from pushproof.cli.plan_command import planned_ground
    from pushproof.planning.document import load_plan
    from pushproof.planning.keep import kept

    plan = load_plan(path)
    return kept(plan, planned_ground(plan, path, [], ""))


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
            alarms = [*session.warnings, *(a.text for a in state.alarms if not a.cleared)]
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

    # lines of a log would run over the screen; what matters is on it and in the record
    logging.getLogger("pushproof").addHandler(logging.NullHandler())
    out, desk = console(), Desk(session)
    with Keyboard() as keyboard, Screen(console=out, screen=True, auto_refresh=False) as screen:
        try:
            while not desk.ended and (end is None or time.monotonic() < end):
                size = out.size
                view = render(
                    session.state(), size.width, size.height, desk.prompt, session.warnings
                )
                screen.update(view, refresh=True)
                desk.press(keyboard.key(0.2))
        except KeyboardInterrupt:
            return


class Desk:
    """What the keys of the operator do: at once, or after a note or an answer is typed."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.ended = False
        self._note: str | None = None
        self._asked = False
        self._actions = {
            " ": session.push,
            "r": session.rod_added,
            "R": lambda: session.rod_added(-1),
            "d": session.dissipation,
            "z": session.zeros,
            "a": session.acknowledge,
        }

    @property
    def prompt(self) -> str:
        """What is being typed or asked, empty if nothing is."""
        if self._asked:
            return " End the recording?  y ends it, any other key goes on"
        return "" if self._note is None else f" note: {self._note}_"

    def press(self, key: str) -> None:
        """Take a key; an empty one does nothing."""
        if not key:
            return
        if self._asked:
            self.ended, self._asked = key in ("y", "Y"), False
        elif self._note is not None:
            self._note = self._typed(self._note, key)
        elif key == "n":
            self._note = ""
        elif key == "q":
            self._asked = True
        elif key in self._actions:
            self._actions[key]()

    def _typed(self, note: str, key: str) -> str | None:
        """Take a key of a note; return what is typed so far, or None when it is done."""
        if key in ("\r", "\n"):
            self.session.note(note)
            return None
        if key == "\x1b":
            return None
        if key in ("\x7f", "\b"):
            return note[:-1]
        return note + key if key.isprintable() else note
