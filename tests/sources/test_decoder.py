"""Checksums, framing and decoding."""

import hashlib
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
from pushproof.sources.nmea import parse_position

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
    # Catalogue of parametrised CRC algorithms: check value over the ASCII digits 1 to 9.
    # Values from memory; crc32 is also what zlib gives.
    assert checksum(kind, b"123456789") == value


def test_plain_sums_by_hand():
    assert checksum("xor8", b"\x01\x02\x04") == 7
    assert checksum("sum8", bytes([200, 100])) == 44
    assert checksum("sum16", bytes([200, 100])) == 300


def test_sha_256_vector():
    # NIST FIPS 180-2, Appendix B.1: the digest of "abc".
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert hashlib.sha256(b"abc").hexdigest() == expected


@pytest.mark.parametrize(
    ("sentence", "latitude", "longitude"),
    [
        # Examples that circulate with the descriptions of NMEA 0183; checksums as printed there.
        (b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", 48.1173, 11.51667),
        (
            b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
            48.1173,
            11.51667,
        ),
        (b"$GPGLL,4916.45,N,12311.12,W,225444,A,*1D", 49.27417, -123.18533),
    ],
)
def test_position_sentences(sentence, latitude, longitude):
    fix = parse_position(sentence)
    assert fix.latitude == pytest.approx(latitude, abs=1e-4)
    assert fix.longitude == pytest.approx(longitude, abs=1e-4)


def test_position_with_a_wrong_checksum_or_no_fix():
    with pytest.raises(ValueError, match="checksum"):
        parse_position(b"$GPGLL,4916.45,N,12311.12,W,225444,A,*1E")
    body = b"GPGLL,4916.45,N,12311.12,W,225444,V,"
    assert parse_position(b"$" + body + b"*%02X" % checksum("xor8", body)) is None


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
    (reading,) = decoder.feed(b"$CONE,104" + decoder.encode(VALUES, 7), 0, 0)
    assert isinstance(reading, Reading)
    assert reading.sequence == 7


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
            made += 1
    assert all(decoder.faults for decoder in decoders)
