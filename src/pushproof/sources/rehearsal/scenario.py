"""The demo scenario: an invented site with three soundings. No real person, firm or place."""

from __future__ import annotations

from datetime import datetime

from pushproof.model.sounding import Location, RemovedLayer, Water, WaterOrigin
from pushproof.sources.rehearsal.ground import Ground, Layer
from pushproof.sources.rehearsal.push import Plan, Pushed, push

PROJECT = "Heronmere Sluice (invented)"
SEED = 2207

_FILL = Layer(0.8, "sandy fill", 18.0, density=0.45, friction=0.9, scatter=0.25)
_CRUST = Layer(1.1, "stiff crust", 17.5, su=65, su_gradient=-25, friction=3.2, pore=0.02)
_CLAY = Layer(
    6.6, "soft clay", 15.6, su=14, su_gradient=1.5, friction=2.4, pore=0.55, scatter=0.04, ch=6e-7
)
_PEAT = Layer(0.9, "peat", 11.2, su=16, friction=5.5, pore=0.22, scatter=0.15, ch=3e-6)
_SILT = Layer(2.2, "sandy silt", 18.2, su=75, su_gradient=6, friction=2.0, pore=0.12, scatter=0.15)
_SAND = Layer(7.4, "medium dense sand", 19.3, density=0.58, friction=0.65, scatter=0.2)
_DENSE = Layer(4.0, "dense sand", 20.2, density=0.85, friction=0.8, scatter=0.14)


def grounds() -> tuple[Ground, Ground, Ground]:
    """Return the ground at the three points of the site."""
    first = Ground((_FILL, _CRUST, _CLAY, _PEAT, _SILT, _SAND, _DENSE), 1.1)
    gravel = Layer(3.0, "cobbles in gravel", 21.0, density=1.35, friction=0.4, scatter=0.35)
    short = Layer(2.1, "soft clay", 15.8, su=17, su_gradient=2, friction=2.6, pore=0.5)
    second = Ground((_FILL, _CRUST, short, gravel), 1.3)
    thin = Layer(4.4, "soft clay", 15.6, su=15, su_gradient=1.5, friction=2.4, pore=0.55)
    lens = Layer(0.6, "sand lens", 19.0, density=0.5, friction=0.7, scatter=0.2)
    more = Layer(2.6, "clay", 16.2, su=26, su_gradient=1.8, friction=2.5, pore=0.5)
    third = Ground((_FILL, _CRUST, thin, lens, more, _SILT, _SAND), 1.0)
    return first, second, third


def scenario(seed: int = SEED) -> tuple[Pushed, Pushed, Pushed]:
    """Push the three soundings of the demo site.

    HM-1: soft clay over sand, with a dissipation test. HM-2: refusal in cobbles. HM-3: a filter
    with air in it.
    """
    first, second, third = grounds()
    removed = (
        RemovedLayer(top=0.0, base=0.3, description="topsoil"),
        RemovedLayer(top=0.3, base=0.6, description="sandy fill, brick pieces"),
    )
    plans = (
        Plan(
            "HM-1",
            21.5,
            start=0.6,
            dissipations=((6.5, 1500.0),),
            location=_place(1012.4, 2203.8, 1.62),
            started=datetime(2031, 5, 13, 8, 40),
            project=PROJECT,
            removed=removed,
            water=Water(level=1.1, origin=WaterOrigin.MEASURED, remark="standpipe"),
        ),
        Plan(
            "HM-2",
            20.0,
            start=0.4,
            refusal=48_000.0,
            tilt_step=(4.05, 2.4),
            location=_place(1047.9, 2188.1, 1.85),
            started=datetime(2031, 5, 13, 11, 5),
            project=PROJECT,
            water=Water(level=1.3, origin=WaterOrigin.MEASURED, remark="standpipe"),
        ),
        Plan(
            "HM-3",
            17.0,
            start=0.4,
            air_in_filter=True,
            location=_place(1080.2, 2211.5, 1.41),
            started=datetime(2031, 5, 13, 13, 50),
            project=PROJECT,
        ),
    )
    ground = (first, second, third)
    one, two, three = (
        push(g, plan, seed + i) for i, (g, plan) in enumerate(zip(ground, plans, strict=True))
    )
    return one, two, three


def _place(x: float, y: float, level: float) -> Location:
    return Location(x=x, y=y, crs="site grid", level=level, datum="site datum", zero="ground level")
