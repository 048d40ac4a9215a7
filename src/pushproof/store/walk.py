"""Walking the chain of a job link by link, whatever version it is.

Works on the tables as they are in the file, not as this version knows them.
"""

from __future__ import annotations

import heapq
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from operator import attrgetter
from typing import Any

from pushproof.store.chain import Value, link_hash


@dataclass(frozen=True, slots=True)
class Link:
    """One link as found: its table and its columns by name."""

    number: int
    table: str
    row: dict[str, Value]

    @property
    def hash(self) -> Value:
        """The hash that it carries."""
        return self.row["hash"]

    @property
    def proves_itself(self) -> bool:
        """Whether its content gives the hash that it carries."""
        try:
            return link_hash(self.table, self.row) == self.row["hash"]
        except (ValueError, TypeError):
            return False


def fact_tables(database: sqlite3.Connection) -> dict[str, list[str]]:
    """Return the tables whose rows are links, with their columns in order."""
    names = [
        str(row[0])
        for row in database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' "
            "ORDER BY name"
        )
    ]
    tables: dict[str, list[str]] = {}
    for name in names:
        columns = [str(row[1]) for row in database.execute(f'PRAGMA table_info("{name}")')]
        if {"link", "previous", "hash"} <= set(columns):
            tables[name] = columns
    return tables


def walk(database: sqlite3.Connection, *, first: int = 1) -> Iterator[Link]:
    """Iterate over the links from number ``first`` on, in the order of their numbers."""
    yield from heapq.merge(
        *(
            _links(database, table, columns, first)
            for table, columns in fact_tables(database).items()
        ),
        key=attrgetter("number"),
    )


def _links(
    database: sqlite3.Connection, table: str, columns: list[str], first: int
) -> Iterator[Link]:
    query = f'SELECT * FROM "{table}" WHERE link >= ? ORDER BY link'
    rows: Iterator[tuple[Any, ...]] = database.execute(query, (first,))
    position = columns.index("link")
    for values in rows:
        yield Link(values[position], table, dict(zip(columns, values, strict=True)))
