"""An interpretation together with what the checks found, so that log and proof sheet agree."""

from __future__ import annotations

from dataclasses import replace

from pushproof.model.profile import Interpretation
from pushproof.quality import Assessment


def with_checks(interpretation: Interpretation, assessment: Assessment) -> Interpretation:
    """Return the interpretation with the findings of the checks among its own.

    Parameters
    ----------
    interpretation
        The results.
    assessment
        What the checks say of the same profile.

    Raises
    ------
    ValueError
        If the two belong to different soundings.
    """
    name, other = interpretation.profile.sounding.name, assessment.profile.sounding.name
    if name != other:
        raise ValueError(f"the checks are those of sounding {other}, not of {name}")
    known = set(interpretation.profile.findings)
    own = [finding for finding in interpretation.findings if finding not in known]
    return replace(interpretation, findings=(*assessment.findings, *own))
