"""Checks find what was planted, and stay quiet on a sound record."""

import dataclasses
from datetime import date, datetime

import numpy as np
import pytest

from pushproof.errors import ConfigurationError
from pushproof.model.equipment import Calibration, Cone, Encoder, Rods
from pushproof.model.recipe import ClassOrdered, Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Event, Sounding, Water, WaterOrigin, Zero
from pushproof.processing import process
from pushproof.quality import assess, load_scheme, scheme_names
from pushproof.quality.budget import budget
from pushproof.quality.checks import checks
from pushproof.quality.checks.motion import horizontal_offset
from pushproof.quality.checks.sleeve import sleeve_offset
from pushproof.quality.classify import classify
from pushproof.testing import sample
from pushproof.testing.defects import DEFECTS


def planted(name="clay-over-sand", **changes):
    """A sample sounding with columns or fields replaced."""
    sounding = sample(name)
    series = sounding.readings
    for key in [key for key in changes if key in series]:
        series = series.with_column(key, changes.pop(key)(np.array(series[key])))
    return dataclasses.replace(sounding, readings=series, **changes)


def ids(sounding, recipe=None):
    return {finding.id for finding in assess(process(sounding, recipe)).findings}


def set_rows(rows, value):
    def change(values):
        values[rows] = value
        return values

    return change


@pytest.mark.parametrize("name", ["clay-over-sand", "over-water", "refusal"])
def test_a_sound_record_has_no_caution(name):
    found = assess(process(sample(name))).findings
    assert [f.id for f in found if f.severity > 1] == []


PLANTED = {
    "value-stuck": {"qc": set_rows(slice(300, 340), 812.0)},
    "spike": {"fs": set_rows(500, 900.0)},
    "qc-negative": {"qc": set_rows(slice(10, 14), -40.0)},
    "gap": {"qc": set_rows(slice(400, 420), np.nan)},
    "rate-outside": {"time": lambda t: t * 0.55},
    "tilt-at-start": {"tilt_x": lambda v: v + 3.0},
    "tilt-large": {"tilt_x": lambda v: v + np.linspace(0, 17, len(v))},
    "tilt-change": {"tilt_x": lambda v: v + 4.0 * (np.arange(len(v)) > 600)},
    "u2-cavitation": {"u2": set_rows(slice(700, 760), -96.0)},
    "flat-top": {"fs": set_rows(slice(950, 960), 1000.0)},
}


@pytest.mark.parametrize("finding", PLANTED)
def test_a_planted_defect_is_found(finding):
    assert finding not in ids(sample("clay-over-sand"))
    assert finding in ids(planted(**PLANTED[finding]))


def test_air_in_the_filter_is_graded_poor():
    assert assess(process(sample("desaturated"))).saturation.grade == "poor"
    assert assess(process(sample("clay-over-sand"))).saturation.grade == "good"


def test_a_filter_that_follows_late_is_found_at_the_layer_boundary():
    sounding = sample("clay-over-sand")
    rng = np.random.default_rng(1)
    late = next(d for d in DEFECTS if d.name == "u2 follows late")
    found = assess(process(late.plant(sounding, 1.2, rng).sounding)).saturation
    assert found.grade != "good"
    assert any("layer boundary" in reason for reason in found.reasons)


def test_stiff_clay_with_little_excess_is_no_fault_of_the_filter():
    z = np.arange(1.0, 12.0, 0.02)
    columns = {"length": z, "qc": 3000 + 20 * z, "fs": 110 + z, "u2": 9.81 * z + 40}
    water = Water(level=0.0, origin=WaterOrigin.MEASURED)
    assert assess(process(Sounding("S", Series(columns), water=water))).saturation is None


def test_missing_zeros_calibration_tilt_and_metadata_are_named():
    length = np.arange(1, 5, 0.02)
    bare = Sounding("B", Series({"length": length, "qc": 500 + length, "fs": 10 + length}))
    assert {
        "zero-before-missing",
        "zero-after-missing",
        "calibration-not-known",
        "tilt-not-known",
        "rate-not-known",
        "metadata-missing",
    } <= ids(bare)


def test_an_old_calibration_and_a_large_zero_shift():
    old = Calibration(channel="qc", date=date(2030, 1, 1), capacity=1000.0, uncertainty=10.0)
    cone = Cone(calibrations=(old,), metres_since_calibration=4000.0)
    found = ids(planted(cone=cone, started=datetime(2031, 5, 13)))
    assert "calibration-soundings" not in found
    used = cone.model_copy(update={"soundings_since_calibration": 140})
    assert "calibration-soundings" in ids(planted(cone=used))
    assert {"calibration-old", "calibration-metres", "zero-shift-large"} <= found


def test_offset_of_an_arc_against_its_closed_form():
    # A circular arc of radius R: horizontal offset R (1 - cos(l / R)).
    length = np.linspace(0, 30, 3001)
    radius = 100.0
    expected = radius * (1 - np.cos(30 / radius))
    assert horizontal_offset(length, np.degrees(length / radius)) == pytest.approx(expected, 1e-5)


@pytest.mark.parametrize("shift", [0.04, 0.08, 0.12])
def test_sleeve_offset_is_found_by_correlation(shift):
    rng = np.random.default_rng(3)
    length = np.arange(1, 15, 0.02)
    fine = np.arange(0, 16, 0.001)
    rough = np.exp(np.convolve(rng.normal(0, 1, fine.size), np.ones(300) / 60, "same"))
    qc = np.interp(length, fine, 2000 * rough)
    fs = np.interp(length - shift, fine, 20 * rough)
    profile = process(Sounding("S", Series({"length": length, "qc": qc, "fs": fs})))
    found = sleeve_offset(profile)
    assert found is not None
    assert found[0] == pytest.approx(shift, abs=0.011)


def with_zeros(shift, uncertainty=20.0, qc=800.0):
    length = np.arange(1, 10, 0.02)
    columns = {"length": length, "qc": np.full(length.size, qc) + length, "tilt": 0 * length}
    calibration = Calibration(channel="qc", date=date(2031, 1, 1), uncertainty=uncertainty)
    return process(
        Sounding(
            "Z",
            Series({**columns, "u2": 10 * length, "fs": 2 * length + 20}),
            cone=Cone(area_ratio=0.8, calibrations=(calibration,)),
            zeros_before=(Zero(channel="qc", value=0.0),),
            zeros_after=(Zero(channel="qc", value=shift),),
        )
    )


def verdict(profile, aspect="qc"):
    result = classify(profile, load_scheme("iso-22476-1-2012"))
    return next(v for v in result.verdicts if v.aspect == aspect)


def test_class_follows_the_larger_of_absolute_and_relative():
    # By hand: U = 2 sqrt((20/2)^2 + (shift/sqrt 3)^2); class 1 allows max(35, 5 % of 801) = 40.05.
    assert verdict(with_zeros(0.0)).achieved == "1"
    assert verdict(with_zeros(28.0)).achieved == "1"  # U = 38.0
    assert verdict(with_zeros(32.0)).achieved == "2"  # U = 42.0
    assert verdict(with_zeros(32.0, qc=2000.0)).achieved == "1"  # 5 % of 2001 = 100
    assert verdict(with_zeros(150.0)).achieved == "3"  # U = 174
    assert verdict(with_zeros(1000.0)).achieved is None


def test_the_deciding_reading_is_the_smallest():
    found = verdict(with_zeros(28.0))
    assert found.depth == pytest.approx(1.0)
    assert "allowed 40" in found.text


def test_without_calibration_nothing_is_proved_and_the_text_says_so():
    length = np.arange(1, 5, 0.02)
    bare = process(Sounding("B", Series({"length": length, "qc": 500 + length})))
    result = classify(bare, load_scheme("iso-22476-1-2012"))
    assert not result.proved
    assert "not proved" in result.text


def test_a_worn_tip_makes_a_share_of_the_value_uncertain():
    # By hand: 36.0 mm against sqrt(4 * 0.001 / pi) = 35.6825 mm; areas differ by 1.788 %, so
    # U = 2 * 1.788 % / sqrt 3 = 2.064 % of the value.
    cone = Cone(tip_area=0.001, tip_diameter=0.036)
    profile = process(dataclasses.replace(sample("short"), cone=cone))
    one = budget(profile, "qc")
    assert one.relative == pytest.approx(0.02064, abs=2e-5)
    assert one.expanded_at(5000.0) == pytest.approx(np.hypot(one.expanded, 103.2), abs=0.1)


def test_depth_is_judged_by_encoder_rods_and_tilt():
    # By hand: rods of 1 m, changes at 1, 2.01, 3.01 m: 10 mm off, U = 2 * 10 / sqrt 3 = 11.5 mm;
    # encoder 1 % of length: 90 mm at 9 m. No tilt is measured, and that is said.
    length = np.arange(0, 9.0001, 0.02)
    events = tuple(Event("rod-change", depth=at) for at in (1.0, 2.01, 3.01))
    sounding = Sounding(
        "D",
        Series({"length": length, "qc": 500 + length}),
        rods=Rods(),
        encoder=Encoder(metres_per_count=1e-4, uncertainty=0.01),
        events=events,
    )
    one = budget(process(sounding), "length")
    assert one.missing == ("tilt",)
    assert one.expanded == pytest.approx(0.01155, abs=1e-4)
    assert one.expanded_at(9.0) == pytest.approx(np.hypot(0.01155, 0.09), abs=1e-4)
    result = classify(process(sounding), load_scheme("env-1997-3"))
    (depth,) = [v for v in result.verdicts if v.aspect == "length"]
    assert (depth.achieved, depth.proved) == ("met", True)


def test_the_tilt_itself_has_a_tolerance():
    sounding = sample("clay-over-sand")
    assert verdict(process(sounding), "tilt").achieved == "1"
    calibration = Calibration(channel="tilt_x", date=date(2031, 1, 1), uncertainty=3.0)
    cone = sounding.cone.model_copy(update={"calibrations": (calibration,)})
    assert verdict(process(dataclasses.replace(sounding, cone=cone)), "tilt").achieved == "3"
    axes = (Zero(channel="tilt_x", value=3.0), Zero(channel="tilt_y", value=4.0))
    level = (Zero(channel="tilt_x", value=0.0), Zero(channel="tilt_y", value=0.0))
    moved = dataclasses.replace(sounding, zeros_before=level, zeros_after=axes)
    assert budget(process(moved), "tilt").zero_shift == pytest.approx(5.0)


def test_the_class_achieved_is_held_against_the_class_ordered():
    def order(profile, name):
        recipe = Recipe(class_ordered=ClassOrdered(name=name))
        found = assess(process(profile.sounding, recipe))
        assert found.classes[0].ordered == name
        raised = {one.id: one.severity.word for one in found.findings if "class-" in one.id}
        return found.classes[0].order, raised

    sound = process(sample("clay-over-sand"))
    sounding = sound.sounding
    known = dataclasses.replace(sounding, encoder=Encoder(uncertainty=0.004))
    assert order(process(known), "1") == ("met", {})
    bare = dataclasses.replace(sounding, events=())  # neither encoder nor rods prove the depth
    assert order(process(bare), "1") == ("not proved", {"class-not-proved": "caution"})
    shifted = dataclasses.replace(sounding, zeros_after=(Zero(channel="qc", value=150.0),))
    assert order(process(shifted), "1") == ("not met", {"class-below-ordered": "stop"})
    with pytest.raises(ConfigurationError, match="has the classes 1, 2, 3, 4"):
        order(sound, "A")


def test_a_scheme_without_numbers_cannot_judge():
    scheme = load_scheme("iso-22476-1-2022")
    assert not scheme.usable
    result = classify(process(sample("short")), scheme)
    assert result.achieved is None
    assert "cannot be judged" in result.text


def test_class_never_appears_without_norm_edition_and_mark():
    result = classify(process(sample("clay-over-sand")), load_scheme("iso-22476-1-2012"))
    assert "ISO 22476-1:2012" in result.text
    assert "from memory" in result.text


def test_astm_shift_is_in_percent_of_full_scale():
    result = classify(process(sample("clay-over-sand")), load_scheme("astm-d5778"))
    (shift,) = [v for v in result.verdicts if v.aspect == "zero shift of qc"]
    assert "% of" in shift.text
    assert shift.achieved


@pytest.mark.parametrize("name", scheme_names())
def test_every_shipped_scheme_states_its_source_and_mark(name):
    scheme = load_scheme(name)
    assert scheme.source
    assert scheme.mark


def test_a_scheme_file_of_the_user_with_faults_names_them(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text('title = "x"\nclasses = [{name = "A", interval = -1}]\n')
    with pytest.raises(ConfigurationError, match=r"norm.*classes\.0\.interval"):
        load_scheme(path)


def test_every_check_has_a_title_and_a_source():
    assert len(checks()) >= 12
    for one in checks():
        assert one.title
        assert one.source


@pytest.mark.shared
def test_registered_depth_agrees_with_the_tilt_correction(shared_data):
    # Dutch register, CC0: the registered depth column against ours, tilts in whole degrees.
    from real import bro

    for name, tilted in (
        ("CPT000000061549", 19.0),
        ("CPT000000061398", 10.0),
        ("CPT000000198154", 13.0),
        ("CPT000000206344", 4.0),
        ("CPT000000115243", 3.0),
    ):
        columns, _ = bro(shared_data / "bro" / f"{name}.xml")
        arrays = {k: np.array(v, dtype=float) for k, v in columns.items()}
        keys = ("length", "qc", "tilt", "tilt_x", "tilt_y")
        kept = {k: arrays[k] for k in keys if np.isfinite(arrays[k]).any()}
        profile = process(Sounding(name, Series(kept)))
        assert np.nanmax(profile.series["tilt"]) > tilted
        off = np.nanmax(np.abs(arrays["depth"][profile.row] - profile.series["depth"]))
        # tilts are stored in whole degrees: half a degree at 19 deg over 32 m is 90 mm at most;
        # 52 mm were seen where the shortening is 540 mm
        assert off < 0.06, name


def test_length_lost_between_rod_changes_and_a_record_that_stood_still():
    rng = np.random.default_rng(1)
    for defect in DEFECTS:
        if defect.finding in ("depth-closure", "reading-repeated"):
            planted_one = defect.plant(sample("clay-over-sand"), defect.sizes[-1], rng)
            assert defect.finding not in ids(sample("clay-over-sand"))
            assert defect.finding in ids(planted_one.sounding)
