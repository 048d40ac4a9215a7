"""From a profile to its interpretation: the order of the relations, each chosen by the recipe."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.behaviour import (
    curve_alternative,
    curve_robertson_2009,
    zone_robertson_2009,
)
from pushproof.equations.normalised import Bq_ratio, Fr_normalised, Qt_linear, qn_net
from pushproof.equations.spt import (
    N1_60_liao_whitman_1986,
    n60_ratio_jefferies_davies_1993,
    n60_ratio_robertson_2012,
)
from pushproof.interpretation.normalise import normalise
from pushproof.interpretation.stresses import stresses
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Interpretation, Profile
from pushproof.model.recipe import Recipe
from pushproof.model.series import Reason, ReasonArray, Series

FloatArray = NDArray[np.float64]


def interpret(profile: Profile) -> Interpretation:
    """Return the derived parameters along a profile.

    Parameters
    ----------
    profile
        Corrected profile; its recipe names the relations.

    Returns
    -------
    Interpretation
        The columns of the profile, then stresses, normalised parameters, soil behaviour and
        equivalent blow counts. A value that cannot be had is missing with its reason.

    Examples
    --------
    >>> import numpy as np
    >>> from pushproof.model.sounding import Sounding
    >>> from pushproof.processing import process
    >>> columns = {"length": np.array([4.0]), "qc": np.array([900.0]), "fs": np.array([20.0])}
    >>> derived = interpret(process(Sounding("A", Series(columns))))
    >>> round(float(derived.series["Ic"][0]), 2)
    2.66
    """
    recipe = profile.recipe
    grounds = stresses(profile)
    series = grounds.series
    methods = {
        "gamma": grounds.method,
        "sigma_v0": "sigma_v0_layers",
        "u0": "u0_hydrostatic",
        "sigma_v0_eff": "sigma_v0_layers",
    }
    findings = [*profile.findings, *grounds.findings]
    series, more = _normalised(series, recipe, methods)
    findings += more
    series = _behaviour(series, recipe, methods)
    series = _blow_counts(series, recipe, methods)
    return Interpretation(
        profile=profile,
        series=series,
        methods=methods,
        assumptions=(*profile.assumptions, *grounds.assumptions),
        findings=tuple(findings),
    )


def _first_reason(series: Series, *keys: str) -> ReasonArray:
    """Return for each row why one of the inputs is missing, or that the relation has no value."""
    reason = np.full(len(series), Reason.OUTSIDE_VALIDITY, dtype=np.uint8)
    for key in reversed(keys):
        codes = series.reason(key)
        reason = np.where(codes != Reason.PRESENT, codes, reason)
    return reason.astype(np.uint8)


def _normalised(
    series: Series, recipe: Recipe, methods: dict[str, str]
) -> tuple[Series, list[Finding]]:
    qn = qn_net(series["qt"], series["sigma_v0"])
    effective = series["sigma_v0_eff"]
    series = series.with_column("qn", qn, _first_reason(series, "qt"))
    series = series.with_column("Qt", Qt_linear(qn, effective), _first_reason(series, "qt"))
    methods |= {"qn": "qn_net", "Qt": "Qt_linear"}
    if series.measured("u2"):
        Bq = Bq_ratio(series["u2"], series["u0"], qn)
        series = series.with_column("Bq", Bq, _first_reason(series, "qt", "u2"))
        methods["Bq"] = "Bq_ratio"
    findings = _below_overburden(series)
    if not series.measured("fs"):
        findings.append(
            Finding(
                "fs-missing",
                Severity.CAUTION,
                "there is no sleeve friction, so no soil behaviour and no blow counts",
                "fs at every depth",
                channel="fs",
            )
        )
        return series, findings
    Fr = Fr_normalised(series["fs"], qn)
    reason = _first_reason(series, "qt", "fs")
    series = series.with_column("Fr", Fr, reason)
    found = normalise(recipe.methods.n, qn, Fr, effective, recipe.pa)
    reason = np.where(found.stuck, np.uint8(Reason.NOT_CONVERGED), reason).astype(np.uint8)
    for key, values in (("n", found.n), ("Qtn", found.Qtn), ("Ic", found.Ic)):
        series = series.with_column(key, values, reason)
    methods |= {
        "Fr": "Fr_normalised",
        "n": recipe.methods.n,
        "Qtn": "Qtn_stress",
        "Ic": "Ic_robertson_wride_1998",
    }
    if found.stuck.any():
        depth = series["depth"][found.stuck]
        text = f"the stress exponent did not settle in {int(found.stuck.sum())} rows"
        findings.append(
            Finding(
                "n-not-converged",
                Severity.CAUTION,
                text,
                top=float(depth.min()),
                base=float(depth.max()),
                channel="n",
            )
        )
    return series, findings


def _below_overburden(series: Series) -> list[Finding]:
    low = np.isfinite(series["qn"]) & (series["qn"] <= 0)
    if not low.any():
        return []
    depth = series["depth"][low]
    return [
        Finding(
            "qt-below-overburden",
            Severity.CAUTION,
            f"qt is not above the overburden in {int(low.sum())} rows; nothing is derived there",
            "qt above sigma_v0; check the zero of qc, the unit weight and the water level",
            top=float(depth.min()),
            base=float(depth.max()),
            channel="qt",
        )
    ]


def _behaviour(series: Series, recipe: Recipe, methods: dict[str, str]) -> Series:
    if "Ic" not in series:
        return series
    name = recipe.methods.overconsolidated_zones
    relation = curve_robertson_2009 if name == "curve_robertson_2009" else curve_alternative
    zone = zone_robertson_2009(series["Ic"], series["Qtn"], series["Fr"], relation(series["Fr"]))
    methods["zone"] = "zone_robertson_2009"
    return series.with_column("zone", zone, series.reason("Ic"))


def _blow_counts(series: Series, recipe: Recipe, methods: dict[str, str]) -> Series:
    if "Ic" not in series:
        return series
    if recipe.methods.n60 == "n60_ratio_jefferies_davies_1993":
        ratio = n60_ratio_jefferies_davies_1993(series["Ic"])
    else:
        ratio = n60_ratio_robertson_2012(series["Ic"])
    N60 = series["qt"] / recipe.pa / ratio
    reason = _first_reason(series, "Ic")
    series = series.with_column("N60", N60, reason)
    normalised = N1_60_liao_whitman_1986(N60, series["sigma_v0_eff"], recipe.pa)
    methods |= {"N60": recipe.methods.n60, "N1_60": "N1_60_liao_whitman_1986"}
    return series.with_column("N1_60", normalised, reason)
