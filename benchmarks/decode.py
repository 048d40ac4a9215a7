"""Lines decoded per second, against a bare split-and-float loop over the same lines.

The bare loop does no framing, proves no checksum, converts no unit and keeps no bytes: it is what
a script of ten lines would do. Run: ``python benchmarks/decode.py [lines]``.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from pushproof.model.stream import Reading
from pushproof.sources import Decoder, load_description
from pushproof.sources.description import shipped_names

VALUES = {
    "cone_time": 521.5, "qc": 4812.0, "fs": 33.4, "u2": 118.2, "tilt_x": 0.31, "tilt_y": -0.12,
    "temperature": 11.4, "link_level": -41.5, "link_noise": -60.0, "battery": 7.82,
    "count": 88321.0, "clamp": 1.0, "thrust": 42.7, "engine": 1.0,
}  # fmt: skip
CHUNK = 512
ROUNDS = 5


def bare(data: bytes, separator: str) -> int:
    """Split lines and fields and make numbers of what is one."""
    count = 0
    for line in data.decode("ascii").split("\r\n"):
        values = []
        for text in line.split("*")[0].split(separator):
            try:
                values.append(float(text))
            except ValueError:
                continue
        count += len(values) > 1
    return count


def decoded(data: bytes, name: str) -> int:
    """Decode in pieces, as a port gives them."""
    decoder = Decoder(load_description(name))
    count = 0
    for start in range(0, len(data), CHUNK):
        for message in decoder.feed(data[start : start + CHUNK], 0.0, 0.0):
            count += isinstance(message, Reading)
    return count


def best(run: Callable[[], int], lines: int) -> float:
    """Return lines per second of the fastest of a few rounds."""
    times = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        if run() != lines:
            raise SystemExit("not every line was decoded")
        times.append(time.perf_counter() - begun)
    return lines / min(times)


def main() -> None:
    """Print the table."""
    lines = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    print(f"{'sentences':18} {'decoded/s':>12} {'bare loop/s':>12} {'ratio':>7}")
    for name in shipped_names():
        description = load_description(name)
        decoder = Decoder(description)
        data = b"".join(decoder.encode(VALUES, n) for n in range(lines))
        ours = best(lambda data=data, name=name: decoded(data, name), lines)
        if description.form == "json":
            print(f"{name:18} {ours:12,.0f} {'-':>12} {'-':>7}")
            continue
        separator = description.separator
        plain = best(lambda data=data, separator=separator: bare(data, separator), lines)
        print(f"{name:18} {ours:12,.0f} {plain:12,.0f} {plain / ours:6.1f}x")


if __name__ == "__main__":
    main()
