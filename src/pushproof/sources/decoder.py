"""Decoding: lines to readings, by a description. Nothing on a line is ever fatal."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Mapping

from pushproof.model.quantities import QUANTITIES
from pushproof.model.stream import Message, Reading, StreamKind, Undecoded
from pushproof.model.units import unit
from pushproof.sources.checksum import checksum, digits
from pushproof.sources.description import Description, FieldDescription
from pushproof.sources.framing import Framer


class _Fault(Exception):
    """Why a line is no reading."""


class Decoder:
    """Turns the bytes of one stream into messages.

    Parameters
    ----------
    description
        How the sentences look.

    Notes
    -----
    The messages do not depend on how the bytes are cut into pieces. ``faults`` counts the lines
    that were no reading by kind of fault; each is kept as :class:`Undecoded`.
    """

    def __init__(self, description: Description):
        self.description = description
        self.stream: StreamKind = description.stream
        self.faults: Counter[str] = Counter()
        self._framer = Framer()
        self._prefix = description.prefix.encode()
        self._conversions = [_conversion(field) for field in description.fields]
        self._void = frozenset(description.void)

    def feed(self, data: bytes, arrival: float, monotonic: float) -> list[Message]:
        """Take bytes that arrived at a moment and return the messages they complete."""
        return [self.decode(line, arrival, monotonic) for line in self._framer.feed(data)]

    def flush(self, arrival: float, monotonic: float) -> list[Message]:
        """Return the half line left when a link ends, as a message."""
        return [self.decode(line, arrival, monotonic) for line in self._framer.flush()]

    def decode(self, line: bytes, arrival: float, monotonic: float) -> Message:
        """Decode one line without its end."""
        try:
            values, sequence = self._values(line)
        except _Fault as fault:
            text = str(fault)
            self.faults[text.split(":")[0]] += 1
            return Undecoded(self.stream, arrival, monotonic, line, text)
        return Reading(self.stream, arrival, monotonic, values, sequence, line)

    def encode(self, values: Mapping[str, float], sequence: int | None = None) -> bytes:
        """Write a sentence with its line end; a value that is missing or NaN becomes void."""
        if self.description.form == "json":
            document = {}
            for field in self.description.fields:
                name = field.name or field.key
                if field.key == "sequence":
                    document[name] = float(sequence) if sequence is not None else None
                elif field.key in values and math.isfinite(values[field.key]):
                    document[name] = round(_outward(field, values[field.key]), field.decimals)
            return json.dumps(document, separators=(",", ":")).encode() + b"\r\n"
        parts = [self.description.prefix] if self.description.prefix else []
        for field in self.description.fields:
            if field.key == "sequence":
                parts.append("" if sequence is None else str(sequence))
            else:
                value = values.get(field.key, math.nan)
                void = not math.isfinite(value)
                shown = "" if void else f"{_outward(field, value):.{field.decimals}f}"
                parts.append(shown)
        body = self.description.separator.join(parts).encode()
        check = self.description.checksum
        if check is None:
            return body + b"\r\n"
        value = checksum(check.kind, body[check.skip_start :])
        return body + check.sign.encode() + f"{value:0{digits(check.kind)}X}".encode() + b"\r\n"

    def _values(self, line: bytes) -> tuple[dict[str, float], int | None]:
        if self.description.form == "json":
            return self._from_json(line)
        return self._from_fields(line)

    def _body(self, line: bytes) -> str:
        start = line.rfind(self._prefix) if self._prefix else 0
        if start < 0:
            raise _Fault("other sentence")
        if start > 0:
            # a half line glued before a whole one: the whole one still counts
            line = line[start:]
        check = self.description.checksum
        if check is not None:
            sign = check.sign.encode()
            body, found, stated = line.rpartition(sign)
            if not found:
                raise _Fault("no checksum")
            try:
                value = int(stated.strip(), 16)
            except ValueError:
                raise _Fault(f"checksum unreadable: {stated[:16]!r}") from None
            right = checksum(check.kind, body[check.skip_start :])
            if value != right or len(stated.strip()) != digits(check.kind):
                raise _Fault(f"checksum wrong: {stated[:16]!r}, expected {right:X}")
            line = body
        try:
            return line[len(self._prefix) :].decode("ascii")
        except UnicodeDecodeError:
            raise _Fault("not text") from None

    def _from_fields(self, line: bytes) -> tuple[dict[str, float], int | None]:
        body = self._body(line)
        separator = self.description.separator
        if self._prefix:
            if not body.startswith(separator):
                raise _Fault("other sentence")
            body = body[len(separator) :]
        texts = body.split(separator)
        expected = len(self.description.fields)
        if len(texts) != expected:
            raise _Fault(f"field count: {len(texts)}, expected {expected}")
        return self._convert(texts)

    def _from_json(self, line: bytes) -> tuple[dict[str, float], int | None]:
        try:
            document = json.loads(line)
        except (ValueError, RecursionError):
            raise _Fault("not JSON") from None
        if not isinstance(document, dict):
            raise _Fault("not a JSON object")
        texts = []
        for field in self.description.fields:
            value = document.get(field.name or field.key)
            if isinstance(value, bool | dict | list):
                raise _Fault(f"no number: {field.key}")
            texts.append("" if value is None else str(value))
        return self._convert(texts)

    def _convert(self, texts: list[str]) -> tuple[dict[str, float], int | None]:
        values: dict[str, float] = {}
        sequence: int | None = None
        for text, (key, factor, offset) in zip(texts, self._conversions, strict=True):
            text = text.strip()
            if key == "ignore" or text in self._void:
                continue
            if "_" in text:
                raise _Fault(f"no number: {key}")
            try:
                number = float(text)
            except ValueError:
                raise _Fault(f"no number: {key}") from None
            if not math.isfinite(number):
                raise _Fault(f"not finite: {key}")
            if key == "sequence":
                if not number.is_integer() or not 0 <= number < 1e15:
                    raise _Fault("sequence no counter")
                sequence = int(number)
            else:
                values[key] = number * factor + offset
        if not values:
            raise _Fault("no value")
        return values, sequence


def _conversion(field: FieldDescription) -> tuple[str, float, float]:
    """Return key, factor and offset from the number on the line to the inside unit."""
    if field.key not in QUANTITIES:
        return field.key, 1.0, 0.0
    found = unit(field.unit) if field.unit else None
    factor, offset = (found.factor, found.offset) if found else (1.0, 0.0)
    return field.key, field.scale * factor, field.offset * factor + offset


def _outward(field: FieldDescription, value: float) -> float:
    _, factor, offset = _conversion(field)
    return (value - offset) / factor
