"""Checksums, framing and decoding."""

import hashlib
import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.errors import ConfigurationError
from pushproof.model.stream import Reading, Undecoded
from pushproof.sources import Decoder, describe, load_description
from pushproof.sources.checksum import checksum
from pushproof.sources.description import shipped_names
from pushproof.sources.framing import Framer

VALUES = {"cone_time": 521.5, "qc": 4812.0, "fs": 33.4, "u2": 118.2, "tilt_x": 0.31,
          "tilt_y": -0.12, "temperature": 11.4, "link_level": -41.5, "battery": 7.82}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        ("crc8", 0xF4),
        ("crc8-maxim", 0xA1),
        ("crc16-ccitt-false", 0x29B1),
        ("crc16-xmodem", 0x31C3),
        ("crc16-kermit", 0x2189),
        ("crc16-modbus", 0x4B37),
        ("crc32", 0xCBF43926),
    ],
)
def test_crc_check_values(kind, value):
    # Catalogue of parametrised CRC algorithms: check value over the ASCII digits 1 to 9 (names
    # there: SMBUS, MAXIM-DOW, IBM-3740, XMODEM, KERMIT, MODBUS, ISO-HDLC). Values from memory;
    # the library crccheck 1.3.1 states the same, and agreed on 14,000 random messages.
    assert checksum(kind, b"123456789") == value


def test_plain_sums_by_hand():
    assert checksum("xor8", b"\x01\x02\x04") == 7
    assert checksum("sum8", bytes([200, 100])) == 44
    assert checksum("sum16", bytes([200, 100])) == 300


def test_sha_256_vector():
    # NIST FIPS 180-2, Appendix B.1: the digest of "abc".
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert hashlib.sha256(b"abc").hexdigest() == expected


@pytest.mark.parametrize("name", shipped_names())
def test_shipped_descriptions_read_what_they_write(name):
    decoder = Decoder(load_description(name))
    keys = {field.key for field in decoder.description.fields}
    values = {**VALUES, "count": 88321.0, "clamp": 1.0, "thrust": 42.7}
    known = {key: value for key, value in values.items() if key in keys}
    sequence = 1042 if "sequence" in keys else None
    (reading,) = decoder.feed(decoder.encode(known, sequence), 1.0, 2.0)
    assert isinstance(reading, Reading)
    assert dict(reading.values) == pytest.approx(known)
    assert reading.sequence == sequence


def test_the_sentence_in_the_example_decodes():
    body = b"CONE,1042,521.50,4.812,33.4,118.2,0.31,-0.12,11.4,-41.5,7.82"
    line = b"$" + body + b"*%02X" % checksum("xor8", body)
    reading = Decoder(load_description("link-box")).decode(line, 0, 0)
    assert dict(reading.values) == pytest.approx(VALUES)


FAULTS = {
    b"$CONE,1,2,3*00": "checksum wrong",
    b"$CONE,1,2,3": "no checksum",
    b"$CONE,1,2,3*ZZ": "checksum unreadable",
    b"$GPGLL,1*00": "other sentence",
    b"": "other sentence",
    b"\xff\xfe\x00": "other sentence",
}


@pytest.mark.parametrize("line", FAULTS)
def test_a_bad_line_is_kept_with_its_fault_and_counted(line):
    decoder = Decoder(load_description("link-box"))
    message = decoder.decode(line, 1.0, 2.0)
    assert isinstance(message, Undecoded)
    assert message.raw == line
    assert message.fault.startswith(FAULTS[line])
    assert decoder.faults == {FAULTS[line]: 1}


def test_a_half_line_glued_before_a_whole_one_does_not_hide_it():
    decoder = Decoder(load_description("link-box"))
    half, reading = decoder.feed(b"$CONE,104" + decoder.encode(VALUES, 7), 0, 0)
    assert half.raw == b"$CONE,104"
    assert reading.sequence == 7


def test_sentences_whose_line_end_was_lost_are_taken_apart():
    decoder = Decoder(load_description("link-box"))
    sentences = [decoder.encode(VALUES, n).strip() for n in range(3)]
    got = decoder.feed(b"\xffnoise" + b"".join(sentences) + b"\n", 0, 0)
    assert [m.raw for m in got] == [b"\xffnoise", *sentences]
    assert [m.sequence for m in got[1:]] == [0, 1, 2]


def test_json_objects_whose_line_end_was_lost_are_taken_apart():
    decoder = Decoder(load_description("json-cone"))
    got = decoder.feed(b'{"n": 1, "qc_MP{"n": 2, "qc_MPa": 3.5}{"n": 3, "qc_MPa": 4}\n', 0, 0)
    assert isinstance(got[0], Undecoded)
    assert [m.values["qc"] for m in got[1:]] == [3500.0, 4000.0]


def _cone(**more):
    fields = [{"key": "sequence"}, {"key": "qc", "unit": "MPa"}, {"key": "u2", "unit": "kPa"}]
    return Decoder(describe({"name": "t", "stream": "cone", "fields": fields, **more}))


# Each line by hand from the CRC check value over 123456789 or from a sum; the first two fields are
# "12" and "3456789".
@pytest.mark.parametrize(
    ("line", "more"),
    [
        (b"7 12.5   -3\n", {"separator": " "}),
        (b"  7\t12.5 -3 \n", {"separator": " "}),
        (b"7;12,5;-3\n", {"separator": ";", "decimal": ","}),
        (b":7,12.5,-3\n", {"prefix": ":"}),
        (b"A1,7,12.5,-3\n", {"prefix": "A1"}),
        # 7 , 1 2 . 5 , - 3 are 55 44 49 50 46 53 44 45 51 in ASCII: their sum is 437
        (b"7,12.5,-3*437\n", {"checksum": {"kind": "sum16", "format": "decimal"}}),
        (b"7,12.5,-3*01B5\n", {"checksum": {"kind": "sum16"}}),
        (b"7,12.5,-3*B501\n", {"checksum": {"kind": "sum16", "low_byte_first": True}}),
        # and with the sign "*" (42) 479, without the 7 in front 382
        (b"7,12.5,-3*01df\n", {"checksum": {"kind": "sum16", "covers_sign": True}}),
        (b"7,12.5,-3*017e\n", {"checksum": {"kind": "sum16", "skip_start": 1}}),
        # 495 = 437 + 58 for the prefix ":"
        (b":7,12.5,-301EF\n", {"prefix": ":", "checksum": {"kind": "sum16", "sign": ""}}),
    ],
)
def test_forms_of_sentences(line, more):
    decoder = _cone(**more)
    (reading,) = decoder.feed(line, 0, 0)
    assert isinstance(reading, Reading), reading
    assert dict(reading.values) == {"qc": 12500.0, "u2": -3.0}
    assert reading.sequence == 7
    (again,) = decoder.feed(decoder.encode(reading.values, 7), 0, 0)
    assert again.values == reading.values


@pytest.mark.parametrize("stated", [b"0x1", b"+5", b" 5", b"_5", b"5", b"005", b"5 5", b""])
def test_only_plain_digits_are_a_checksum(stated):
    # the right one is 05: 7 , 1 , D are 55 44 49 44 and 68 xor'ed are 5
    fields = [{"key": "sequence"}, {"key": "qc", "unit": "MPa"}, {"key": "ignore"}]
    check = {"kind": "xor8"}
    decoder = Decoder(
        describe({"name": "t", "stream": "cone", "fields": fields, "checksum": check})
    )
    line = b"7,1,D*"
    assert checksum("xor8", line[:-1]) == 55 ^ 44 ^ 49 ^ 44 ^ 68
    right = b"%02X" % checksum("xor8", line[:-1])
    assert isinstance(decoder.decode(line + right, 0, 0), Reading)
    assert isinstance(decoder.decode(line + stated, 0, 0), Undecoded)


def test_a_value_beyond_all_numbers_is_a_fault():
    message = _cone().decode(b"1,1e307,1", 0, 0)
    assert isinstance(message, Undecoded)
    assert message.fault == "not finite: qc"


def test_a_void_field_leaves_the_others():
    reading = _cone().decode(b",nan,-3", 0, 0)
    assert dict(reading.values) == {"u2": -3.0}
    assert reading.sequence is None
    assert _cone().decode(b"1,-,", 0, 0).fault == "no value"
    assert _cone(separator=" ").encode({"u2": 4.0}) == b"- - 4.000\r\n"
    with pytest.raises(ValueError, match="qc has no value"):
        _cone(void=[]).encode({"u2": 4.0}, 1)


def test_unknown_names_in_json_are_counted_and_the_reading_is_kept():
    decoder = Decoder(load_description("json-cone"))
    reading = decoder.decode(b'{"n": 1, "qc_MPa": 2, "colour": "red"}', 0, 0)
    assert dict(reading.values) == {"qc": 2000.0}
    assert decoder.passed == {"unknown field colour": 1}


def test_truth_values_in_json():
    fields = [{"key": "clamp"}, {"key": "thrust", "unit": "kN"}]
    document = {"name": "t", "stream": "depth", "form": "json", "fields": fields}
    decoder = Decoder(describe(document))
    assert dict(decoder.decode(b'{"clamp": true}', 0, 0).values) == {"clamp": 1.0}
    assert decoder.decode(b'{"thrust": true}', 0, 0).fault == "no number: thrust"


@pytest.mark.parametrize("value", ["1e999", "nan(1)", "0x10", "1_000", "--4"])
def test_a_number_that_is_none_is_a_fault(value):
    description = {"name": "t", "stream": "cone", "fields": [{"key": "qc", "unit": "MPa"}]}
    message = Decoder(describe(description)).decode(value.encode(), 0, 0)
    assert isinstance(message, Undecoded)


def test_scale_offset_and_unit():
    field = {"key": "temperature", "unit": "degF", "scale": 0.1, "offset": 1.0}
    decoder = Decoder(describe({"name": "t", "stream": "cone", "fields": [field]}))
    # 500 x 0.1 + 1 = 51 degF = (51 - 32) x 5/9 = 10.5556 degC
    assert decoder.decode(b"500", 0, 0).values["temperature"] == pytest.approx(10.5556, abs=1e-4)


def test_a_bad_description_names_every_fault():
    bad = {
        "name": "t",
        "stream": "cone",
        "colour": "red",
        "checksum": {"kind": "magic"},
        "fields": [{"key": "qqc"}, {"key": "fs", "unit": "furlong"}, {"key": "u2", "scale": 0}],
    }
    with pytest.raises(ConfigurationError) as caught:
        describe(bad)
    for part in ("colour", "checksum.kind", "fields.0.key", "fields.1.unit", "fields.2.scale"):
        assert part in str(caught.value)


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"fields": [{"key": "qc"}]}, "qc: unit is missing, such as kPa"),
        ({"fields": [{"key": "qc", "unit": "m"}]}, "qc: m is no unit of it"),
        ({"fields": [{"key": "clamp"}, {"key": "clamp"}]}, "given twice: clamp"),
        ({"fields": [{"key": "clamp", "scale": float("nan")}]}, "expected a finite number"),
        ({"decimal": ","}, "separator and decimal sign are the same"),
        ({"checksum": {"kind": "xor8", "sign": ""}}, "needs a prefix"),
        ({"checksum": {"kind": "sum8", "sign": "", "format": "decimal"}}, "needs a sign"),
        ({"form": "json", "prefix": "$A"}, "JSON lines have no prefix"),
    ],
)
def test_descriptions_that_contradict_themselves(more, message):
    with pytest.raises(ConfigurationError, match=message):
        describe({"name": "t", "stream": "cone", "fields": [{"key": "clamp"}], **more})


def _stream(seed, count):
    rng = random.Random(seed)
    decoder = Decoder(load_description("link-box"))
    data = bytearray()
    for sequence in range(count):
        line = bytearray(decoder.encode(VALUES, sequence))
        kind = rng.randrange(5)
        if kind == 1:
            line[rng.randrange(len(line))] = rng.randrange(256)
        elif kind == 2:
            del line[rng.randrange(len(line)) :]
        elif kind == 3:
            data += rng.randbytes(rng.randrange(60))
        data += line
    return bytes(data)


@given(st.integers(0, 10_000), st.lists(st.integers(1, 200), min_size=1, max_size=60))
def test_pieces_do_not_change_the_messages(seed, sizes):
    data = _stream(seed, 30)
    whole = Decoder(load_description("link-box"))
    expected = whole.feed(data, 0, 0) + whole.flush(0, 0)
    decoder, got, start, i = Decoder(load_description("link-box")), [], 0, 0
    while start < len(data):
        size = sizes[i % len(sizes)]
        got += decoder.feed(data[start : start + size], 0, 0)
        start, i = start + size, i + 1
    assert got + decoder.flush(0, 0) == expected


@given(st.binary(max_size=400), st.integers(8, 64))
def test_framing_loses_no_byte_and_bounds_its_lines(data, longest):
    framer = Framer(longest)
    lines = framer.feed(data) + framer.flush()
    assert b"".join(lines) == data.replace(b"\r", b"").replace(b"\n", b"")
    assert all(len(line) <= longest for line in lines)


@pytest.mark.parametrize("count", [20_000, pytest.param(500_000, marks=pytest.mark.slow)])
def test_fuzz_never_crashes(count):
    rng = random.Random(count)
    decoders = [Decoder(load_description(name)) for name in shipped_names()]
    seeds = [d.encode({**VALUES, "count": 5.0, "clamp": 1.0, "thrust": 9.0}, 3) for d in decoders]
    made = 0
    while made < count:
        for decoder, seed in zip(decoders, seeds, strict=True):
            line = bytearray(seed)
            for _ in range(rng.randrange(1, 6)):
                place = rng.randrange(len(line) + 1)
                line[place : place + rng.randrange(4)] = rng.randbytes(rng.randrange(4))
            for message in decoder.feed(bytes(line), 0.0, 0.0):
                assert isinstance(message, Reading | Undecoded)
                if isinstance(message, Reading):
                    assert all(map(math.isfinite, message.values.values()))
            made += 1
    assert all(decoder.faults for decoder in decoders)
