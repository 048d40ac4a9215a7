"""Which version a job file is, and bringing an older one up to date, with a backup first."""

from __future__ import annotations

import logging
import os
import sqlite3
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any, cast

from sqlalchemy import Connection, Table, select

from pushproof.errors import RecordDamagedError, RecordError, RecordVersionError
from pushproof.store import migrations, schema
from pushproof.store.engine import in_words

_log = logging.getLogger("pushproof.store")

Insert = Callable[[Table, Mapping[str, Any]], int]


def check_version(path: Path, connection: Connection, *, may_be_older: bool) -> int:
    """Return how many migrations a job still needs.

    Raises
    ------
    RecordVersionError
        If the file is newer than this program, or older and it may not be.
    RecordDamagedError
        If it is a job file, but says steps that no version ever had.
    RecordError
        If it is a database, but not a job file.
    """
    pragma = connection.exec_driver_sql
    if pragma("PRAGMA application_id").scalar() != migrations.APPLICATION_ID:
        raise RecordError(f"{path} is a database, but not a job file of Pushproof")
    done = int(pragma("PRAGMA user_version").scalar() or 0)
    known = [name for name, _ in migrations.MIGRATIONS]
    query = select(schema.migration.c.name).order_by(schema.migration.c.link)
    names = [str(name) for name in connection.execute(query).scalars()]
    if done > len(known) and names[: len(known)] == known and len(names) == done:
        raise RecordVersionError(
            f"{path}: written by a newer version of Pushproof (version {done} of the job file, "
            f"this program knows {len(known)}). Install the newer version to open it; nothing "
            "was changed."
        )
    if names != known[:done] or done != len(names) or not done:
        raise RecordDamagedError(
            f"{path}: the steps that made the tables are {', '.join(names) or 'none'}, expected "
            f"{', '.join(known[:done]) or 'at least one'}. Look at 'pushproof verify'."
        )
    if done < len(known) and not may_be_older:
        raise RecordVersionError(
            f"{path}: written by an older version of Pushproof (version {done} of the job file, "
            f"this program uses {len(known)}). Open it once for writing to bring it up to date; "
            "a copy of the file as it is now is kept beside it."
        )
    return len(known) - done


def run_migrations(connection: Connection, insert: Insert) -> None:
    """Run the steps that a job still needs, inside the caller's transaction."""
    pragma = connection.exec_driver_sql
    done = int(pragma("PRAGMA user_version").scalar() or 0)
    for name, step in migrations.MIGRATIONS[done:]:
        step(connection)
        insert(schema.migration, {"name": name})
        _log.info("job file brought up to %s", name)
    pragma(f"PRAGMA user_version = {len(migrations.MIGRATIONS)}")
    pragma(f"PRAGMA application_id = {migrations.APPLICATION_ID}")


def bring_up_to_date(
    path: Path,
    connection: Connection,
    writing: Callable[[], AbstractContextManager[None]],
    insert: Insert,
) -> Path:
    """Copy an older job, then run the steps it needs; return the path of the copy."""
    done = int(connection.exec_driver_sql("PRAGMA user_version").scalar() or 0)
    connection.rollback()
    step = migrations.MIGRATIONS[done][0]
    copy = path.with_name(f"{path.stem}.before-{step}{path.suffix}")
    number = 1
    while copy.exists():
        number += 1
        copy = path.with_name(f"{path.stem}.before-{step}-{number}{path.suffix}")
    with in_words(copy):
        _copy(connection, copy)
    _log.warning("%s: brought up to date; the file as it was is kept as %s", path, copy.name)
    with writing():
        run_migrations(connection, insert)
    return copy


def _copy(connection: Connection, copy: Path) -> None:
    source = cast(sqlite3.Connection, connection.connection.driver_connection)
    part = copy.with_name(copy.name + ".part")
    part.unlink(missing_ok=True)
    target = sqlite3.connect(part)
    try:
        source.backup(target)
        target.execute("PRAGMA journal_mode = WAL")
    finally:
        target.close()
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    part.rename(copy)
