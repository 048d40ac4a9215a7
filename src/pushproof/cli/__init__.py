"""The command line: thin commands, one library call each.

Errors are one line on standard error and exit code 1; a wrong call is exit code 2; the traceback
is shown with ``--debug``.
"""

from __future__ import annotations

from pushproof.cli.app import main

__all__ = ["main"]
