"""Closing the hole: its volume, the grout by weight and by bags, the method, and what went in.

Sealing is set by local law. Check the state, provincial or national rule and the permit; this is
a planning volume only. Lengths in m, volumes in litres, masses in kg, densities in kg per litre.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from itertools import pairwise
from typing import Any, Literal, Self, TypeVar

from pydantic import Field, ValidationError

from pushproof.errors import ConfigurationError
from pushproof.model.equipment import Frozen
from pushproof.model.findings import Finding, Severity

LOCAL_LAW = (
    "Sealing is set by local law. Check the state, provincial or national rule and the permit; "
    "this is a planning volume only."
)
CEMENT_GRAVITY = 3.15
BENTONITE_GRAVITY = 2.6
"""Specific gravities of the grains, common values, from memory. With them the listed mixes come
to 1.30, 1.13, 1.28 and 1.81 kg per litre."""
LOSS = 1.5
"""Planned over hole volume; 1.2 to 2 in practice, from memory."""
POUR_LIMIT = 3.05
"""Pouring from the top only in holes shallower than 10 ft: Minn. R. 4725.3050, for wells."""
TREMIE_ABOVE = 3.05
"""The pipe starts within 10 ft of the bottom: Minn. R. 4725.3050, for wells."""
LEAST_TAKE = 0.9
"""Less than this share of the hole volume means that it is not full: own choice."""
MOST_TAKE = 2.0
"""More than this many hole volumes means that grout is lost: upper end of practice, from memory."""
SETTING_HOURS = 24
"""No other work beside the hole before: Minn. R. 4725.3050, for wells."""
DEEPEST, WIDEST = 200.0, 0.5
"""No hole of a cone is deeper or wider [m]: a number in the wrong unit is refused."""

_Typed = TypeVar("_Typed", bound=Frozen)
Method = Literal["retraction", "re-entry", "tremie", "pour"]
METHODS: dict[str, str] = {
    "retraction": "through the rods as they are drawn; needs ports or a tip that stays",
    "re-entry": "through dummy rods pushed down the same hole; can miss a hole that closed",
    "tremie": (
        f"through a pipe from the bottom up; start within {TREMIE_ABOVE:g} m of the bottom, keep "
        "the pipe in grout, stop when grout of full density comes back; no other work beside the "
        f"hole for {SETTING_HOURS} h"
    ),
    "pour": f"from the top; only above {POUR_LIMIT:g} m, it bridges in small holes",
}
"""Ways to place grout. Tremie and pour limits: Minn. R. 4725.3050 (wells, verified); the rest
from memory."""


@dataclass(frozen=True, slots=True)
class Bore:
    """A length of hole of one diameter [m]."""

    top: float
    base: float
    diameter: float

    @property
    def per_metre(self) -> float:
        """Volume [L/m].

        Examples
        --------
        >>> [round(Bore(0, 1, d).per_metre, 2) for d in (0.0357, 0.0437, 0.050, 0.055)]
        [1.0, 1.5, 1.96, 2.38]
        """
        return math.pi / 4 * self.diameter**2 * 1000

    @property
    def volume(self) -> float:
        """Volume [L]."""
        return self.per_metre * (self.base - self.top)


def cone_diameter(tip_area: float) -> float:
    """Return the diameter of a cone from the area of its tip [m].

    Examples
    --------
    >>> round(cone_diameter(0.001) * 1000, 1), round(cone_diameter(0.0015) * 1000, 1)
    (35.7, 43.7)
    """
    return math.sqrt(4 * tip_area / math.pi)


def hole(
    depth: float,
    *,
    cone: float = 0.0357,
    rods: float = 0.036,
    reducer: float | None = None,
    reducer_above: float = 1.0,
    casing_depth: float = 0.0,
    casing: float | None = None,
    predrilled: float = 0.0,
    predrilled_diameter: float | None = None,
) -> tuple[Bore, ...]:
    """Return the hole as lengths of one diameter: the widest thing that passed each depth.

    Parameters
    ----------
    depth
        Depth reached [m].
    cone, rods
        Diameters [m].
    reducer, reducer_above
        Diameter of the friction reducer, and how far it sits above the tip [m].
    casing_depth, casing
        How deep a casing stood, and its outer diameter [m].
    predrilled, predrilled_diameter
        Depth and diameter of a hole drilled before [m].

    Raises
    ------
    ValueError
        Naming every measure that cannot be.
    """
    sizes = {"depth": depth, "cone": cone, "rods": rods}
    faults = [f"{name} {value:g} m" for name, value in sizes.items() if not value > 0]
    faults += [
        f"{name} is {at:g} m deep but has no diameter"
        for name, at, size in (
            ("casing", casing_depth, casing),
            ("predrilled hole", predrilled, predrilled_diameter),
        )
        if at > 0 and not size
    ]
    if faults:
        raise ValueError("; ".join(faults))
    passed = [(depth, cone), (depth, rods)]
    if reducer:
        passed.append((max(depth - reducer_above, 0.0), reducer))
    if casing:
        passed.append((min(casing_depth, depth), casing))
    if predrilled_diameter:
        passed.append((min(predrilled, depth), predrilled_diameter))
    edges = sorted({0.0, *(base for base, _ in passed)})
    found: list[Bore] = []
    for top, base in pairwise(edges):
        widest = max(size for reach, size in passed if reach >= base)
        if found and found[-1].diameter == widest:
            found[-1] = Bore(found[-1].top, base, widest)
        else:
            found.append(Bore(top, base, widest))
    return tuple(found)


class Mix(Frozen):
    """A grout by weight."""

    words: str
    water: float = Field(gt=0)
    cement: float = Field(ge=0)
    bentonite: float = Field(ge=0)
    mark: Literal["verified", "from memory", "own choice", "set by the project"]
    source: str = ""

    @property
    def density(self) -> float:
        """Density from the specific gravities [kg/L].

        Examples
        --------
        >>> round(mixes()["cement-bentonite-firm"].density, 2)
        1.3
        """
        volume = self.water + self.cement / CEMENT_GRAVITY + self.bentonite / BENTONITE_GRAVITY
        return (self.water + self.cement + self.bentonite) / volume

    @property
    def ratio(self) -> str:
        """The weights as text."""
        return f"{self.water:g} : {self.cement:g} : {self.bentonite:g}"

    def weights(self, volume: float) -> tuple[float, float, float]:
        """Return water, cement and bentonite for a volume [L] of grout [kg]."""
        total = volume * self.density
        parts = self.water + self.cement + self.bentonite
        return (
            total * self.water / parts,
            total * self.cement / parts,
            total * self.bentonite / parts,
        )


@cache
def mixes() -> dict[str, Mix]:
    """Return the shipped mixes by name."""
    text = (resources.files("pushproof.planning") / "mixes.toml").read_text("utf-8")
    return {name: Mix.model_validate(row) for name, row in tomllib.loads(text).items()}


@dataclass(frozen=True)
class Grouting:
    """Grout for one hole.

    Parameters
    ----------
    bores
        The hole.
    loss
        Planned over hole volume [-].
    mix
        The grout.
    batch
        Volume of one batch [L].
    cement_bag, bentonite_bag
        Mass of a bag [kg].
    """

    bores: tuple[Bore, ...]
    mix: Mix
    loss: float = LOSS
    batch: float = 60.0
    cement_bag: float = 25.0
    bentonite_bag: float = 25.0

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        faults = [
            f"{name} {value:g}"
            for name, value, least in (
                ("loss factor", self.loss, 1.0),
                ("batch", self.batch, 1.0),
                ("cement bag", self.cement_bag, 0.1),
                ("bentonite bag", self.bentonite_bag, 0.1),
            )
            if not value >= least
        ]
        if faults:
            raise ValueError(f"too small: {'; '.join(faults)}")

    @property
    def depth(self) -> float:
        """Depth of the hole [m]."""
        return self.bores[-1].base

    @property
    def hole_volume(self) -> float:
        """Volume of the hole [L]."""
        return sum(bore.volume for bore in self.bores)

    @property
    def planned(self) -> float:
        """Volume to have ready [L]."""
        return self.hole_volume * self.loss

    @property
    def batches(self) -> int:
        """Batches to mix."""
        return math.ceil(self.planned / self.batch - 1e-9)

    @property
    def per_batch(self) -> tuple[float, float, float]:
        """Water, cement and bentonite of one batch [kg]."""
        return self.mix.weights(self.batch)

    @property
    def bags(self) -> tuple[int, int]:
        """Whole bags of cement and bentonite for all batches."""
        _, cement, bentonite = self.mix.weights(self.batch * self.batches)
        return (
            math.ceil(cement / self.cement_bag - 1e-9),
            math.ceil(bentonite / self.bentonite_bag - 1e-9),
        )


def method_findings(
    method: str, depth: float, *, water_level: float | None = None, artesian: bool = False
) -> tuple[Finding, ...]:
    """Return what speaks against a method of placing grout in a hole.

    Raises
    ------
    ValueError
        If there is no such method.
    """
    if method not in METHODS:
        raise ValueError(f"method {method!r}: expected one of {', '.join(METHODS)}")
    found = []
    if method == "pour" and depth > POUR_LIMIT:
        text = f"pouring from the top into {depth:.1f} m"
        advice = f"only above {POUR_LIMIT:g} m; use a tremie, retraction or re-entry"
        source = "Minn. R. 4725.3050 (wells), verified; your rule may differ"
        found.append(Finding("grout-pour", Severity.STOP, text, advice, source=source))
    if method == "re-entry":
        advice = "compare the depth of the dummy rods with the depth of the hole"
        text = "re-entry can miss a hole that closed"
        found.append(Finding("grout-re-entry", Severity.CAUTION, text, advice))
    if artesian:
        text = "water flows or may flow from the hole"
        advice = "have casing and dense grout ready before the rods are drawn; never leave it open"
        found.append(Finding("grout-artesian", Severity.STOP, text, advice, source="from memory"))
    if artesian or (water_level is not None and depth > water_level):
        text = "the hole reaches below the water table"
        source = "UFC 3-220-10 section 2-5.1.2"
        found.append(
            Finding("grout-needed", Severity.CAUTION, text, "it must be grouted", source=source)
        )
    return tuple(found)


class GroutOrder(Frozen):
    """What is said of a hole and its grout; what is left out comes from the record."""

    depth: float | None = Field(None, gt=0, le=DEEPEST, description="depth of the hole [m]")
    tip_area: float | None = Field(None, gt=0, le=0.01, description="area of the tip [m2]")
    rods: float | None = Field(None, gt=0, le=WIDEST, description="diameter of the rods [m]")
    reducer: float | None = Field(
        None, gt=0, le=WIDEST, description="diameter of the friction reducer [m]"
    )
    casing_depth: float = Field(0.0, ge=0, le=DEEPEST, description="how deep a casing stood [m]")
    casing: float | None = Field(None, gt=0, le=WIDEST, description="its outer diameter [m]")
    predrilled: float = Field(0.0, ge=0, le=DEEPEST, description="depth drilled before [m]")
    predrilled_diameter: float | None = Field(
        None, gt=0, le=WIDEST, description="diameter of that hole [m]"
    )
    mix: str = Field("cement-bentonite-firm", max_length=100, description="name of the mix")
    loss: float = Field(LOSS, ge=1, le=10, description="planned over hole volume [-]")
    batch: float = Field(60.0, ge=1, le=5000, description="volume of a batch [L]")
    cement_bag: float = Field(25.0, ge=0.1, le=2000, description="mass of a bag of cement [kg]")
    bentonite_bag: float = Field(25.0, ge=0.1, le=2000, description="of bentonite [kg]")
    method: Method = Field("tremie", description="how grout is placed")
    water_level: float | None = Field(
        None, ge=-100, le=DEEPEST, description="depth of the water table [m]"
    )
    artesian: bool = Field(False, description="water flows or may flow from the hole")

    @classmethod
    def of(cls, values: Mapping[str, Any], base: Self | None = None) -> Self:
        """Return an order: the values that were given, over another order.

        Raises
        ------
        ConfigurationError
            Naming every value that cannot be.

        Examples
        --------
        >>> GroutOrder.of({"batch": 80, "depth": None}).batch
        80.0
        """
        kept = {} if base is None else base.model_dump(exclude_unset=True)
        return _checked(cls, kept | _given(values))


class Take(Frozen):
    """What went into a hole, as the crew says it."""

    take: float = Field(ge=0, le=100_000, description="grout that went in [L]")
    lowest: float | None = Field(
        None, ge=0, le=DEEPEST, description="depth where grout was first placed [m]"
    )
    batches: int | None = Field(None, ge=0, le=10_000)
    density: float | None = Field(None, gt=0.9, lt=2.5, description="measured [kg/L]")
    top_up: float | None = Field(None, ge=0, le=100_000, description="after settling [L]")
    permit: str = Field("", max_length=200, description="number of the permit")
    by: str = Field(min_length=1, max_length=200, description="who closed it")
    remark: str = Field("", max_length=2000)

    @classmethod
    def of(cls, values: Mapping[str, Any]) -> Self:
        """Return what went in, from what was typed.

        Raises
        ------
        ConfigurationError
            Naming every value that cannot be.
        """
        return _checked(cls, _given(values))


def _given(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None}


def _checked(kind: type[_Typed], values: Mapping[str, Any]) -> _Typed:
    try:
        return kind.model_validate(values)
    except ValidationError as error:
        faults = (
            f"{f['loc'][-1]}: {f['msg'].lower()}, found {f['input']!r}" for f in error.errors()
        )
        raise ConfigurationError("; ".join(faults)) from error


class Closing(Frozen):
    """How a hole was closed: a fact."""

    method: Method
    mix: str = Field(description="name of the mix, or words for a material of your own")
    depth: float = Field(gt=0, description="depth of the hole [m]")
    lowest: float | None = Field(None, ge=0, description="depth where grout was first placed [m]")
    hole_volume: float = Field(gt=0, description="[L]")
    planned: float = Field(gt=0, description="[L]")
    take: float = Field(ge=0, description="grout that went in [L]")
    batches: int | None = Field(None, ge=0)
    density: float | None = Field(None, gt=0.9, lt=2.5, description="measured [kg/L]")
    top_up: float | None = Field(None, ge=0, description="added after settling [L]")
    permit: str = ""
    by: str = Field(min_length=1)
    remark: str = ""
    order: GroutOrder | None = Field(None, description="what the volumes were planned from")

    def findings(self) -> tuple[Finding, ...]:
        """Return what the record shows: not full, lost, thin, or started too high."""
        found = []
        total = self.take + (self.top_up or 0.0)
        share = total / self.hole_volume
        if share < LEAST_TAKE:
            text = f"{total:.0f} L went in, the hole holds {self.hole_volume:.0f} L"
            advice = "the hole closed, or grout bridges in it: sound it, then top up"
            found.append(Finding("grout-short", Severity.CAUTION, text, advice))
        if share > MOST_TAKE:
            text = f"{total:.0f} L went in, {share:.1f} times the hole"
            advice = "grout is lost: thicken it, wait, or change the method"
            found.append(Finding("grout-lost", Severity.CAUTION, text, advice))
        if self.lowest is not None and self.lowest < self.depth - TREMIE_ABOVE:
            text = f"grout was placed from {self.lowest:.1f} m up, the hole is {self.depth:.1f} m"
            advice = f"start within {TREMIE_ABOVE:g} m of the bottom"
            source = "Minn. R. 4725.3050 (wells)"
            found.append(Finding("grout-high", Severity.CAUTION, text, advice, source=source))
        mix = mixes().get(self.mix)
        if mix is not None and self.density is not None and self.density < mix.density - 0.05:
            text = f"density {self.density:.2f} kg/L, the mix has {mix.density:.2f}"
            found.append(Finding("grout-thin", Severity.CAUTION, text, "weigh it again, or mix on"))
        return tuple(found)

    @property
    def text(self) -> str:
        """The closing in one sentence."""
        mix = mixes().get(self.mix)
        words = self.mix if mix is None else mix.words
        return f"hole closed by {self.method}: {self.take:.0f} L of {words}, by {self.by}"
