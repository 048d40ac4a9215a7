"""A job with a sounding that was pushed on an invented morning, for tests of the field page."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from pushproof import write
from pushproof.store import Job, import_file
from pushproof.testing import sample

DAY = "2031-05-13"
MORNING = datetime.fromisoformat(f"{DAY}T08:00").timestamp()


def field_job(path: Path) -> Path:
    """Make a job: HM-1 with its readings and its day; a hole of 21.5 m that nobody closed."""
    file = path.with_suffix(".json")
    write(sample("clay-over-sand"), file, "json")
    with Job.create(path, project="Heronmere (invented)") as job:
        import_file(job, file)

        def put(kind: str, minute: float, length: float, text: str = "", **details: object) -> None:
            job.add_event(
                kind, sounding="HM-1", at=MORNING + 60 * minute, text=text,
                details={"length": length, **details},
            )  # fmt: skip

        put("start", 0, 0.0)
        put("stop", 20, 9.0)
        put("rod-change", 20, 9.0, duration=120.0)
        put("pause", 25, 9.0, duration=900.0)
        put("pause-called", 25.1, 9.0, reason="service clearance")
        put("start", 40, 9.0)
        put("stop", 55, 15.0)
        put("pause", 55, 15.0, duration=1200.0)
        put("dissipation-start", 55.1, 15.0)
        put("dissipation-end", 75, 15.0, elapsed=1190.0, percent=61.0)
        put("start", 76, 15.0)
        put("note", 80, 17.0, "gravel heard")
        put("alarm", 81, 17.0, rule="tilt", change="raised", level="caution")
        put("stop", 95, 21.5)
    file.unlink()
    return path
