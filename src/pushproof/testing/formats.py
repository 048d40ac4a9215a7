"""The contract of a format as a test class; every format's tests inherit it.

A subclass names a format and one valid file; everything else is derived from them: the file is
cut and changed at random, and neither may give anything but a result or a FormatError.
"""

from __future__ import annotations

import random
from abc import ABC, abstractmethod
from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pushproof.errors import FormatError
from pushproof.formats.contract import Format, ReadOptions, WritableFormat
from pushproof.formats.registry import detect
from pushproof.formats.text import HEAD
from pushproof.model.sounding import Sounding

CHANGED = 60
"""Files changed at random in the usual test run."""
MANY = 2000
"""Files changed at random in the slow test run."""
RANDOM = 40
"""Soundings made at random that are written and read back."""


def fact_differences(
    one: Sounding, two: Sounding, lost: set[str], given: Collection[str] = ()
) -> list[str]:
    """Return what differs between the facts of two soundings beside their readings, in words.

    Parameters
    ----------
    one, two
        The soundings.
    lost
        Facts that need not be equal, keys of :data:`pushproof.formats.lost.HOLDS`.
    given
        Names of fields that were given on writing; they may supply what was not there.
    """
    faults = []
    for key, (before, after) in _facts(one, two).items():
        if before is None and any(name.startswith(key) for name in given):
            continue
        if key not in lost and not _same(before, after):
            faults.append(f"{key}: {before!r} and {after!r}")
    return faults


def _facts(one: Sounding, two: Sounding) -> dict[str, tuple[object, object]]:
    def both(part: str, name: str) -> tuple[object, object]:
        a, b = (getattr(s, part) if part else s for s in (one, two))
        return getattr(a, name), getattr(b, name)

    names = ("predrilled", "standard", "project", "client", "operator", "place", "rods", "rig")
    found: dict[str, tuple[object, object]] = {name: both("", name) for name in names}
    found |= {"class": both("", "quality_class"), "stop": both("", "stop_reason")}
    found |= {"position": both("location", "x"), "level": both("location", "level")}
    found |= {"datum": both("location", "datum"), "depth-zero": both("location", "zero")}
    found |= {
        "degrees": both("location", "latitude"),
        "water-depth": both("location", "water_depth"),
    }
    found |= {"serial": both("cone", "serial"), "model": both("cone", "model")}
    found |= {name.replace("_", "-"): both("cone", name) for name in _CONE}
    found |= {"mid-sleeve": both("cone", "tip_to_mid_sleeve")}
    found["calibrations"] = both("cone", "calibrations")
    found["water"] = tuple(s.water.level if s.water else None for s in (one, two))  # type: ignore[assignment]
    found["zeros"] = tuple(  # type: ignore[assignment]
        [sorted((z.channel, z.value) for z in zeros) for zeros in (s.zeros_before, s.zeros_after)]
        for s in (one, two)
    )
    found["started"] = tuple(  # type: ignore[assignment]
        s.started.replace(tzinfo=None, microsecond=0) if s.started else None for s in (one, two)
    )
    found["removed"] = both("", "removed")
    found["events"] = both("", "events")
    return found


_CONE = (
    "tip_area",
    "tip_diameter",
    "area_ratio",
    "sleeve_area",
    "sleeve_diameter",
    "sleeve_end_ratio",
)


def _same(one: object, two: object) -> bool:
    if isinstance(one, float) and isinstance(two, float):
        return bool(np.isclose(one, two, rtol=1e-9, atol=1e-9))
    if isinstance(one, list | tuple) and isinstance(two, list | tuple):
        return len(one) == len(two) and all(_same(a, b) for a, b in zip(one, two, strict=True))
    return one == two


def differences(one: Sounding, two: Sounding, keys: set[str], rtol: float = 1e-9) -> list[str]:
    """Return what differs between the readings of two soundings, in words.

    Parameters
    ----------
    one, two
        The soundings.
    keys
        Columns to compare.
    rtol
        Relative tolerance; conversion of units may cost the last bit.
    """
    faults = []
    if len(one.readings) != len(two.readings):
        faults.append(f"{len(one.readings)} rows and {len(two.readings)} rows")
        return faults
    for key in sorted(keys):
        a, b = one.readings.get(key), two.readings.get(key)
        same = np.isclose(a, b, rtol=rtol, atol=1e-9, equal_nan=True)
        if not same.all():
            row = int(np.flatnonzero(~same)[0])
            faults.append(f"{key}: {int((~same).sum())} differ, first row {row}: {a[row]} {b[row]}")
    tests = zip(one.dissipations, two.dissipations, strict=False)
    if len(one.dissipations) != len(two.dissipations):
        faults.append(f"{len(one.dissipations)} and {len(two.dissipations)} dissipation tests")
    for first, second in tests:
        for key in sorted(set(first.readings) & set(second.readings)):
            a, b = first.readings[key], second.readings[key]
            if len(a) != len(b) or not np.allclose(a, b, rtol=rtol, atol=1e-9, equal_nan=True):
                faults.append(f"dissipation at {first.depth}: {key} differs")
    return faults


def _filled(one: WritableFormat, sounding: Sounding, given: dict[str, str]) -> Sounding:
    """Return a sounding with the given fields that the format requires and it lacks."""
    from pushproof.formats.fields import FIELDS, with_fields

    own = {name: text for name, text in given.items() if name not in FIELDS}
    for _ in range(2):  # a position that was just given asks for its system
        lacks = {m.field for m in one.missing([sounding], own) if m.required} & set(FIELDS)
        sounding = with_fields(sounding, {name: given[name] for name in lacks if name in given})
    return sounding


def round_trip(
    one: WritableFormat, found: list[Sounding], folder: Path, given: dict[str, str]
) -> None:
    """Write soundings, read them, and compare all that is not told to be lost.

    Parameters
    ----------
    one
        The format.
    found
        The soundings.
    folder
        Where to write.
    given
        The fields that the format requires, its own and those of soundings that lack them.

    Raises
    ------
    AssertionError
        Saying what differs.
    """
    from pushproof.formats.fields import FIELDS
    from pushproof.formats.writing import put

    found = [_filled(one, sounding, given) for sounding in found]
    given = {name: text for name, text in given.items() if name not in FIELDS}
    lacking = [m.field for m in one.missing(found, given) if m.required]
    assert not lacking, f"give {lacking} in given()"
    losses = one.losses(found, given)
    lost = {key for loss in losses for key in loss.keys}
    name = f"a{one.suffixes[0]}"
    files = one.encode(found, name, given)
    assert next(iter(files)) == name
    assert files == one.encode(found, name, given), "writing twice gives different bytes"
    put({folder / key: data for key, data in files.items()}, overwrite=True)
    again = one.read(folder / name, ReadOptions())
    assert len(again) == len(found)
    assert "name" in lost or [s.name for s in again] == [s.name for s in found]
    for before, after in zip(found, again, strict=True):
        if "tests" in lost:
            before, after = (replace(one, dissipations=()) for one in (before, after))
        faults = fact_differences(before, after, lost, given)
        if not any(loss.rows for loss in losses):
            faults += differences(before, after, set(before.readings) - lost)
        assert not faults, f"{before.name}: {'; '.join(faults)}"


class FormatContract(ABC):
    """What every format must do.

    A subclass gives :meth:`make` and :meth:`plain`; a format that writes is also written and read
    back.
    """

    hashes_its_file = True
    """The source of a sounding is the file that was read; False where it holds other files."""

    @abstractmethod
    def make(self) -> Format:
        """Return the format under test."""

    @abstractmethod
    def plain(self) -> Path:
        """Return a small valid file of it."""

    def options(self) -> ReadOptions:
        """Return the options to read it with."""
        return ReadOptions()

    def test_says_what_it_is(self) -> None:
        """It has a name, a title and suffixes, and is of the protocol."""
        one = self.make()
        assert isinstance(one, Format)
        assert one.name == one.name.lower()
        assert one.title
        assert all(s.startswith(".") and s == s.lower() for s in one.suffixes)

    def test_claims_its_file_and_not_others(self) -> None:
        """It is sure of its own file and not of noise."""
        one, path = self.make(), self.plain()
        with path.open("rb") as file:
            head = file.read(HEAD)
        assert 0 < one.detect(path, head) <= 1
        noise = random.Random(1).randbytes(4096)
        assert one.detect(Path("noise.bin"), noise) < 0.5

    def test_is_found_among_the_formats(self) -> None:
        """The registry chooses it for its own file, if it is installed."""
        from pushproof.formats.registry import formats

        one = self.make()
        if one.name in {known.name for known in formats()}:
            assert detect(self.plain()).name == one.name

    def test_reads_its_file_whole(self) -> None:
        """Every sounding has a name, rows, a position and the hash of its file."""
        import hashlib

        path = self.plain()
        found = self.make().read(path, self.options())
        assert found
        for one in found:
            assert one.name
            assert len(one.readings)
            assert one.readings.measured("length") or one.readings.measured("depth")
            assert one.source is not None
            if self.hashes_its_file:
                assert one.source.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
                assert one.source.format == self.make().name

    def test_reading_twice_gives_the_same(self) -> None:
        """Reading has no memory."""
        path = self.plain()
        first = self.make().read(path, self.options())
        second = self.make().read(path, self.options())
        for one, two in zip(first, second, strict=True):
            assert not differences(one, two, set(one.readings), rtol=0)
            assert one.findings == two.findings

    def test_bad_files_give_one_clear_error(self, tmp_path: Path) -> None:
        """Missing, folder, empty, NUL bytes, noise, too large."""
        one = self.make()
        suffix = self.plain().suffix
        empty, zeros, noise = (tmp_path / f"{n}{suffix}" for n in ("empty", "zeros", "noise"))
        empty.write_bytes(b"")
        zeros.write_bytes(bytes(5000))
        noise.write_bytes(random.Random(2).randbytes(20000))
        for path in (tmp_path / f"none{suffix}", tmp_path, empty, zeros, noise):
            with pytest.raises(FormatError) as caught:
                one.read(path, self.options())
            assert path.name in str(caught.value)
        with pytest.raises(FormatError, match="limit"):
            one.read(self.plain(), ReadOptions(max_bytes=10))

    def _attempt(self, data: bytes, path: Path) -> None:
        for options in (self.options(), ReadOptions(self.options().columns, salvage=True)):
            path.write_bytes(data)
            try:
                found = self.make().read(path, options)
            except FormatError:
                continue
            assert all(isinstance(one, Sounding) for one in found)

    def test_a_cut_file_is_a_result_or_an_error(self, tmp_path: Path) -> None:
        """Cut at 40 places."""
        data = self.plain().read_bytes()
        path = tmp_path / self.plain().name
        for k in range(1, 41):
            self._attempt(data[: len(data) * k // 41], path)

    def _change(self, count: int, tmp_path: Path) -> None:
        data = self.plain().read_bytes()
        path = tmp_path / self.plain().name
        chance = random.Random(7)
        for _ in range(count):
            changed = bytearray(data)
            for _ in range(chance.choice((1, 2, 8, 40))):
                at = chance.randrange(len(changed))
                kind = chance.randrange(4)
                if kind == 0:
                    changed[at] = chance.randrange(256)
                elif kind == 1:
                    del changed[at : at + chance.randrange(1, 30)]
                elif kind == 2:
                    piece = bytes(changed[at : at + chance.randrange(1, 60)])
                    changed[at:at] = piece * chance.randrange(1, 4)
                else:
                    word = chance.choice((b'"', b",", b";", b"\n", b"-", b"1e999", b"nan", b"\0"))
                    changed[at:at] = word
                if not changed:
                    changed = bytearray(b"x")
            self._attempt(bytes(changed), path)

    def test_a_changed_file_is_a_result_or_an_error(self, tmp_path: Path) -> None:
        """Changed at random, a few files."""
        self._change(CHANGED, tmp_path)

    @pytest.mark.slow
    @pytest.mark.timeout(600)
    def test_many_changed_files_are_results_or_errors(self, tmp_path: Path) -> None:
        """Changed at random, many files."""
        self._change(MANY, tmp_path)

    def given(self) -> dict[str, str]:
        """Return the fields that the format requires beside a sounding."""
        return {}

    def _writer(self) -> WritableFormat | None:
        """Return the format, if it writes."""
        one = self.make()
        if isinstance(one, WritableFormat):
            return one
        assert not hasattr(one, "encode")
        return None

    def test_what_is_written_reads_back(self, tmp_path: Path) -> None:
        """A format that writes gives its own file again, but for what it says is lost."""
        one = self._writer()
        if one is not None:
            round_trip(one, one.read(self.plain(), self.options()), tmp_path, self.given())

    @pytest.mark.parametrize("name", ["clay-over-sand", "no-u2", "no-fs", "over-water", "short"])
    def test_a_sample_reads_back(self, name: str, tmp_path: Path) -> None:
        """A push with everything that a rig records, but for what it says is lost."""
        from pushproof.testing.samples import sample

        one = self._writer()
        if one is not None:
            round_trip(one, [sample(name)], tmp_path, self.given())

    def test_any_sounding_reads_back(self, tmp_path_factory: pytest.TempPathFactory) -> None:
        """Soundings made at random, but for what it says is lost."""
        from hypothesis import HealthCheck, given, settings

        from pushproof.testing.soundings import soundings

        one = self._writer()
        if one is None:
            return
        folder, given_fields = tmp_path_factory.mktemp("any"), self.given()

        @settings(max_examples=RANDOM, deadline=None, suppress_health_check=list(HealthCheck))
        @given(soundings())
        def reads_back(sounding: Sounding) -> None:
            round_trip(one, [sounding], folder, given_fields)

        reads_back()
