"""Units against planted boundaries, and soil behaviour against logged layers: the docs say it."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "explanation" / "layers.md"


def printed(script, *arguments):
    command = [sys.executable, str(ROOT / "scripts" / script), *arguments]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.slow
def test_planted_boundaries_are_found_as_often_as_the_docs_say():
    text = printed("layer_power.py")
    assert text in PAGE.read_text("utf-8")
    within = next(line for line in text.splitlines() if line.startswith("| 0.2 m"))
    assert int(within.split("(")[1].split("%")[0]) >= 85


@pytest.mark.shared
def test_logged_layers_of_hong_kong_stand_as_the_docs_say(shared_data):
    # Geotechnical Engineering Office, Hong Kong, open data: the layers read by plain csv code
    text = printed("logged_layers.py", "--data", str(shared_data))
    assert text in PAGE.read_text("utf-8")
    text, _, met = text.partition("\n\n")
    assert met.startswith("16 of 22 boundaries")
    rows = {}
    for line in text.splitlines()[2:]:
        name, *cells = [cell.strip() for cell in line.strip("|").split("|")]
        rows[name] = [float(cell) for cell in cells]
    clay = sum(row[0] for row in rows.values())
    sand = sum(row[3] for row in rows.values())
    assert rows["clay"][0] + rows["silt mixture"][0] > 0.8 * clay
    assert rows["sand"][3] + rows["gravelly sand"][3] > 0.7 * sand
