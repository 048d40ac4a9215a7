"""The daily report: a sheet, and a workbook with the same rows."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import IO, Any

from pushproof.formats.workbooks import plain_row
from pushproof.recording.daybook import DayBook, SoundingDay
from pushproof.report.fieldsheet import (
    Cell,
    facts,
    lay_field_sheet,
    lines_to_sign,
    table,
)
from pushproof.report.logsheet import Sheet
from pushproof.store import Job

CAUTION = "From the record of the job. Times are those of the surface computer."
_MOST_ALARMS = 12


def lay_day(book: DayBook, *, source: str = "", paper: str = "A4") -> Sheet:
    """Lay the report of a day out.

    Parameters
    ----------
    book
        The day.
    source
        Name of the job file and head of its chain, for the foot.
    paper
        ``"A4"`` or ``"Letter"``.
    """
    said = [("Weather", t) for _, t in book.weather] + [("Crew", t) for _, t in book.crew]
    said += [("Note", t) for _, t in book.notes]
    if not book.weather:
        said.insert(0, ("Weather", "not entered"))
    if not book.crew:
        said.append(("Crew", "not entered"))
    project = [("Project", book.project), ("Place", book.place), ("Client", book.client)]
    parts = [
        facts("", [(key, text) for key, text in project if text] + said, width=26.0),
        _soundings(book),
        _stops(book),
        _tests(book),
        _alarms(book),
        _notes(book),
        _holes(book),
        lines_to_sign("foreman", "for the client", "date"),
    ]
    title = f"Daily report, {book.day.isoformat()}"
    return lay_field_sheet(
        book.project or title,
        title if book.project else "",
        ("clear", *lead_of(book)),
        parts,
        caution=CAUTION,
        source=source,
        paper=paper,
    )


def lead_of(book: DayBook) -> tuple[str, str]:
    """Return the sentence that matters of a day, and what goes with it."""
    count = len(book.soundings)
    noun = "sounding" if count == 1 else "soundings"
    head = "Nothing was pushed"
    if count:
        head = f"{count} {noun}, {book.metres:.2f} m in {book.hours:.1f} hours"
    text = f"Job so far: {book.job_soundings} soundings, {book.job_metres:.2f} m."
    if book.grout:
        text += f" Grout of the day: {book.grout:.0f} L."
    return head, text


def source_of(job: Job) -> str:
    """Return name and head of a job, for the foot of its sheets."""
    head = job.head
    return job.path.name if head is None else f"{job.path.name}, head {head.hash.hex()[:12]}"


def _minutes(seconds: float | None) -> str:
    return "-" if seconds is None else f"{seconds / 60:.0f}"


def _length(length: float | None) -> str:
    return "-" if length is None else f"{length:.2f}"


def _soundings(book: DayBook) -> dict[str, Any]:
    rows: list[list[Cell]] = []
    for one in book.soundings:
        rate = "-" if one.rate is None else f"{one.rate:.1f}"
        rows.append(
            [
                (one.name,),
                book.clock(one.first),
                book.clock(one.last),
                f"{one.top:.2f}",
                f"{one.base:.2f}",
                (f"{one.metres:.2f}",),
                _minutes(one.pushing),
                f"{one.rods[0]} in {_minutes(one.rods[1])}",
                rate,
                one.reason or "not said",
            ]
        )
    heads = (
        "sounding", "from", "to", "top, m", "base, m", "metres", "rods down, min",
        "rod changes, min", "m per hour", "ended by",
    )  # fmt: skip
    return table(
        "Soundings",
        heads,
        rows,
        columns=(1.2, 0.8, 0.8, 0.8, 0.9, 0.9, 1, 1.2, 0.9, 1.7),
        right=(1, 2, 3, 4, 5, 6, 7, 8),
        note="m per hour: from the first to the last push, stops included.",
    )


def _stops(book: DayBook) -> dict[str, Any]:
    rows: list[list[Cell]] = [
        [one.name, book.clock(stop.at), _length(stop.length), _minutes(stop.duration), stop.reason]
        for one in book.soundings
        for stop in one.stops
    ]
    heads = ("sounding", "at", "depth, m", "min", "why")
    return table("Stops", heads, rows, columns=(1, 0.7, 0.7, 0.6, 4), right=(1, 2, 3))


def _tests(book: DayBook) -> dict[str, Any]:
    rows: list[list[Cell]] = [
        [
            one.name,
            book.clock(test.at),
            _length(test.length),
            _minutes(test.duration),
            "not known" if test.percent is None else f"{test.percent:.0f} %",
        ]
        for one in book.soundings
        for test in one.tests
    ]
    heads = ("sounding", "ended", "depth, m", "min", "dissipated")
    return table("Dissipation tests", heads, rows, columns=(1, 0.7, 0.7, 0.6, 4), right=(1, 2, 3))


def _alarms(book: DayBook) -> dict[str, Any]:
    rows: list[list[Cell]] = [
        [one.name, rule, str(count), level]
        for one in book.soundings
        for rule, (count, level) in one.alarms.items()
    ]
    rows.sort(key=lambda row: (row[3] != "stop", -int(str(row[2]))))
    more = len(rows) - _MOST_ALARMS
    note = f"and {more} more, in the job" if more > 0 else ""
    heads = ("sounding", "rule of the guard", "raised", "gravest")
    return table(
        "Alarms", heads, rows[:_MOST_ALARMS], columns=(1, 1.6, 0.6, 3.8), right=(2,), note=note
    )


def _notes(book: DayBook) -> dict[str, Any]:
    rows: list[list[Cell]] = [
        [one.name, book.clock(at), text] for one in book.soundings for at, text in one.notes
    ]
    heads = ("sounding", "at", "note")
    return table("Notes of the crew", heads, rows, columns=(1, 0.7, 5.3), right=(1,))


def _holes(book: DayBook) -> dict[str, Any]:
    rows: list[list[Cell]] = [
        [
            one.name,
            "not said" if one.anchors is None else str(one.anchors),
            one.closed or "no record that the hole was closed",
        ]
        for one in book.soundings
    ]
    heads = ("sounding", "anchors", "hole")
    return table("Anchors and holes", heads, rows, columns=(1, 0.7, 5.3), right=(1,))


def write_workbook(book: DayBook, path: Path | IO[bytes]) -> None:
    """Write a day as a workbook: soundings, stops, dissipations, alarms, notes."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for title, (heads, rows) in _sheets(book).items():
        sheet = workbook.create_sheet(title)
        sheet.append(heads)
        for cell in sheet[1]:
            cell.font = Font(bold=True)
        for row in rows:
            sheet.append(plain_row(sheet, row))
        for column in sheet.columns:
            letter = str(getattr(column[0], "column_letter", "A"))
            widest = max(len(str(cell.value or "")) for cell in column)
            sheet.column_dimensions[letter].width = min(max(widest, 8) + 2, 60)
        sheet.freeze_panes = "A2"
    workbook.save(path)


def _sheets(book: DayBook) -> dict[str, tuple[list[str], list[list[Any]]]]:
    """Return heads and rows of each sheet; times are plain date and time."""

    def when(at: float) -> datetime:
        return datetime.fromtimestamp(at, book.zone).replace(tzinfo=None, microsecond=0)

    def of(one: SoundingDay) -> list[Any]:
        return [
            one.name, when(one.first), when(one.last), round(one.top, 3), round(one.base, 3),
            round(one.metres, 3), round(one.pushing / 60, 1), one.rods[0],
            round(one.rods[1] / 60, 1), None if one.rate is None else round(one.rate, 2),
            one.anchors, one.grout or None, one.closed, one.reason,
        ]  # fmt: skip

    total = ["sum", None, None, None, None, round(book.metres, 3)]
    so_far = ["job so far", None, None, None, None, round(book.job_metres, 3)]
    said = [(kind, at, text) for kind, some in
            (("weather", book.weather), ("crew", book.crew), ("note", book.notes))
            for at, text in some]  # fmt: skip
    return {
        "soundings": (
            ["sounding", "from", "to", "top [m]", "base [m]", "metres [m]", "rods down [min]",
             "rod changes", "rod changes [min]", "rate [m/h]", "anchors", "grout [L]", "hole",
             "ended by"],
            [*map(of, book.soundings), total, so_far],
        ),
        "stops": (
            ["sounding", "at", "depth [m]", "duration [min]", "why"],
            [[one.name, when(s.at), s.length, round(s.duration / 60, 1), s.reason]
             for one in book.soundings for s in one.stops],
        ),
        "dissipations": (
            ["sounding", "ended", "depth [m]", "duration [min]", "dissipated [%]"],
            [[one.name, when(t.at), t.length, None if t.duration is None else t.duration / 60,
              t.percent] for one in book.soundings for t in one.tests],
        ),
        "alarms": (
            ["sounding", "rule", "raised", "gravest"],
            [[one.name, rule, count, level] for one in book.soundings
             for rule, (count, level) in one.alarms.items()],
        ),
        "notes": (
            ["of", "at", "text"],
            [*([one.name, when(at), text] for one in book.soundings for at, text in one.notes),
             *([kind, when(at), text] for kind, at, text in said)],
        ),
    }  # fmt: skip
