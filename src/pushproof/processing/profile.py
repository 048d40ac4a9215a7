"""From a sounding and a recipe to a profile: the order of the corrections.

Sort, set stored results aside, pre-excavation, depth from tilt, blanked intervals, qt and Rf,
rate, elevation. Each step is a module of its own and changes nothing it was given.
"""

from __future__ import annotations

from pushproof.model.profile import Profile
from pushproof.model.recipe import Recipe
from pushproof.model.series import Reason
from pushproof.model.sounding import Sounding
from pushproof.processing.channels import copy_stored, correct, drop_unfitted, set_stored_aside
from pushproof.processing.corrections import apply_all
from pushproof.processing.intervals import blank, pre_excavated, void_rows
from pushproof.processing.order import order
from pushproof.processing.rate import with_rate
from pushproof.processing.tilt import depth_from_tilt
from pushproof.processing.water import water_level


def process(sounding: Sounding, recipe: Recipe | None = None) -> Profile:
    """Return the corrected, depth-true profile of a sounding.

    Parameters
    ----------
    sounding
        The facts.
    recipe
        The decisions; the defaults where None.

    Returns
    -------
    Profile
        Rows sorted by penetration length, with ``length``, ``depth``, everything measured, ``qt``
        and, where they can be had, ``ft``, ``Rf``, ``tilt``, ``rate`` and ``elevation``.

    Examples
    --------
    >>> import numpy as np
    >>> from pushproof.model.series import Series
    >>> readings = Series({"length": np.array([1.0, 2.0]), "qc": np.array([500.0, 700.0])})
    >>> process(Sounding("A", readings)).series["qt"].tolist()
    [500.0, 700.0]
    """
    recipe = recipe or Recipe()
    ordered = order(sounding.readings)
    series = sounding.readings.take(ordered.row).with_column("length", ordered.length)
    series, not_fitted = drop_unfitted(set_stored_aside(series))
    void = void_rows(series)
    predrilled = sounding.predrilled if recipe.predrilled is None else recipe.predrilled
    series, excavated = pre_excavated(series, predrilled)
    series, effects = apply_all(series, sounding, recipe.corrections)
    length = series["length"]
    correct_depth = recipe.correct_depth and not ordered.length_is_depth
    depth = depth_from_tilt(series, length, correct=correct_depth)
    if "depth" in series and not ordered.length_is_depth:
        series = copy_stored(series, "depth")
    series = series.with_column("depth", depth.depth)
    if depth.tilt is not None:
        series = series.with_column("tilt", depth.tilt, Reason.NOT_MEASURED)
    series, blanked = blank(series, recipe.blanked)
    ratio = recipe.area_ratio if recipe.area_ratio is not None else sounding.cone.area_ratio
    corrected = correct(series, sounding.cone, ratio)
    series = with_rate(corrected.series)
    if sounding.location.level is not None:
        series = series.with_column("elevation", sounding.location.level - series["depth"])
    water, assumptions = water_level(sounding, recipe)
    return Profile(
        sounding=sounding,
        recipe=recipe,
        series=series,
        row=ordered.row,
        water=water,
        area_ratio=ratio,
        qt_is_qc=corrected.qt_is_qc,
        depth_is_length=depth.is_length,
        assumptions=assumptions,
        findings=(
            *sounding.findings,
            *ordered.findings,
            *not_fitted,
            *void,
            *excavated,
            *depth.findings,
            *blanked,
            *corrected.findings,
        ),
        effects=effects,
    )
