"""From the live state to what the push page is told: units people read, rounded, judged."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from pushproof.model.quantities import quantity
from pushproof.model.stream import Advance as Moves
from pushproof.model.units import to_display
from pushproof.recording.live import LiveRow
from pushproof.recording.snapshot import (
    AlarmState,
    ChannelState,
    Freshness,
    Level,
    LiveState,
    StreamState,
    ZeroState,
)
from pushproof.web.push import models

COLUMNS = ("qc", "fs", "u2", "tilt", "rate", "link_level")
"""Columns of the rows that the page draws."""


def shown(key: str, value: float | None, more: int = 0) -> float | None:
    """Return a value of a quantity in the unit people read, rounded; None if not known."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(to_display(key, value)), quantity(key).decimals + more)


def rounded(value: float | None, decimals: int, times: float = 1.0) -> float | None:
    """Return a number rounded; None if it is not known."""
    if value is None or not math.isfinite(value):
        return None
    return round(value * times, decimals)


def columns() -> list[models.Column]:
    """Return what the columns of the rows are."""
    return [_column(key) for key in COLUMNS]


def _column(key: str) -> models.Column:
    row = quantity(key)
    return models.Column(key=key, symbol=row.symbol, unit=row.display_unit, decimals=row.decimals)


def push_state(
    state: LiveState,
    *,
    recording: models.Recording,
    row: int,
    warnings: Iterable[str],
    control: models.Control,
) -> models.PushState:
    """Return what the page shows of a live state."""
    return models.PushState(
        recording=recording,
        sounding=state.sounding,
        time=state.time,
        row=row,
        step=models.Step(name=state.step.name, missing=list(state.step.missing)),
        pause=state.pause,
        advance=_advance(state),
        channels=[_channel(one) for one in state.channels],
        tilt=models.Tilt(
            angle=rounded(state.tilt.angle, 1),
            bearing=rounded(state.tilt.bearing, 0),
            change=rounded(state.tilt.change, 1),
            level=word(state.tilt.level),
        ),
        link=_link(state),
        cone=_stream(state.cone, excused=_open(state)),
        encoder=_stream(state.encoder),
        dissipation=_dissipation(state),
        zero=None if state.zero is None else _zero(state.zero),
        forecast=_forecast(state),
        alarms=[_alarm(one) for one in ordered(state.alarms)],
        worst=word(state.worst),
        sound=word(state.sound),
        battery=rounded(state.battery, 2),
        temperature=rounded(state.temperature, 1),
        free_disk=rounded(state.free_disk, 1, 1e-9),
        notes=list(state.notes),
        warnings=list(warnings),
        control=control,
    )


def word(level: Level) -> models.LevelWord:
    """Return the word of a level."""
    found: dict[Level, models.LevelWord] = {
        Level.OK: "ok",
        Level.CAUTION: "caution",
        Level.STOP: "stop",
    }
    return found[level]


def ordered(alarms: Sequence[AlarmState]) -> list[AlarmState]:
    """Return alarms in the order in which they ask for a look."""
    return sorted(
        alarms,
        key=lambda a: (a.cleared, a.shelved is not None, a.acknowledged, -a.level, -a.since),
    )


def _level(state: LiveState, rule: str) -> models.LevelWord:
    up = (a.level for a in state.alarms if a.rule == rule and not a.cleared)
    return word(max(up, default=Level.OK))


def _advance(state: LiveState) -> models.Advance:
    advance = state.advance
    pushing = advance.state is Moves.PUSHING
    return models.Advance(
        state=advance.state.value,
        pushing=pushing,
        since=rounded(advance.since, 0),
        length=rounded(advance.length, 3),
        depth=rounded(advance.depth, 3),
        rate=shown("rate", advance.rate) if pushing else None,
        rate_low=shown("rate", advance.rate_low) or 0.0,
        rate_high=shown("rate", advance.rate_high) or 0.0,
        rate_level=_level(state, "rate"),
        rods=advance.rods,
        rods_counted_by=advance.rods_counted_by,
        strokes=advance.strokes,
        tally_difference=rounded(advance.tally_difference, 2),
        thrust=rounded(advance.thrust, 1),
        thrust_share=rounded(advance.thrust_share, 0, 100),
        thrust_level=_level(state, "thrust"),
    )


def _channel(channel: ChannelState) -> models.Channel:
    row = quantity(channel.key)
    return models.Channel(
        key=channel.key,
        symbol=row.symbol,
        unit=row.display_unit,
        decimals=row.decimals,
        value=shown(channel.key, channel.value),
        share=rounded(channel.share, 0, 100),
        level=word(channel.level),
    )


def _link(state: LiveState) -> models.Link:
    link = state.link
    return models.Link(
        level=rounded(link.level, 0),
        margin=rounded(link.margin, 0),
        loss=rounded(link.loss, 0, 100),
        spacing=rounded(link.spacing, 0, 1000),
        longest_gap=rounded(link.longest_gap, 0, 1000),
        verdict=link.verdict,
        sure=rounded(link.sure, 0, 100),
        advice=link.advice,
        joint=link.joint,
        status=word(link.status),
    )


def _open(state: LiveState) -> bool:
    """Tell whether the string is open: no packet can be heard while a rod is added."""
    between = state.advance.state in (Moves.ROD_CHANGE, Moves.LIFTING)
    return between and state.cone.connected is not False and state.step.name == "push"


def _stream(stream: StreamState, excused: bool = False) -> models.Stream:
    gone = stream.connected is False
    return models.Stream(
        connected=stream.connected,
        freshness=stream.freshness.value,
        age=rounded(stream.age, 1),
        old=gone or stream.freshness in (Freshness.STALE, Freshness.NONE),
        excused=excused,
        received=stream.received,
        lost=stream.lost,
        duplicate=stream.duplicate,
        late=stream.late,
        undecoded=stream.undecoded,
    )


def _dissipation(state: LiveState) -> models.Dissipation | None:
    test = state.dissipation
    if test is None:
        return None
    return models.Dissipation(
        number=test.number,
        depth=rounded(test.depth, 2),
        elapsed=round(test.elapsed, 0),
        channel=test.channel,
        start=rounded(test.start, 1),
        present=rounded(test.present, 1),
        u0=rounded(test.u0, 1),
        u0_assumed=test.u0_assumed,
        percent=rounded(test.percent, 0),
        t50=rounded(test.t50, 0),
        logged=test.logged,
        interval=rounded(test.interval, 1),
    )


def _zero(zero: ZeroState) -> models.Zero:
    return models.Zero(
        which=zero.which,
        elapsed=round(zero.elapsed, 0),
        asked=zero.asked,
        count=zero.count,
        means=[_channel(ChannelState(key, value)) for key, value in zero.mean.items()],
    )


def _forecast(state: LiveState) -> models.Forecast | None:
    ahead = state.forecast
    if ahead is None:
        return None
    return models.Forecast(
        target=round(ahead.target, 1),
        reached=rounded(ahead.reached, 0, 100),
        likely_depth=rounded(ahead.likely_depth, 1),
        thrust=rounded(ahead.thrust, 0),
        thrust_high=rounded(ahead.thrust_high, 0),
        limit=rounded(ahead.limit, 0),
        limited_by=ahead.limited_by,
    )


def _alarm(alarm: AlarmState) -> models.Alarm:
    return models.Alarm(
        rule=alarm.rule,
        level=word(alarm.level),
        text=alarm.text,
        advice=alarm.advice,
        since=alarm.since,
        acknowledged=alarm.acknowledged,
        cleared=alarm.cleared,
        shelved=rounded(alarm.shelved, 0),
        sounds=alarm.sounds,
        source=alarm.source,
        mark=alarm.mark,
    )


def row_block(sounding: str, rows: Sequence[LiveRow], after: int, more: bool) -> models.RowBlock:
    """Return rows as columns in the units people read."""
    return models.RowBlock(
        sounding=sounding,
        after=after,
        last=rows[-1].stored if rows else after,
        more=more,
        number=[row.stored for row in rows],
        depth=[round(row.depth, 4) for row in rows],
        pushing=[row.pushing for row in rows],
        columns={key: [_value(row, key) for row in rows] for key in COLUMNS},
    )


def _value(row: LiveRow, key: str) -> float | None:
    if key == "rate":
        return shown("rate", row.rate)
    if key == "tilt":
        return shown("tilt", _tilt(row))
    return shown(key, row.values.get(key), 1)


def _tilt(row: LiveRow) -> float | None:
    """Return the tilt of a row [deg]; from its two components where the cone gives those."""
    x, y = row.values.get("tilt_x"), row.values.get("tilt_y")
    if x is None or y is None:
        return row.values.get("tilt")
    across = math.hypot(math.tan(math.radians(x)), math.tan(math.radians(y)))
    return math.degrees(math.atan(across))
