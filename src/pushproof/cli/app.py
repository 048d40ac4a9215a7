"""The application: its commands and how it ends.

The modules of the commands import only what describes their options; the library is imported
when a command runs, so that ``pushproof --help`` stays fast.
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from pushproof.cli import (
    check_command,
    checklist_command,
    close_command,
    compare_command,
    convert_command,
    day_command,
    demo_command,
    dissipation_command,
    equations_command,
    explain_command,
    formats_command,
    import_command,
    inspect_command,
    layers_command,
    log_command,
    merge_command,
    neighbours_command,
    observe_command,
    plan_command,
    push_command,
    recover_command,
    rehearse_command,
    report_command,
    seismic_command,
    serve_command,
    show_command,
    sign_command,
    table_command,
    verify_command,
)
from pushproof.cli.console import Settings, fail
from pushproof.errors import PushproofError

app = typer.Typer(
    name="pushproof",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From the push rig to the signed log of a cone penetration test.",
)

app.command("demo")(demo_command.demo)
app.command("log")(log_command.log)
app.command("table")(table_command.table)
app.command("show")(show_command.show)
app.command("layers")(layers_command.layers)
app.command("check")(check_command.check)
app.command("dissipation")(dissipation_command.dissipation)
app.command("seismic")(seismic_command.seismic)
app.command("report")(report_command.report)
app.command("sign")(sign_command.sign)
app.command("plan")(plan_command.plan)
app.command("neighbours")(neighbours_command.neighbours)
app.command("checklist")(checklist_command.checklist)
app.command("close")(close_command.close)
app.command("day")(day_command.day)
app.command("rehearse")(rehearse_command.rehearse)
app.command("push")(push_command.push)
app.command("serve")(serve_command.serve)
app.command("merge")(merge_command.merge)
app.command("import")(import_command.import_files)
app.command("observe")(observe_command.observe)
app.command("verify")(verify_command.verify)
app.command("recover")(recover_command.recover)
app.command("convert")(convert_command.convert)
app.command("inspect")(inspect_command.inspect)
app.command("formats")(formats_command.formats)
app.command("compare")(compare_command.compare)
app.command("explain")(explain_command.explain)
app.command("equations")(equations_command.equations)


def _version(value: bool) -> None:
    if value:
        from pushproof import __version__

        typer.echo(f"pushproof {__version__}")
        raise typer.Exit


@app.callback()
def root(
    version: Annotated[
        bool,
        typer.Option("--version", help="Print the version.", callback=_version, is_eager=True),
    ] = False,
) -> None:
    """From the push rig to the signed log of a cone penetration test."""


def main() -> None:
    """Run the command line and end with the right exit code."""
    try:
        app()
    except (PushproofError, ValueError, OSError) as error:
        sys.exit(fail(error))
    except KeyboardInterrupt:
        sys.exit(130)
    except Exception as error:
        if Settings.debug:
            raise
        text = f"unexpected {type(error).__name__}: {error}; run again with --debug"
        sys.exit(fail(RuntimeError(text)))
