"""The terminal view of a push: it draws a live state and computes nothing itself.

Made for 80 columns and 24 rows, so that it works over a slow remote shell; wider windows get more
room. A value whose reading is old is never shown as if it were new.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from rich.text import Text

from pushproof.cli.big_digits import big
from pushproof.model.units import to_display
from pushproof.recording.snapshot import AlarmState, Freshness, Level, LiveState

STYLE = {Level.OK: "bold", Level.CAUTION: "bold black on yellow", Level.STOP: "bold white on red"}
KEYS = (
    ("space", "start / pause"),
    ("r", "rod added"),
    ("d", "dissipation"),
    ("z", "zeros"),
    ("n", "note"),
    ("a", "acknowledge"),
    ("q", "end"),
)
ROWS = 24


@dataclass(frozen=True)
class Block:
    """One large number: label, text, line below, level."""

    label: str
    number: str
    below: str
    level: Level = Level.OK


def render(state: LiveState, width: int = 80, height: int = ROWS, prompt: str = "") -> Text:
    """Return the whole screen as text of exactly ``height`` lines, none wider than ``width``.

    Parameters
    ----------
    state
        What to show.
    width, height
        Size of the terminal; at least 80 by 24 is assumed.
    prompt
        Text being typed (a note), shown instead of the keys.
    """
    lines = [_header(state, width), Text("")]
    lines += _blocks(_numbers(state), width)
    lines += [_stale(state, width), Text("─" * width, style="dim")]
    lines += _details(state, width)
    lines += [Text("─" * width, style="dim")]
    room = height - len(lines) - 2
    lines += _alarms(state, room, width)
    lines.append(_work(state, width))
    lines.append(_keys(width) if not prompt else Text(prompt[-width:], style="reverse"))
    for line in lines:
        line.truncate(width)
    return Text("\n").join(lines[:height])


def _header(state: LiveState, width: int) -> Text:
    clock = datetime.fromtimestamp(state.time).strftime("%H:%M:%S")
    left = f" {state.sounding}   {state.step.name}   {state.advance.state.value}"
    word = "" if state.worst is Level.OK else f"   {state.worst.word.upper()}"
    text = Text(f"{left}{word}".ljust(width - len(clock) - 1) + clock + " ")
    text.stylize("bold reverse" if state.worst is Level.OK else STYLE[state.worst])
    return text


def _numbers(state: LiveState) -> tuple[Block, ...]:
    advance, tilt = state.advance, state.tilt
    old = state.cone.freshness in (Freshness.STALE, Freshness.NONE)
    rate = None if advance.rate is None else float(to_display("rate", advance.rate))
    low, high = (float(to_display("rate", v)) for v in (advance.rate_low, advance.rate_high))
    tip = state.channel("qc")
    share = "" if tip is None or tip.share is None else f"{tip.share:.0%} of capacity"
    qc = None if tip is None or tip.value is None else float(to_display("qc", tip.value))
    bearing = "" if tilt.bearing is None else f"to {tilt.bearing:03.0f} deg"
    depth = advance.depth if advance.depth is not None else advance.length
    return (
        Block("RATE mm/s", _number(rate, 1), f"{low:.0f} to {high:.0f}", _alarm(state, "rate")),
        Block("DEPTH m", _number(depth, 2), _length(advance.length)),
        Block(
            "TIP qc MPa",
            "––" if old else _number(qc, 1),
            share,
            Level.OK if tip is None else tip.level,
        ),
        Block("TILT deg", "––" if old else _number(tilt.angle, 1), bearing, tilt.level),
    )


def _alarm(state: LiveState, rule: str) -> Level:
    up = (a.level for a in state.alarms if a.rule.startswith(rule) and not a.cleared)
    return max(up, default=Level.OK)


def _length(length: float | None) -> str:
    return "" if length is None else f"length {length:.2f} m"


def _number(value: float | None, decimals: int) -> str:
    return "––" if value is None or not math.isfinite(value) else f"{value:.{decimals}f}"


def _blocks(blocks: tuple[Block, ...], width: int) -> list[Text]:
    column = width // len(blocks)
    rows = [Text() for _ in range(5)]
    for block in blocks:
        style = STYLE[block.level]
        sign = "" if block.level is Level.OK else f" {block.level.word.upper()}"
        rows[0].append(f" {block.label}{sign}"[:column].ljust(column), style="dim bold")
        for row, part in zip(rows[1:4], big(block.number), strict=True):
            row.append(" ")
            row.append(part[: column - 2], style=style)
            row.append(" " * max(0, column - 1 - len(part[: column - 2])))
        rows[4].append(f" {block.below}"[:column].ljust(column), style="dim")
    return rows


def _stale(state: LiveState, width: int) -> Text:
    late = []
    for name, stream in (("CONE", state.cone), ("DEPTH", state.encoder)):
        if stream.connected is False:
            late.append(f"{name} DISCONNECTED")
        elif stream.freshness is Freshness.NONE:
            late.append(f"{name}: NO READING YET")
        elif stream.freshness is Freshness.STALE:
            late.append(f"{name}: NO READING FOR {stream.age or 0:.0f} s")
    if not late:
        return Text("")
    return Text((" " + "   ".join(late)).ljust(width), style=STYLE[Level.STOP])


def _details(state: LiveState, width: int) -> list[Text]:
    link, advance = state.link, state.advance
    half = width // 2
    u2, fs = state.channel("u2"), state.channel("fs")
    age = "" if link.age is None else f"   last reading {link.age:.1f} s ago"
    loss = "" if link.loss is None else f"   lost {link.loss:.0%} in the last metre"
    lines = [Text(f" link {_with_unit(link.level, 0, 'dB')}{age}{loss}")]
    verdict = ""
    if link.verdict:
        sure = "" if link.sure is None else f" ({link.sure:.0%} sure)"
        verdict = f" {link.verdict}{sure}: {link.advice}"
    lines.append(Text(verdict, style=STYLE[link.status] if verdict else ""))
    pairs = (
        (
            f"u2 {_with_unit(u2.value if u2 else None, 0, 'kPa')}"
            f"   fs {_with_unit(fs.value if fs else None, 0, 'kPa')}",
            f"rods {advance.rods} (by {advance.rods_counted_by})   stroke {advance.strokes}",
        ),
        (
            f"push force {_with_unit(advance.thrust, 0, 'kN')}"
            + ("" if advance.thrust_share is None else f", {advance.thrust_share:.0%} of reaction"),
            f"tally against encoder {_with_unit(advance.tally_difference, 2, 'm')}",
        ),
        (
            f"battery {_with_unit(state.battery, 2, 'V')}"
            f"   cone {_with_unit(state.temperature, 1, 'degC')}",
            f"disk {_gigabytes(state.free_disk)}   read {state.cone.received}"
            f"   unread {state.cone.undecoded}",
        ),
    )
    for left, right in pairs:
        lines.append(Text(f" {left}"[:half].ljust(half) + right[: width - half]))
    return lines


def _with_unit(value: float | None, decimals: int, unit: str) -> str:
    return f"– {unit}" if value is None else f"{value:.{decimals}f} {unit}"


def _gigabytes(size: float | None) -> str:
    return "–" if size is None else f"{size / 1e9:.1f} GB"


def _alarms(state: LiveState, room: int, width: int) -> list[Text]:
    order = sorted(state.alarms, key=lambda a: (a.cleared, a.acknowledged, -a.level, a.since))
    if not order:
        return [Text(" no alarms", style="dim"), *[Text("")] * (room - 1)]
    hidden = len(order) - room
    shown = order if hidden <= 0 else order[: room - 1]
    lines = [_alarm_line(alarm, width) for alarm in shown]
    if hidden > 0:
        lines.append(Text(f" and {hidden + 1} more", style="bold"))
    return lines + [Text("")] * (room - len(lines))


def _alarm_line(alarm: AlarmState, width: int) -> Text:
    if alarm.cleared:
        mark, style = "cleared", "dim"
    elif alarm.acknowledged:
        mark, style = f"{alarm.level.word}, seen", ""
    else:
        mark, style = alarm.level.word.upper(), STYLE[alarm.level]
    advice = f" – {alarm.advice}" if alarm.advice else ""
    line = Text(" ")
    line.append(mark.ljust(13), style=style)
    line.append(f" {alarm.text}{advice}"[: width - 14])
    return line


def _work(state: LiveState, width: int) -> Text:
    test, zero = state.dissipation, state.zero
    if test is not None:
        percent = "" if test.percent is None else f"   {test.percent:.0f} % dissipated"
        known = " (u0 assumed)" if test.u0_assumed else ""
        value = _with_unit(test.present, 1, "kPa")
        text = f" DISSIPATION {test.number}: {test.elapsed:.0f} s   {test.channel} {value}"
        return Text(f"{text}{percent}{known}", style="bold")
    if zero is not None:
        means = "  ".join(f"{key} {value:.1f}" for key, value in zero.mean.items())
        text = f" ZEROS {zero.which}: {zero.elapsed:.0f} of {zero.asked:.0f} s   {means}"
        return Text(text[:width], style="bold")
    return Text(f" {state.notes[-1]}" if state.notes else "", style="dim")


def _keys(width: int) -> Text:
    line = Text()
    for key, what in KEYS:
        line.append(f" {key} ", style="reverse")
        line.append(f"{what} ")
    if len(line) > width:
        short = Text()
        for key, what in KEYS:
            short.append(f"{key}", style="reverse")
            short.append(f" {what.split()[0]}  ")
        return short
    return line
