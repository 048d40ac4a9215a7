"""Neighbours: sound pushes in the same ground agree, a fault or other ground is told."""

import dataclasses
import json
import subprocess
import sys

import numpy as np
import pytest

import pushproof as pp
from pushproof.model.series import Series
from pushproof.model.sounding import Location, Sounding
from pushproof.planning.neighbours import compare, distance
from pushproof.sources.rehearsal import Ground, Layer, Plan, push
from pushproof.sources.rehearsal.export import export_text


def ground(shift=0.0, clay=25.0):
    """Clay over sand over clay, as ASTM-like made ground; ``shift`` moves the boundaries [m]."""
    return Ground(
        (
            Layer(4.0 + shift, "soft clay", 15.8, su=clay, su_gradient=1.5, friction=2.2, pore=0.5,
                  scatter=0.06),
            Layer(3.0, "sand", 19.5, density=0.6, friction=0.7, scatter=0.15),
            Layer(5.0, "clay", 17.0, su=2 * clay, su_gradient=2, friction=2.5, pore=0.4,
                  scatter=0.06),
        ),
        1.0,
    )  # fmt: skip


def pushed(name, seed, shift=0.0, clay=25.0, x=0.0):
    place = Location(x=x, y=0.0, crs="site grid", level=2.0, datum="site")
    plan = Plan(name, 11.5, location=place)
    return push(ground(shift, clay), plan, seed).sounding


@pytest.fixture(scope="module")
def site():
    shifts = (0.0, 0.3, -0.3)
    return [pushed(f"N-{k}", 100 + k, shift, x=20.0 * k) for k, shift in enumerate(shifts)]


def unlike(new, site):
    found = compare(pp.process(new), [pp.process(one) for one in site])
    return [one for one in found.findings if one.id == "unlike-neighbours"]


def test_pushes_in_the_same_ground_agree(site):
    told = [unlike(pushed("S", 200 + seed, 0.1, x=30), site) for seed in range(20)]
    assert sum(bool(one) for one in told) <= 1  # false alarms in 20 sound pushes


def test_ground_twice_as_strong_is_told_where_it_is(site):
    hits = 0
    for seed in range(10):
        found = unlike(pushed("S", 300 + seed, clay=60.0, x=30), site)
        hits += any(one.top < 4.0 for one in found)
    assert hits >= 9


def test_a_cone_that_shows_half_is_told(site):
    new = pushed("S", 400, x=30)
    readings = new.readings.with_column("qc", new.readings["qc"] * 0.45)
    found = unlike(dataclasses.replace(new, readings=readings), site)
    assert found
    assert "below" in found[0].found


def test_a_reading_at_the_edge_of_a_step_counts_to_the_step_below():
    # A depth over the step may come out a little below the whole number in floating point.
    z = np.arange(1, 101) / 10
    made = pp.process(Sounding("S", Series({"length": z, "qc": 1000.0 * z})))
    found = compare(made, [made])
    assert np.flatnonzero(np.isnan(found.qt)).tolist() == [0]
    assert found.qt[3] == pytest.approx(300.0, rel=0.01)
    assert not [one for one in found.findings if one.id == "unlike-neighbours"]


def test_levels_are_compared_where_all_are_known():
    # By hand: qc steps from 1 to 10 MPa at level -3 in both; ground is 2 m higher at the new one.
    z = np.arange(0.02, 12, 0.02)

    def made(name, level, step):
        qc = np.where(z < step, 1000.0, 10_000.0)
        place = Location(level=level, datum="site")
        return pp.process(Sounding(name, Series({"length": z, "qc": qc}), location=place))

    new, other = made("new", 5.0, 8.0), made("old", 3.0, 6.0)
    found = compare(new, [other])
    assert found.by_level
    assert not [one for one in found.findings if one.id == "unlike-neighbours"]
    blind = dataclasses.replace(other.sounding, location=Location())
    by_depth = compare(new, [pp.process(blind)])
    assert not by_depth.by_level
    (told,) = [one for one in by_depth.findings if one.id == "unlike-neighbours"]
    assert (told.top, told.base) == (pytest.approx(7.0, abs=0.11), pytest.approx(8.0, abs=0.11))
    assert {"one-neighbour", "compared-by-depth"} <= {one.id for one in by_depth.findings}


def test_distance_of_plane_and_of_geographic_positions():
    def at(**place):
        return Sounding("A", Series({"length": [0.1]}), location=Location(**place))

    assert distance(at(x=3.0, y=0.0, crs="g"), at(x=0.0, y=4.0, crs="g")) == 5.0
    assert distance(at(x=3.0, y=0.0, crs="g"), at(x=0.0, y=4.0, crs="h")) is None
    # one minute of latitude is one nautical mile, 1852 m by definition (mean sphere: 1853)
    minute = distance(at(latitude=50.0, longitude=4.0), at(latitude=50 + 1 / 60, longitude=4.0))
    assert minute == pytest.approx(1852.0, rel=2e-3)


def test_without_neighbours_it_is_refused(site):
    with pytest.raises(ValueError, match="at least one"):
        compare(pp.process(site[0]), [])


def test_the_command_flags_and_ends_with_1(site, tmp_path):
    for one in (*site, pushed("S", 500, clay=60.0, x=30)):
        export_text(one, tmp_path / f"{one.name}.csv")
    names = [str(tmp_path / f"{name}.csv") for name in ("N-0", "N-1", "N-2", "S")]
    command = [sys.executable, "-m", "pushproof", "neighbours", *names]
    done = subprocess.run([*command, "--json"], capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 1, done.stderr
    document = json.loads(done.stdout)
    assert document["neighbours"][0]["name"] == "N-1"  # 10 m away; N-2 is as far, N-0 is 30 m
    assert any(one["id"] == "unlike-neighbours" for one in document["findings"])
    near = subprocess.run(
        [*command, "--sounding", "N-0", "--within", "25"],
        capture_output=True, text=True, encoding="utf-8",
    )  # fmt: skip
    assert near.returncode == 0, near.stdout
    assert "N-1" in near.stdout
    assert "N-2" not in near.stdout
