"""``pushproof serve``: the page, on this machine or on the network of the rig."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, EquipmentFile, PositionSource, PushPlan, Quiet

if TYPE_CHECKING:
    from pushproof.recording.session import Session
    from pushproof.web.push.station import Station


def serve(
    path: Annotated[Path, typer.Argument(help="A job file, a sounding file, or a folder.")],
    open_page: Annotated[
        bool, typer.Option("--open", help="Open the page in the browser.")
    ] = False,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="0 takes a free one.")
    ] = 8622,
    listen: Annotated[
        str,
        typer.Option("--listen", help="Address for other machines; needs --password-file."),
    ] = "127.0.0.1",
    password_file: Annotated[
        Path | None,
        typer.Option(
            "--password-file",
            help="File whose first line is the password, and whose second, if any, is that of "
            "those who only watch.",
            show_default=False,
        ),
    ] = None,
    read_only: Annotated[
        bool, typer.Option("--read-only", help="Nobody may edit or steer.")
    ] = False,
    source: Annotated[
        str | None,
        typer.Option("--source", help="Record a push from this cone.", show_default=False),
    ] = None,
    depth_source: Annotated[
        str | None,
        typer.Option("--depth-source", help="Where the depth encoder sends.", show_default=False),
    ] = None,
    position_source: PositionSource = None,
    plan: PushPlan = None,
    sounding: Annotated[
        str, typer.Option("--sounding", help="Record this sounding at once; else the page asks.")
    ] = "",
    equipment: EquipmentFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Serve the page: soundings, logs, and the push that is being recorded."""
    from pushproof.web.access import access_for
    from pushproof.web.server import run

    password, view_password = _passwords(password_file)
    access = access_for(listen, password=password, view_password=view_password, read_only=read_only)
    station = _station(path, source, depth_source, equipment, position_source, plan)
    with _begun(station, sounding) as session:

        def ready(address: str) -> None:
            shown = f"{address}push" if station is not None else address
            console().print(f"The page is at {shown}  (Ctrl+C ends it)", soft_wrap=True)
            if open_page:
                import webbrowser

                webbrowser.open(shown)

        run(
            path,
            session=session,
            access=access,
            station=station,
            host=listen,
            port=port,
            ready=ready,
        )


def _passwords(path: Path | None) -> tuple[str, str]:
    from pushproof.errors import ConfigurationError

    if path is None:
        return "", ""
    try:
        lines = [line.strip() for line in path.read_text("utf-8").splitlines()]
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{path}: the password cannot be read: {error}") from error
    given = [line for line in lines if line][:2]
    if not given:
        raise ConfigurationError(f"{path}: no password in it")
    return given[0], given[1] if len(given) > 1 else ""


def _station(
    path: Path,
    source: str | None,
    depth_source: str | None,
    equipment: Path | None,
    position_source: str | None = None,
    plan: Path | None = None,
) -> Station | None:
    """Return the sources to record from, if they are given."""
    from pushproof.errors import ConfigurationError

    if not any((source, depth_source, equipment, position_source, plan)):
        return None
    both = source is not None and source.startswith(("rehearsal:", "replay:"))
    if source is None or (depth_source is None and not both):
        raise ConfigurationError("to record a push give --source and --depth-source")
    if path.is_dir():
        raise ConfigurationError(f"{path}: to record a push name a job file, not a folder")
    from pushproof.cli.push_command import kept_plan
    from pushproof.formats.equipment import load_equipment
    from pushproof.recording.playback import recorded
    from pushproof.recording.session import brought_by
    from pushproof.sources import Source, open_source
    from pushproof.store import Job
    from pushproof.web.push.station import Station

    places = [(source, "link-box")]
    places += [(depth_source, "depth-box")] if depth_source is not None else []
    places += [(position_source, "nmea-position")] if position_source is not None else []

    def open_sources() -> list[Source]:
        return [open_source(place, decoder, recorded=recorded) for place, decoder in places]

    if not path.exists():
        Job.create(path).close()
    if equipment is not None:
        given = load_equipment(equipment)
    else:  # a port is opened only when a push begins; a rehearsal brings its own rig
        given = brought_by(open_sources() if source.startswith("rehearsal:") else [])
    ahead = None if plan is None else kept_plan(plan)
    return Station(path, open_sources, given, [place for place, _ in places], ahead)


@contextmanager
def _begun(station: Station | None, sounding: str) -> Iterator[Session | None]:
    """Begin to record at once if a sounding is named; else the page asks for its name."""
    from pushproof.errors import ConfigurationError

    if station is None:
        if sounding:
            raise ConfigurationError(f"--sounding {sounding}: to record it, give --source too")
        yield None
        return
    try:
        yield station.start(sounding) if sounding else None
    finally:
        station.stop()
