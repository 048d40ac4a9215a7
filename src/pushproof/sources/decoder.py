"""Decoding by a description: sentences to readings, and readings to sentences."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from typing import Any

from pushproof.model.quantities import QUANTITIES
from pushproof.model.units import unit
from pushproof.sources.checksum import checksum, digits
from pushproof.sources.description import ChecksumDescription, Description, FieldDescription
from pushproof.sources.lines import OTHER, Found, LineDecoder, LineFault

_Values = tuple[dict[str, float], int | None]


class Decoder(LineDecoder):
    """Turns the bytes of one stream into messages, by a description.

    Parameters
    ----------
    description
        How the sentences look.
    """

    def __init__(self, description: Description):
        self.description = description
        self._prefix = description.prefix.encode()
        mark = b"{" if description.form == "json" else self._prefix
        super().__init__(description.stream, [mark])
        # a prefix that ends in a sign ends by itself; a word ends at the separator
        self._prefix_is_field = bool(self._prefix) and description.prefix[-1].isalnum()
        self._conversions = [_conversion(field) for field in description.fields]
        self._void = frozenset(description.void)
        self._known = {field.name or field.key for field in description.fields}
        self._separator = None if description.separator == " " else description.separator
        check = description.checksum
        self._stated = _stated_form(check) if check else None

    def interpret(self, line: bytes) -> Found:
        """Return what a sentence says."""
        json_line = self.description.form == "json"
        values, sequence = self._from_json(line) if json_line else self._from_fields(line)
        return self.stream, values, sequence

    # Writing

    def encode(self, values: Mapping[str, float], sequence: int | None = None) -> bytes:
        """Write a sentence with its line end; a value that is missing or NaN becomes void.

        Raises
        ------
        ValueError
            If a value is missing and the description has no way to say so.
        """
        if self.description.form == "json":
            return self._as_json(values, sequence) + b"\r\n"
        parts = [self._as_text(field, values, sequence) for field in self.description.fields]
        separator = self.description.separator
        prefix = self.description.prefix + (separator if self._prefix_is_field else "")
        body = (prefix + separator.join(parts)).encode()
        check = self.description.checksum
        return body + (_write_checksum(check, body) if check else b"") + b"\r\n"

    def _as_json(self, values: Mapping[str, float], sequence: int | None) -> bytes:
        document: dict[str, Any] = {}
        for field in self.description.fields:
            name, value = field.name or field.key, values.get(field.key, math.nan)
            if field.key == "sequence":
                document[name] = sequence
            elif math.isfinite(value):
                document[name] = round(_outward(field, value), field.decimals)
        return json.dumps(document, separators=(",", ":")).encode()

    def _as_text(
        self, field: FieldDescription, values: Mapping[str, float], sequence: int | None
    ) -> str:
        value = values.get(field.key, math.nan)
        if field.key == "sequence" and sequence is not None:
            return str(sequence)
        if field.key != "sequence" and math.isfinite(value):
            text = f"{_outward(field, value):.{field.decimals}f}"
            return text.replace(".", self.description.decimal)
        void = [token for token in self.description.void if token or self._separator]
        if not void:
            raise ValueError(f"{field.key} has no value, and the description has no void token")
        return void[0]

    # Reading

    def _from_fields(self, line: bytes) -> _Values:
        if not line.startswith(self._prefix):
            raise LineFault(OTHER)
        try:
            body = self._proven(line)[len(self._prefix) :].decode("ascii")
        except UnicodeDecodeError:
            raise LineFault("not text") from None
        if self._prefix_is_field:
            if not body.startswith(self.description.separator):
                raise LineFault(OTHER)
            body = body[len(self.description.separator) :]
        texts = body.split(self._separator)
        expected = len(self.description.fields)
        if len(texts) != expected:
            raise LineFault(f"field count: {len(texts)}, expected {expected}")
        return self._convert(texts)

    def _proven(self, line: bytes) -> bytes:
        """Return the line without its checksum, which must be right."""
        check = self.description.checksum
        if check is None or self._stated is None:
            return line
        found = self._stated.search(line)
        if found is None:
            sign = check.sign.encode()
            at = line.rfind(sign) if sign else -1
            if at < 0:
                raise LineFault("no checksum")
            raise LineFault(f"checksum unreadable: {line[at + len(sign) :][:16]!r}")
        right = _checksum_text(check, line, found.start(), found.start("stated"))
        if found["stated"].upper().lstrip(b"0") != right.lstrip(b"0"):
            stated = found["stated"].decode()
            raise LineFault(f"checksum wrong: {stated}, expected {right.decode()}")
        return line[: found.start()]

    def _from_json(self, line: bytes) -> _Values:
        try:
            document = json.loads(line)
        except (ValueError, RecursionError):
            raise LineFault("not JSON") from None
        if not isinstance(document, dict):
            raise LineFault("not a JSON object")
        if document.keys() - self._known:
            self.passed.update(f"unknown field {name}" for name in document.keys() - self._known)
        return self._convert([_json_text(field, document) for field in self.description.fields])

    def _convert(self, texts: list[str]) -> _Values:
        values: dict[str, float] = {}
        sequence: int | None = None
        comma = self.description.decimal == ","
        for text, (key, factor, offset) in zip(texts, self._conversions, strict=True):
            text = text.strip()
            if key == "ignore" or text in self._void:
                continue
            number = _number(text.replace(",", ".") if comma else text, key)
            if key == "sequence":
                if not number.is_integer() or not 0 <= number < 1e15:
                    raise LineFault("sequence no counter")
                sequence = int(number)
                continue
            value = number * factor + offset
            if not math.isfinite(value):
                raise LineFault(f"not finite: {key}")
            values[key] = value
        if not values:
            raise LineFault("no value")
        return values, sequence


def _number(text: str, key: str) -> float:
    if "_" in text:  # Python allows it in numbers, no box means it
        raise LineFault(f"no number: {key}")
    try:
        return float(text)
    except ValueError:
        raise LineFault(f"no number: {key}") from None


def _json_text(field: FieldDescription, document: Mapping[str, Any]) -> str:
    """Return a value of a JSON object as the text that a sentence would have."""
    value = document.get(field.name or field.key)
    if isinstance(value, bool) and field.key in QUANTITIES and QUANTITIES[field.key].unit == "-":
        return "1" if value else "0"
    if isinstance(value, bool | dict | list):
        raise LineFault(f"no number: {field.key}")
    return "" if value is None else str(value)


def _stated_form(check: ChecksumDescription) -> re.Pattern[bytes]:
    """Return the form of sign and checksum at the end of a line."""
    number = (
        f"[0-9A-Fa-f]{{{digits(check.kind)}}}" if check.format == "hex" else "[0-9]{1,10}"
    ).encode()
    return re.compile(re.escape(check.sign.encode()) + b"(?P<stated>" + number + rb")\s*$")


def _checksum_text(check: ChecksumDescription, line: bytes, end: int, stated: int) -> bytes:
    """Return what the checksum of a line must be; ``end`` is where its sign begins."""
    value = checksum(check.kind, line[check.skip_start : stated if check.covers_sign else end])
    if check.low_byte_first:
        size = digits(check.kind) // 2
        value = int.from_bytes(value.to_bytes(size, "little"), "big")
    form = f"{value:0{digits(check.kind)}X}" if check.format == "hex" else str(value)
    return form.encode()


def _write_checksum(check: ChecksumDescription, body: bytes) -> bytes:
    sign = check.sign.encode()
    return sign + _checksum_text(check, body + sign, len(body), len(body) + len(sign))


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
