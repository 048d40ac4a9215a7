"""Sample soundings for tests and documentation, made by the rehearsal rig."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from pushproof.model.sounding import Location, Sounding
from pushproof.sources.rehearsal import Ground, Layer, Plan, push, scenario

_CLAY = Layer(12.0, "soft clay", 15.8, su=12, su_gradient=1.6, friction=2.4, pore=0.55)
_SAND = Layer(25.0, "sand", 19.5, density=0.75, friction=0.7, scatter=0.16)


def _push(plan: Plan, *layers: Layer, water: float = 1.0, seed: int = 7) -> Sounding:
    return push(Ground(layers, water), plan, seed).sounding


def _deep() -> Sounding:
    stiff = Layer(33.0, "stiff clay", 19.0, su=90, su_gradient=4, friction=3.0, pore=0.35)
    return _push(Plan("DEEP-70", 69.7, tilt_drift=0.12), _CLAY, _SAND, stiff)


def _over_water() -> Sounding:
    place = Location(level=-8.4, datum="site datum", zero="water bottom", water_depth=7.5)
    plan = Plan("WATER-1", 14.0, location=place)
    return _push(plan, _CLAY, _SAND, water=-7.5)


SAMPLES: dict[str, Callable[[], Sounding]] = {
    "clay-over-sand": lambda: scenario()[0].sounding,
    "refusal": lambda: scenario()[1].sounding,
    "desaturated": lambda: scenario()[2].sounding,
    "dense-sand": lambda: _push(
        Plan("SAND-1", 12.0), Layer(14.0, "dense sand", 20.0, density=0.9, scatter=0.15)
    ),
    "no-u2": lambda: _push(Plan("NOU2-1", 15.0, without=("u2",)), _CLAY, _SAND),
    "no-fs": lambda: _push(Plan("NOFS-1", 15.0, without=("fs",)), _CLAY, _SAND),
    "over-water": _over_water,
    "deep": _deep,
    "short": lambda: _push(Plan("SHORT-1", 3.2), _CLAY),
}
"""Name of a sample to what makes it."""


@cache
def sample(name: str) -> Sounding:
    """Return a sample sounding.

    Raises
    ------
    ValueError
        If there is none of that name.
    """
    if name not in SAMPLES:
        raise ValueError(f"no sample {name!r}; known: {', '.join(SAMPLES)}")
    return SAMPLES[name]()
