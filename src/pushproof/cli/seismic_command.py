"""``pushproof seismic``: shear wave velocity from picked arrivals or from traces."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.findings import findings_table
from pushproof.cli.job import Reading
from pushproof.cli.options import (
    AreaRatio,
    AsJson,
    Columns,
    Debug,
    Quiet,
    RecipeFile,
    WaterLevel,
    decisions,
)
from pushproof.errors import ConfigurationError, FormatError

if TYPE_CHECKING:
    from pushproof.interpretation.seismic.compare import Compared
    from pushproof.model.recipe import Recipe
    from pushproof.model.seismic import SeismicResult, SeismicTest
    from pushproof.model.sounding import Sounding

Table = Annotated[
    Path,
    typer.Argument(
        help="Table of picks or of traces, or a sounding with a column of travel times.",
        show_default=False,
    ),
]


def seismic(
    file: Table,
    sounding: Annotated[
        Path | None,
        typer.Option(
            "--sounding", help="Sounding of the same push, to compare.", show_default=False
        ),
    ] = None,
    offset: Annotated[
        float | None,
        typer.Option(
            "--offset",
            help="Source from the rods [m], where the file has none.",
            show_default=False,
        ),
    ] = None,
    above_tip: Annotated[
        float,
        typer.Option("--above-tip", help="Receiver above the tip [m], if depths are of the tip."),
    ] = 0.0,
    lowpass: Annotated[
        float | None,
        typer.Option("--lowpass", help="Low-pass for traces [Hz].", show_default=False),
    ] = None,
    window: Annotated[
        str,
        typer.Option("--window", help="Part of the traces [ms], as 20-60.", show_default=False),
    ] = "",
    as_json: AsJson = False,
    save: Annotated[
        Path | None,
        typer.Option(
            "--save",
            help="Write the velocities into this recipe, to be used instead of the estimate.",
            show_default=False,
        ),
    ] = None,
    columns: Columns = "",
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Find shear wave velocities by true and pseudo intervals, from picks or from traces."""
    from pushproof.interpretation.seismic.correlate import Handling
    from pushproof.interpretation.seismic.derive import seismic as find_velocities

    chosen = decisions(recipe, water_level, area_ratio)
    reading = Reading(chosen, columns)
    test, own = _test(file, offset, reading)
    held = chosen
    handling = Handling(lowpass=lowpass, window=_window(window))
    result = find_velocities(test.raised(above_tip), handling)
    rows: tuple[Compared, ...] = ()
    if sounding is not None or own is not None:
        from pushproof.interpretation import interpret
        from pushproof.interpretation.seismic.compare import compared
        from pushproof.processing import process

        if sounding is not None:
            own = _only(reading, sounding)
        assert own is not None
        pushed, held = own
        plain = held.model_copy(update={"wave_velocity": ()})
        rows = compared(result, interpret(process(pushed, plain)))
    if as_json:
        _print_json(result, rows)
    else:
        _print(result, rows)
    if save is not None:
        from pushproof.formats.recipe import save_recipe

        save_recipe(held.model_copy(update={"wave_velocity": result.decisions()}), save)
        if not as_json:
            console().print(f"velocities saved in {save}", soft_wrap=True, markup=False)


def _test(
    file: Path, offset: float | None, reading: Reading
) -> tuple[SeismicTest, tuple[Sounding, Recipe] | None]:
    """Return the test, and the sounding it stands in with what is decided for it, if it does."""
    from pushproof.formats.seismic import arrivals_of, is_seismic, read_seismic

    if is_seismic(file):
        return read_seismic(file, offset), None
    try:
        found = _only(reading, file)
    except FormatError:
        return read_seismic(file, offset), None  # says what a table should look like
    return arrivals_of(found[0], offset), found


def _only(reading: Reading, path: Path) -> tuple[Sounding, Recipe]:
    """Return the one sounding of a file with what is decided for it."""
    found = list(reading.decided(path))
    if len(found) != 1:
        raise ConfigurationError(f"{path}: it holds {len(found)} soundings, expected one")
    return found[0]


def _window(text: str) -> tuple[float, float] | None:
    if not text:
        return None
    try:
        first, last = (float(part) * 1e-3 for part in text.split("-"))
    except ValueError:
        raise ConfigurationError(f"--window {text!r}: expected two times in ms, as 20-60") from None
    return first, last


def _print_json(result: SeismicResult, rows: tuple[Compared, ...]) -> None:
    import json

    document = result.document()
    for interval, row in zip(document["intervals"], rows, strict=False):
        for name, value in (("estimate", row.estimate), ("ratio", row.ratio), ("G0", row.G0)):
            interval[name] = value if math.isfinite(value) else None
    typer.echo(json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False))


def _print(result: SeismicResult, rows: tuple[Compared, ...]) -> None:
    from rich.markup import escape
    from rich.table import Table as Grid

    out = console()
    out.print(f"[bold]{escape(result.test.name)}[/]: {escape(result.method)}")
    grid = Grid(box=None, header_style="bold", pad_edge=False)
    for heading in ("depth m", "Vs m/s", "bent", "kind", "ms", "r", "strikes"):
        grid.add_column(heading, justify="right", no_wrap=True)
    for heading in ("cone", "ratio", "G0 MPa") if rows else ():
        grid.add_column(heading, justify="right", no_wrap=True)
    for k, one in enumerate(result.intervals):
        cells = [
            f"{one.top:.2f}-{one.base:.2f}",
            _number(one.Vs, ".0f"),
            _number(one.refracted, ".0f"),
            one.kind.value.split()[0],
            _number(one.time * 1e3, ".2f"),
            _number(one.correlation, ".3f"),
            f"{one.strikes}" + ("" if math.isnan(one.spread) else f" ±{100 * one.spread:.0f} %"),
        ]
        if rows:
            row = rows[k]
            cells += [
                _number(row.estimate, ".0f"),
                _number(row.ratio, ".2f"),
                _number(row.G0 / 1e3, ".0f"),
            ]
        grid.add_row(*cells)
    out.print(grid)
    out.print("bent: by rays that bend at the receivers; r: correlation of traces")
    for note in result.notes:
        out.print(escape(note))
    out.print()
    out.print(findings_table(result.findings))


def _number(value: float, form: str) -> str:
    return "-" if math.isnan(value) else format(value, form)
