import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, get_args, get_origin, get_type_hints

import pytest

from tailsout.records.carrier import Condition, Leader
from tailsout.records.machine import CareEvent, Tone
from tailsout.records.playing import Channel, SetUp
from tailsout.records.reel import Equalisation
from tailsout.records.session import CalibrationSetting, Reading
from tailsout.records.sound import AudioFacts
from tailsout.records.statements import Correction
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import Absence
from tailsout.views import rows as written
from tailsout.views.rows import absent, heading, inline, pairs, row, rows, without


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One field of each sort."""

    title: str | None = None
    by: str | None = None
    kept: bool | None = None
    count: int | None = None
    length_m: Decimal | None = None
    words: tuple[str, ...] = ()
    speeds_ips: tuple[Decimal, ...] = ()
    tone: Tone | None = None
    leaders: tuple[Leader, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)


FULL = Sample(
    title="a reel",
    by="isolde",
    kept=False,
    count=0,
    length_m=Decimal("1.50"),
    words=("one", "two"),
    speeds_ips=(Decimal("7.5"), Decimal(15)),
    tone=Tone(frequency_hz=Decimal(1000)),
    leaders=(Leader(end="heads"), Leader(end="tails", absent={"colour": "unknown"})),
    absent={"note": "withheld", "agent_used": "not recorded"},
)


def test_units_of_loudness_and_how_a_machine_was_set_can_be_read() -> None:
    facts = AudioFacts(
        frames=1,
        sample_rate_hz=96_000,
        essence_sha256="",
        channels=(),
        true_peak_dbtp=Decimal("-8.97"),
        integrated_lufs=Decimal(-25),
    )
    told = dict(pairs(facts))
    assert told["true peak"] == "-8.97 dBTP"
    assert told["integrated"] == "-25 LUFS"
    set_up = SetUp(reel_size_supply="small", reel_size_take_up="small", lifters="out")
    assert inline(set_up) == "reel size supply: small; reel size take up: small; lifters: out"


def test_what_was_found_is_told_from_what_was_left_and_what_was_said_from_what_is_so() -> None:
    reading = Reading(frequency_hz=Decimal(1000), level_db=Decimal("0.4"))
    setting = CalibrationSetting(
        id="7-nab", as_found=(reading,), as_left=(replace(reading, level_db=Decimal(0)),)
    )
    assert inline(setting) == (
        "7-nab; as found: (frequency: 1000 Hz; level: 0.4 dB); as left: (frequency: 1000 Hz; "
        "level: 0 dB)"
    )
    state = Condition(moment="on arrival", odour="vinegar", mould="slight", shedding="severe")
    assert inline(state) == "on arrival; odour: vinegar; mould: slight; shedding: severe"
    channel = Channel(channel=1, track="1", head_core="upper", direction="forward")
    assert inline(channel) == "channel: 1; track: 1; head core: upper; direction: forward"
    assert inline(Correction(about="speed", said="7½", is_so="3¾")) == "speed; said: 7½; is so: 3¾"


def test_every_field_that_is_set_has_a_row() -> None:
    assert list(rows(FULL)) == [
        "title                 a reel",
        "by                    isolde",
        "kept                  no",
        "count                 0",
        "length                1.5 m",
        "words                 one, two",
        "speeds                7.5 ips, 15 ips",
        "tone                  frequency: 1000 Hz",
        "leaders               heads",
        "leaders               tails; colour unknown",
        "not stated            agent used not recorded; note withheld",
    ]


def test_what_is_not_set_has_none() -> None:
    assert list(rows(Sample())) == []
    assert list(rows(None)) == []
    assert inline(Sample()) == ""


def test_a_field_can_be_left_out_because_it_stands_elsewhere() -> None:
    told = "\n".join(rows(FULL, but=("title", "leaders")))
    assert "a reel" not in told
    assert "heads" not in told
    assert "isolde" in told
    assert without(Leader(end="heads", colour="white"), "end") == "colour: white"


def test_within_a_row_numbers_are_named_and_plain_words_are_not() -> None:
    assert inline(FULL) == (
        "a reel; by: isolde; kept: no; count: 0; length: 1.5 m; one, two; 7.5 ips, 15 ips; "
        "(frequency: 1000 Hz); (heads), (tails; colour unknown); agent used not recorded; "
        "note withheld"
    )


def test_a_curve_is_written_as_the_trade_writes_it() -> None:
    curve = Equalisation(standard="NAB", t1_us=Decimal(3180), t2_us=Decimal(50))
    assert inline(curve) == "NAB 3180+50 µs"
    assert list(rows(SetUp(equalisation=curve))) == ["equalisation          NAB 3180+50 µs"]
    assert inline(Equalisation(absent={"standard": "unknown"})) == "standard unknown"


@pytest.mark.parametrize(
    ("record", "shown"),
    [
        (SetUp(speed_ips=Decimal("3.75")), "speed                 3.75 ips (9.525 cm/s)"),
        (Reading(frequency_hz=Decimal("1E+4")), "frequency             10000 Hz"),
        (Tone(frequency_hz=Decimal(1), level_db=Decimal("-0.50")), "level                 -0.5 dB"),
        (
            Reading(frequency_hz=Decimal(1), speed_error_percent=Decimal("0.04")),
            "speed error           0.04 %",
        ),
        (
            Reading(frequency_hz=Decimal(1), phase_deg=Decimal(-10)),
            "phase                 -10 °",
        ),
        (
            CareEvent(kind="cleaned", dry_before_threading=True),
            "dry before threading  yes",
        ),
    ],
)
def test_numbers_have_their_units(record: object, shown: str) -> None:
    assert shown in list(rows(record))


def numbers(record: type, seen: set[type]) -> set[str]:
    """The fields below a record that hold decimal numbers."""
    seen.add(record)
    found = set()
    for name, hint in get_type_hints(record).items():
        inside = (hint, *get_args(hint))
        found |= {name} if Decimal in inside else set()
        for one in inside:
            if dataclasses.is_dataclass(one) and isinstance(one, type) and one not in seen:
                found |= numbers(one, seen)
    return found


def test_every_number_of_a_transfer_has_its_unit_in_its_name() -> None:
    every = numbers(Transfer, set())
    assert {"width_mm", "hours", "frequency_hz"} <= every
    units = tuple(written._UNITS)
    assert [n for n in sorted(every) if n not in units and not n.endswith(units)] == []


def test_names_given_within_a_row_are_fields_that_there_are() -> None:
    """A name that no record has any more would be kept for nothing."""
    names: set[str] = set()
    waiting: list[Any] = [Transfer]
    seen: set[Any] = set()
    while waiting:
        one = waiting.pop()
        if one in seen:
            continue
        seen.add(one)
        if dataclasses.is_dataclass(one):
            hints = get_type_hints(one)
            names |= set(hints)
            waiting += hints.values()
        elif get_origin(one):
            waiting += get_args(one)
    assert names >= written._NAMED


def test_a_long_value_is_folded_under_itself() -> None:
    first, second = row("note", "word " * 18)
    assert first == "note                  " + " ".join(["word"] * 14)
    assert second == " " * 22 + " ".join(["word"] * 4)


def test_a_long_label_keeps_its_value() -> None:
    assert list(row("x" * 30, "value")) == ["x" * 30 + " value"]


@pytest.mark.parametrize("value", ["", None])
def test_no_value_is_no_row(value: str | None) -> None:
    assert list(row("note", value)) == []


def test_a_value_of_blanks_alone_is_one_empty_row() -> None:
    assert list(row("note", "  ")) == ["note                  "]


def test_a_heading_is_underlined() -> None:
    assert list(heading("Side A")) == ["", "Side A", "------"]


def test_text_from_strangers_cannot_command_a_terminal(stranger: tuple[str, str]) -> None:
    text, escaped = stranger
    assert list(heading(text)) == ["", escaped, "-" * len(escaped)]
    (shown,) = rows(Sample(title=text))
    assert shown.startswith("title")
    assert shown.endswith(escaped)
    (shown,) = row(text, text)
    assert shown.isprintable()


def test_why_a_value_is_not_there() -> None:
    assert absent(FULL) == ["agent used not recorded", "note withheld"]
    assert absent(Sample()) == []
    assert absent(object()) == []
