"""Bands: closed forms from outside, both forms against each other, the two parts apart."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, stats

from pushproof.equations import equations
from pushproof.equations.scatter import Basis
from pushproof.interpretation import bands, interpret, mean_band
from pushproof.interpretation.ensemble import LABELS, Draws, banded, ensemble
from pushproof.interpretation.montecarlo import NOISE_LENGTH, drawn_means
from pushproof.interpretation.steps import chain
from pushproof.interpretation.uncertainty import ChannelError, ErrorSource
from pushproof.model.equipment import Calibration, Cone
from pushproof.model.recipe import Factors, Methods, Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding, Water, WaterOrigin, Zero
from pushproof.processing import process

COV_SU = 0.32
"""UFC 3-220-20, Ch. 7: transformation COV of su from qt, 29 to 35 %; the middle."""
SIGMA_SU = float(np.sqrt(np.log(1 + COV_SU**2)))
TENTHS = np.array([0.1, 0.5, 0.9])


def clay(rows=40, recipe=None, zeros=True, **known):
    """Soft clay from 5 to 9 m, with a complete budget of qc: 30, 4 and 6 kPa at k = 1."""
    depth = np.linspace(5.0, 9.0, rows)
    columns = {
        "length": depth,
        "qc": 400.0 + 45.0 * depth,
        "fs": 10.0 + 0.5 * depth,
        "u2": 30.0 * depth,
    }
    halves = {"qc": 30.0, "fs": 4.0, "u2": 6.0}
    calibrations = tuple(
        Calibration(channel=key, date="2026-01-02", uncertainty=2.0 * half)
        for key, half in halves.items()
    )
    at = [Zero(channel=key, value=0.0) for key in halves] if zeros else []
    sounding = Sounding(
        "clay",
        Series(columns),
        cone=Cone(area_ratio=0.8, calibrations=calibrations if zeros else ()),
        water=Water(level=1.0, origin=WaterOrigin.MEASURED),
        zeros_before=tuple(at),
        zeros_after=tuple(at),
        **known,
    )
    recipe = recipe or Recipe(gamma_constant=16.5)
    return interpret(process(sounding, recipe))


def triple(band, row=0):
    return np.array([band.p10[row], band.p50[row], band.p90[row]])


def test_the_relation_part_of_su_is_the_lognormal_of_scipy():
    derived = clay()
    value = derived.series["su"][0]
    exact = stats.lognorm.ppf(TENTHS, SIGMA_SU, scale=value)
    near = bands(derived, keys=["su"], parts=["relation"])["su"]
    drawn = bands(derived, keys=["su"], parts=["relation"], method="monte-carlo", draws=200_000)[
        "su"
    ]
    assert triple(near) == pytest.approx(exact, rel=1e-9)
    assert triple(drawn) == pytest.approx(exact, rel=5e-3)


def test_the_measurement_part_of_su_is_the_normal_of_scipy():
    # With one unit weight for all depths the stress does not hang on the channels, so that
    # su = (qc + (1 - a) u2 - sv0) / Nkt is normal: 30 kPa of qc and 0.2 times 6 kPa of u2.
    derived = clay()
    value = derived.series["su"][0]
    exact = stats.norm.ppf(TENTHS, value, np.hypot(30.0, 0.2 * 6.0) / 14.0)
    drawn = bands(derived, keys=["su"], parts=["measurement"], method="monte-carlo", draws=200_000)[
        "su"
    ]
    assert triple(drawn) == pytest.approx(exact, rel=2e-3)


def test_both_parts_of_su_together_by_numerical_integration():
    derived = clay()
    su = bands(derived, keys=["su"], method="monte-carlo", draws=200_000)["su"]
    value = derived.series["su"][0]
    deviation = np.hypot(30.0, 0.2 * 6.0) / 14.0 / value

    def below(y):
        # P(value (1 + deviation z) exp(SIGMA_SU e) < y), z integrated out.
        def inner(z):
            reach = (np.log(y / value) - np.log1p(deviation * z)) / SIGMA_SU
            return stats.norm.pdf(z) * stats.norm.cdf(reach)

        return integrate.quad(inner, -6, 6)[0]

    for quantile, wanted in zip(triple(su), TENTHS, strict=True):
        assert below(quantile) == pytest.approx(wanted, abs=0.004)


def test_a_fitted_factor_takes_the_place_of_the_scatter():
    recipe = Recipe(gamma_constant=16.5, factors=Factors(Nkt=15.0), factor_spread={"Nkt": 1.2})
    derived = clay(recipe=recipe)
    value = derived.series["su"][0]
    sigma = np.sqrt(np.log(1 + (1.2 / 15.0) ** 2))
    exact = stats.lognorm.ppf(TENTHS, sigma, scale=value)
    su = bands(derived, keys=["su"], parts=["relation"])["su"]
    assert triple(su) == pytest.approx(exact, rel=1e-6)
    assert any("Nkt 15 with a standard deviation of 1.2" in text for _, text in su.basis.relation)
    assert not any("UFC" in text for _, text in su.basis.relation)


@pytest.mark.parametrize("key", ["qn", "Qt", "Qtn", "N60", "su", "Vs", "G0", "M", "FC"])
def test_both_forms_agree_where_the_chain_is_nearly_straight(key):
    derived = clay()
    near = bands(derived, keys=[key])[key]
    drawn = bands(derived, keys=[key], method="monte-carlo", draws=40_000, seed=3)[key]
    for a, b in ((near.p10, drawn.p10), (near.p90, drawn.p90)):
        width = near.p90 - near.p10
        assert np.abs(a - b) == pytest.approx(0.0 * a, abs=0.07 * float(np.max(width)))


def test_the_chain_run_with_no_error_gives_the_interpretation():
    derived = clay()
    ready = ensemble(derived)
    found = ready.evaluate(slice(0, len(derived)), Draws())
    for key in ready.keys:
        assert found[key][:, 0] == pytest.approx(derived.series[key], rel=1e-5, nan_ok=True), key


def test_the_parts_stay_apart_and_add_as_squares():
    derived = clay()
    whole = bands(derived, keys=["su"])["su"]
    one = bands(derived, keys=["su"], parts=["measurement"])["su"]
    two = bands(derived, keys=["su"], parts=["relation"])["su"]
    reach = [np.log(band.p90 / band.p50) for band in (whole, one, two)]
    assert reach[0] == pytest.approx(np.hypot(reach[1], reach[2]))
    assert whole.scale == "factor"
    assert whole.relation == pytest.approx(np.full(40, SIGMA_SU))


def test_the_same_seed_gives_the_same_bands_whatever_the_block(monkeypatch):
    derived = clay()
    first = bands(derived, method="monte-carlo", draws=500, seed=7)
    monkeypatch.setattr("pushproof.interpretation.montecarlo.CELLS", 1)
    again = bands(derived, method="monte-carlo", draws=500, seed=7)
    other = bands(derived, method="monte-carlo", draws=500, seed=8)
    for key in first:
        assert first[key].p90 == pytest.approx(again[key].p90, rel=1e-6, nan_ok=True)
    assert (first["su"].p90 != other["su"].p90).any()


def test_a_value_that_is_missing_has_no_band():
    derived = clay()
    for method in ("first-order", "monte-carlo"):
        found = bands(derived, method=method, draws=50)
        for key in found:
            gone = ~np.isfinite(derived.series[key])
            assert np.isnan(found[key].p10[gone]).all()
            inside = np.isfinite(found[key].p10)
            assert (found[key].p10[inside] <= found[key].p90[inside]).all()


def test_labels_have_no_band_and_every_other_derived_column_has():
    derived = clay()
    possible = banded(derived)
    assert not LABELS & set(possible)
    assert {"qn", "Ic", "su", "OCR", "K0", "G0", "k"} <= set(possible)
    with pytest.raises(ValueError, match="no band for zone, nothing"):
        bands(derived, keys=["su", "zone", "nothing"])


def test_every_wrong_argument_is_named():
    with pytest.raises(ValueError, match=r"draws: 3.*method: 'guess'.*parts: hope"):
        bands(clay(), draws=3, method="guess", parts=["hope"])


def test_the_class_stands_in_for_a_budget_and_the_note_says_which():
    stated = clay(zeros=False, quality_class="2", standard="ISO 22476-1")
    silent = clay(zeros=False)
    proved = bands(clay(), keys=["qn"])["qn"]
    by_class = bands(stated, keys=["qn"])["qn"]
    assumed = bands(silent, keys=["qn"])["qn"]
    assert "by the budget" in proved.note
    assert "application class 2 of ISO 22476-1:2012" in by_class.note
    assert "no class is stated, so this one is assumed" in assumed.note
    # ISO 22476-1:2012 class 2 asks 100 kPa or 5 % of qc (from memory); 625 kPa: 100 kPa, k = 2.
    assert by_class.measurement[0] * stated.series["qn"][0] == pytest.approx(50.0, rel=0.02)
    assert (assumed.measurement > by_class.measurement).all()


def test_a_zero_that_moved_widens_the_band():
    derived = clay()
    sounding = derived.profile.sounding
    moved = tuple(
        one.model_copy(update={"value": 90.0}) if one.channel == "qc" else one
        for one in sounding.zeros_after
    )
    wide = interpret(process(replace(sounding, zeros_after=moved), derived.profile.recipe))
    a, b = (bands(one, keys=["su"])["su"].measurement[0] for one in (derived, wide))
    # JCGM 100, 4.3.7: rectangular of half-width 90 kPa has a standard deviation of 90 / sqrt(3).
    assert b / a == pytest.approx(np.hypot(30.0, 90.0 / np.sqrt(3)) / 30.0, rel=0.02)


def all_chains():
    """A recipe for every choice of every method."""
    for name, info in Methods.model_fields.items():
        for choice in info.annotation.__args__:
            yield Recipe(methods=Methods(**{name: choice}))


def test_every_equation_of_every_chain_declares_its_scatter():
    used = {step.equation for recipe in all_chains() for step in chain(recipe)}
    table = equations()
    assert len(used) > 60
    undeclared = [
        name for name in sorted(used - {"linear"}) if table[name].scatter.basis is Basis.UNDECLARED
    ]
    assert undeclared == []


def test_a_published_scatter_names_its_source_and_no_other_does():
    for one in equations().values():
        scatter = one.scatter
        assert (scatter.basis is Basis.PUBLISHED) == bool(scatter.reference), one.name
        assert scatter.known == (scatter.size > 0), one.name


def test_bands_run_for_every_choice_of_every_method():
    for recipe in all_chains():
        derived = clay(rows=4, recipe=recipe)
        for method in ("first-order", "monte-carlo"):
            found = bands(derived, method=method, draws=40)
            assert len(found) > 15, recipe.methods


def test_the_scatter_of_a_relation_does_not_average_out_in_a_mean():
    derived = clay()
    found = mean_band(derived, "su", 5.0, 9.0, draws=100_000, parts=["relation"])
    exact = stats.lognorm.ppf(TENTHS, SIGMA_SU, scale=found.mean)
    assert [found.p10, found.p50, found.p90] == pytest.approx(exact, rel=6e-3)
    assert found.rows == 40
    assert found.mean == pytest.approx(derived.series["su"].mean())


def test_noise_averages_out_as_its_correlation_along_depth_says():
    derived = clay(rows=30)
    flat = np.zeros(30)
    noise = ChannelError("qc", flat, 5.0, ErrorSource.BUDGET, "noise alone")
    ready = replace(ensemble(derived, ["qn"]), errors=(noise,))
    depth = derived.series["depth"]
    # The variance of a mean of correlated numbers: the mean of their covariances.
    apart = np.abs(depth[:, None] - depth[None, :])
    exact = 5.0 * np.sqrt(np.exp(-apart / NOISE_LENGTH).mean())
    means = drawn_means(ready, np.ones(30, dtype=bool), 40_000, 2)
    assert means.std() == pytest.approx(exact, rel=0.02)
    assert means.mean() == pytest.approx(derived.series["qn"].mean(), abs=0.1)


def test_a_mean_of_nothing_is_refused():
    with pytest.raises(ValueError, match="su has no estimate from 20 to 30 m"):
        mean_band(clay(), "su", 20.0, 30.0)
