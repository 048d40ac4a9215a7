"""The job file: one job, one file, written by one program at a time.

Facts are added, never changed; a correction is a newer fact. What a method has stored is on the
disk when it returns, unless it was called inside ``job.writing()``, which stores everything in
one transaction at its end.
"""

from __future__ import annotations

import hashlib
import json
import math
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, cast

from pydantic import BaseModel
from sqlalchemy import select

from pushproof.model.equipment import Calibration
from pushproof.model.sounding import Location, Zero
from pushproof.model.stream import Reading, StreamKind, Undecoded
from pushproof.store import schema
from pushproof.store.content import ENCODING, pack_readings, pack_undecoded
from pushproof.store.facts import EQUIPMENT, STATEMENTS, Plain, as_json
from pushproof.store.writer import JobWriter

ROWS_PER_BLOCK = 4096
"""Longer appends are split into blocks of this many rows."""


class Job(JobWriter):
    """A job file. Make one with :meth:`create`, open one with :meth:`open`."""

    def add_project(
        self,
        *,
        name: str | None = None,
        number: str | None = None,
        client: str | None = None,
        place: str | None = None,
        remark: str | None = None,
    ) -> int:
        """Say what the job belongs to; return the link."""
        values = {
            "name": name,
            "number": number,
            "client": client,
            "place": place,
            "remark": remark,
        }
        return self._insert(schema.project, values)

    def add_sounding(
        self, name: str, *, original: int | None = None, part: int | None = None
    ) -> int:
        """Add a sounding and return its link.

        Parameters
        ----------
        name
            Its name, new in the job.
        original, part
            For an imported one: link of the file and which of its soundings, from 0.
        """
        with self.writing():
            faults = []
            if not name.strip():
                faults.append("name: empty")
            if name in self._names():
                faults.append(f"name: there is a sounding {name!r} already")
            if (original is None) != (part is None):
                faults.append("original and part go together")
            if faults:
                raise ValueError("; ".join(faults))
            values = {"name": name, "original": original, "part": part}
            return self._insert(schema.sounding, values)

    def _names(self) -> set[str]:
        return set(self._writer.execute(select(schema.sounding.c.name)).scalars())

    def _link(self, name: str) -> int:
        if not self._depth or name in self._links:
            return super()._link(name)
        # Inside a transaction only the writer sees what was added in it.
        with self._mutex:
            query = select(schema.sounding.c.link).where(schema.sounding.c.name == name)
            found = self._writer.execute(query).scalar()
            if found is None:
                return super()._link(name)
            if found <= self._begun_at:
                self._links[name] = found  # stored before: it stays, whatever comes of this
            return int(found)

    def append(
        self,
        sounding: str,
        stream: StreamKind | str,
        messages: Sequence[Reading] | Sequence[Undecoded],
        *,
        marks: Sequence[int] | None = None,
    ) -> int:
        """Store messages of one stream; they are on the disk when it returns.

        Parameters
        ----------
        sounding
            Name of the sounding.
        stream
            The stream they belong to.
        messages
            Readings or undecoded bytes, not mixed, in the order in which they came.
        marks
            A :class:`Mark` for each reading.

        Returns
        -------
        int
            Number of the last message in its stream.
        """
        kind = StreamKind(stream)
        what = "undecoded" if messages and isinstance(messages[0], Undecoded) else "reading"
        wanted = Undecoded if what == "undecoded" else Reading
        faults = [
            f"message {index}: {type(message).__name__}"
            for index, message in enumerate(messages)
            if not isinstance(message, wanted) or message.stream != kind
        ]
        if faults:
            raise ValueError(f"expected {wanted.__name__} of stream {kind}: " + "; ".join(faults))
        with self.writing():
            link = self._link(sounding)
            key = (link, kind, what)
            if key not in self._numbers:
                self._numbers[key] = self._last(*key)
            for start in range(0, len(messages), ROWS_PER_BLOCK):
                some = messages[start : start + ROWS_PER_BLOCK]
                if what == "reading":
                    mine = (marks or [0] * len(messages))[start : start + ROWS_PER_BLOCK]
                    content = pack_readings(cast("Sequence[Reading]", some), mine)
                else:
                    content = pack_undecoded(cast("Sequence[Undecoded]", some))
                self._add_block(key, self._numbers[key] + 1, len(some), content)
            return self._numbers[key]

    def _add_block(
        self, key: tuple[int, StreamKind, str], first: int, rows: int, content: bytes
    ) -> int:
        link, stream, kind = key
        self._numbers[key] = first + rows - 1
        return self._insert(
            schema.block,
            {
                "sounding": link,
                "stream": str(stream),
                "kind": kind,
                "first": first,
                "last": first + rows - 1,
                "rows": rows,
                "encoding": ENCODING,
                "content": content,
            },
        )

    def add_event(
        self,
        kind: str,
        *,
        sounding: str | None = None,
        at: float | None = None,
        monotonic: float | None = None,
        depth: float | None = None,
        seconds: float | None = None,
        duration: float | None = None,
        author: str | None = None,
        text: str = "",
        details: Plain | None = None,
    ) -> int:
        """Store that something happened; return the link.

        Parameters
        ----------
        kind
            In kebab case: rod-change, pause, dissipation, zero, alarm, note, step, ...
        sounding
            Name of the sounding, None for the job.
        at, monotonic
            When, on the wall clock [s since 1970 UTC] and on the monotonic clock [s]; now if
            neither is given.
        depth, seconds, duration
            Depth [m], elapsed time of the push [s] and how long it took [s]; NaN counts as none.
        author, text
            Who says so, and in words.
        details
            Anything more, as plain values.
        """
        if at is None and monotonic is None:
            monotonic = time.monotonic()
        values = {
            "sounding": None if sounding is None else self._link(sounding),
            "kind": kind,
            "at": time.time() if at is None else at,
            "monotonic": monotonic,
            "depth": _present(depth),
            "seconds": _present(seconds),
            "duration": _present(duration),
            "author": author,
            "text": text,
            "details": as_json(details) if details else None,
        }
        return self._insert(schema.event, values)

    def add_note(
        self,
        text: str,
        *,
        author: str | None = None,
        sounding: str | None = None,
        depth: float | None = None,
    ) -> int:
        """Store a note, which is an event of kind ``note``; return the link."""
        return self.add_event("note", sounding=sounding, depth=depth, author=author, text=text)

    def add_zero(self, sounding: str, moment: str, zero: Zero) -> int:
        """Store a zero reading taken ``before`` or ``after`` the push; return the link."""
        if moment not in ("before", "after"):
            raise ValueError(f"moment {moment!r}: expected 'before' or 'after'")
        return self._insert(schema.zero, self._about(sounding, zero) | {"moment": moment})

    def add_location(self, sounding: str, location: Location) -> int:
        """Store where a sounding is; return the link."""
        return self._insert(schema.location, self._about(sounding, location))

    def _about(self, sounding: str, document: BaseModel) -> dict[str, Any]:
        return {"sounding": self._link(sounding), "document": as_json(document)}

    def add_statement(self, sounding: str, **stated: Any) -> None:
        """State facts about a sounding by field of the model's sounding.

        Known are client, operator, place, predrilled, project, quality_class, removed, standard,
        started, stop_reason and water.
        """
        unknown = sorted(set(stated) - set(STATEMENTS))
        if unknown:
            raise ValueError(
                f"cannot be stated: {', '.join(unknown)}; known: {', '.join(STATEMENTS)}"
            )
        checked = {
            key: json.dumps(
                STATEMENTS[key].dump_python(STATEMENTS[key].validate_python(value), mode="json"),
                ensure_ascii=False,
            )
            for key, value in stated.items()
        }
        with self.writing():
            link = self._link(sounding)
            for key, document in checked.items():
                values = {"sounding": link, "key": key, "document": document}
                self._insert(schema.statement, values)

    def add_equipment(
        self, kind: str, item: BaseModel | Plain, *, sounding: str | None = None
    ) -> int:
        """Store equipment of the job, or of one sounding only; return the link.

        Parameters
        ----------
        kind
            ``cone``, ``rods``, ``rig`` or ``encoder`` with the class of the model, or any other
            (anchors, microphone, interface) with plain values.
        item
            The equipment.
        sounding
            Name of the sounding, None for the whole job.
        """
        model = EQUIPMENT.get(kind)
        if model is not None and not isinstance(item, model):
            raise ValueError(f"equipment {kind!r} must be a {model.__name__}")
        values = {
            "sounding": None if sounding is None else self._link(sounding),
            "kind": kind,
            "document": as_json(item),
        }
        return self._insert(schema.equipment, values)

    def add_calibration(self, equipment: int, calibration: Calibration) -> int:
        """Store a calibration of equipment entered before, by its link; return the link."""
        values = {"equipment": equipment, "document": as_json(calibration)}
        return self._insert(schema.calibration, values)

    def add_original(
        self, name: str, content: bytes, *, format: str | None = None, columns: str | None = None
    ) -> int:
        """Keep an imported file byte for byte; return the link.

        ``format`` and ``columns`` say how it was read.
        """
        values = {
            "name": Path(name).name,
            "format": format,
            "columns": columns,
            "size": len(content),
            "sha256": hashlib.sha256(content).hexdigest(),
            "bytes": content,
        }
        return self._insert(schema.original, values)

    def add_decision(
        self,
        kind: str,
        document: BaseModel | Plain,
        *,
        author: str,
        reason: str,
        sounding: str | None = None,
    ) -> int:
        """Store a new version of a decision; return the link.

        The version before it of the same kind and sounding becomes its parent.
        """
        faults = [
            f"{name}: empty" for name, text in (("author", author), ("reason", reason)) if not text
        ]
        if faults:
            raise ValueError("a decision has an author and a reason: " + "; ".join(faults))
        with self.writing():
            table = schema.decision
            link = None if sounding is None else self._link(sounding)
            query = (
                select(table.c.link, table.c.version)
                .where(table.c.kind == kind, table.c.sounding.is_(link))
                .order_by(table.c.version.desc())
                .limit(1)
            )
            parent = self._writer.execute(query).one_or_none()
            values = {
                "sounding": link,
                "kind": kind,
                "version": 1 if parent is None else parent.version + 1,
                "parent": None if parent is None else parent.link,
                "author": author,
                "reason": reason,
                "document": as_json(document),
            }
            return self._insert(table, values)


def _present(value: float | None) -> float | None:
    return None if value is None or math.isnan(value) else value
