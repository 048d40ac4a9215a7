"""What is written of each push: the rows that AGS can key by depth, and what that costs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pushproof.formats.ags.names import GRID
from pushproof.formats.contract import Content, Given, Loss, sounding_of
from pushproof.formats.outgoing import series_of
from pushproof.formats.precision import decimals
from pushproof.model.dissipation import DissipationResult
from pushproof.model.profile import Interpretation
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Sounding

HEADING = {
    "qc": "SCPT_RES",
    "fs": "SCPT_FRES",
    "u1": "SCPT_PWP1",
    "u2": "SCPT_PWP2",
    "u3": "SCPT_PWP3",
    "temperature": "SCPT_TEMP",
    "tilt_x": "SCPT_SLP1",
    "tilt_y": "SCPT_SLP2",
    "Rf": "SCPT_FRR",
    "qt": "SCPT_QT",
    "ft": "SCPT_FT",
    "sigma_v0": "SCPT_CPO",
    "sigma_v0_eff": "SCPT_CPOD",
    "qn": "SCPT_QNET",
    "Bq": "SCPT_BQ",
    "u0": "SCPT_ISPP",
    "Qt": "SCPT_NQT",
    "Fr": "SCPT_NFR",
}
"""Vocabulary key to heading."""
OWN = {
    "length": ("SCPT_PLEN", "2DP", "m", "Penetration length along the rods"),
    "time": ("SCPT_TIME", "1DP", "s", "Elapsed time of the reading"),
    "tilt": ("SCPT_INCL", "2DP", "deg", "Resultant inclination from vertical"),
    "rate": ("SCPT_RATE", "1DP", "mm/s", "Rate of penetration at the reading"),
    "origin": ("SCPT_ORIG", "0DP", "", "Origin: 1 live 2 cone memory 3 imported 4 simulated"),
}
"""Vocabulary key to a heading of our own with type, unit and description."""
PARAMETERS = {
    "su": "SCPP_CSU",
    "Dr": "SCPP_CRD",
    "phi": "SCPP_CPHI",
    "Ic": "SCPP_CIC",
    "N60": "SCPP_CSPT",
}
_EXTRA = re.compile(r"SCPT_[A-Z0-9]{1,4}")


@dataclass(frozen=True)
class Push:
    """One push as AGS sees it."""

    content: Content
    test: str
    location: str

    @cached_property
    def sounding(self) -> Sounding:
        """The sounding behind it."""
        return sounding_of(self.content)

    @property
    def results(self) -> Interpretation | None:
        """What was derived, if anything."""
        return self.content if isinstance(self.content, Interpretation) else None

    @property
    def key(self) -> tuple[str, str]:
        """Place and push, which no two soundings share."""
        return self.location, self.test

    def item(self, heading: str) -> str:
        """Return what the AGS file it came from stated under a heading."""
        source = self.sounding.source
        if source is None or not source.format.startswith("ags"):
            return ""
        return next((one.value for one in self.sounding.header if one.key == heading), "")

    @property
    def grid(self) -> str:
        """The coordinate system as AGS names it."""
        crs = self.sounding.location.crs or ""
        return next((name for name, known in GRID.items() if known == crs), crs).replace("+", " ")

    @property
    def series(self) -> Series:
        """The readings as found, or the profile and what was derived."""
        return series_of(self.content)

    @cached_property
    def _depth(self) -> tuple[NDArray[np.float64], str]:
        """Depth of each row, and how it was had where the readings do not give it."""
        series = self.series
        if self.results:
            words = "computed from penetration length and tilt"
            return series["depth"], "" if self.results.profile.depth_is_length else words
        if series.measured("depth"):
            return series["depth"], ""
        if not any(series.measured(key) for key in ("tilt", "tilt_x", "tilt_y")):
            return series["length"], "penetration length; no tilt is known"
        from pushproof.processing import process

        profile = process(self.sounding)
        if profile.depth_is_length:
            return series["length"], "penetration length; no tilt is known"
        depth = np.full(len(series), np.nan)
        depth[profile.row] = profile.series["depth"]
        return depth, "computed from penetration length and tilt"

    @property
    def depth_words(self) -> str:
        """How the depth was had, empty where it was read."""
        return self._depth[1]

    @cached_property
    def places(self) -> int:
        """Decimals of the depth."""
        depth, words = self._depth
        if not words.startswith("computed"):
            return decimals(depth, least=2)
        known = depth[np.isfinite(depth)]
        distinct = len(np.unique(known))
        return next((n for n in (3, 4, 5) if len(np.unique(np.round(known, n))) == distinct), 5)

    @cached_property
    def rows(self) -> NDArray[np.intp]:
        """Rows that have a depth no earlier row has, in their order."""
        depth = np.round(self._depth[0], self.places)
        known = np.flatnonzero(np.isfinite(depth))
        _, first = np.unique(depth[known], return_index=True)
        return known[np.sort(first)]

    @property
    def depth(self) -> NDArray[np.float64]:
        """Depth of the rows that are written."""
        return self._depth[0][self.rows]

    def columns(self, own: bool) -> dict[str, str]:
        """Return key to heading of the columns that are written, without the depth."""
        series = self.series
        found = {key: name for key, name in HEADING.items() if series.measured(key)}
        if own:
            found |= {key: one[0] for key, one in OWN.items() if series.measured(key)}
        from pushproof.formats.ags.dictionary import headings

        standard = headings("SCPT", "4.1.1")
        for key in series.extras:
            free = key not in found.values() and key != "SCPT_DPTH"
            if (
                free
                and series.measured(key)
                and (key in standard or (own and _EXTRA.fullmatch(key)))
            ):
                found[key] = key
        return found

    @cached_property
    def test_results(self) -> dict[int, DissipationResult]:
        """What was derived from each dissipation test, by the identity of the test."""
        if self.results is None or not self.sounding.dissipations:
            return {}
        from pushproof.interpretation.dissipation import dissipations

        found = dissipations(self.results)
        return {id(t): r for t, r in zip(self.sounding.dissipations, found, strict=True)}

    @cached_property
    def tests(self) -> tuple[Dissipation, ...]:
        """Dissipation tests at depths that no earlier one has."""
        kept: dict[float, Dissipation] = {}
        for one in self.sounding.dissipations:
            if np.isfinite(one.readings.get("time")).any():
                kept.setdefault(round(one.depth, 6), one)
        return tuple(kept.values())

    def test_rows(self, test: Dissipation) -> NDArray[np.intp]:
        """Return the rows of a dissipation test that have a time no earlier row has."""
        time = np.round(test.readings["time"], 9)
        known = np.flatnonzero(np.isfinite(time))
        _, first = np.unique(time[known], return_index=True)
        return known[np.sort(first)]

    @cached_property
    def lost(self) -> list[Loss]:
        """What keys cost: rows and tests that share one, and the depth that was not read."""
        found = []
        gone = len(self.series) - len(self.rows)
        if gone:
            what = f"{gone:,} of {len(self.series):,} rows of {self.sounding.name}"
            why = (
                "AGS keys rows by depth: of rows with one depth the first is written, none without"
            )
            found.append(Loss(what, why, rows=gone))
        if self.depth_words:
            found.append(
                Loss(f"depth of {self.sounding.name} is {self.depth_words}", "in SCPG_REM")
            )
        cone = self.sounding.cone
        if cone.model and not cone.serial:
            what = f"that {cone.model} is the model of the cone"
            found.append(Loss(what, "SCPG_REF is one reference for both", ("serial", "model")))
        if self.sounding.predrilled == 0:
            what = "that nothing was pre-excavated"
            found.append(Loss(what, "only as words in SCPG_REM", ("predrilled",)))
        left = len(self.sounding.dissipations) - len(self.tests)
        if left:
            why = "a second test at one depth, or one without time, has no key"
            found.append(Loss(f"{left} dissipation tests of {self.sounding.name}", why))
        lost = sum(len(one.readings) - len(self.test_rows(one)) for one in self.tests)
        if lost:
            what = f"{lost:,} rows of dissipation tests of {self.sounding.name}"
            found.append(
                Loss(what, "rows of one time share a key; the first is written", rows=lost)
            )
        known = {"time", "qc", "u1", "u2", "u3"}
        for key in sorted({key for one in self.tests for key in one.readings} - known):
            found.append(Loss(f"{key} of dissipation tests", "AGS has no heading for it"))
        return found

    def texts(self) -> dict[str, str]:
        """Return the texts of the sounding that are written, by what they are."""
        one = self.sounding
        place, cone = one.location, one.cone
        named = {
            "project": one.project,
            "client": one.client,
            "operator": one.operator,
            "place": one.place,
            "standard": one.standard,
            "name": f"{self.location} {self.test}".strip(),
            "serial": cone.serial,
            "model": cone.model,
            "datum": place.datum,
            "depth-zero": place.zero,
            "position": place.crs,
            "rig": one.rig.name if one.rig else None,
            "water-remark": one.water.remark if one.water else None,
        }
        return {key: text for key, text in named.items() if text}


def pushes(contents: Sequence[Content], given: Given) -> list[Push]:
    """Return the pushes, each with the place and number that it came with or was given."""
    found = []
    for one in contents:
        sounding = sounding_of(one)
        push = Push(one, "", sounding.name)
        place, test = push.item("LOCA_ID") or push.item("HOLE_ID"), push.item("SCPG_TESN")
        if place and sounding.name in (place, f"{place}/{test}"):
            push = Push(one, test, place)
        found.append(Push(one, given["test"], push.location) if given.get("test") else push)
    return found
