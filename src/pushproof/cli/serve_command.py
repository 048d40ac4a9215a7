"""``pushproof serve``: the page, on this machine or on the network of the rig."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import Debug, Quiet, console

if TYPE_CHECKING:
    from pushproof.recording.session import Session


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
    sounding: Annotated[
        str, typer.Option("--sounding", help="Name of the sounding that is pushed.")
    ] = "",
    equipment: Annotated[
        Path | None,
        typer.Option("--equipment", help="Equipment as a TOML file.", show_default=False),
    ] = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Serve the page: soundings, logs, and the push that is being recorded."""
    from pushproof.web.access import access_for
    from pushproof.web.server import run

    password, view_password = _passwords(password_file)
    access = access_for(listen, password=password, view_password=view_password, read_only=read_only)
    with ExitStack() as stack:
        session = _pushed(stack, path, sounding, source, depth_source, equipment)

        def ready(address: str) -> None:
            console().print(f"The page is at {address}  (Ctrl+C ends it)", soft_wrap=True)
            if open_page:
                import webbrowser

                webbrowser.open(address)

        run(path, session=session, access=access, host=listen, port=port, ready=ready)


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


def _pushed(
    stack: ExitStack,
    path: Path,
    sounding: str,
    source: str | None,
    depth_source: str | None,
    equipment: Path | None,
) -> Session | None:
    """Start the push that is recorded, if one is asked for."""
    from pushproof.errors import ConfigurationError

    if source is None and depth_source is None:
        return None
    if source is None or depth_source is None or not sounding:
        raise ConfigurationError("a push needs --source, --depth-source and --sounding")
    from pushproof.cli.push_command import equip_from
    from pushproof.formats.equipment import Equipment, load_equipment
    from pushproof.recording.playback import recorded
    from pushproof.recording.session import Session
    from pushproof.sources import open_source
    from pushproof.store import Job

    given = load_equipment(equipment) if equipment else Equipment()
    places = ((source, "link-box"), (depth_source, "depth-box"))
    sources = [open_source(place, decoder, recorded=recorded) for place, decoder in places]
    job = stack.enter_context(Job.open(path, write=True) if path.exists() else Job.create(path))
    equip_from(job, sounding, given)
    return stack.enter_context(Session(job, sounding, sources))
