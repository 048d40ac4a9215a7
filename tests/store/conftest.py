"""Small jobs of invented soundings."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from pushproof.model.equipment import Cone, Encoder, Rig, Rods
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Location, Zero
from pushproof.model.stream import Reading, StreamKind, Undecoded
from pushproof.store import Job


def cone_reading(number: int, stream: StreamKind = StreamKind.CONE) -> Reading:
    """Return an invented reading of the cone."""
    values = {
        "cone_time": float(number),
        "qc": 1000.0 + 37.5 * number,
        "fs": 12.25 + number,
        "u2": math.nan if number % 7 == 0 else -3.5 * number,
        "link_level": -41.0 - 0.1 * number,
    }
    raw = f"$C,{number},{values['qc']}*5A\r\n".encode()
    arrival = 1.75e9 + 1.01 * number
    return Reading(stream, arrival, 5000.0 + 1.01 * number, values, number, raw)


def depth_reading(number: int) -> Reading:
    """Return an invented reading of the depth encoder, which has no counter of its own."""
    values = {"count": 40.0 * number, "clamp": 1.0}
    return Reading(StreamKind.DEPTH, 1.75e9 + 0.1 * number, 5000.0 + 0.1 * number, values)


def fill(job: Job, readings: int = 30) -> None:
    """Put something of everything into a job."""
    job.add_sounding("CPT-01")
    job.add_location("CPT-01", Location(x=1000.0, y=2000.0, crs="EPSG:28992", level=1.2))
    cone = job.add_equipment("cone", Cone(serial="C-1", area_ratio=0.8))
    job.add_equipment("rods", Rods())
    job.add_equipment("rig", Rig(name="Rig 1"), sounding="CPT-01")
    job.add_equipment("encoder", Encoder(metres_per_count=0.0005))
    job.add_equipment("microphone", {"serial": "M-7", "gain": 2.5})
    from pushproof.model.equipment import Calibration

    job.add_calibration(cone, Calibration(channel="qc", date="2031-05-01", capacity=100000.0))
    job.add_zero("CPT-01", "before", Zero(channel="qc", value=12.0, spread=0.5, count=60))
    job.add_statement("CPT-01", operator="A. Nobody", predrilled=0.5)
    for start in range(1, readings + 1, 3):
        numbers = range(start, min(start + 3, readings + 1))
        with job.writing():
            job.append("CPT-01", "cone", [cone_reading(number) for number in numbers])
            job.append("CPT-01", "depth", [depth_reading(number) for number in numbers])
    noise = Undecoded(StreamKind.CONE, 1.75e9, 5000.0, bytes(range(256)), "wrong checksum")
    job.append("CPT-01", "cone", [noise])
    job.add_event("rod-change", sounding="CPT-01", depth=1.0, duration=12.5)
    job.add_note("wind", author="A. Nobody", sounding="CPT-01")
    job.add_original("folder/old.gef", b"#GEFID= 1, 1, 0\r\n#EOH=\r\n\x00\xff", format="gef")
    job.add_decision("recipe", Recipe(water_level=1.5), author="E. Nemo", reason="read in the hole")


@pytest.fixture(scope="session")
def filled(tmp_path_factory) -> Path:
    """A closed job with something of everything. Copy it before changing it."""
    path = tmp_path_factory.mktemp("filled") / "site.job"
    with Job.create(path, project="Invented dike", client="Nobody", place="Nowhere") as job:
        fill(job)
    return path


@pytest.fixture
def copied(filled, tmp_path) -> Path:
    """A copy of the filled job, anchors included, to damage."""
    import shutil

    for path in filled.parent.iterdir():
        shutil.copy(path, tmp_path / path.name)
    return tmp_path / filled.name
