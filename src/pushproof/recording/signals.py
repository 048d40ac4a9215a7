"""From messages to the signals that the guard watches and the screens show.

Values are in inside units, shares in percent. A signal that is not in ``values`` is unknown; one
that is NaN does not apply now (no rate in a pause). Judging is left to the guard.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field, replace
from statistics import median

from pushproof.model.equipment import Cone, Rig, Rods
from pushproof.model.stream import Advance, Message, Reading, SourceState, StreamKind, Undecoded
from pushproof.planning.forecast import Ahead, Forecast
from pushproof.processing.streams.depth import DepthPoint, DepthSettings, DepthTracker
from pushproof.processing.streams.sequence import Place
from pushproof.processing.streams.windows import SlidingRange
from pushproof.recording.lastmetre import LastMetre
from pushproof.recording.streamsignals import StreamSignals

GRAVITY = 9.81
STICK_UP_VARIES = 0.2
"""Rods are not added at quite the same height: this much tells nothing [m]. Our own choice."""
PORE_CHANNELS = ("u1", "u2", "u3")
LOOK_AHEAD = 0.25
"""Push between two looks ahead [m]; one takes about as long as ten messages."""


@dataclass(frozen=True)
class Setup:
    """What the guard must know of the job.

    Parameters
    ----------
    depth
        How counts become length.
    cone
        Capacities come from its calibrations; a channel without one is not guarded.
    rig, rods
        Reaction comes from the rig, the tally from the rods.
    reaction
        Usable reaction [kN] if it is known better than by the mass of the rig.
    interval
        Largest spacing of readings for the class ordered [m].
    water_level
        Depth of the water table [m]; None if it is not known.
    lead
        Length of cone and adapter below the first rod [m].
    modulus
        Value at which the message counter of the cone starts again, if it does.
    forecast
        What follows the push and tells what lies ahead; None without a plan. Begin with a new one.
    fresh, stale
        Age [s] up to which a stream is fresh, and beyond which it is stale. Below 2 s by as much as
        a screen takes, so that whoever looks at it knows within two.
    """

    depth: DepthSettings = field(default_factory=DepthSettings)
    cone: Cone = field(default_factory=Cone)
    rig: Rig | None = None
    rods: Rods | None = None
    reaction: float | None = None
    interval: float | None = None
    water_level: float | None = None
    lead: float = 0.0
    modulus: int | None = None
    forecast: Forecast | None = None
    fresh: float = 1.75
    stale: float = 5.0

    def capacity(self, channel: str) -> float | None:
        """Return the capacity of a channel [inside unit], or None."""
        calibration = self.cone.calibration(channel)
        return None if calibration is None else calibration.capacity

    def push_limit(self) -> float | None:
        """Return the force that rig and reaction can give [kN], or None if nobody said."""
        forces = [self.reaction]
        if self.rig is not None:
            forces.append(self.rig.thrust)
            if self.reaction is None and self.rig.mass is not None:
                forces.append(self.rig.mass * GRAVITY / 1000)
        return min((f for f in forces if f is not None), default=None)


class Signals:
    """Follow the messages of a push.

    Parameters
    ----------
    setup
        What must be known of the job.

    Attributes
    ----------
    values
        Signal to value, for the guard.
    cone
        Last value of every channel of the cone.
    point
        What the last depth reading said, or None.
    step, step_since
        Step of the field procedure, by its trade word, and since when [s].
    fresh
        Whether the last cone reading was neither a repeat nor late.
    missed
        Packets lost directly before the last cone reading, while the rods went down.
    """

    def __init__(self, setup: Setup | None = None) -> None:
        self.setup = setup or Setup()
        self.values: dict[str, float] = {}
        self.cone: dict[str, float] = {}
        self.tracker = DepthTracker(self.setup.depth)
        self.point: DepthPoint | None = None
        self.number = 0
        self.rods = 0
        self.step = "push"
        self.step_since = -math.inf
        self.fresh = False
        self.streams = {kind: StreamSignals() for kind in StreamKind}
        self.streams[StreamKind.CONE].order.modulus = self.setup.modulus
        self.depth = self.setup.depth.start  # corrected for tilt
        self._push_limit = self.setup.push_limit()
        self._capacities = {key: self.setup.capacity(key) for key in ("qc", "fs", *PORE_CHANNELS)}
        self._metre = LastMetre()
        self._tilts = SlidingRange(1.0), SlidingRange(1.0)
        self._pore = SlidingRange(1.0)
        self._levels: deque[float] = deque(maxlen=5)
        self._margins: deque[float] = deque(maxlen=5)
        self._qc_rises: deque[bool] = deque(maxlen=10)
        self._cosine = 1.0
        self._wet = False
        self._clock: tuple[float, float] | None = None
        self._step = (-math.inf, 0.0)  # when the surface clock stepped, and by how much
        self._jump = (-math.inf, 0.0)
        self._released = -math.inf  # when the push force was last low
        self._push_thrust = 0.0
        self._stick_ups: list[float] = []
        self._beyond = [0.0, 0.0]  # stick-up that cannot be, and that drifted [m]
        self._restarts: deque[float] = deque()
        self.missed = 0
        self.ahead: Ahead | None = None  # the last look ahead
        self._looked = -math.inf
        self._moved = -math.inf  # when the encoder last moved

    # -- messages ------------------------------------------------------------------------------

    def message(self, message: Message) -> None:
        """Take one message."""
        self.number += 1
        self._watch_clock(message.monotonic, message.arrival)
        stream = self.streams[message.stream]
        if isinstance(message, Reading):
            self._noise(stream, False)
            stream.connected = True if stream.connected is None else stream.connected
            stream.last = message
            if message.stream is StreamKind.DEPTH:
                self._depth_reading(message)
            elif message.stream is StreamKind.CONE:
                self._cone_reading(message, stream)
        elif isinstance(message, Undecoded):
            stream.undecoded += 1
            self._noise(stream, True)
        elif isinstance(message, SourceState):
            stream.connected, stream.text = message.connected, message.text
            both = (self.streams[StreamKind.CONE], self.streams[StreamKind.DEPTH])
            self.values["sources_away"] = float(sum(s.connected is False for s in both))
        self.tick(message.monotonic, message.arrival)

    def tick(self, monotonic: float, wall: float | None = None) -> None:
        """Let time pass without a message."""
        open_string = self.step == "push" and self.point is not None and not self.pushing
        for key, kind in (("silence", StreamKind.CONE), ("depth_silence", StreamKind.DEPTH)):
            age = self.streams[kind].age(monotonic, wall)
            if age is None:
                continue
            # A step that begins in silence (the rods were drawn) is given time to hear something.
            age = min(age, max(monotonic - self.step_since, 0.0))
            if key == "silence" and open_string:
                # Packets go missing while a rod is added: no alarm before the push goes on.
                age = math.nan
            elif key == "silence" and self.pushing and self.point is not None:
                age = min(age, self.point.since + monotonic - self.point.monotonic)
            self.values[key] = age
        while self._restarts and monotonic - self._restarts[0] > 60:
            self._restarts.popleft()
        self.values["cone_restarts"] = float(len(self._restarts))
        self.values["clock_step"] = self._step[1] if monotonic - self._step[0] < 30 else 0.0
        self.values["encoder_jump"] = self._jump[1] if monotonic - self._jump[0] < 10 else 0.0

    @property
    def pushing(self) -> bool:
        """Tell whether the rods go down."""
        return self.point is not None and self.point.state is Advance.PUSHING

    @property
    def length(self) -> float | None:
        """Penetration length now [m]."""
        return None if self.point is None else self.point.length

    def reference(self, length: float) -> None:
        """Set the penetration length now [m]; what was known of the last metre is forgotten."""
        self.tracker.reference(length)
        self.depth = length
        if self.point is not None:
            self.point = replace(self.point, length=length, deepest=length)
        self._metre = LastMetre()
        self._stick_ups.clear()
        for window in (*self._tilts, self._pore):
            window.clear()

    def observe(self, key: str, value: float) -> None:
        """Set a signal that no stream carries: ``free_disk`` [MB], ``tally`` [%]."""
        self.values[key] = value

    # -- surface clock -------------------------------------------------------------------------

    def _watch_clock(self, monotonic: float, arrival: float) -> None:
        if self._clock is not None:
            elapsed = monotonic - self._clock[0]
            step = arrival - self._clock[1] - elapsed
            if elapsed >= 0 and abs(step) > 1.0:
                self._step = (monotonic, abs(step))
        self._clock = (monotonic, arrival)

    def _noise(self, stream: StreamSignals, noise: bool) -> None:
        """Keep the share of undecodable messages among the last fifty of the noisier stream."""
        stream.noisy += noise - stream.noise[0]
        stream.noise.append(noise)
        self.values["undecoded"] = 2.0 * max(one.noisy for one in self.streams.values())

    # -- depth ---------------------------------------------------------------------------------

    def _depth_reading(self, reading: Reading) -> None:
        seen = len(self.tracker.events)
        before = self.point
        point = self.tracker.push(reading)
        stream = self.streams[StreamKind.DEPTH]
        stream.order = self.tracker.sequence
        for event in self.tracker.events[seen:]:
            if event.kind == "encoder-jump":
                self._jump = (reading.monotonic, abs(event.size or 0.0))
        if point is None:
            return
        self.point = point
        if before is None or abs(point.length - before.length) >= 0.0005:
            self._moved = reading.monotonic
            self._qc_rises.clear()
        if before is not None:
            self.depth += (point.length - before.length) * self._cosine
        pushing = point.state is Advance.PUSHING
        self.values["rate"] = point.rate if pushing else math.nan
        self.values["lifted"] = max(point.deepest - point.length, 0.0)
        thrust = reading.values.get("thrust")
        if thrust is not None and self._push_limit:
            self.values["thrust_share"] = 100 * thrust / self._push_limit
        if pushing:
            self.values["gap"] = self._metre.gap(point.length)
        else:
            self._metre.pause()
        self._stalled(reading.monotonic, thrust, reading.values.get("clamp"), point)

    def _stalled(
        self, monotonic: float, thrust: float | None, clamp: float | None, point: DepthPoint
    ) -> None:
        """Say how long the encoder stands while the tip still meets new ground.

        In a pause the push force falls and the tip resistance relaxes; neither stays nor goes on
        rising and falling.
        """
        moved = self._moved == monotonic
        pressed = False
        if thrust is not None:
            if moved and point.state is Advance.PUSHING:
                self._push_thrust += 0.3 * (thrust - self._push_thrust)
            pressed = thrust > max(0.85 * self._push_thrust, 1.0)
            if not pressed:
                self._released = monotonic
        standing = monotonic - max(self._moved, self._released)
        changing = sum(self._qc_rises) >= 2 and (thrust is None or thrust > 1.0)
        free = point.state is Advance.ROD_CHANGE if clamp is None else clamp < 0.5
        if free:
            self._qc_rises.clear()
        if free or not (pressed or changing):
            standing = 0.0
        elif not pressed:
            standing = monotonic - self._moved
        self.values["stalled"] = standing

    def count_rod(self, number: int = 1) -> None:
        """Count a rod in, or out with -1, and see whether the stick-up is as it was before.

        Rods are added at about the same height; a stick-up that drifts away shows slip, or a rod
        missed or counted twice.
        """
        stick_up = self._stick_up()
        self.rods = max(self.rods + number, 0)
        if stick_up is None or number < 1:
            return
        self._stick_ups.append(stick_up)
        if len(self._stick_ups) > 2:
            drift = abs(stick_up - median(self._stick_ups[:3]))
            self._tally(1, max(drift - STICK_UP_VARIES, 0.0))

    def tally(self) -> None:
        """Compare the rods counted with the length: the stick-up they imply must be possible."""
        stick_up, rods = self._stick_up(), self.setup.rods
        if stick_up is None or rods is None:
            return
        self._tally(0, max(-stick_up, stick_up - rods.length - 1.0, 0.0))

    def _tally(self, which: int, beyond: float) -> None:
        self._beyond[which] = beyond
        self.values["tally"] = 100 * max(self._beyond) / max(0.1, 0.01 * abs(self.length or 0.0))

    def _stick_up(self) -> float | None:
        """Return the stick-up that rods and encoder imply [m]."""
        rods, length = self.setup.rods, self.length
        if rods is None or length is None or self.rods == 0:
            return None
        return self.setup.lead + self.rods * rods.length - length

    # -- cone ----------------------------------------------------------------------------------

    def _cone_reading(self, reading: Reading, stream: StreamSignals) -> None:
        place = stream.order.see(reading.sequence)
        self.fresh = place in (Place.NEW, Place.RESTART)
        if place is Place.RESTART:
            self._restarts.append(reading.monotonic)
        if place in (Place.DUPLICATE, Place.LATE):
            if place is Place.LATE:
                self._metre.found()
                self._last_metre()
            return
        before = self.cone.get("qc")
        self.cone.update((k, v) for k, v in reading.values.items() if not math.isnan(v))
        self._loads(before)
        self._look_ahead()
        self._tilt()
        self._link(reading, stream)
        self._pore_pressure()
        if "battery" in self.cone:
            self.values["battery"] = self.cone["battery"]

    def _loads(self, before: float | None) -> None:
        qc = self.cone.get("qc")
        if qc is not None and before is not None and not self.pushing_now():
            self._qc_rises.append(qc > before + max(0.02 * abs(before), 30.0))
        shares = []
        for key, capacity in self._capacities.items():
            value = self.cone.get(key)
            if not capacity or value is None:
                continue
            share = 100 * abs(value) / capacity
            if key in PORE_CHANNELS:
                shares.append(share)
            else:
                self.values[f"{key}_share"] = share
        if shares:
            self.values["u_share"] = max(shares)

    def _look_ahead(self) -> None:
        """Follow the forecast, and look ahead now and then."""
        forecast, qc = self.setup.forecast, self.cone.get("qc")
        if forecast is None or qc is None or not self.pushing or self.step != "push":
            return
        last = self.streams[StreamKind.DEPTH].last
        thrust = None if last is None else last.values.get("thrust")
        forecast.meet(self.depth, qc, self.cone.get("fs"), thrust)
        if forecast.met - self._looked < LOOK_AHEAD:
            return
        self._looked = forecast.met
        self.ahead = ahead = forecast.ahead()
        self.values["refusal_ahead"] = 100 * (1 - ahead.reached)
        near = ahead.depth <= forecast.met + 1.0
        if near.any():
            most = float(ahead.expected[near].max())
            self.values["thrust_ahead"] = 100 * most / forecast.thrust_limit

    def pushing_now(self) -> bool:
        """Tell whether the encoder moved just now (within a second)."""
        last = self.streams[StreamKind.DEPTH].last
        return last is not None and last.monotonic - self._moved < 1.0

    def _tilt(self) -> None:
        x, y = self.cone.get("tilt_x"), self.cone.get("tilt_y")
        total = self.cone.get("tilt")
        if x is not None and y is not None:
            tx, ty = math.tan(math.radians(x)), math.tan(math.radians(y))
            total = math.degrees(math.atan(math.hypot(tx, ty)))
        elif total is not None:
            x, y = total, 0.0
        if total is None or x is None or y is None:
            return
        self.values["tilt"] = abs(total)
        self._cosine = math.cos(math.radians(total))
        if not self.pushing or self.point is None:
            return
        along_x, along_y = self._tilts
        if along_x.push(self.point.length, x) and along_y.push(self.point.length, y):
            first_x, first_y = along_x.first, along_y.first
            if along_x.span >= 0.1 and first_x and first_y:
                self.values["tilt_change"] = math.hypot(x - first_x[1], y - first_y[1])

    @property
    def level(self) -> float | None:
        """Received level, median of the last few readings [dB]."""
        return median(self._levels) if self._levels else None

    @property
    def bearing(self) -> float | None:
        """Direction of the tilt in the frame of the cone [deg], from x towards y."""
        x, y = self.cone.get("tilt_x"), self.cone.get("tilt_y")
        if x is None or y is None or (x == 0 and y == 0):
            return None
        return math.degrees(math.atan2(y, x)) % 360

    def _link(self, reading: Reading, stream: StreamSignals) -> None:
        level = reading.values.get("link_level", math.nan)
        if not math.isnan(level):
            noise = reading.values.get("link_noise", 0.0)
            self._levels.append(level)
            self._margins.append(level - (0.0 if math.isnan(noise) else noise))
            self.values["link_margin"] = median(self._margins)
        self.missed = 0
        if self.pushing and self.point is not None:
            self.missed = self._metre.reading(reading, self.point.length, stream.order.gap)
            self._last_metre()

    def _last_metre(self) -> None:
        loss, spacing = self._metre.loss, self._metre.spacing
        if loss is not None:
            self.values["loss"] = loss
        if spacing is not None:
            self.values["spacing"] = spacing

    def _pore_pressure(self) -> None:
        u = next((self.cone[k] for k in ("u2", "u1", "u3") if k in self.cone), None)
        if u is None:
            return
        self.values["u_least"] = u
        if not self.pushing or self.point is None:
            return
        if self.setup.water_level is None:
            # Without a water level: only once the sensor has shown that it is in water.
            self._wet = self._wet or u > 10.0
        else:
            self._wet = self.point.length > self.setup.water_level + 1.0
        if not self._pore.push(self.point.length, u):
            return
        enough = self._pore.span >= 0.8 and self._pore.count >= 10
        if enough:
            spread = self._pore.high - self._pore.low
            self.values["u_range"] = spread if self._wet else math.nan
