"""All checks and the accuracy schemes on one profile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pushproof.model.findings import Finding, Severity, by_severity, worst
from pushproof.model.profile import Profile
from pushproof.quality.checks import checks
from pushproof.quality.checks.saturation import Saturation, saturation
from pushproof.quality.classify import ClassResult, classify
from pushproof.quality.schemes import Scheme, load_scheme

DEFAULT_SCHEMES = ("iso-22476-1-2012", "iso-22476-1-2022", "env-1997-3", "astm-d5778")


@dataclass(frozen=True)
class Assessment:
    """What the checks say of a profile.

    Parameters
    ----------
    profile
        The profile.
    findings
        Findings of reading, processing and checks, the gravest first.
    classes
        Class under each scheme.
    saturation
        Grade of the filter, None if it cannot be judged.
    """

    profile: Profile
    findings: tuple[Finding, ...]
    classes: tuple[ClassResult, ...]
    saturation: Saturation | None

    @property
    def worst(self) -> Severity | None:
        """The gravest severity, None without findings."""
        return worst(self.findings)


def assess(profile: Profile, schemes: Sequence[str | Scheme] = DEFAULT_SCHEMES) -> Assessment:
    """Run every check on a profile and judge it under the schemes.

    Raises
    ------
    ConfigurationError
        If a scheme is not known or not valid.
    """
    found: list[Finding] = list(profile.findings)
    for one in checks():
        for finding in one.function(profile):
            found.append(finding if finding.source else replace(finding, source=one.source))
    classes = _classes(profile, list(schemes))
    found += [one for one in map(_against_order, classes) if one is not None]
    return Assessment(
        profile=profile,
        findings=tuple(by_severity(found)),
        classes=classes,
        saturation=saturation(profile),
    )


def _classes(profile: Profile, schemes: list[str | Scheme]) -> tuple[ClassResult, ...]:
    """Judge under each scheme; the one under which a class was ordered comes first."""
    ordered = profile.recipe.class_ordered
    chosen = [one if isinstance(one, Scheme) else load_scheme(one) for one in schemes]
    if ordered is None:
        return tuple(classify(profile, scheme) for scheme in chosen)
    wanted = load_scheme(ordered.scheme)
    rest = [one for one in chosen if one != wanted]
    return (
        classify(profile, wanted, ordered.name),
        *(classify(profile, scheme) for scheme in rest),
    )


def _against_order(result: ClassResult) -> Finding | None:
    """Return a finding where the class ordered is not proved to be met."""
    if result.order in (None, "met"):
        return None
    wanted = f"{result.scheme.kind} {result.ordered} of {result.scheme.norm}"
    missed = result.order == "not met"
    return Finding(
        "class-below-ordered" if missed else "class-not-proved",
        Severity.STOP if missed else Severity.CAUTION,
        f"{wanted}:{result.scheme.edition} was ordered; "
        + (f"{result.text.split(';')[0]}" if missed else "it is not proved"),
        "the class ordered, with every part of the budget known",
        source=f"{result.scheme.norm}:{result.scheme.edition} ({result.scheme.mark})",
    )
