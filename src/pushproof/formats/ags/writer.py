"""Writing AGS 4: what it asks for, what it cannot carry, and the file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from pushproof import __version__
from pushproof.formats.ags.content import Push, pushes
from pushproof.formats.ags.dictionary import ABBREVIATIONS, EDITIONS
from pushproof.formats.ags.document import Table, ascii_text, records, with_lists
from pushproof.formats.ags.groups import (
    definitions,
    derived,
    dissipations,
    general,
    places,
    readings,
)
from pushproof.formats.contract import Content, Field, Given, Loss, Missing, sounding_of
from pushproof.formats.lost import losses_of, lost_columns, wanted

FIELDS = (
    Field("issue", "number of this issue (TRAN_ISNO)"),
    Field("issue_date", "date of this file (TRAN_DATE)", "today"),
    Field("producer", "who makes this file (TRAN_PROD)"),
    Field("status", "status of the data, as Draft or Final (TRAN_STAT)"),
    Field("recipient", "who receives it (TRAN_RECV)"),
    Field("project_id", "number of the project (PROJ_ID)", "the one of an AGS file it came from"),
    Field("contractor", "contractor (PROJ_CONT)"),
    Field("engineer", "project engineer (PROJ_ENG)"),
    Field("test", "number of the push at its place (SCPG_TESN)", "the one it came with"),
    Field("cone_type", "code of the kind of cone (SCPG_TYPE): EC PC MC SC", "PC if u is measured"),
    Field("predrill_type", "code of the pre-excavation (HDPH_TYPE): IP HA TP VE"),
    Field("edition", "edition: 4.0.4 4.1.1 4.2", "4.1.1"),
    Field(
        "own_headings",
        "yes: length, time, tilt, origin and cone sizes as headings declared in DICT",
        "no",
    ),
)
_PLACES = {
    "x": "LOCA_NATE",
    "y": "LOCA_NATN",
    "crs": "LOCA_GREF",
    "level": "LOCA_GL",
    "datum": "LOCA_NATD",
    "started": "LOCA_STAR",
    "cone": "SCPG_REF",
    "tip_area": "SCPG_CSA",
    "area_ratio": "SCPG_CAR",
    "standard": "SCPG_METH",
    "water_level": "SCPG_WAT",
}
_CARRIES = frozenset(
    {"tests", "predrilled", "water", "water-remark", "standard", "stop", "started", "project"}
    | {"client", "place", "position", "degrees", "level", "datum", "serial"}
    | {"tip-area", "area-ratio", "sleeve-end-ratio"}
)
_IN_WORDS = {
    "zeros": "SCPG_REM",
    "class": "SCPG_REM",
    "water-origin": "SCPG_WATA",
    "rig": "HDPH_EXC",
    "operator": "HDPH_CREW; edition 4.2 has SCPG_OPER",
    "removed": "HDPH_REM",
    "depth-zero": "LOCA_REM",
    "water-depth": "LOCA_REM",
}


class Ags4Writing:
    """The writing half of AGS 4."""

    many = True
    fields = FIELDS

    def missing(self, contents: Sequence[Content], given: Given) -> list[Missing]:
        """Return what the format asks for and nobody gave."""
        words = {one.name: one.words for one in FIELDS}
        needed = ["issue", "producer", "status", "recipient"]
        found = [Missing(name, words[name]) for name in needed if not given.get(name)]
        identities = {push.item("PROJ_ID") for push in pushes(contents, given)}
        if not given.get("project_id") and (len(identities) != 1 or "" in identities):
            found.append(Missing("project_id", words["project_id"]))
        for one in contents:
            found += wanted(sounding_of(one), _PLACES)
        for push in pushes(contents, given):
            if not push.test:
                found.append(Missing("test", words["test"], False, push.sounding.name))
        return found

    def losses(self, contents: Sequence[Content], given: Given) -> list[Loss]:
        """Return what the file will not hold, or not as it was."""
        own = _yes(given, "own_headings")
        newest = given.get("edition") == EDITIONS[-1]
        carries = set(_CARRIES) | ({"operator"} if newest else set())
        if not any(push.sounding.cone.serial for push in pushes(contents, given)):
            carries.add("model")  # what it costs is told by each push
        carries |= {"sleeve-area", "tip-diameter"} if own else set()
        found: list[Loss] = []
        for push in pushes(contents, given):
            found += push.lost
        hint = "" if own else "; own_headings=yes adds one"

        def why(key: str) -> str:
            more = hint if key in ("length", "time", "tilt", "origin", "rate") else ""
            return f"AGS has no heading for it{more}"

        found_pushes = pushes(contents, given)
        written = {"depth", *(key for push in found_pushes for key in push.columns(own))}
        found += lost_columns([push.series for push in found_pushes], written, why)
        found += losses_of(contents, title="AGS 4", carries=carries, in_words=_IN_WORDS)
        found += _odd_texts(found_pushes)
        return _together(found)

    def encode(self, contents: Sequence[Content], name: str, given: Given) -> dict[str, bytes]:
        """Return the file.

        Raises
        ------
        ValueError
            If the edition, the date or a code is not known, or two soundings are one push.
        """
        edition = given.get("edition", "4.1.1")
        if edition not in EDITIONS:
            raise ValueError(f"edition is {edition!r}, expected one of {', '.join(EDITIONS)}")
        for heading, code in (("SCPG_TYPE", "cone_type"), ("HDPH_TYPE", "predrill_type")):
            known = [c for h, c in ABBREVIATIONS if h == heading]
            if given.get(code) and given[code] not in known:
                raise ValueError(f"{code} is {given[code]!r}, expected one of {', '.join(known)}")
        found = pushes(contents, given)
        keys = [push.key for push in found]
        twice = next((key for key in keys if keys.count(key) > 1), None)
        if twice:
            raise ValueError(f"two soundings are push {twice[1]!r} at {twice[0]}; rename one")
        own = _yes(given, "own_headings")
        tables = [
            _project(found, given, edition),
            _transmission(given, edition),
            *definitions(found, edition, own),
            *places(found, given, edition),
            *general(found, given, edition, own),
            *readings(found, edition, own),
            *derived(found, edition),
            *dissipations(found, edition),
        ]
        codes = {
            ("LOCA_GREF", ascii_text(push.grid)): f"Coordinate system {push.grid}"
            for push in found
            if push.grid and push.grid != "OSGB"
        }
        return {name: with_lists(tables, edition, codes).encode("ascii")}


def _yes(given: Given, name: str) -> bool:
    text = given.get(name, "no").lower()
    if text not in ("yes", "no", "true", "false", "1", "0"):
        raise ValueError(f"{name} is {text!r}, expected yes or no")
    return text in ("yes", "true", "1")


def _project(found: Sequence[Push], given: Given, edition: str) -> Table:
    first = found[0].sounding

    def common(name: str) -> str | None:
        values = {getattr(push.sounding, name) for push in found}
        return values.pop() if len(values) == 1 else None

    identity = given.get("project_id") or found[0].item("PROJ_ID")
    row = {
        "PROJ_ID": identity,
        "PROJ_NAME": common("project") if first.project != identity else None,
        "PROJ_LOC": common("place"),
        "PROJ_CLNT": common("client"),
        "PROJ_CONT": given.get("contractor"),
        "PROJ_ENG": given.get("engineer"),
    }
    return records("PROJ", [row], edition)


def _transmission(given: Given, edition: str) -> Table:
    day = date.fromisoformat(given["issue_date"]) if "issue_date" in given else date.today()
    row = {
        "TRAN_ISNO": given["issue"],
        "TRAN_DATE": day.isoformat(),
        "TRAN_PROD": given["producer"],
        "TRAN_STAT": given["status"],
        "TRAN_DESC": "Cone penetration tests",
        "TRAN_AGS": edition,
        "TRAN_RECV": given["recipient"],
        "TRAN_DLIM": "|",
        "TRAN_RCON": "+",
        "TRAN_REM": f"Written by Pushproof {__version__}",
    }
    return records("TRAN", [row], edition)


def _odd_texts(found: Sequence[Push]) -> list[Loss]:
    """Return what is lost of texts: letters outside ASCII, ends of lines."""
    odd: set[str] = set()
    keys: set[str] = set()
    for push in found:
        for key, text in push.texts().items():
            if ascii_text(text) != text:
                keys.add(key)
                odd |= {one for one in text if not one.isascii()}
    if not keys:
        return []
    what = f"letters outside ASCII ({' '.join(sorted(odd)[:20])}) in {', '.join(sorted(keys))}"
    why = "AGS is ASCII only; the nearest letters are written"
    if not odd:
        what, why = f"line ends and repeated blanks in {', '.join(sorted(keys))}", "one line each"
    return [Loss(what, why, tuple(sorted(keys)))]


def _together(found: Sequence[Loss]) -> list[Loss]:
    """Join equal losses of several soundings."""
    return list(dict.fromkeys(found))
