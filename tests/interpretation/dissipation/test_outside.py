"""Dissipation against what stands outside the project: files, tables, printed equations."""

import numpy as np
import pytest

from interpretation.dissipation.records import (
    DEGREE,
    RADIUS,
    T_U1,
    T_U2,
    diggs_record,
    dilatory_record,
    sounding,
    table_record,
)
from pushproof.formats import read_all
from pushproof.interpretation import interpret
from pushproof.interpretation.dissipation import dissipation, dissipations, time_of_degree
from pushproof.model.dissipation import DissipationKind
from pushproof.model.findings import Severity
from pushproof.model.picks import DissipationChoice
from pushproof.processing import process

CM2_PER_MIN = 1e4 * 60.0


def _only(case, **picks):
    (test,) = case.dissipations
    return dissipation(test, case, choice=DissipationChoice(**picks))


@pytest.mark.shared
def test_the_diggs_sample_gives_the_values_its_file_reports(shared_data):
    # Source: DIGGS 2.6 sample instance (MPL 2.0). Worked by hand besides: u50 = (849.8 + 94.1) / 2
    # = 471.95; between 472.2 kPa at 40 s and 445.4 kPa at 45 s that is 40.05 s;
    # ch = 0.245 (15 cm2 / pi) sqrt(100) / 40.05 s = 17.5 cm2/min.
    time, u, told, rigidity, depth, area = diggs_record(shared_data)
    case = sounding(time, u, depth=depth, area=area)
    found = _only(case, u0=told["u0"], Ir=rigidity)
    assert found.method == "direct"
    assert found.chosen.u50 == pytest.approx(471.95, abs=1e-9)
    assert found.chosen.u50 == pytest.approx(told["u50"], abs=0.2)
    assert found.t50 == pytest.approx(40.0466, abs=1e-3)
    assert found.t50 == pytest.approx(told["t50"], abs=0.1)
    assert found.ch * CM2_PER_MIN == pytest.approx(told["ch"], abs=0.05)
    assert found.water_level == pytest.approx(told["water"], abs=0.05)
    assert np.isnan(found.chosen.ch_low)  # the file states Ir, so there is no swing to tell


@pytest.mark.shared
def test_the_swing_of_the_diggs_sample_over_the_usual_rigidity(shared_data):
    # by hand: 17.53 sqrt(50 / 100) = 12.4, 17.53 sqrt(500 / 100) = 39.2
    time, u, told, _, depth, area = diggs_record(shared_data)
    found = _only(sounding(time, u, depth=depth, area=area), u0=told["u0"])
    assert found.Ir == 100.0
    assert found.chosen.ch_low * CM2_PER_MIN == pytest.approx(12.4, abs=0.05)
    assert found.chosen.ch_high * CM2_PER_MIN == pytest.approx(39.1, abs=0.15)
    assert [one.key for one in found.assumptions] == ["Ir"]


@pytest.mark.shared
def test_the_diggs_sample_levels_near_the_pressure_its_file_reports(shared_data):
    time, u, told, _, depth, area = diggs_record(shared_data)
    case = sounding(time, u, depth=depth, area=area)
    levelled = _only(case)
    assert levelled.u0_by == "levelled"
    assert levelled.u0 == pytest.approx(told["u0"], abs=1.5)
    over = _only(case, u0_by="inverse-time")
    assert over.u0 == pytest.approx(told["u0"], abs=8.0)
    assert over.t50 == pytest.approx(told["t50"], rel=0.02)
    # it falls faster than the tabulated curve, and that is said
    assert "dissipation-degrees-differ" in {one.id for one in levelled.findings}


@pytest.mark.shared
def test_the_diggs_file_itself_agrees_with_what_it_reports(shared_data):
    (case,) = read_all(shared_data / "diggs" / "cptu_with_dissipation_2.6.xml")
    (found,) = dissipations(interpret(process(case)))
    assert (found.Ir, found.Ir_how) == (100.0, "estimated in the file")
    assert "dissipation-reported-differs" not in {one.id for one in found.findings}
    assert found.t50 == pytest.approx(40.1, rel=0.01)
    assert found.ch * CM2_PER_MIN == pytest.approx(17.5, rel=0.01)
    by_root = _only(case, method="root-time", u0=94.1)
    told = [one.found for one in by_root.findings if one.id == "dissipation-reported-differs"]
    assert any("reports t50 of 40.1 s" in one for one in told)


@pytest.mark.shared
def test_the_rising_record_of_the_register_is_recognised_and_treated(shared_data):
    (case,) = read_all(shared_data / "bro" / "CPT000000155283.xml")
    (found,) = dissipations(interpret(process(case)))
    assert found.kind is DissipationKind.RISING_FIRST
    # read off the file: 102 kPa from about 1400 to 2800 s, 86 kPa at the end
    assert found.u_peak == 102.0
    assert 1300 < found.peak_time < 2900
    assert found.method == "root-time"
    chosen = found.chosen
    # by hand from the file: 98 kPa at 3991 s and 90 kPa at 6158 s lie on the straight part;
    # their line over root time starts at 131 kPa, to the 1 kPa steps of the record
    slope = (90.0 - 98.0) / (np.sqrt(6158.0) - np.sqrt(3991.0))
    assert chosen.u_i == pytest.approx(98.0 - slope * np.sqrt(3991.0), abs=6.0)
    assert chosen.u_i > found.u_peak
    assert chosen.residual < 0.6
    assert chosen.extrapolated
    fit = found.fit("dilatory-fit")
    assert fit.parameters["du_shear"] < 0 < fit.parameters["du_oct"]
    said = {one.id: one.severity for one in found.findings}
    assert said["dissipation-rises-first"] is Severity.INFO
    assert said["dissipation-u0-assumed"] is Severity.CAUTION
    assert said["dissipation-short"] is Severity.CAUTION
    assert said["dissipation-implied-rigidity"] is Severity.INFO


@pytest.mark.shared
def test_every_dissipation_of_the_open_data_goes_through(shared_data):
    seen = 0
    for path in sorted([*shared_data.glob("bro/*.xml"), *shared_data.glob("h*/*.ags")]):
        for case in read_all(path):
            for found in dissipations(interpret(process(case))):
                seen += 1
                assert found.kind is not DissipationKind.EMPTY
                assert found.findings
                assert found.document()["sounding"] == case.name
    assert seen >= 2


@pytest.mark.shared
def test_the_flat_record_of_the_register_gives_a_level_and_no_ch(shared_data):
    (case,) = read_all(shared_data / "bro" / "CPT000000115243.xml")
    (found,) = dissipations(interpret(process(case)))
    assert found.kind is DissipationKind.FLAT
    assert found.u0 == pytest.approx(132.0)
    assert found.water_level == pytest.approx(15.1 - 132.0 / 9.81)
    assert found.method is None
    assert np.isnan(found.ch)


@pytest.mark.parametrize(("channel", "table"), [("u1", T_U1), ("u2", T_U2)])
@pytest.mark.parametrize("ch", [3e-8, 1e-6, 2e-5])
def test_a_record_along_the_table_gives_its_ch_back(channel, table, ch):
    # the curve is made in the test from the printed table and the printed equation
    time, u = table_record(ch, 180.0, 400.0, 60.0, table)
    found = _only(sounding(time, u, channel), u0=60.0, Ir=180.0)
    assert found.kind is DissipationKind.FALLING
    assert found.ch == pytest.approx(ch, rel=0.01)
    by_method = {one.method: one.ch for one in found.estimates}
    assert by_method["curve-fit"] == pytest.approx(ch, rel=0.02)
    # the parabola and the straight line are approximations of the tabulated curve
    assert by_method["root-time"] == pytest.approx(ch, rel=0.25)
    assert by_method["log-time"] == pytest.approx(ch, rel=0.25)
    assert [row.T_star for row in found.degrees] == pytest.approx(table.tolist())
    assert [row.ch for row in found.degrees] == pytest.approx([ch] * 7, rel=0.02)
    read = {row.degree: row.time for row in found.degrees}
    for degree, T in zip(DEGREE, table, strict=True):
        by_hand = T * RADIUS**2 * np.sqrt(180.0) / ch
        assert read[degree] == pytest.approx(by_hand, rel=0.02)
        assert time_of_degree(found, degree) == pytest.approx(by_hand, rel=0.012)


@pytest.mark.parametrize("OCR", [6.0, 10.0, 25.0])
def test_a_dilatory_record_gives_its_ch_back(OCR):
    # the record is made in the test from the printed equation (from memory)
    time, u = dilatory_record(4e-7, 100.0, OCR, 80.0, 50.0)
    found = _only(sounding(time, u), u0=50.0, Ir=100.0)
    assert found.kind is DissipationKind.RISING_FIRST
    fitted = {one.method: one for one in found.estimates}["dilatory-fit"]
    assert fitted.ch == pytest.approx(4e-7, rel=0.01)
    assert fitted.residual < 0.2
    parts = found.fit("dilatory-fit").parameters
    h = (OCR / 2.0) ** 0.8
    assert parts["du_oct"] == pytest.approx(80.0 * 0.8 * h * np.log(100.0), rel=0.01)
    assert parts["du_shear"] == pytest.approx(80.0 * (1.0 - h), rel=0.03)


def test_the_dilatory_fit_tells_the_history_it_stands_for():
    from pushproof.interpretation.dissipation.estimates import implied
    from pushproof.interpretation.dissipation.setting import Setting

    place = Setting("A", None, 9.81, 0.0178, np.nan, "", 80.0, 1.2)
    h = 5.0**0.8  # OCR 10
    found = implied(80.0 * 0.8 * h * np.log(150.0), 80.0 * (1.0 - h), place)
    assert found["implied_OCR"] == pytest.approx(10.0)
    assert found["implied_Ir"] == pytest.approx(150.0)


def test_ch_grows_with_the_area_of_the_cone():
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    small = _only(sounding(time, u), u0=60.0)
    large = _only(sounding(time, u, area=15e-4), u0=60.0)
    assert large.ch / small.ch == pytest.approx(1.5)  # r^2 is in proportion to the area
    assert any("larger cone" in note for note in large.notes)
    # ch t50 for Ir 100, from the notes on practice: 7.8e-4 and 1.17e-3 m2
    assert small.ch * small.t50 == pytest.approx(7.8e-4, rel=2e-3)
    assert large.ch * large.t50 == pytest.approx(1.17e-3, rel=2e-3)


def test_both_routes_to_kh_stand_in_the_range_of_the_ground():
    # orders of UFC 3-220-10 Table 8-25: clay below 1e-9 m/s. Parez & Fauriel, notes on practice:
    # 2e-8 cm/s at 100 min. ch gamma_w / M by hand.
    ch = 0.245 * RADIUS**2 * 10.0 / 6000.0
    time, u = table_record(ch, 100.0, 400.0, 60.0)
    found = _only(sounding(time, u), u0=60.0, M=2000.0).chosen
    assert found.kh_direct == pytest.approx(2e-10, rel=0.15)
    assert found.kh_modulus == pytest.approx(ch * 9.81 / 2000.0, rel=0.01)
    assert found.kh_modulus < 1e-9
    ratio = found.kh_modulus / found.kh_direct
    assert 0.1 < ratio < 10.0
