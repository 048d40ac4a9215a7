"""The sources of a server, and the push that they feed: one at a time.

A push begins with the name of its sounding and ends with stop; the next one of the day needs no
other command. The job file is open for writing only while a push runs.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from pushproof.errors import RecordBusyError
from pushproof.formats.equipment import Equipment
from pushproof.recording.session import Session, equip_from
from pushproof.sources import Source
from pushproof.store import Job


class Station:
    """What this server can record.

    Parameters
    ----------
    path
        The job file; made when the first push begins.
    open_sources
        Opens the sources; called for each push, since a source is gone through once.
    given
        Equipment for every sounding.
    addresses
        Where readings come from, for people.
    plan
        Plan and ground as :func:`pushproof.planning.keep.kept` gives them, kept with each sounding:
        the guard looks ahead with it.
    """

    def __init__(
        self,
        path: Path,
        open_sources: Callable[[], Sequence[Source]],
        given: Equipment | None = None,
        addresses: Sequence[str] = (),
        plan: Mapping[str, Any] | None = None,
    ) -> None:
        self.path = path
        self.addresses = tuple(addresses)
        self._open_sources, self._given = open_sources, given or Equipment()
        self._plan = None if plan is None else dict(plan)
        self._stack: ExitStack | None = None
        self._lock = threading.Lock()
        self.session: Session | None = None

    def start(self, sounding: str) -> Session:
        """Begin to record a sounding; one that was begun before goes on.

        Raises
        ------
        RecordBusyError
            If this server records one already, or another program has the job.
        ValueError
            If the name is empty.
        """
        if not sounding.strip():
            raise ValueError("a sounding has a name")
        with self._lock:
            if self.session is not None:
                name = self.session.sounding
                raise RecordBusyError(f"{name} is being recorded; stop it before the next one")
            sources = self._open_sources()
            with ExitStack() as stack:
                there = self.path.exists()
                job = Job.open(self.path, write=True) if there else Job.create(self.path)
                stack.enter_context(job)
                equip_from(job, sounding, self._given)
                if self._plan is not None:
                    job.add_equipment("plan", self._plan, sounding=sounding)
                self.session = stack.enter_context(Session(job, sounding, sources))
                self._stack = stack.pop_all()
            return self.session

    def stop(self) -> None:
        """End the push: what came is stored, the record is closed. Safe to call twice.

        Raises
        ------
        PushproofError
            If something could not be stored, or a source ended with an error.
        """
        with self._lock:
            stack, self._stack, self.session = self._stack, None, None
            if stack is not None:
                stack.close()
