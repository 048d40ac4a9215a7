"""The options that commands share, and what becomes of them."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from pushproof.cli.console import Settings

if TYPE_CHECKING:
    from pushproof.model.observations import Observation
    from pushproof.model.recipe import Recipe


class PaperName(StrEnum):
    """Paper sizes."""

    A4 = "A4"
    LETTER = "Letter"

    @property
    def size(self) -> Literal["A4", "Letter"]:
        """The name that the sheets know."""
        return "Letter" if self is PaperName.LETTER else "A4"


def _set_quiet(value: bool) -> bool:
    Settings.quiet = value
    return value


def _set_debug(value: bool) -> bool:
    Settings.debug = value
    return value


Files = Annotated[
    list[Path], typer.Argument(help="Sounding files, or job files.", show_default=False)
]
WaterLevel = Annotated[
    float | None,
    typer.Option(
        "--water-level",
        help="Depth of the water table below ground level [m]; negative above it.",
        show_default=False,
    ),
]
AreaRatio = Annotated[
    float | None,
    typer.Option("--area-ratio", help="Net area ratio a of the cone [-].", show_default=False),
]
RecipeFile = Annotated[
    Path | None,
    typer.Option("--recipe", help="Decisions as a TOML file.", show_default=False),
]
Columns = Annotated[
    str,
    typer.Option(
        "--columns",
        help='Columns of a text file, as "depth=1:m, qc=2:MPa", or a TOML file.',
        show_default=False,
    ),
]
PositionSource = Annotated[
    str | None,
    typer.Option("--position-source", help="Where a satellite receiver sends.", show_default=False),
]
PushPlan = Annotated[
    Path | None,
    typer.Option(
        "--plan",
        help="Plan of the push as a TOML file; the guard looks ahead with it.",
        show_default=False,
    ),
]
Observed = Annotated[
    Path | None,
    typer.Option(
        "--observations",
        help="Table of blow counts, strengths, water levels, layers, instead of what a job holds.",
        show_default=False,
    ),
]
Ordered = Annotated[
    str | None,
    typer.Option(
        "--ordered",
        help="Class that was ordered, as 2, or with its scheme as iso-22476-1-2012=2.",
        show_default=False,
    ),
]
Salvage = Annotated[
    bool,
    typer.Option("--salvage", help="Read what can be read of a damaged file, and report it."),
]
Quiet = Annotated[
    bool,
    typer.Option("--quiet", "-q", help="Print errors only.", callback=_set_quiet, is_eager=True),
]
Debug = Annotated[
    bool,
    typer.Option(
        "--debug", help="Show the traceback of an error.", callback=_set_debug, is_eager=True
    ),
]
WhichSounding = Annotated[
    str, typer.Option("--sounding", help="Which sounding, where the file holds several.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
Paper = Annotated[PaperName, typer.Option("--paper", help="Paper size.")]
Workers = Annotated[int, typer.Option("--workers", min=1, help="Processes to use.")]
EquipmentFile = Annotated[
    Path | None, typer.Option("--equipment", help="Equipment as a TOML file.", show_default=False)
]
Save = Annotated[
    Path | None,
    typer.Option(
        "--save",
        help="Recipe file (.toml) that takes the decision, or the job file itself.",
        show_default=False,
    ),
]
Author = Annotated[str, typer.Option("--as", help="Who decides.", show_default=False)]
Why = Annotated[str, typer.Option("--reason", help="Reason of the decision.", show_default=False)]


def observations_of(path: Path | None) -> tuple[Observation, ...]:
    """Return the observations of a command; none without a file."""
    if path is None:
        return ()
    from pushproof.formats.observations import read_observations

    return read_observations(path)


def decisions(
    recipe: Path | None,
    water_level: float | None,
    area_ratio: float | None,
    ordered: str | None = None,
) -> Recipe:
    """Return the recipe of a command: the file, with the options on top.

    Raises
    ------
    ConfigurationError
        If the file or an option cannot be used.
    """
    from pushproof.formats.recipe import load_recipe, recipe_from

    base = load_recipe(recipe).model_dump(exclude_unset=True) if recipe else {}
    if water_level is not None:
        base["water_level"] = water_level
    if area_ratio is not None:
        base["area_ratio"] = area_ratio
    if ordered is not None:
        scheme, _, name = ordered.rpartition("=")
        base["class_ordered"] = {"name": name, **({"scheme": scheme} if scheme else {})}
    return recipe_from(base, where="options")
