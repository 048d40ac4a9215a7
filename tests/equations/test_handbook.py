"""Our equations against the functions of a digest of handbooks (geotech-references, 1.4).

Only functions that were found sound are called; its friction angles from the cone, its base
resistance and its text for qt are known to be wrong and are left alone.
"""

import numpy as np
import pytest

from pushproof.equations import find

dm7_1_chapter4 = pytest.importorskip("geotech_references.dm7_1.chapter4")
dm7_1_chapter5 = pytest.importorskip("geotech_references.dm7_1.chapter5")
dm7_1_chapter8 = pytest.importorskip("geotech_references.dm7_1.chapter8")
dm7_1_chapter3 = pytest.importorskip("geotech_references.dm7_1.chapter3")
dm7_2_chapter4 = pytest.importorskip("geotech_references.dm7_2.chapter4")
ec7 = pytest.importorskip("geotech_references.eurocode_7_2.equations")
ec7_tables = pytest.importorskip("geotech_references.eurocode_7_2.tables")


def ours(name, *values):
    return float(find(name).function(*values))


@pytest.mark.parametrize("qt", [300.0, 850.0, 2400.0])
@pytest.mark.parametrize("factor", [8.0, 15.0, 25.0])
def test_strength_from_the_cone(qt, factor):
    expected = dm7_1_chapter8.cpt_undrained_strength_nkt(qt, 100.0, factor)
    assert ours("su_nkt", qt - 100.0, factor) == pytest.approx(expected)
    assert ec7.equation_4_2_cu_from_cptu(qt, 100.0, factor) == pytest.approx(expected)
    assert ours("su_nk", qt, 100.0, factor) == pytest.approx(
        ec7.equation_4_1_cu_from_cpt(qt, 100.0, factor)
    )
    assert ours("su_nc", qt, factor) == pytest.approx(
        dm7_1_chapter8.cpt_undrained_strength_nc(qt, factor)
    )


@pytest.mark.parametrize("OCR", [1.0, 2.0, 6.5])
def test_stress_history(OCR):
    ratio = dm7_1_chapter8.undrained_strength_ratio_oc(0.22, OCR, 0.8)
    assert ours("su_shansep", 100.0, OCR) == pytest.approx(100.0 * ratio)
    assert ours("OCR_definition", 100.0 * OCR, 100.0) == pytest.approx(
        dm7_1_chapter5.overconsolidation_ratio(100.0 * OCR, 100.0)
    )
    for phi in (22.0, 30.0, 38.0):
        expected = dm7_2_chapter4.at_rest_coefficient_mayne_kulhawy(phi, OCR)
        assert ours("K0_mayne_kulhawy_1982", phi, OCR) == pytest.approx(expected)


def test_stresses_of_layers():
    layers = [(2.0, 17.0), (3.0, 19.0), (0.5, 11.5)]
    depth = np.cumsum([thickness for thickness, _ in layers])
    gamma = [weight for _, weight in layers]
    total = find("sigma_v0_layers").function(depth, gamma)
    for k in range(3):
        expected = dm7_1_chapter4.total_vertical_stress(layers[: k + 1])
        assert total[k] == pytest.approx(expected)
    assert ours("u0_hydrostatic", 5.0, 2.0) == pytest.approx(
        dm7_1_chapter4.pore_water_pressure(3.0, 9.81)
    )
    assert ours("sigma_v0_eff_terzaghi", 91.0, 29.43) == pytest.approx(
        dm7_1_chapter4.effective_vertical_stress(91.0, 29.43)
    )


@pytest.mark.parametrize("qc", [5.0, 7.3, 15.0, 28.0])
def test_friction_angle_of_eurocode_7(qc):
    assert ours("phi_en_1997_2_d2", 1000 * qc) == pytest.approx(ec7.equation_d2_phi_from_qc(qc))


@pytest.mark.parametrize("qc", [0.4, 2.0, 3.0, 6.0, 9.9, 12.0, 19.0, 21.0, 40.0])
def test_classes_of_eurocode_7(qc):
    row = ec7_tables.table_d1_phi_e_from_qc(qc)
    for name, key, factor in (
        ("phi_en_1997_2_d1_low", "phi_min_deg", 1),
        ("phi_en_1997_2_d1_high", "phi_max_deg", 1),
        ("E_en_1997_2_d1_low", "e_min_mpa", 1000),
        ("E_en_1997_2_d1_high", "e_max_mpa", 1000),
    ):
        assert ours(name, 1000 * qc) == factor * row[key]


@pytest.mark.parametrize("qc", [0.3, 0.69, 0.71, 1.0, 1.99, 2.01, 3.0, 4.0])
def test_factors_of_the_constrained_modulus_of_clay(qc):
    row = ec7_tables.table_d2_alpha_oedometer("low_plasticity_clay", qc)
    assert ours("alpha_clay_low_en_1997_2", 1000 * qc) == row["alpha_min"]
    assert ours("alpha_clay_high_en_1997_2", 1000 * qc) == row["alpha_max"]


@pytest.mark.parametrize("qc", [1.0, 4.9, 10.1, 30.0])
def test_factors_of_the_constrained_modulus_of_sand(qc):
    row = ec7_tables.table_d2_alpha_oedometer("sand", qc)
    assert ours("alpha_sand_en_1997_2", 1000 * qc) == row["alpha_min"] == row["alpha_max"]
    assert ours("M_en_1997_2", 1000 * qc, 2.0) == pytest.approx(
        1000 * ec7.equation_4_3_oedometer_modulus_from_qc(2.0, qc)
    )


def test_conductivity_from_consolidation():
    expected = dm7_1_chapter3.hydraulic_conductivity_from_consolidation(1e-7, 1e-4, 9.81)
    assert ours("kh_consolidation", 1e-7, 1e4) == pytest.approx(expected)
