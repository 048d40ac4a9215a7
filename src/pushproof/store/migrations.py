"""The named steps that bring a job file to the newest version, in order.

A step is a function of a connection; it never changes or removes a fact. Steps that are written
into a job are not edited any more: a change of the tables is a new step at the end of the list.
Each step done is itself a link of the chain. The number of steps also stands in SQLite's
``user_version``, so that a program can tell at once whether it can read the file.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from sqlalchemy import Connection

Migration: TypeAlias = tuple[str, Callable[[Connection], None]]

APPLICATION_ID = 0x50555348
"""The letters PUSH in the header of the database: this is a job file."""

_GROUND = {
    "migration": "name TEXT NOT NULL UNIQUE",
    "job": "identity TEXT NOT NULL, software TEXT NOT NULL",
    "project": "name TEXT, number TEXT, client TEXT, place TEXT, remark TEXT",
    "original": "name TEXT NOT NULL, format TEXT, columns TEXT, size INTEGER NOT NULL, "
    "sha256 TEXT NOT NULL, bytes BLOB NOT NULL",
    "sounding": "name TEXT NOT NULL UNIQUE, original INTEGER REFERENCES original(link), "
    "part INTEGER",
    "statement": "sounding INTEGER NOT NULL REFERENCES sounding(link), key TEXT NOT NULL, "
    "document TEXT NOT NULL",
    "location": "sounding INTEGER NOT NULL REFERENCES sounding(link), document TEXT NOT NULL",
    "equipment": "sounding INTEGER REFERENCES sounding(link), kind TEXT NOT NULL, "
    "document TEXT NOT NULL",
    "calibration": "equipment INTEGER NOT NULL REFERENCES equipment(link), document TEXT NOT NULL",
    "zero": "sounding INTEGER NOT NULL REFERENCES sounding(link), "
    "moment TEXT NOT NULL CHECK (moment IN ('before', 'after')), document TEXT NOT NULL",
    "block": "sounding INTEGER NOT NULL REFERENCES sounding(link), stream TEXT NOT NULL, "
    "kind TEXT NOT NULL CHECK (kind IN ('reading', 'undecoded')), first INTEGER NOT NULL, "
    "last INTEGER NOT NULL, rows INTEGER NOT NULL, encoding TEXT NOT NULL, "
    "content BLOB NOT NULL",
    "event": "sounding INTEGER REFERENCES sounding(link), kind TEXT NOT NULL, at REAL NOT NULL, "
    "monotonic REAL, depth REAL, seconds REAL, duration REAL, author TEXT, text TEXT NOT NULL, "
    "details TEXT",
    "decision": "sounding INTEGER REFERENCES sounding(link), kind TEXT NOT NULL, "
    "version INTEGER NOT NULL, parent INTEGER REFERENCES decision(link), author TEXT NOT NULL, "
    "reason TEXT NOT NULL, document TEXT NOT NULL",
}


def ground(connection: Connection) -> None:
    """Make the first tables, and the triggers that keep rows from being changed or removed."""
    run = connection.exec_driver_sql
    run(
        "CREATE TABLE head (id INTEGER PRIMARY KEY CHECK (id = 1), link INTEGER NOT NULL, "
        "hash BLOB NOT NULL)"
    )
    run("INSERT INTO head VALUES (1, 0, zeroblob(32))")
    for table, columns in _GROUND.items():
        run(
            f"CREATE TABLE {table} (link INTEGER PRIMARY KEY, time REAL NOT NULL, {columns}, "
            "previous BLOB NOT NULL, hash BLOB NOT NULL)"
        )
        for verb in ("UPDATE", "DELETE"):
            run(
                f"CREATE TRIGGER {table}_{verb.lower()} BEFORE {verb} ON {table} BEGIN "
                "SELECT RAISE(ABORT, 'facts are never edited: add a correction instead'); END"
            )
    run("CREATE INDEX block_stream ON block (sounding, stream, kind, last)")


MIGRATIONS: tuple[Migration, ...] = (("0001-ground", ground),)
"""Every step, oldest first."""
