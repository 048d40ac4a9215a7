"""The ways side by side: from times of half dissipation and fitted curves to estimates."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.equations.consolidation import DEGREES
from pushproof.interpretation.dissipation.factors import (
    T_PRIME_HALF,
    Case,
    Flow,
    flow_of,
    flow_of_dilatory,
)
from pushproof.interpretation.dissipation.fits import CurveFit, dilatory_curve, tabulated_curve
from pushproof.interpretation.dissipation.setting import Setting
from pushproof.interpretation.dissipation.ways import Way
from pushproof.model.dissipation import DissipationEstimate, DissipationFit
from pushproof.model.picks import DissipationMethod

LAMBDA = 0.8
"""Plastic volumetric strain ratio of the dilatory solution: usual, from memory."""
CURVE_POINTS = 120
"""Points of a fitted curve for drawing."""

Made = tuple[DissipationEstimate, DissipationFit]


def estimate(way: Way, case: Case) -> DissipationEstimate:
    """Return the estimate that a reading gives."""
    return DissipationEstimate(
        method=way.method,
        how=way.how,
        u_i=way.u_i,
        u50=0.5 * (way.u_i + case.u0),
        t50=way.t50,
        reached=case.degree(float(case.record.smooth[-1]), way.u_i),
        window=way.window,
        residual=None if way.line is None else way.line.residual,
        extrapolated=way.extrapolated,
        **_fields(flow_of(way.t50, case)),
    )


def line_fit(way: Way, case: Case) -> DissipationFit:
    """Return the straight part over root time, from zero to where it was used."""
    line, record = way.line, case.record
    assert line is not None
    inside = (record.time >= line.window[0]) & (record.time <= line.window[1])
    until = line.window[1] if math.isnan(way.t50) else max(line.window[1], way.t50)
    roots = np.linspace(0.0, math.sqrt(until), CURVE_POINTS)
    time = record.time[inside]
    return DissipationFit(
        "root-time",
        roots**2,
        line.start + line.slope * roots,
        time,
        record.u[inside] - line.start - line.slope * np.sqrt(time),
        {"u_i": line.start, "slope": line.slope, "error_of_u_i": line.error},
    )


def curve_fit(case: Case) -> Made | None:
    """Fit the tabulated curve; None where too little of the record lies in the table."""
    table, degrees = case.factors.at(np.array(DEGREES)), np.array(DEGREES)
    fit = tabulated_curve(case.record, case.u0, table)
    if fit is None:
        return None
    excess = fit.parts[0]

    def model(time: FloatArray) -> FloatArray:
        degree = np.interp(np.log(time * fit.scale), np.log(table), degrees)
        return np.asarray(case.u0 + excess * (1.0 - degree / 100.0))

    t50 = float(case.factors.at(50.0)) / fit.scale
    how = (
        f"tabulated curve fitted from {fit.window[0]:.1f} to {fit.window[1]:.0f} s, "
        "the initial pressure free"
    )
    at = np.geomspace(table[0] / fit.scale, table[-1] / fit.scale, CURVE_POINTS)
    at = at[at <= case.record.length * 4.0]
    flow = flow_of(t50, case)
    return _made("curve-fit", how, case, case.u0 + excess, t50, fit, flow, at, model, {})


def dilatory_fit(case: Case) -> Made | None:
    """Fit the dilatory solution; None where it cannot be fitted."""
    fit = dilatory_curve(case.record, case.u0)
    if fit is None:
        return None
    octahedral, shear = fit.parts

    def model(time: FloatArray) -> FloatArray:
        factor = fit.scale * time
        parts = octahedral / (1.0 + 50.0 * factor) + shear / (1.0 + 5000.0 * factor)
        return np.asarray(case.u0 + parts)

    t50 = T_PRIME_HALF / fit.scale
    how = (
        f"dilatory solution fitted from {fit.window[0]:.1f} to {fit.window[1]:.0f} s; initial "
        "pressure and t50 are of its octahedral part"
    )
    at = np.geomspace(fit.window[0], fit.window[1], CURVE_POINTS)
    parameters = {"du_oct": octahedral, "du_shear": shear}
    parameters |= implied(octahedral, shear, case.place)
    u_i, flow = case.u0 + octahedral, flow_of_dilatory(t50, case)
    return _made("dilatory-fit", how, case, u_i, t50, fit, flow, at, model, parameters)


def implied(octahedral: float, shear: float, place: Setting) -> dict[str, float]:
    """Return the OCR and the rigidity index that the fitted pressures stand for.

    ``shear = s (1 - (OCR / 2)^L)`` and ``octahedral = s (2 Mc / 3) (OCR / 2)^L ln Ir``, with s the
    effective vertical stress; nothing where that is not known.
    """
    stress = place.sigma_v0_eff
    if math.isnan(stress) or shear >= stress:
        return {}
    history = 1.0 - shear / stress
    logarithm = octahedral / (stress * (2.0 * place.Mc / 3.0) * history)
    return {
        "implied_OCR": 2.0 * history ** (1.0 / LAMBDA),
        "implied_Ir": math.exp(min(logarithm, 50.0)),
    }


def _made(
    method: DissipationMethod,
    how: str,
    case: Case,
    u_i: float,
    t50: float,
    fit: CurveFit,
    flow: Flow,
    at: FloatArray,
    model: Callable[[FloatArray], FloatArray],
    parameters: dict[str, float],
) -> Made:
    record = case.record
    inside = (record.time >= fit.window[0]) & (record.time <= fit.window[1])
    found = DissipationEstimate(
        method=method,
        how=how,
        u_i=u_i,
        u50=0.5 * (u_i + case.u0),
        t50=t50,
        reached=case.degree(float(record.smooth[-1]), u_i),
        window=fit.window,
        residual=fit.residual,
        extrapolated=t50 > record.length,
        **_fields(flow),
    )
    time = record.time[inside]
    residual = record.u[inside] - model(time)
    return found, DissipationFit(method, at, model(at), time, residual, parameters)


def _fields(flow: Flow) -> dict[str, float]:
    names = ("T_star", "ch", "ch_low", "ch_high", "kh_modulus", "kh_direct")
    return {name: getattr(flow, name) for name in names}
