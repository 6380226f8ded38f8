"""The `bext` chunk: EBU Tech 3285 version 2 §2.3 and §2.4."""

import calendar
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import bext
from tailsout.wave.bext import FIXED_OCTETS, LAYOUT, Bext

UMID = bytes.fromhex("060A2B34 01010105 01010F10 13000000") + bytes(range(1, 17))

FULL = Bext(
    description="Line-up tones and programme",
    originator="An archive",
    originator_reference="reel-0001",
    origination_date="2026-05-09",
    origination_time="07:35:25",
    time_reference=2**32 + 5,
    umid=UMID,
    loudness_value=Decimal("-23.10"),
    loudness_range=Decimal("7.00"),
    max_true_peak_level=Decimal("-99.99"),
    max_momentary_loudness=Decimal("99.99"),
    max_short_term_loudness=None,
    coding_history="A=ANALOGUE,M=mono,T=deck\r\n",
)

# The same octet for octet, a line for each row of the standard's table.
FULL_OCTETS = b"".join(
    (
        b"Line-up tones and programme".ljust(256, b"\0"),  # Description
        b"An archive".ljust(32, b"\0"),  # Originator
        b"reel-0001".ljust(32, b"\0"),  # OriginatorReference
        b"2026-05-09",  # OriginationDate
        b"07:35:25",  # OriginationTime
        bytes.fromhex("05000000 01000000"),  # TimeReferenceLow, TimeReferenceHigh
        bytes.fromhex("0200"),  # Version
        UMID + bytes(32),  # UMID: basic
        bytes.fromhex("FAF6"),  # LoudnessValue: -23.10 LUFS
        bytes.fromhex("BC02"),  # LoudnessRange: 7.00 LU
        bytes.fromhex("F1D8"),  # MaxTruePeakLevel: -99.99 dBTP
        bytes.fromhex("0F27"),  # MaxMomentaryLoudness: 99.99 LUFS
        bytes.fromhex("FF7F"),  # MaxShortTermLoudness: not known
        bytes(180),  # Reserved
        b"A=ANALOGUE,M=mono,T=deck\r\n",  # CodingHistory
    )
)


def spoilt(field: str, octets: bytes, payload: bytes = FULL_OCTETS) -> bytes:
    at = FIXED_OCTETS if field == "coding_history" else LAYOUT[field].offset
    return payload[:at] + octets + payload[at + len(octets) :]


def read(payload: bytes) -> tuple[Bext, list[str]]:
    found, damage = bext.decode(payload)
    assert found is not None
    return found, [fault.kind for fault in damage]


def test_the_table_is_that_of_the_standard() -> None:
    offsets = [(field.title, field.offset, field.octets) for field in LAYOUT.values()]

    assert FIXED_OCTETS == 602
    assert offsets == [
        ("Description", 0, 256),
        ("Originator", 256, 32),
        ("OriginatorReference", 288, 32),
        ("OriginationDate", 320, 10),
        ("OriginationTime", 330, 8),
        ("TimeReference", 338, 8),
        ("Version", 346, 2),
        ("UMID", 348, 64),
        ("LoudnessValue", 412, 2),
        ("LoudnessRange", 414, 2),
        ("MaxTruePeakLevel", 416, 2),
        ("MaxMomentaryLoudness", 418, 2),
        ("MaxShortTermLoudness", 420, 2),
        ("Reserved", 422, 180),
    ]


def test_worked_octets_are_written_and_read() -> None:
    assert bext.encode(FULL) == FULL_OCTETS
    assert bext.decode(FULL_OCTETS) == (FULL, ())


def test_nothing_known_is_602_octets() -> None:
    empty = bext.encode(Bext())

    assert len(empty) == 602
    assert empty[412:422] == bytes.fromhex("FF7F") * 5
    assert bext.decode(empty) == (Bext(), ())


def test_an_odd_history_is_filled_up_with_one_nul() -> None:
    payload = bext.encode(Bext(coding_history="A=PCM\r\n"))

    assert len(payload) == 610
    assert payload.endswith(b"\r\n\0")
    assert bext.decode(payload) == (Bext(coding_history="A=PCM\r\n"), ())


@pytest.mark.parametrize(
    ("value", "octets"),
    [
        ("-23.10", "FAF6"),
        ("-99.99", "F1D8"),
        ("99.99", "0F27"),
        ("0", "0000"),
        ("-0.005", "FFFF"),  # halves go away from zero
        ("0.005", "0100"),
        ("-23.105", "F9F6"),
        ("-23.125", "F7F6"),
        ("23.125", "0909"),
        ("-23.1249999999999999999999999999999999", "F8F6"),
        ("99.994", "0F27"),
        ("99.995", "FF7F"),  # rounds out of range: not known
        ("-99.995", "FF7F"),
        ("-120", "FF7F"),
        ("1E+999999", "FF7F"),
        ("NaN", "FF7F"),
        ("-Infinity", "FF7F"),
    ],
)
def test_loudness_is_rounded_to_hundredths(value: str, octets: str) -> None:
    payload = bext.encode(Bext(loudness_value=Decimal(value)))

    assert payload[412:414].hex().upper() == octets


def test_a_loudness_range_is_never_below_zero() -> None:
    assert bext.encode(Bext(loudness_range=Decimal("-0.01")))[414:416] == b"\xff\x7f"
    assert read(spoilt("loudness_range", b"\xff\xff"))[1] == ["bext-loudness"]


def test_loudness_out_of_range_is_not_known_and_told() -> None:
    # -120.00 is what a family of workstations writes for "not measured".
    found, kinds = read(spoilt("max_true_peak_level", (-12_000).to_bytes(2, "little", signed=True)))

    assert found.max_true_peak_level is None
    assert kinds == ["bext-loudness"]


def test_the_version_says_what_umid_and_loudness_mean() -> None:
    zeros = spoilt("umid", bytes(74))
    one = spoilt("loudness_value", bytes(10), spoilt("version", b"\1\0"))

    assert read(zeros)[0].loudness_value == Decimal(0)
    nothing = (b"", None, None)
    v0 = read(spoilt("version", b"\0\0", zeros))
    assert ((v0[0].umid, v0[0].loudness_value, v0[0].max_true_peak_level), v0[1]) == (nothing, [])
    v1 = read(one)
    assert ((v1[0].umid, v1[0].loudness_value), v1[0].version, v1[1]) == ((UMID, None), 1, [])


@pytest.mark.parametrize(("version", "field"), [(0, "umid"), (1, "loudness_value")])
def test_octets_that_a_version_reserves_are_told(version: int, field: str) -> None:
    _, damage = bext.decode(spoilt("version", version.to_bytes(2, "little")), offset=1000)

    assert [fault.kind for fault in damage] == ["bext-reserved"]
    assert damage[0].offset == 1000 + LAYOUT[field].offset


def test_a_version_to_come_is_read_as_the_last_one_known() -> None:
    found, kinds = read(spoilt("version", b"\xff\xff"))

    assert (found.version, found.loudness_value) == (65_535, Decimal("-23.10"))
    assert kinds == ["bext-version"]


@pytest.mark.parametrize(
    ("field", "least"),
    [
        ("loudness_value", -9999),
        ("loudness_range", 0),
        ("max_true_peak_level", -9999),
        ("max_momentary_loudness", -9999),
        ("max_short_term_loudness", -9999),
    ],
)
def test_each_loudness_figure_has_its_range(field: str, least: int) -> None:
    def told(figure: int) -> list[str]:
        return read(spoilt(field, figure.to_bytes(2, "little", signed=True)))[1]

    assert (told(least), told(9999)) == ([], [])
    assert (told(least - 1), told(10_000)) == (["bext-loudness"], ["bext-loudness"])


@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize("year", [0, 1900, 2000, 2023, 2024])
def test_days_are_counted_by_their_month(year: int, month: int) -> None:
    # The Gregorian calendar repeats after 400 years, so year 0 is like 400.
    last = calendar.monthrange(year or 400, month)[1]

    def told(day: int) -> list[str]:
        return read(spoilt("origination_date", f"{year:04}-{month:02}-{day:02}".encode()))[1]

    assert (told(1), told(last)) == ([], [])
    assert (told(0), told(last + 1)) == (["bext-date"], ["bext-date"])


def test_a_fault_is_placed_at_its_field_and_called_by_the_standards_name() -> None:
    for field, octets in (("origination_date", b"2026-13-01"), ("coding_history", b"\x00x")):
        _, damage = bext.decode(spoilt(field, octets), offset=1000)
        at = FIXED_OCTETS if field == "coding_history" else LAYOUT[field].offset

        assert [fault.offset for fault in damage] == [1000 + at]
        assert damage[0].text.startswith(field.title().replace("_", ""))
    assert "hh:mm:ss" in bext.decode(spoilt("origination_time", b"morning!"))[1][0].text


@pytest.mark.parametrize("octets", [0, 10, 601])
def test_less_than_the_fixed_part_is_no_bext(octets: int) -> None:
    found, damage = bext.decode(FULL_OCTETS[:octets], offset=20)

    assert found is None
    assert [(fault.kind, fault.offset) for fault in damage] == [("bext-short", 20)]


def test_the_fixed_part_alone_is_enough() -> None:
    found, kinds = read(FULL_OCTETS[:602])

    assert (found.coding_history, kinds) == ("", [])


# Octets put at the start of a field of a sound chunk, what is read, what is told.
ODD_TEXTS: list[tuple[str, bytes, str, list[str]]] = [
    ("originator", b"A" * 32, "A" * 32, []),
    ("originator", b"short\0old lett", "short", ["bext-after-nul"]),
    ("originator", b"short".ljust(32), "short", ["bext-space-padded"]),
    ("originator", "Müller".encode().ljust(32, b"\0"), "Müller", ["bext-not-ascii"]),
    ("originator", b"M\xfcller".ljust(32, b"\0"), "Müller", ["bext-not-ascii"]),
    ("originator", b"\x1b]2;x".ljust(32, b"\0"), "\x1b]2;x", ["bext-control"]),
    ("description", b"one\r\ntwo".ljust(256, b"\0"), "one\r\ntwo", []),
    ("origination_date", b"2006/01/02", "2006/01/02", []),
    ("origination_date", b"2024-02-29", "2024-02-29", []),
    ("origination_date", b"0000-12-31", "0000-12-31", []),
    ("origination_date", bytes(10), "", []),
    ("origination_date", b" " * 10, "", ["bext-space-padded"]),
    ("origination_date", b"9999-99-99", "9999-99-99", ["bext-date"]),
    ("origination_date", b"2026-02-29", "2026-02-29", ["bext-date"]),
    ("origination_date", b"1900-02-29", "1900-02-29", ["bext-date"]),
    ("origination_date", b"2026-04-31", "2026-04-31", ["bext-date"]),
    ("origination_date", b"2026-00-01", "2026-00-01", ["bext-date"]),
    ("origination_date", b"BWDate\0\0\0\0", "BWDate", ["bext-date"]),
    ("origination_time", b"23-59_59", "23-59_59", []),
    ("origination_time", b"24:00:00", "24:00:00", ["bext-time"]),
    ("origination_time", b"12:60:00", "12:60:00", ["bext-time"]),
    ("origination_time", b"12:00:60", "12:00:60", ["bext-time"]),
    ("coding_history", b"\0" * 26, "", []),
    ("coding_history", b"A=PCM\r\n" + b"\0" * 18 + b"x", "A=PCM\r\n", ["bext-after-nul"]),
    ("coding_history", b"\xff".ljust(26, b"\0"), "ÿ", ["bext-not-ascii"]),
]


@pytest.mark.parametrize(("field", "octets", "text", "kinds"), ODD_TEXTS)
def test_text_is_kept_and_its_faults_told(
    field: str, octets: bytes, text: str, kinds: list[str]
) -> None:
    found, told = read(spoilt(field, octets))

    assert getattr(found, field) == text
    assert told == kinds


def test_five_figures_of_0_are_none_that_were_measured() -> None:
    told = read(spoilt("loudness_value", bytes(10)))[1]

    assert told == ["bext-loudness-zero"]
    assert read(spoilt("loudness_value", bytes(8)))[1] == []
    assert read(spoilt("version", b"\1\0", spoilt("loudness_value", bytes(10))))[1] == []


def test_more_history_than_is_read_is_told() -> None:
    (fault,) = bext.decode(FULL_OCTETS, octets=bext.MAX_OCTETS + 1)[1]

    assert (fault.kind, fault.offset) == ("bext-oversize", FIXED_OCTETS)
    assert bext.decode(FULL_OCTETS, octets=bext.MAX_OCTETS)[1] == ()


def test_the_highest_time_reference_is_a_number() -> None:
    assert read(spoilt("time_reference", b"\xff" * 8))[0].time_reference == 2**64 - 1


def test_an_extended_umid_is_kept_whole() -> None:
    extended = UMID + bytes(range(32))

    assert read(spoilt("umid", extended))[0].umid == extended
    assert bext.encode(Bext(umid=extended))[348:412] == extended


# A field, a value that must not be written, and the standard's name that the error must have.
FORBIDDEN: list[tuple[str, Any, str]] = [
    ("description", "x" * 257, "Description"),
    ("description", "Müller", "Description"),
    ("originator", "x" * 33, "Originator "),
    ("originator", "a\0b", "Originator "),
    ("originator_reference", "\x1b[2J", "OriginatorReference"),
    ("origination_date", "2026-02-30", "OriginationDate"),
    ("origination_date", "2026-2-3", "OriginationDate"),
    ("origination_date", "2026\u201002\u201003", "OriginationDate"),
    ("origination_time", "25:00:00", "OriginationTime"),
    ("time_reference", -1, "TimeReference"),
    ("time_reference", 2**64, "TimeReference"),
    ("version", 1, "Version"),
    ("umid", b"x" * 16, "UMID"),
    ("coding_history", "T=\u00b5\r\n", "CodingHistory"),
    ("coding_history", "A=PCM\r\n\0", "CodingHistory"),
    ("description", "side A\r\nside B", "Description"),
    ("originator", "Saltpan\tRow", "Originator"),
]


@pytest.mark.parametrize(("field", "value", "title"), FORBIDDEN)
def test_what_does_not_fit_is_refused_by_name(field: str, value: Any, title: str) -> None:
    bad = Bext(**{field: value})
    with pytest.raises(MaterialError, match=title):
        bext.encode(bad)


def ascii_text(most: int) -> st.SearchStrategy[str]:
    characters = st.characters(min_codepoint=0x20, max_codepoint=0x7E)
    return st.text(characters, max_size=most).map(lambda text: text.rstrip(" "))


HUNDREDTHS = st.none() | st.integers(-9999, 9999).map(lambda n: Decimal(n).scaleb(-2))

CHUNKS = st.builds(
    Bext,
    description=ascii_text(256),
    originator=ascii_text(32),
    originator_reference=ascii_text(32),
    origination_date=st.just("") | st.dates().map(str),
    origination_time=st.just("") | st.times().map(lambda time: time.strftime("%H:%M:%S")),
    time_reference=st.integers(0, 2**64 - 1),
    umid=st.just(b"") | st.binary(min_size=32, max_size=32).filter(any),
    loudness_value=HUNDREDTHS,
    loudness_range=st.none() | st.integers(0, 9999).map(lambda n: Decimal(n).scaleb(-2)),
    max_true_peak_level=HUNDREDTHS,
    max_momentary_loudness=HUNDREDTHS,
    max_short_term_loudness=HUNDREDTHS,
    coding_history=st.lists(ascii_text(80)).map(lambda lines: "".join(f"{x}\r\n" for x in lines)),
)


@given(CHUNKS)
def test_what_is_written_is_read_back(chunk: Bext) -> None:
    payload = bext.encode(chunk)

    assert len(payload) % 2 == 0
    assert bext.decode(payload) == (chunk, ())


@given(st.binary(min_size=602, max_size=700), st.integers(0, 3))
def test_no_octets_whatever_raise(payload: bytes, version: int) -> None:
    found, _ = bext.decode(spoilt("version", version.to_bytes(2, "little"), payload))

    assert found is not None
    assert found.version == version
