"""Where the text of commands goes, and how errors end."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console


class Settings:
    """Settings of the running command, set by the common options."""

    quiet = False
    debug = False


def console(*, stderr: bool = False) -> Console:
    """Return a console for people; with ``--quiet`` standard output stays silent."""
    from rich.console import Console

    return Console(stderr=stderr, quiet=Settings.quiet and not stderr, highlight=False)


def fail(error: Exception) -> int:
    """Print an error as one line on standard error and return the exit code."""
    from rich.markup import escape

    if Settings.debug:
        console(stderr=True).print_exception()
    text = " ".join(str(error).split()) or type(error).__name__
    console(stderr=True).print(f"[bold red]error:[/] {escape(text)}", soft_wrap=True)
    return 1
