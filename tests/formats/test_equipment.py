"""Equipment files: written, read back, every fault named."""

import pytest

from pushproof.errors import ConfigurationError
from pushproof.formats.equipment import Equipment, load_equipment, write_equipment
from pushproof.sources.rehearsal import Rehearsal


def test_round_trip(tmp_path):
    rig = Rehearsal("HM-1", "", 1)
    known = Equipment(
        cone=rig.cone, rods=rig.rods, rig=rig.rig, encoder=rig.encoder, predrilled=0.6
    )
    write_equipment(known, tmp_path / "e.toml")
    assert load_equipment(tmp_path / "e.toml") == known


def test_faults_are_named(tmp_path):
    (tmp_path / "e.toml").write_text('colour = "red"\n[rods]\nlength = -1\n')
    with pytest.raises(ConfigurationError, match=r"colour.*rods\.length|rods\.length.*colour"):
        load_equipment(tmp_path / "e.toml")
