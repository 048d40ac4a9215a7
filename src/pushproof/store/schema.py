"""The tables of a job file, as SQLAlchemy Core sees them in the newest version.

The tables are made by :mod:`pushproof.store.migrations`; a test compares both, and
``docs/reference/job-file.md`` is written from this module. Every table but ``head`` holds facts
and decisions: rows are added, never changed, and each row is one link of the chain
(:mod:`pushproof.store.chain`).
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Column, Float, ForeignKey, Integer, LargeBinary, MetaData, Table, Text

metadata = MetaData()


def _column(name: str, kind: Any, comment: str, *rest: Any, null: bool = False) -> Column[Any]:
    return Column(name, kind, *rest, nullable=null, comment=comment)


def _facts(name: str, comment: str, *columns: Column[Any]) -> Table:
    return Table(
        name,
        metadata,
        Column("link", Integer, primary_key=True, comment="number in the chain, from 1"),
        _column("time", Float, "when it was stored, seconds since 1970 UTC"),
        *columns,
        _column("previous", LargeBinary, "hash of the link before it, 32 bytes"),
        _column("hash", LargeBinary, "SHA-256 of this link, 32 bytes"),
        comment=comment,
    )


def _sounding(null: bool = False) -> Column[Any]:
    what = "the sounding" + (", null for the whole job" if null else "")
    return _column("sounding", Integer, what, ForeignKey("sounding.link"), null=null)


def _document(what: str) -> Column[Any]:
    return _column("document", Text, f"{what}, as JSON")


head = Table(
    "head",
    metadata,
    Column("id", Integer, primary_key=True, comment="always 1"),
    _column("link", Integer, "number of the newest link"),
    _column("hash", LargeBinary, "its hash, 32 bytes"),
    comment="The end of the chain, moved on in the same transaction as each new link.",
)

migration = _facts(
    "migration",
    "The steps that made the tables, in order.",
    _column("name", Text, "name of the step"),
)

job = _facts(
    "job",
    "The job itself: one row.",
    _column("identity", Text, "random UUID"),
    _column("software", Text, "version of Pushproof that made it"),
)

project = _facts(
    "project",
    "What the job belongs to. The newest row counts.",
    _column("name", Text, "name of the project", null=True),
    _column("number", Text, "number of the project", null=True),
    _column("client", Text, "who ordered it", null=True),
    _column("place", Text, "where it is", null=True),
    _column("remark", Text, "anything else", null=True),
)

original = _facts(
    "original",
    "Imported files, byte for byte.",
    _column("name", Text, "file name without folders"),
    _column("format", Text, "short name of the format it was read as", null=True),
    _column("columns", Text, "column mapping it was read with", null=True),
    _column("size", Integer, "[bytes]"),
    _column("sha256", Text, "SHA-256 of the bytes, hexadecimal"),
    _column("bytes", LargeBinary, "the file"),
)

sounding = _facts(
    "sounding",
    "The soundings of the job.",
    _column("name", Text, "unique in the job"),
    _column("original", Integer, "the file it came from", ForeignKey("original.link"), null=True),
    _column("part", Integer, "which sounding of that file, from 0", null=True),
)

statement = _facts(
    "statement",
    "Single facts about a sounding. The newest of a key counts.",
    _sounding(),
    _column("key", Text, "field of the model's sounding, such as operator or predrilled"),
    _document("the value"),
)

location = _facts(
    "location",
    "Where a sounding is. The newest counts.",
    _sounding(),
    _document("a Location"),
)

equipment = _facts(
    "equipment",
    "What was used. The newest of a kind counts, one of the sounding before one of the job.",
    _sounding(null=True),
    _column("kind", Text, "cone, rods, rig, encoder, anchors, microphone, interface, ..."),
    _document("a Cone, Rods, Rig or Encoder, or an object of plain values"),
)

calibration = _facts(
    "calibration",
    "Calibrations that became known after the equipment was entered.",
    _column("equipment", Integer, "what was calibrated", ForeignKey("equipment.link")),
    _document("a Calibration"),
)

zero = _facts(
    "zero",
    "Zero readings.",
    _sounding(),
    _column("moment", Text, "before or after the push"),
    _document("a Zero"),
)

block = _facts(
    "block",
    "Messages of one stream that were stored together.",
    _sounding(),
    _column("stream", Text, "cone, depth, memory or position"),
    _column("kind", Text, "reading or undecoded"),
    _column("first", Integer, "number of its first message in stream and kind, from 1"),
    _column("last", Integer, "number of its last message"),
    _column("rows", Integer, "how many messages"),
    _column("encoding", Text, "how the content is written: jsonl+zlib"),
    _column("content", LargeBinary, "the messages"),
)

event = _facts(
    "event",
    "What happened, notes included.",
    _sounding(null=True),
    _column("kind", Text, "rod-change, pause, dissipation, zero, alarm, note, step, ..."),
    _column("at", Float, "when it happened, seconds since 1970 UTC"),
    _column("monotonic", Float, "the same on the monotonic clock of the program [s]", null=True),
    _column("depth", Float, "[m]", null=True),
    _column("seconds", Float, "elapsed time of the push [s]", null=True),
    _column("duration", Float, "[s]", null=True),
    _column("author", Text, "who says so", null=True),
    _column("text", Text, "in words"),
    _column("details", Text, "an object of plain values, as JSON", null=True),
)

decision = _facts(
    "decision",
    "Decisions: recipes, sign-offs. Each version is a row of its own.",
    _sounding(null=True),
    _column("kind", Text, "recipe, sign-off, ..."),
    _column("version", Integer, "from 1, for each sounding and kind"),
    _column("parent", Integer, "the version before it", ForeignKey("decision.link"), null=True),
    _column("author", Text, "who decided"),
    _column("reason", Text, "why"),
    _document("the decision"),
)

FACTS: tuple[Table, ...] = tuple(table for table in metadata.tables.values() if table is not head)
"""Every table whose rows are links of the chain."""
