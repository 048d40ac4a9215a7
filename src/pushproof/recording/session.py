"""A push from beginning to end: sources, recorder, guard and screens joined.

The recorder stores first; the live listener judges what is stored; every alarm, step and word of
the crew goes into the record. A screen asks for the state and calls the actions; if it dies, the
session goes on.
"""

from __future__ import annotations

import logging
import shutil
import threading
import time
from collections.abc import Sequence
from typing import Self

from pushproof.errors import RecordError, SourceError
from pushproof.formats.equipment import Equipment
from pushproof.model.equipment import Cone, Encoder, Rig, Rods
from pushproof.model.sounding import Water, WaterOrigin
from pushproof.planning.keep import forecast_of, taken_up
from pushproof.recording.assemble import depth_settings
from pushproof.recording.listeners import Subscription
from pushproof.recording.live import Live, LiveEvent, event_fields
from pushproof.recording.procedure import Step
from pushproof.recording.recorder import Recorder, RecorderAlarm
from pushproof.recording.retrace import Place, end_of, retrace
from pushproof.recording.signals import Setup
from pushproof.recording.snapshot import LiveState
from pushproof.sources.contract import Pump, Source
from pushproof.sources.rehearsal import Rehearsal, RehearsalSource
from pushproof.store import Job

_log = logging.getLogger("pushproof.recording")

TICK = 0.25
"""Time between two looks at the clock without a message [s]: staleness is seen at once."""
DISK = 10.0
"""Time between two looks at the free disk [s]."""


def setup_of(job: Job, sounding: str) -> Setup:
    """Return what the guard must know, from the equipment and statements of a job."""
    known = job.sounding(sounding, merge=lambda base: base)
    used = job.equipment(sounding)
    cone, rig, rods = used.get("cone"), used.get("rig"), used.get("rods")
    order = used.get("order")
    order = order if isinstance(order, dict) else {}
    plan = used.get("plan")
    return Setup(
        forecast=forecast_of(*taken_up(plan)) if isinstance(plan, dict) else None,
        reaction=order.get("reaction"),
        interval=order.get("interval"),
        lead=order.get("lead") or 0.0,
        depth=depth_settings(job, sounding, known.predrilled),
        cone=cone if isinstance(cone, Cone) else Cone(),
        rig=rig if isinstance(rig, Rig) else None,
        rods=rods if isinstance(rods, Rods) else None,
        water_level=known.water.level if known.water is not None else None,
    )


def water_of(job: Job, sounding: str) -> Water | None:
    """Return the water level that a job states for a sounding."""
    return job.sounding(sounding, merge=lambda base: base).water


class Session:
    """One push that is recorded, guarded and shown.

    Parameters
    ----------
    job
        The job, open for writing; its equipment and statements set the guard up.
    sounding
        Name; added to the job if it is new, continued if not.
    sources
        Where cone and depth readings come from.
    setup
        What the guard must know; from the job if None.
    water
        Water level, for the percent dissipated; from the job if None.
    waiting
        Messages that may wait for the guard before it is dropped; more for a replay at full speed.
    """

    def __init__(
        self,
        job: Job,
        sounding: str,
        sources: Sequence[Source],
        *,
        setup: Setup | None = None,
        water: Water | None = None,
        waiting: int = 20_000,
    ) -> None:
        self.job, self.sounding = job, sounding
        if sounding not in job.soundings():
            job.add_sounding(sounding)
        self.recorder = Recorder(job, sounding)
        self.live = Live(
            sounding,
            setup or setup_of(job, sounding),
            water=water or water_of(job, sounding),
            count_rods="strokes",
            on_event=self._keep,
        )
        self._waiting = waiting
        self.problems: list[RecorderAlarm] = []
        self._guard: Subscription | None = None
        self._pumps = [Pump(source, self.recorder) for source in sources]
        self._zeros_kept = {"before": 0, "after": 0}
        self._ended = threading.Event()
        self._ticker = threading.Thread(target=self._tick, name="ticker", daemon=True)

    # Beginning and ending

    def start(self) -> Self:
        """Begin to record; what was recorded of the sounding before is gone through first."""
        before = end_of(self.job, self.sounding)
        self.recorder.start()
        self.recorder.on_alarm(self.problems.append)
        self._guard = self.recorder.follow_all(self.live, name="live", depth=self._waiting)
        with self.live.silently():  # recording runs; the guard waits until it knows where it is
            for pump in self._pumps:
                pump.start()
            self._go_on_from(before)
        self._ticker.start()
        return self

    def _go_on_from(self, before: Place) -> None:
        retrace(self.live, self.job, self.sounding, until=before)
        procedure = self.live.procedure
        self._zeros_kept = {
            "before": len(procedure.zeros_before),
            "after": len(procedure.zeros_after),
        }

    def close(self) -> None:
        """Stop the sources, store what is waiting, keep zeros and findings, and end.

        Raises
        ------
        RecordError
            If something could not be stored; it says how much.
        SourceError
            If a source ended with an error; everything that came is stored before.
        """
        if self._ended.is_set():
            return
        self._ended.set()
        failed = []
        for pump in self._pumps:
            try:
                pump.stop()
            except SourceError as error:
                failed.append(str(error))
        self._ticker.join(5.0)
        self.recorder.close()
        self._keep_zeros()
        for finding in self.live.findings():
            details = {"severity": finding.severity.word, "expected": finding.expected}
            self.job.add_event(
                "finding", sounding=self.sounding, text=finding.found, details=details
            )
        if failed:
            raise SourceError("; ".join(failed))

    def __enter__(self) -> Self:
        """Begin."""
        return self.start()

    def __exit__(self, *exception: object) -> None:
        """End."""
        self.close()

    @property
    def running(self) -> bool:
        """Whether any source still runs."""
        return any(pump.running for pump in self._pumps)

    def wait(self) -> None:
        """Wait until every source has ended and all that came is stored and judged."""
        while self.running or self.recorder.state.waiting or self._judging:
            time.sleep(0.01)

    @property
    def _judging(self) -> bool:
        return self._guard is not None and bool(self._guard.waiting)

    # What a screen shows and what the crew does

    def state(self) -> LiveState:
        """Return the snapshot now."""
        return self.live.state()

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is wrong with recording and guard themselves now, in words."""
        newest = {problem.kind: problem for problem in tuple(self.problems)}
        found = [problem.text for problem in newest.values() if problem.raised]
        if self._guard is not None and self._guard.faults:
            found.append(
                f"not guarded: {self._guard.faults} messages could not be judged; "
                f"{self._guard.last_fault.removeprefix('ValueError: ')}"
            )
        return tuple(found)

    def zeros(self) -> str:
        """Take zero readings: before the push, or after it if it was pushed."""
        done = self.live.procedure.step in (Step.PUSH, Step.DISSIPATION)
        step = Step.ZEROS_AFTER if done else Step.ZEROS_BEFORE
        self.live.go(step)
        return step.value

    def push(self) -> None:
        """Say that the push begins or goes on."""
        self.live.go(Step.PUSH)

    def dissipation(self) -> None:
        """Start a dissipation test, or end the running one."""
        if self.live.procedure.test is not None:
            self.live.end_dissipation()
        else:
            self.live.go(Step.DISSIPATION)

    def rod_added(self, number: int = 1) -> None:
        """Count a rod in, or out with -1."""
        self.live.rod_added(number)

    def note(self, text: str) -> None:
        """Keep a note of the crew."""
        if text.strip():
            self.live.note(text.strip())

    def pause(self, reason: str) -> None:
        """Keep why the crew pauses."""
        self.live.pause(reason.strip() or "not said why")

    def acknowledge(self, rule: str | None = None) -> None:
        """Acknowledge the alarm of a rule, or all."""
        self.live.acknowledge(rule)

    def shelve(self, rule: str, seconds: float) -> None:
        """Put the alarm of a rule aside for a while [s]."""
        self.live.shelve(rule, seconds)

    # Behind

    def _keep(self, event: LiveEvent) -> None:
        try:
            fields = event_fields(event)
            length = fields["details"].get("length")
            self.job.add_event(sounding=self.sounding, depth=length, **fields)
            self._keep_zeros()
        except RecordError:
            # the recorder itself raises the alarm; the guard must not die of a full disk
            _log.exception("an event could not be stored")

    def _keep_zeros(self) -> None:
        procedure = self.live.procedure
        for moment, found in (
            ("before", procedure.zeros_before),
            ("after", procedure.zeros_after),
        ):
            if len(found) > self._zeros_kept[moment]:
                for zero in found[self._zeros_kept[moment] :]:
                    self.job.add_zero(self.sounding, moment, zero)
                self._zeros_kept[moment] = len(found)

    def _tick(self) -> None:
        looked = 0.0
        while not self._ended.wait(TICK):
            self.live.tick()
            if time.monotonic() - looked > DISK:
                looked = time.monotonic()
                self.live.free_disk(shutil.disk_usage(self.job.path.parent).free)


def equip(
    job: Job,
    sounding: str,
    *,
    cone: Cone | None = None,
    rods: Rods | None = None,
    rig: Rig | None = None,
    encoder: Encoder | None = None,
    order: dict[str, float] | None = None,
) -> None:
    """Store the equipment of a sounding that is given, each with its kind.

    ``order`` holds what was ordered and measured on the day: ``interval`` and ``lead`` [m],
    ``reaction`` [kN].
    """
    items = {"cone": cone, "rods": rods, "rig": rig, "encoder": encoder}
    for kind, item in items.items():
        if item is not None:
            job.add_equipment(kind, item, sounding=sounding)
    if order:
        job.add_equipment("order", order, sounding=sounding)


def rehearsed(rig: Rehearsal) -> Equipment:
    """Return the equipment of the rehearsal rig, and what is known of its place."""
    plan = rig.pushed.plan
    return Equipment(
        cone=rig.cone,
        rods=rig.rods,
        rig=rig.rig,
        encoder=rig.encoder,
        predrilled=plan.start,
        water_level=plan.water.level if plan.water else None,
    )


def brought_by(sources: Sequence[Source]) -> Equipment:
    """Return the equipment that sources bring themselves: that of a rehearsal, else nothing."""
    rigs = [source.rehearsal for source in sources if isinstance(source, RehearsalSource)]
    return rehearsed(rigs[0]) if rigs else Equipment()


def equip_from(job: Job, sounding: str, given: Equipment) -> None:
    """Store what an equipment file gives, and what it says of the place; add a new sounding."""
    if sounding not in job.soundings():
        job.add_sounding(sounding)
    known = {"interval": given.interval, "lead": given.lead, "reaction": given.reaction}
    equip(
        job,
        sounding,
        cone=given.cone,
        rods=given.rods,
        rig=given.rig,
        encoder=given.encoder,
        order={key: value for key, value in known.items() if value is not None},
    )
    if given.predrilled is not None:
        job.add_statement(sounding, predrilled=given.predrilled)
    if given.water_level is not None:
        water = Water(level=given.water_level, origin=WaterOrigin.MEASURED)
        job.add_statement(sounding, water=water)
