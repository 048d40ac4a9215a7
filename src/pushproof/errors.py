"""Every error that Pushproof raises on purpose.

::

    PushproofError                 anything below; catch this to catch all
    ├── ConfigurationError         a recipe, decoder description or option is wrong
    ├── FormatError                a file cannot be read or written
    │   └── UnknownFormatError     no reader recognises the file
    ├── SourceError                a serial port, socket or file that feeds readings failed
    └── RecordError                the job file
        ├── RecordBusyError        another program is writing it
        ├── RecordFullError        the disk takes no more
        ├── RecordVersionError     written by a newer version
        ├── DecisionConflictError  somebody else decided meanwhile
        └── RecordDamagedError     the hash chain or the database is broken

A wrong argument to a library function is a plain ``ValueError`` that lists every bad
argument. Each message says what happened, where, what was expected and what to do next.
"""

from __future__ import annotations

from pathlib import Path


class PushproofError(Exception):
    """Base of all errors that Pushproof raises on purpose."""


class ConfigurationError(PushproofError):
    """A recipe, decoder description, column mapping or option cannot be used."""


class FormatError(PushproofError):
    """A file cannot be read or written.

    Parameters
    ----------
    message
        What was found, what was expected and what to do next.
    path
        The file, if there is one.
    line
        Line number in the file, counted from 1.
    """

    def __init__(self, message: str, *, path: Path | str | None = None, line: int | None = None):
        self.message = message
        self.path = None if path is None else str(path)
        self.line = line
        where = ", ".join(
            part for part in (self.path or "", f"line {line}" if line is not None else "") if part
        )
        super().__init__(f"{where}: {message}" if where else message)


class UnknownFormatError(FormatError):
    """No reader recognises the file."""


class SourceError(PushproofError):
    """A source of readings (serial port, socket, file) failed or cannot be opened."""


class RecordError(PushproofError):
    """Something is wrong with a job file."""


class RecordBusyError(RecordError):
    """Another program holds the job file for writing."""


class RecordFullError(RecordError):
    """The disk takes no more; what was stored before stays."""


class RecordVersionError(RecordError):
    """The job file was written by a newer version of Pushproof."""


class RecordDamagedError(RecordError):
    """The job file does not prove its own content."""


class DecisionConflictError(RecordError):
    """A decision was based on a version that is not the newest any more.

    Parameters
    ----------
    message
        Who decided what meanwhile.
    based_on, newest
        The version it was based on, and the newest one.
    """

    def __init__(self, message: str, *, based_on: int, newest: int) -> None:
        super().__init__(message)
        self.based_on = based_on
        self.newest = newest
