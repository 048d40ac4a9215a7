"""The job file as a format, so that ``read`` takes it like any other file.

It lives here and not among the formats because a job is above them: it holds files of any format,
and streams that have to be merged. It is found through its entry point, as a format of a third
party would be. Nothing heavy is loaded before a job is read.
"""

from __future__ import annotations

from pathlib import Path

from pushproof.errors import FormatError, RecordError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.text import DATABASE, readable, refuse_large
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Sounding


def is_job(path: Path) -> bool:
    """Tell whether a file has the header of a database, as a job file has."""
    try:
        with path.open("rb") as file:
            return file.read(len(DATABASE)) == DATABASE
    except OSError:
        return False


class JobFormat:
    """Job files of Pushproof."""

    name = "job"
    title = "job file"
    suffixes: tuple[str, ...] = (".job",)

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is a job file."""
        if head.startswith(DATABASE):
            return 1.0
        return 0.3 if path.suffix.lower() in self.suffixes else 0.0

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return every sounding of a job: recorded ones merged, imported ones read again.

        One that is still to be pushed, as its checklist was begun, is left out.

        With ``options.salvage``, soundings that cannot be read are left out with a finding.

        Raises
        ------
        FormatError
            If the file is no job, is damaged, or a sounding in it cannot be read.
        """
        _check(path, options.max_bytes)
        from pushproof.recording.assemble import sounding, to_be_pushed
        from pushproof.store import Job

        found: list[Sounding] = []
        lost: list[Finding] = []
        try:
            with Job.open(path) as job:
                waiting = to_be_pushed(job)
                for name in job.soundings():
                    if name in waiting:
                        continue
                    try:
                        found.append(sounding(job, name))
                    except (RecordError, FormatError) as error:
                        if not options.salvage:
                            raise
                        text = f"sounding {name!r} of the job cannot be read: {_said(error, path)}"
                        lost.append(Finding("sounding-unreadable", Severity.STOP, text))
        except (RecordError, FormatError) as error:
            raise FormatError(_said(error, path), path=path) from error
        if not found:
            why = (
                "; ".join(one.found for one in lost)
                or "the job holds no sounding yet that was pushed"
            )
            raise FormatError(why, path=path)
        return [one.with_findings(*lost) for one in found]


def _said(error: Exception, path: Path) -> str:
    return str(error).removeprefix(f"{path}").lstrip(":, ")


def _check(path: Path, largest: int) -> None:
    """Look at the file before the store does: missing, a folder, too large, another thing.

    Raises
    ------
    FormatError
        With the reason.
    """
    with readable(path):
        refuse_large(path, largest)
        with path.open("rb") as file:
            head = file.read(len(DATABASE))
    if head != DATABASE:
        raise FormatError(
            "this is no job file; if it was one, look at it with 'pushproof recover'", path=path
        )
