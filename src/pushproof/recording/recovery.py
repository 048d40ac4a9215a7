"""Salvaging a damaged job: everything that can still be read goes into a new one.

The damaged file is only read. What proves itself is taken as it is; blocks that do not prove
themselves, but whose messages unpack with the right checksum, are taken with each message
marked ``unproven``. What is missing is named. The new job has a chain of its own; an event says
where its content came from.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from pushproof.errors import RecordDamagedError, RecordError
from pushproof.model.stream import StreamKind
from pushproof.store import Job, Mark
from pushproof.store.carve import Carved, carve
from pushproof.store.chain import Value
from pushproof.store.content import lines_of, pack_readings, unpack_readings
from pushproof.store.walk import Link


@dataclass
class RecoveryReport:
    """What was salvaged.

    Parameters
    ----------
    source, target
        The damaged job and the new one.
    links
        Links that proved themselves and are in the new job.
    unproven
        Blocks that did not, and are in the new job with their messages marked.
    missing
        Numbers of the links that are gone, as ranges (first, last).
    gaps
        For each sounding and stream, the numbers of the messages that are gone, as ranges.
    messages
        For each sounding and stream, how many messages are in the new job.
    notes
        Anything that could not be carried over as it was.
    """

    source: Path
    target: Path
    links: int = 0
    unproven: int = 0
    missing: list[tuple[int, int]] = field(default_factory=list)
    gaps: dict[str, list[tuple[int, int]]] = field(default_factory=dict)
    messages: dict[str, int] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    @property
    def whole(self) -> bool:
        """Whether nothing seems to be lost. A tail that was cut off leaves no trace here."""
        return not (self.missing or self.unproven or self.notes)

    def __str__(self) -> str:
        lost = sum(last - first + 1 for first, last in self.missing)
        return (
            f"{self.target}: {self.links} links salvaged, {self.unproven} blocks unproven, "
            f"{lost} links gone"
        )


def recover(path: Path | str, target: Path | str) -> RecoveryReport:
    """Salvage a job into a new file.

    Parameters
    ----------
    path
        The damaged job; its log (``-wal``) is read too if it is there. Neither is changed.
    target
        The new job, which must not exist.

    Raises
    ------
    RecordDamagedError
        If nothing in the file proves itself.
    RecordError
        If there is no such file, or the target exists.
    """
    path, target = Path(path), Path(target)
    if not path.is_file():
        raise RecordError(f"{path}: no such job file")
    carved = carve(path)
    if not carved.links:
        raise RecordDamagedError(
            f"{path}: nothing in it proves itself. Keep the file; perhaps a copy or the log "
            f"({path.name}-wal) is elsewhere."
        )
    report = RecoveryReport(path, target)
    with Job.create(target, purpose="recovery") as job, job.writing():
        _Transfer(job, carved, report).run()
        details = {
            key: value
            for key, value in asdict(report).items()
            if key not in ("source", "target", "gaps", "messages")
        }
        text = f"salvaged from {path.name}"
        job.add_event("recovered", text=text, details=details)
    return report


class _Transfer:
    """Writes salvaged links into a new job, with the links between them put right."""

    def __init__(self, job: Job, carved: Carved, report: RecoveryReport) -> None:
        self.job = job
        self.carved = carved
        self.report = report
        self.new: dict[int, int] = {}
        self.names: dict[int, str] = {}
        self.last: dict[tuple[str, str, str], int] = {}
        self.taken: set[int] = set()

    def run(self) -> None:
        """Carry everything over, in the order of the chain."""
        links = self.carved.links | self.carved.unproven
        for number in sorted(links):  # in the order of the chain: what is referred to comes first
            link = links[number]
            if link.table in ("migration", "job"):
                self.report.links += 1
            elif number in self.carved.links:
                self._proven(link)
            else:
                self._unproven(link)
        there = set(self.carved.links) | self.taken
        self.report.missing = _ranges(n for n in range(1, max(there) + 1) if n not in there)

    def _proven(self, link: Link) -> None:
        values = self._values(link)
        if values is None:
            return
        if link.table == "block" and not self._place(link, values):
            return
        self.new[link.number] = self.job.restore(link.table, values)
        self.report.links += 1
        if link.table == "sounding":
            self.names[link.number] = str(values["name"])

    def _values(self, link: Link) -> dict[str, Any] | None:
        """Return the columns of a link with references to others put right."""
        values: dict[str, Any] = {
            name: value
            for name, value in link.row.items()
            if name not in ("link", "previous", "hash")
        }
        where = f"{link.table} (link {link.number})"
        if values.get("sounding") is not None:
            values["sounding"] = self._sounding(values["sounding"])
        for name in ("parent", "original"):
            old = values.get(name)
            if isinstance(old, int):
                values[name] = self.new.get(old)
                if values[name] is None:
                    self.report.notes.append(f"{where}: its {name}, link {old}, is gone")
                    values.pop("part", None)
        if link.table == "calibration":
            values["equipment"] = self.new.get(values["equipment"])
            if values["equipment"] is None:
                text = f"{where}: its equipment is gone; kept as a note"
                self.report.notes.append(text)
                self.job.add_note(f"{text}: {values['document']}", author="recovery")
                return None
        return values

    def _sounding(self, old: int) -> int:
        """Return the new link of a sounding; one whose own row is gone gets a name of ours."""
        if old not in self.new:
            self.names[old] = f"salvaged {old}"
            self.new[old] = self.job.add_sounding(self.names[old])
            self.report.notes.append(
                f"the name of the sounding of link {old} is gone; it is now {self.names[old]!r}"
            )
        return self.new[old]

    def _place(self, link: Link, values: dict[str, Any]) -> bool:
        """Count a block in its stream; refuse one that overlaps what is there."""
        name = self.names[int(link.row["sounding"])]  # type: ignore[arg-type]
        key = (name, str(values["stream"]), str(values["kind"]))
        said = " ".join(key[:2]) if key[2] == "reading" else " ".join(key)
        before, first, last = self.last.get(key, 0), int(values["first"]), int(values["last"])
        if first <= before:
            self.report.notes.append(
                f"block (link {link.number}): {said} {first} to {last} is there already"
            )
            return False
        if first > before + 1:
            self.report.gaps.setdefault(said, []).append((before + 1, first - 1))
        self.last[key] = last
        self.report.messages[said] = self.report.messages.get(said, 0) + last - first + 1
        return True

    def _unproven(self, link: Link) -> None:
        row = link.row
        try:
            values = self._checked(row)
        except (ValueError, KeyError, TypeError) as error:
            self.report.notes.append(f"block (link {link.number}) cannot be read: {error}")
            return
        values["sounding"] = self._sounding(values["sounding"])
        if self._place(link, values):
            self.job.restore("block", values)
            self.report.unproven += 1
            self.taken.add(link.number)

    def _checked(self, row: dict[str, Value]) -> dict[str, Any]:
        """Return the columns of an unproven block, its messages marked, if they make sense."""
        sounding, first, content, time = (row[n] for n in ("sounding", "first", "content", "time"))
        stream = StreamKind(str(row["stream"]))
        if not (
            isinstance(sounding, int)
            and isinstance(first, int)
            and isinstance(content, bytes)
            and isinstance(time, float)
        ):
            raise ValueError("its columns make no sense")
        kind = str(row["kind"])
        if kind == "reading":
            rows = list(unpack_readings(content, stream))
            marks = [mark | Mark.UNPROVEN for _, mark in rows]
            content = pack_readings([reading for reading, _ in rows], marks)
            count = len(rows)
        else:
            kind = "undecoded"
            count = len(list(lines_of(content)))
        return {
            "time": time,
            "sounding": sounding,
            "stream": str(stream),
            "kind": kind,
            "first": first,
            "last": first + count - 1,
            "rows": count,
            "encoding": "jsonl+zlib",
            "content": content,
        }


def _ranges(numbers: Iterable[int]) -> list[tuple[int, int]]:
    ranges: list[tuple[int, int]] = []
    for number in numbers:
        if ranges and ranges[-1][1] == number - 1:
            ranges[-1] = (ranges[-1][0], number)
        else:
            ranges.append((number, number))
    return ranges
