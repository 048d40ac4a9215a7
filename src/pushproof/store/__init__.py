"""The job file: what was recorded, imported and decided, chained and durable.

::

    with Job.create("site.job", project="River dike") as job:
        job.add_sounding("CPT-01")
        job.append("CPT-01", "cone", readings)

    with Job.open("site.job") as job:
        job.readings("CPT-01", "cone").values["qc"]

    verify("site.job").ok
"""

from pushproof.store.chain import Head
from pushproof.store.content import Mark
from pushproof.store.facts import (
    Project,
    Readings,
    Stored,
    StoredDecision,
    StoredEquipment,
    StoredEvent,
    StoredOriginal,
    StoredZero,
    Streams,
)
from pushproof.store.imports import import_file
from pushproof.store.job import Job
from pushproof.store.verify import Problem, VerifyReport, verify

__all__ = [
    "Head",
    "Job",
    "Mark",
    "Problem",
    "Project",
    "Readings",
    "Stored",
    "StoredDecision",
    "StoredEquipment",
    "StoredEvent",
    "StoredOriginal",
    "StoredZero",
    "Streams",
    "VerifyReport",
    "import_file",
    "verify",
]
