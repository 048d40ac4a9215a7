"""The steps from a profile to its parameters, as a recipe chooses them."""

from __future__ import annotations

from pushproof.interpretation.chain import Ground, Step
from pushproof.model.recipe import Methods, Recipe

CLAY_ONLY = frozenset(
    {
        "sigma_p_excess_mayne_2007",
        "sigma_p_effective_mayne_2007",
        "OCR_kulhawy_mayne_1990",
        "OCR_robertson_2009",
        "OCR_mayne_1991",
        "Vs_mayne_rix_1995",
    }
)
"""Relations that hold in clay, among those that stand in for one that holds anywhere."""


def chain(recipe: Recipe) -> tuple[Step, ...]:
    """Return the steps that a recipe chooses, in the order in which they are run.

    Examples
    --------
    >>> [step.key for step in chain(Recipe())][:4]
    ['qn', 'Qt', 'Fr', 'Bq']
    """
    methods = recipe.methods
    return (
        Step("qn", "qn_net"),
        Step("Qt", "Qt_linear"),
        Step("Fr", "Fr_normalised"),
        Step("Bq", "Bq_ratio"),
        Step("n", methods.n),
        Step("Qtn", "Qtn_stress"),
        Step("Ic", "Ic_robertson_wride_1998"),
        Step("curve", methods.overconsolidated_zones),
        Step("zone", "zone_robertson_2009"),
        Step("IB", "IB_robertson_2016"),
        Step("CD", "CD_robertson_2016"),
        Step("group", "group_robertson_2016"),
        Step("FC", methods.fines),
        Step("n60_ratio", methods.n60),
        Step("N60", "N60_from_ratio"),
        Step("N1_60", "N1_60_liao_whitman_1986", Ground.SAND),
        *_strength(methods),
        *_history(methods),
        Step("Kc", "Kc_robertson_wride_1998", Ground.SAND),
        Step("Qtn_cs", "Qtn_cs_robertson_wride_1998", Ground.SAND),
        Step("phi", methods.phi_sand, Ground.SAND),
        Step("phi", methods.phi_clay, Ground.CLAY),
        *_pressure_at_rest(methods),
        Step("Dr", methods.dr, Ground.SAND),
        Step("psi", methods.psi, Ground.SAND),
        *_constrained_modulus(methods),
        Step("E", methods.e, Ground.SAND),
        Step("Vs", methods.vs, Ground.CLAY if methods.vs in CLAY_ONLY else Ground.ANY),
        Step("G0", methods.g0),
        Step("k", "k_robertson_2010"),
    )


def _strength(methods: Methods) -> tuple[Step, ...]:
    steps: tuple[Step, ...] = (Step("su", methods.su, Ground.CLAY),)
    if methods.su == "su_nkt" and methods.nkt != "constant":
        steps = (Step("Nkt", methods.nkt, Ground.CLAY), *steps)
    return (*steps, Step("St", methods.sensitivity, Ground.CLAY))


def _history(methods: Methods) -> tuple[Step, ...]:
    """Return the steps to yield stress and OCR, whichever of them the relation gives."""
    relation = methods.yield_stress
    ground = Ground.CLAY if relation in CLAY_ONLY else Ground.ANY
    if relation.startswith("OCR_"):
        return (Step("OCR", relation, ground), Step("sigma_p", "sigma_p_definition", ground))
    first = (Step("m_yield", "m_yield_mayne_2017"),) if relation == "sigma_p_mayne_2009" else ()
    return (*first, Step("sigma_p", relation, ground), Step("OCR", "OCR_definition", ground))


def _pressure_at_rest(methods: Methods) -> tuple[Step, ...]:
    if methods.k0_sand == methods.k0_clay:
        return (Step("K0", methods.k0_sand),)
    return (Step("K0", methods.k0_sand, Ground.SAND), Step("K0", methods.k0_clay, Ground.CLAY))


def _constrained_modulus(methods: Methods) -> tuple[Step, ...]:
    if methods.m == "M_robertson_2009":
        return (Step("M", methods.m),)
    return (
        Step("alpha", "alpha_sand_en_1997_2", Ground.SAND),
        Step("alpha", "alpha_clay_low_en_1997_2", Ground.CLAY),
        Step("M", methods.m),
    )
