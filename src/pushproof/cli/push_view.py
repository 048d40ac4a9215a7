"""The terminal view of a push: it draws a live state and computes nothing itself.

Made for 80 columns and 24 rows, so that it works over a slow remote shell; wider windows get more
room, smaller ones get plain lines with the worst first. A value whose reading is old is never
shown as if it were new, and a number is never cut: it loses decimals where room is short.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from textwrap import wrap

from rich.text import Text

from pushproof.cli.big_digits import big
from pushproof.model.quantities import quantity
from pushproof.model.stream import Advance
from pushproof.model.units import to_display
from pushproof.recording.snapshot import (
    AlarmState,
    ChannelState,
    Freshness,
    Level,
    LiveState,
    StreamState,
)

STYLE = {Level.OK: "", Level.CAUTION: "bold black on yellow", Level.STOP: "bold white on red"}
KEYS = (
    ("space", "push"),
    ("r", "rod added"),
    ("d", "dissipation"),
    ("z", "zeros"),
    ("n", "note"),
    ("a", "acknowledge"),
    ("q", "end"),
)
COLUMNS, ROWS = 80, 24
NONE = "––"
MARK = 13
"""Columns of the level of an alarm."""


@dataclass(frozen=True)
class Block:
    """One large number: label, value with its decimals, text below, level."""

    label: str
    value: float | None
    decimals: int
    below: str = ""
    level: Level = Level.OK


def render(
    state: LiveState,
    width: int = COLUMNS,
    height: int = ROWS,
    prompt: str = "",
    warnings: Sequence[str] = (),
) -> Text:
    """Return the whole screen as text of exactly ``height`` lines, none wider than ``width``.

    Parameters
    ----------
    state
        What to show.
    width, height
        Size of the terminal.
    prompt
        Text being typed or asked, shown instead of the keys.
    warnings
        What is wrong with the recording itself, above all alarms.
    """
    if width < COLUMNS or height < ROWS:
        return _small(state, width, height, prompt, warnings)
    rule = Text("─" * width, style="dim")
    lines = [_header(state, width, warnings), _stale(state, width)]
    lines += _blocks(_numbers(state), width)
    lines += [rule, *_details(state, width), rule]
    lines += _alarms(state, height - len(lines) - 2, width, warnings)
    lines += [_work(state, width), _last_line(width, prompt)]
    return Text("\n").join(lines)


def _old(stream: StreamState) -> bool:
    gone = stream.connected is False
    return gone or stream.freshness in (Freshness.STALE, Freshness.NONE)


def _header(state: LiveState, width: int, warnings: Sequence[str]) -> Text:
    late = _old(state.cone) or _old(state.encoder)
    worst = Level.STOP if warnings or late else state.worst
    clock = datetime.fromtimestamp(state.time).strftime("%H:%M:%S")
    word = "NO READINGS" if late else worst.word.upper() if worst else ""
    name = _short(state.sounding, width - 60)
    doing = "" if _old(state.encoder) else f"   {state.advance.state.value}"
    left = f" {name}   {state.step.name}{doing}   {word}"
    text = Text(f"{left.ljust(width - len(clock) - 1)}{clock} ")
    text.stylize(STYLE[worst] or "bold reverse")
    return text


def _stale(state: LiveState, width: int) -> Text:
    late = []
    for name, stream in (("CONE", state.cone), ("DEPTH", state.encoder)):
        if stream.connected is False:
            late.append(f"{name} DISCONNECTED{_for(stream)}")
        elif stream.freshness is Freshness.NONE:
            late.append(f"{name}: NO READING YET")
        elif stream.freshness is Freshness.STALE:
            late.append(f"{name}: NO READING{_for(stream)}")
    if not late:
        return Text("")
    return Text(_short(" " + "   ".join(late), width).ljust(width), style=STYLE[Level.STOP])


def _for(stream: StreamState) -> str:
    return "" if stream.age is None else f" FOR {stream.age:.0f} s"


# Large numbers


def _numbers(state: LiveState) -> tuple[Block, ...]:
    if state.dissipation is not None:
        return _dissipation_numbers(state)
    return (_rate(state), _depth(state), _channel(state, "qc", "TIP", 2), _tilt(state))


def _rate(state: LiveState) -> Block:
    advance, old = state.advance, _old(state.encoder)
    low, high = (_shown("rate", v) or 0.0 for v in (advance.rate_low, advance.rate_high))
    pushing = advance.state is Advance.PUSHING
    below = f"{low:.0f} to {high:.0f}" if pushing and not old else advance.state.value
    rate = None if old else _shown("rate", advance.rate)
    return Block("RATE mm/s", rate, 1, "" if old else below, _alarm(state, "rate"))


def _depth(state: LiveState) -> Block:
    advance = state.advance
    known = advance.depth if advance.depth is not None else advance.length
    label = "LENGTH m" if advance.depth is None and known is not None else "DEPTH m"
    if _old(state.encoder):
        return Block(label, None, 2, "" if known is None else f"last {known:.2f} m")
    along = "" if advance.length is None else f"length {advance.length:.2f} m"
    return Block(label, known, 2, along)


def _channel(state: LiveState, key: str, name: str, decimals: int) -> Block:
    row, channel = quantity(key), state.channel(key)
    label = f"{name} {row.symbol} {row.display_unit}".strip()
    if channel is None:
        return Block(label, None, decimals)
    value = _shown(key, channel.value)
    if _old(state.cone):
        below = "" if value is None else f"last {_plain(value, decimals)}"
        return Block(label, None, decimals, below, channel.level)
    share = "" if channel.share is None else f"{channel.share:.0%} of capacity"
    return Block(label, value, decimals, share, channel.level)


def _tilt(state: LiveState) -> Block:
    tilt = state.tilt
    if _old(state.cone):
        below = "" if tilt.angle is None else f"last {tilt.angle:.1f}"
        return Block("TILT deg", None, 1, below, tilt.level)
    parts = [] if tilt.bearing is None else [f"to {tilt.bearing:03.0f}"]
    parts += [] if tilt.change is None else [f"{tilt.change:+.1f}/m"]
    return Block("TILT deg", tilt.angle, 1, ", ".join(parts), tilt.level)


def _dissipation_numbers(state: LiveState) -> tuple[Block, ...]:
    test = state.dissipation
    assert test is not None
    old = _old(state.cone)
    if test.u0 is None:
        below = "u0 is not known"
    else:
        below = f"u0 {test.u0:.0f} kPa" + (" assumed" if test.u0_assumed else "")
    start = "" if test.start is None else f"from {test.start:.1f}"
    present = None if old else test.present
    return (
        Block("DISSIPATED %", None if old else test.percent, 0, below),
        _depth(state),
        Block(f"{test.channel} kPa", present, 1, start),
        Block("TIME min", test.elapsed / 60, 1, f"{test.elapsed:.0f} s"),
    )


def _shown(key: str, value: float | None) -> float | None:
    return None if value is None else float(to_display(key, value))


def _alarm(state: LiveState, rule: str) -> Level:
    up = (a.level for a in state.alarms if a.rule == rule and not a.cleared)
    return max(up, default=Level.OK)


def _digits(block: Block, room: int) -> tuple[str, str, str]:
    """Return a number in large digits that fits, with fewer decimals or small if it must be."""
    if block.value is None or not math.isfinite(block.value):
        return big(NONE)
    for decimals in range(block.decimals, -1, -1):
        rows = big(_plain(block.value, decimals))
        if len(rows[0]) <= room:
            return rows
    return "", f"{block.value:.3g}", ""


def _blocks(blocks: tuple[Block, ...], width: int) -> list[Text]:
    column = width // len(blocks)
    rows = [Text() for _ in range(5)]
    for block in blocks:
        style = STYLE[block.level]
        sign = "" if block.level is Level.OK else f" {block.level.word.upper()}"
        label = _short(f" {block.label}{sign}", column - 1).ljust(column - 1)
        below = _short(f" {block.below}", column - 1).ljust(column - 1)
        rows[0].append(label, style=style or "bold")
        for row, part in zip(rows[1:4], _digits(block, column - 2), strict=True):
            row.append(f" {part}".ljust(column), style="bold")
        rows[4].append(below, style=style or "dim")
        rows[0].append(" ")
        rows[4].append(" ")
    return rows


# Details


def _details(state: LiveState, width: int) -> list[Text]:
    link, advance, cone = state.link, state.advance, state.cone
    old = _old(cone)
    level = _with_unit(None if old else link.level, 0, "dB")
    if link.margin is not None and not old:
        level += f", {link.margin:.0f} above noise"
    lost = "" if link.loss is None else f"   lost {link.loss:.0%}"
    line = Text(f" link {level}   ")
    line.append(f"cone {_age(cone)}", style=_age_style(cone))
    line.append("   ")
    line.append(f"encoder {_age(state.encoder)}", style=_age_style(state.encoder))
    line.append(_short(lost, max(0, width - len(line))))
    lines = [line, *_verdict(state, width)]
    share = (
        ""
        if advance.thrust_share is None
        else f", {_plain(100 * advance.thrust_share, 0)}% of reaction"
    )
    thrust = None if _old(state.encoder) else advance.thrust
    battery, inside = (None, None) if old else (state.battery, state.temperature)
    pairs = (
        (
            _channels(state, old),
            f"rods {advance.rods} (by {advance.rods_counted_by})   stroke {advance.strokes}",
        ),
        (
            f"push force {_with_unit(thrust, 0, 'kN')}{share if thrust is not None else ''}"
            f"{_ahead(state)}",
            f"rods minus encoder {_with_unit(advance.tally_difference, 2, 'm')}"
            f"  disk {_gigabytes(state.free_disk)}",
        ),
        (
            f"battery {_with_unit(battery, 2, 'V')}   cone {_with_unit(inside, 1, 'degC')}",
            f"read {cone.received}   lost {cone.lost}   unread {cone.undecoded}",
        ),
    )
    half = width // 2
    for left, right in pairs:
        lines.append(Text(_short(f" {left}", half - 1).ljust(half) + _short(right, width - half)))
    return lines


def _ahead(state: LiveState) -> str:
    """Return what the forecast says, short."""
    forecast = state.forecast
    if forecast is None:
        return ""
    return f"   to {_plain(forecast.target, 0)} m: {100 * forecast.reached:.0f}%"


def _channels(state: LiveState, old: bool) -> str:
    shown = ("qc", "fs") if state.dissipation is not None else ("u2", "fs")
    parts = []
    for key in shown:
        row = quantity(key)
        channel = state.channel(key) or ChannelState(key, None)
        value = None if old else _shown(key, channel.value)
        parts.append(f"{key} {_with_unit(value, 1 if key == 'qc' else 0, row.display_unit)}")
    return "   ".join(parts)


def _verdict(state: LiveState, width: int) -> list[Text]:
    link = state.link
    if not link.verdict:
        return []
    sure = "" if link.sure is None else f" ({link.sure:.0%} sure)"
    text = f"{link.verdict}{sure}: {link.advice}"
    style = STYLE[max(link.status, Level.CAUTION)]
    return [Text(f" {part}".ljust(width), style=style) for part in _wrapped(text, width - 2, 2)]


def _age(stream: StreamState) -> str:
    return NONE if stream.age is None else f"{stream.age:.1f} s ago"


def _age_style(stream: StreamState) -> str:
    if _old(stream):
        return STYLE[Level.STOP]
    return STYLE[Level.CAUTION] if stream.freshness is Freshness.LATE else ""


def _with_unit(value: float | None, decimals: int, unit: str) -> str:
    return f"{NONE} {unit}" if value is None else f"{_plain(value, decimals)} {unit}"


def _gigabytes(size: float | None) -> str:
    return NONE if size is None else f"{size / 1e9:.{0 if size > 1e10 else 1}f} GB"


# Alarms and work


def _ordered(state: LiveState) -> list[AlarmState]:
    return sorted(state.alarms, key=lambda a: (a.cleared, a.acknowledged, -a.level, a.since))


def _alarms(state: LiveState, room: int, width: int, warnings: Sequence[str]) -> list[Text]:
    """Return exactly ``room`` lines: what to do is left out before an alarm is."""
    heads = [_entry("RECORD", STYLE[Level.STOP], text, width, 4) for text in warnings]
    alarms = _ordered(state)
    heads += [_entry(*_mark(alarm), alarm.text, width) for alarm in alarms]
    if not heads:
        return [Text(" no alarms", style="dim"), *[Text("")] * (room - 1)]
    what_to_do: list[list[Text]] = [[] for _ in warnings] + [
        _advice(alarm, width) for alarm in alarms
    ]
    spare = room - sum(map(len, heads))
    lines: list[Text] = []
    for number, (head, advice) in enumerate(zip(heads, what_to_do, strict=True)):
        left = len(heads) - number
        if len(lines) + len(head) + (left > 1 and spare < 0) > room:
            lines = [*lines[: room - 1], Text(f" and {left} more", style="bold")]
            break
        lines += head
        if 0 < len(advice) <= spare:
            lines += advice
            spare -= len(advice)
    return lines + [Text("")] * (room - len(lines))


def _mark(alarm: AlarmState) -> tuple[str, str]:
    if alarm.cleared:
        return "cleared", "dim"
    if alarm.shelved is not None:
        return "shelved", "dim"
    if alarm.acknowledged:
        return f"{alarm.level.word}, seen", "bold"
    return alarm.level.word.upper(), STYLE[alarm.level]


def _entry(mark: str, style: str, text: str, width: int, most: int = 2) -> list[Text]:
    first, *rest = _wrapped(text, width - MARK - 3, most)
    line = Text(" ")
    line.append(mark.ljust(MARK), style=style)
    line.append(f" {first}")
    return [line, *_indented(rest)]


def _advice(alarm: AlarmState, width: int) -> list[Text]:
    if alarm.cleared or alarm.acknowledged or not alarm.advice:
        return []
    return _indented(_wrapped(alarm.advice, width - MARK - 3, 2), "italic")


def _indented(parts: list[str], style: str = "") -> list[Text]:
    return [Text(" " * (MARK + 2) + part, style=style) for part in parts]


def _work(state: LiveState, width: int) -> Text:
    test, zero = state.dissipation, state.zero
    if test is not None:
        interval = "" if test.interval is None else f"   logged every {test.interval:g} s"
        t50 = "" if test.t50 is None else f"   t50 {test.t50:.0f} s"
        text = f" DISSIPATION {test.number}: {test.logged} values{interval}{t50}"
        return Text(_short(text, width), style="bold")
    if zero is not None:
        means = "  ".join(
            f"{key} {_plain(_shown(key, value) or 0.0, quantity(key).decimals)}"
            for key, value in zero.mean.items()
        )
        text = f" ZEROS {zero.which}: {zero.elapsed:.0f} of {zero.asked:.0f} s   {means}"
        return Text(_short(text, width), style="bold")
    if state.step.missing:
        return Text(_short(f" still missing: {', '.join(state.step.missing)}", width), style="bold")
    return Text(_short(f" {state.notes[-1]}", width) if state.notes else "", style="dim")


def _last_line(width: int, prompt: str) -> Text:
    if prompt:
        return Text(prompt[-width:].ljust(width), style="reverse")
    line = Text()
    for key, what in KEYS:
        line.append(key, style="reverse")
        line.append(f" {what}  ")
    line.right_crop(2)
    return line


# Small windows


def _small(state: LiveState, width: int, height: int, prompt: str, warnings: Sequence[str]) -> Text:
    """Return plain lines, the worst first, for a window below 80 by 24."""
    lines: list[Text] = []

    def say(text: str, style: str = "") -> None:
        lines.extend(Text(part, style=style) for part in wrap(text, max(width, 1)))

    for warning in warnings:
        say(warning, STYLE[Level.STOP])
    stale = _stale(state, 200).plain.strip()
    say(stale, STYLE[Level.STOP])
    for block in _numbers(state):
        known = block.value is not None and math.isfinite(block.value)
        number = _plain(block.value or 0.0, block.decimals) if known else NONE
        say(f"{block.label} {number}", STYLE[block.level] or "bold")
    for alarm in _ordered(state):
        mark, style = _mark(alarm)
        say(f"{mark}: {alarm.text}", style)
    say(f"window {width} x {height}; make it {COLUMNS} x {ROWS} or more", "dim")
    lines = lines[: max(0, height - 1)]
    lines += [Text("")] * (height - 1 - len(lines))
    last = prompt or "".join(key[0] if key != "space" else "␣" for key, _ in KEYS)
    lines.append(Text(last[-width:], style="reverse"))
    return Text("\n").join(lines)


# Text


def _wrapped(text: str, width: int, most: int) -> list[str]:
    """Return text in lines; more than ``most`` lines end with a sign that there is more."""
    return wrap(text, width, max_lines=most, placeholder=" …") or [""]


def _plain(value: float, decimals: int) -> str:
    """Return a number in digits, without a minus before nothing but zeros."""
    text = f"{value:.{decimals}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def _short(text: str, room: int) -> str:
    """Return text that fits; a sign at its end says that there was more."""
    if room <= 0:
        return ""
    return text if len(text) <= room else text[: room - 1] + "…"
