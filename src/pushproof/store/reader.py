"""Reading a job: its single facts and decisions, and the model's sounding."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeAlias

from sqlalchemy import Row, func, select

from pushproof.errors import RecordError
from pushproof.model.equipment import Calibration, Cone, Encoder, Rig, Rods
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Location, Sounding, Zero
from pushproof.model.stream import StreamKind
from pushproof.store import schema
from pushproof.store.facts import (
    STATEMENTS,
    Project,
    StoredDecision,
    StoredEquipment,
    StoredEvent,
    StoredOriginal,
    StoredZero,
    Streams,
    equipment_item,
)
from pushproof.store.streams import StreamReader

ReadOriginal: TypeAlias = Callable[[StoredOriginal, bytes], Sequence[Sounding]]
"""Reads the soundings of an imported file from its bytes."""

Merge: TypeAlias = Callable[[Sounding], Sounding]
"""Takes a sounding that has all but its readings, and its streams; returns it complete."""


class JobReader(StreamReader):
    """The questions that a job answers. Use it through :class:`pushproof.store.Job`.

    A sounding is named by its name, a fact by the number of its link.
    """

    def project(self) -> Project:
        """Return what the job belongs to."""
        table = schema.project
        columns = (table.c.name, table.c.number, table.c.client, table.c.place, table.c.remark)
        rows = self._rows(select(*columns).order_by(table.c.link.desc()).limit(1))
        return Project(*rows[0]) if rows else Project()

    def streams(self, sounding: str) -> Streams:
        """Return everything that was recorded live of a sounding."""
        encoder = self.equipment(sounding).get("encoder")
        return Streams(
            self.readings(sounding, StreamKind.CONE),
            self.readings(sounding, StreamKind.DEPTH),
            self.readings(sounding, StreamKind.MEMORY),
            self.readings(sounding, StreamKind.POSITION),
            encoder if isinstance(encoder, Encoder) else None,
            tuple(self.events(sounding)),
        )

    # Single facts

    def events(
        self, sounding: str | None = None, *, kind: str | None = None, after: int = 0
    ) -> list[StoredEvent]:
        """Return events and notes: of one sounding, or of the job and all soundings.

        Parameters
        ----------
        sounding
            Name of the sounding, None for all.
        kind
            Only events of this kind.
        after
            Only events whose link is above this.
        """
        query = self._of(schema.event, sounding).where(schema.event.c.link > after)
        if kind is not None:
            query = query.where(schema.event.c.kind == kind)
        return [self._event(row) for row in self._rows(query)]

    def _event(self, row: Row[Any]) -> StoredEvent:
        details = self._understood(row, json.loads, row.details or "{}")
        return StoredEvent(
            row.link,
            row.time,
            row.of,
            row.kind,
            row.at,
            row.monotonic,
            row.depth,
            row.seconds,
            row.duration,
            row.author,
            row.text,
            details,
        )

    def all_equipment(self, sounding: str | None = None) -> list[StoredEquipment]:
        """Return every piece of equipment entered, of the job and of one or all soundings."""
        table = schema.calibration
        later: dict[int, list[Calibration]] = {}
        for row in self._rows(select(table).order_by(table.c.link)):
            made = self._understood(row, Calibration.model_validate_json, row.document)
            later.setdefault(row.equipment, []).append(made)
        found = []
        for row in self._rows(self._of(schema.equipment, sounding, job_too=True)):
            item = self._understood(row, equipment_item, row.kind, row.document)
            if isinstance(item, Cone):
                more = (*item.calibrations, *later.get(row.link, ()))
                item = item.model_copy(update={"calibrations": more})
            found.append(StoredEquipment(row.link, row.time, row.of, row.kind, item))
        return found

    def calibrations(self, equipment: int) -> list[Calibration]:
        """Return the calibrations that were added to a piece of equipment, by its link."""
        table = schema.calibration
        query = select(table).where(table.c.equipment == equipment).order_by(table.c.link)
        return [
            self._understood(row, Calibration.model_validate_json, row.document)
            for row in self._rows(query)
        ]

    def equipment(self, sounding: str | None = None) -> dict[str, Any]:
        """Return what is in use, by kind: the newest of the sounding, else of the job."""
        entries = self.all_equipment(sounding)
        of_job = {entry.kind: entry.item for entry in entries if entry.sounding is None}
        if sounding is None:
            return of_job
        return of_job | {entry.kind: entry.item for entry in entries if entry.sounding}

    def zeros(self, sounding: str | None = None) -> list[StoredZero]:
        """Return zero readings, of one or all soundings."""
        return [
            StoredZero(
                row.link,
                row.time,
                row.of,
                row.moment,
                self._understood(row, Zero.model_validate_json, row.document),
            )
            for row in self._rows(self._of(schema.zero, sounding))
        ]

    def location(self, sounding: str) -> Location | None:
        """Return where a sounding is, or None if that was not entered."""
        rows = self._rows(self._of(schema.location, sounding))
        if not rows:
            return None
        return self._understood(rows[-1], Location.model_validate_json, rows[-1].document)

    def statements(self, sounding: str) -> dict[str, Any]:
        """Return what was stated about a sounding, by field of the model's sounding."""
        return {
            row.key: self._understood(row, _statement, row.key, row.document)
            for row in self._rows(self._of(schema.statement, sounding))
        }

    # Originals and decisions

    def imported(self, sounding: str) -> bool:
        """Tell whether a sounding was read from a file that the job keeps."""
        table = schema.sounding
        query = select(table.c.original).where(table.c.link == self._link(sounding))
        return self._rows(query)[0].original is not None

    def holds_readings(self, sounding: str) -> bool:
        """Tell whether anything that a source gave is stored of a sounding."""
        table = schema.block
        query = select(table.c.link).where(table.c.sounding == self._link(sounding)).limit(1)
        return bool(self._rows(query))

    def originals(self) -> list[StoredOriginal]:
        """Return the imported files, without their bytes."""
        table = schema.original.c
        query = select(
            table.link,
            table.time,
            table.name,
            table.format,
            table.columns,
            table.size,
            table.sha256,
        ).order_by(table.link)
        return [StoredOriginal(*tuple(row)) for row in self._rows(query)]

    def original_bytes(self, link: int) -> bytes:
        """Return an imported file byte for byte."""
        table = schema.original
        rows = self._rows(select(table.c.bytes).where(table.c.link == link))
        if not rows:
            raise RecordError(f"{self.path}: link {link} is not an imported file")
        return bytes(rows[0].bytes)

    def decisions(
        self, kind: str | None = None, sounding: str | None = None
    ) -> list[StoredDecision]:
        """Return every version of the decisions, of the job and of one or all soundings."""
        query = self._of(schema.decision, sounding, job_too=True)
        if kind is not None:
            query = query.where(schema.decision.c.kind == kind)
        return [
            StoredDecision(
                row.link,
                row.time,
                row.of,
                row.kind,
                row.version,
                row.parent,
                row.author,
                row.reason,
                self._understood(row, json.loads, row.document),
            )
            for row in self._rows(query)
        ]

    def recipe(self, sounding: str | None = None) -> Recipe:
        """Return the newest recipe of a sounding, else of the job, else the defaults."""
        found = self.decisions("recipe", sounding)
        mine = [one for one in found if one.sounding == sounding]
        newest = (mine or [one for one in found if one.sounding is None])[-1:]
        if not newest:
            return Recipe()
        return self._understood(newest[0], Recipe.model_validate, newest[0].document)

    def newest_fact(self, sounding: str) -> int:
        """Return the newest link that may bear on what a sounding is, decisions left out.

        Two calls that give the same number mean that the sounding read in between is still true.
        """
        link = self._link(sounding)
        newest = [link]
        for table in schema.FACTS:
            if table.name in ("decision", "sounding", "migration", "job"):
                continue
            query = select(func.max(table.c.link))
            if "sounding" in table.c:
                mine = table.c.sounding == link
                alone = table.name in ("event", "block")
                query = query.where(mine if alone else mine | table.c.sounding.is_(None))
            newest.append(int(self._rows(query)[0][0] or 0))
        return max(newest)

    # The model's sounding

    def sounding(
        self, name: str, *, merge: Merge | None = None, read: ReadOriginal | None = None
    ) -> Sounding:
        """Return a sounding as the model knows it.

        Parameters
        ----------
        name
            Its name in the job.
        merge
            Puts the merged live streams into what else is known; needed for a sounding that was
            recorded.
        read
            Reads an imported file; None for the formats of Pushproof.

        Raises
        ------
        RecordError
            If there is no such sounding.
        """
        table = schema.sounding
        row = self._rows(select(table).where(table.c.link == self._link(name)))[0]
        if row.original is not None:
            return self._with_facts(replace(self._imported(row, read), name=name))
        if merge is None:
            raise ValueError(f"{name} was recorded live: give the function that merges its streams")
        known = self._with_facts(Sounding(name, Series()))
        return merge(known)

    def _imported(self, row: Row[Any], read: ReadOriginal | None) -> Sounding:
        everything = self.originals()
        at = next(i for i, one in enumerate(everything) if one.link == row.original)
        original = everything[at]
        content = self.original_bytes(original.link)
        if read is None:
            from pushproof.store.imports import COMPANION, read_original

            beside = []
            while at > 0 and everything[at - 1].format == COMPANION:
                at -= 1
                one = everything[at]
                beside.append((one.name, self.original_bytes(one.link)))
            soundings = read_original(original, content, beside)
        else:
            soundings = read(original, content)
        if row.part is None or row.part >= len(soundings):
            raise RecordError(
                f"{self.path}: {original.name} now gives {len(soundings)} soundings, expected "
                f"number {row.part} too; it was imported with another version"
            )
        found: Sounding = soundings[row.part]
        return found

    def _with_facts(self, base: Sounding) -> Sounding:
        """Return a sounding with what the job itself knows of it; the newer fact counts."""
        name = base.name
        project = self.project()
        stated: dict[str, Any] = {
            key: value
            for key, value in (
                ("project", project.name),
                ("client", project.client),
                ("place", project.place),
            )
            if value is not None and getattr(base, key) is None
        }
        stated |= self.statements(name)
        if (location := self.location(name)) is not None:
            stated["location"] = location
        used = self.equipment(name)
        for kind, model in (("cone", Cone), ("rods", Rods), ("rig", Rig), ("encoder", Encoder)):
            if isinstance(used.get(kind), model):
                stated[kind] = used[kind]
        zeros = self.zeros(name)
        before = tuple(zero.zero for zero in zeros if zero.moment == "before")
        after = tuple(zero.zero for zero in zeros if zero.moment == "after")
        events = tuple(stored.event() for stored in self.events(name))
        return replace(
            base,
            **stated,
            zeros_before=(*base.zeros_before, *before),
            zeros_after=(*base.zeros_after, *after),
            events=(*base.events, *events),
        )


def _statement(key: str, document: str) -> Any:
    return STATEMENTS[key].validate_json(document)
