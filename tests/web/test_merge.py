"""Three-way merge of two editors' recipes, run by node where there is one."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

MERGE = Path(__file__).parents[2] / "src/pushproof/web/static/log/merge.js"
NODE = shutil.which("node")
pytestmark = pytest.mark.skipif(NODE is None, reason="no node on this machine")


def merge(*cases: tuple[Any, Any, Any]) -> list[dict[str, Any]]:
    """Return what the module makes of (base, mine, theirs)."""
    script = (
        f"import {{ merge }} from {json.dumps(MERGE.as_uri())};"
        "let text = ''; process.stdin.on('data', (d) => { text += d; });"
        "process.stdin.on('end', () => console.log(JSON.stringify("
        "JSON.parse(text).map((c) => merge(...c)))));"
    )
    done = subprocess.run(
        [str(NODE), "--input-type=module", "-e", script],
        input=json.dumps(cases),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    found: list[dict[str, Any]] = json.loads(done.stdout)
    return found


def blank(top: float) -> dict[str, Any]:
    return {"top": top, "base": top + 1, "reason": "filter dry"}


def test_edits_of_different_fields_both_stay() -> None:
    base = {"water_level": 1.0, "methods": {"su": "su_ndu"}}
    mine = {"water_level": 1.5, "methods": {"su": "su_ndu"}}
    theirs = {"water_level": 1.0, "methods": {"su": "su_ndu", "vs": "Vs_mayne_2006"}}
    (found,) = merge((base, mine, theirs))
    assert found == {
        "document": {"water_level": 1.5, "methods": {"su": "su_ndu", "vs": "Vs_mayne_2006"}},
        "both": [],
    }


def test_what_both_changed_is_named() -> None:
    found = merge(
        ({}, {"water_level": 1.0}, {"water_level": 2.0}),
        ({}, {"methods": {"su": "su_ndu"}}, {"methods": {"su": "su_nke"}}),
        ({"pa": 1}, {}, {"pa": 2}),
    )
    assert [one["both"] for one in found] == [["water_level"], ["methods.su"], ["pa"]]
    assert found[0]["document"] == {"water_level": 1.0}


def test_entries_of_a_list_are_added_and_taken_away_by_each() -> None:
    base = {"blanked": [blank(1), blank(2)]}
    mine = {"blanked": [blank(2), blank(5)]}
    theirs = {"blanked": [blank(1), blank(2), blank(7)]}
    (found,) = merge((base, mine, theirs))
    assert found == {"document": {"blanked": [blank(2), blank(7), blank(5)]}, "both": []}


def test_nobody_loses_an_edit_that_the_other_did_not_touch() -> None:
    rng = random.Random(11)
    fields = ["a", "b", "c", "d", "e"]
    cases = []
    for _ in range(400):
        base = {f: rng.randrange(3) for f in fields if rng.random() < 0.7}
        sides = []
        for _ in range(2):
            side = dict(base)
            for f in rng.sample(fields, 2):
                if rng.random() < 0.3:
                    side.pop(f, None)
                else:
                    side[f] = rng.randrange(3, 6)
            sides.append(side)
        cases.append((base, sides[0], sides[1]))
    for (base, mine, theirs), found in zip(cases, merge(*cases), strict=True):
        for f in fields:
            got = found["document"].get(f)
            if mine.get(f) == base.get(f):
                assert got == theirs.get(f)
            else:
                assert got == mine.get(f)
                clash = theirs.get(f) != base.get(f) and theirs.get(f) != mine.get(f)
                assert (f in found["both"]) == clash
