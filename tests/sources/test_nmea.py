"""Position sentences of satellite receivers."""

import random

import pytest

from pushproof.model.stream import Reading, StreamKind, Undecoded
from pushproof.sources import PositionDecoder
from pushproof.sources.checksum import checksum
from pushproof.sources.nmea import parse_position

# Examples that circulate with public descriptions of NMEA 0183 and in the tests of the open library
# pynmea2 1.19; the checksums are as printed there, the degrees by hand from ddmm.mmm.
EXAMPLES = [
    (
        b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
        48 + 7.038 / 60,
        11 + 31 / 60,
        545.4,
    ),
    (
        b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
        48 + 7.038 / 60,
        11 + 31 / 60,
        None,
    ),
    (
        b"$GPGLL,4916.45,N,12311.12,W,225444,A,*1D",
        49 + 16.45 / 60,
        -(123 + 11.12 / 60),
        None,
    ),
    (
        b"$GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E*68",
        49 + 16.45 / 60,
        -(123 + 11.12 / 60),
        None,
    ),
    (
        b"$GPGGA,184353.07,1929.045,S,02410.506,E,1,04,2.6,100.00,M,-33.9,M,,0000*6D",
        -(19 + 29.045 / 60),
        24 + 10.506 / 60,
        100.0,
    ),
]

NO_FIX = [
    # from the same tests of pynmea2: no fix, status V, or a field that is no position
    b"$GPGGA,201716.684,,,,,0,00,,,M,0.0,M,,0000*5F",
    b"$GPRMC,181031.576,V,3926.276,N,07739.361,W,99.7,18.30,250915,,E*79",
    b"$GPGLL,3926.276,N,07739.361,W,181033.576,V*3E",
    b"$GPRMC,123519.00,,4807.038,N,01131.000,E,,,230394,,*72",
]


def sealed(body: bytes) -> bytes:
    return b"$" + body + b"*%02X" % checksum("xor8", body)


@pytest.mark.parametrize(("sentence", "latitude", "longitude", "height"), EXAMPLES)
def test_examples(sentence, latitude, longitude, height):
    fix = parse_position(sentence)
    assert fix.latitude == pytest.approx(latitude, abs=1e-9)
    assert fix.longitude == pytest.approx(longitude, abs=1e-9)
    assert fix.height == height


@pytest.mark.parametrize("sentence", NO_FIX)
def test_without_a_fix_there_is_no_position(sentence):
    assert parse_position(sentence) is None


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"GPGLL,4960.00,N,12311.12,W,225444,A,", "sixty minutes"),
        (b"GPGLL,9100.00,N,12311.12,W,225444,A,", "beyond the pole"),
        (b"GPGLL,9000.01,N,12311.12,W,225444,A,", "beyond the pole"),
        (b"GPGLL,4916.45,E,12311.12,W,225444,A,", "no side of a latitude"),
        (b"GPGLL,4916.45,NS,12311.12,W,225444,A,", "two sides"),
        (b"GPGLL,nan,N,12311.12,W,225444,A,", "no number"),
        (b"GPGLL,+916.45,N,12311.12,W,225444,A,", "a sign"),
        (b"GPGGA,1,4807.038,N,01131.000,E,1,08,0.9,inf,M,46.9,M,,", "endless height"),
    ],
)
def test_what_is_no_position_is_a_fault(body, why):
    with pytest.raises(ValueError, match=r"no position|no height"):
        parse_position(sealed(body))


def test_checksums_are_proven():
    with pytest.raises(ValueError, match="checksum wrong: 1E, expected 1D"):
        parse_position(b"$GPGLL,4916.45,N,12311.12,W,225444,A,*1E")
    for ending in (b"", b"*", b"*1", b"*0x", b"*1D1", b"*+1"):
        with pytest.raises(ValueError, match="no checksum"):
            parse_position(b"$GPGLL,4916.45,N,12311.12,W,225444,A," + ending)


def test_the_stream_of_a_receiver():
    decoder = PositionDecoder()
    other = sealed(b"GPGSV,1,1,01,05,40,083,46")
    data = b"\r\n".join([EXAMPLES[0][0], other, NO_FIX[0], EXAMPLES[2][0] + EXAMPLES[3][0], b""])
    got = decoder.feed(data, 1.0, 2.0)
    readings = [m for m in got if isinstance(m, Reading)]
    assert [m.stream for m in readings] == [StreamKind.POSITION] * 3
    assert readings[0].values["elevation"] == 545.4
    assert [m.fault for m in got if isinstance(m, Undecoded)] == ["no fix"]
    assert decoder.passed == {"sentence GPGSV": 1}


def test_fuzz_never_crashes():
    rng = random.Random(5)
    decoder = PositionDecoder()
    for _ in range(20_000):
        line = bytearray(rng.choice(EXAMPLES)[0])
        for _ in range(rng.randrange(1, 5)):
            at = rng.randrange(len(line) + 1)
            line[at : at + rng.randrange(3)] = rng.randbytes(rng.randrange(3))
        if rng.random() < 0.5:  # right checksum over wrong content
            line = bytearray(sealed(bytes(line[1:-3]).replace(b"*", b"")))
        for message in decoder.feed(bytes(line) + b"\n", 0, 0):
            if isinstance(message, Reading):
                assert abs(message.values["latitude"]) <= 90
                assert abs(message.values["longitude"]) <= 180
    assert decoder.faults
