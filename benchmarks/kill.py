"""A thousand SIGKILLs at random moments of recording; every one must leave a whole job.

Run: python benchmarks/kill.py [runs] [folder on the disk to be used]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from pushproof.testing.killing import kill_many


def main() -> int:
    runs = int(sys.argv[1]) if sys.argv[1:] else 1000
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory(dir=sys.argv[2] if sys.argv[2:] else None) as folder:
        report = kill_many(Path(folder), runs, seed=int(time.time()))
    print(f"kills                                {report.runs:8d}")
    print(f"before the first reading was given   {report.early:8d}")
    print(f"readings given to the listener       {report.given:8d}")
    print(f"starts that found an interruption    {report.interrupted:8d}")
    print(f"faults                               {len(report.faults):8d}")
    print(f"seconds                              {time.perf_counter() - begun:8.0f}")
    for fault in report.faults:
        print(f"  {fault}")
    return 1 if report.faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
