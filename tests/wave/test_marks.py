"""Marks: `cue ` and `adtl` taken together (RIFF 1991 chapter 3)."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.wave import adtl, cue, marks
from tailsout.wave.adtl import Label, Note, Stretch
from tailsout.wave.cue import MAX_FRAME, Point
from tailsout.wave.lists import Part
from tailsout.wave.marks import Mark

SPLICE = Mark(frame=480, label="splice")
DROPOUT = Mark(frame=960, label="dropout", note="left only", frames=48, text="to be heard")
END = Mark(frame=4800)


def as_read(payloads: tuple[bytes, bytes], frames: int | None = 4800) -> object:
    cues, said = payloads
    return marks.read(
        Part(id=b"cue ", offset=20, payload=cues) if cues else None,
        [Part(id=b"LIST", offset=200, payload=said)] if said else [],
        frames=frames,
    )


def test_worked_octets_are_written() -> None:
    cues, said = marks.write([SPLICE, replace(DROPOUT, text="")], 4800)

    assert cues == bytes.fromhex(
        "02000000"
        "01000000 E0010000 64617461 00000000 00000000 E0010000"
        "02000000 C0030000 64617461 00000000 00000000 C0030000"
    )
    assert said == (
        b"adtl"
        b"labl\x0b\0\0\0\1\0\0\0splice\0\0"
        b"labl\x0c\0\0\0\2\0\0\0dropout\0"
        b"note\x0e\0\0\0\2\0\0\0left only\0"
        b"ltxt\x14\0\0\0\2\0\0\0\x30\0\0\0rgn \0\0\0\0\0\0\0\0"
    )
    assert as_read((cues, said)) == ((SPLICE, replace(DROPOUT, text="")), ())


def test_marks_are_numbered_by_frame() -> None:
    payloads = marks.write([END, DROPOUT, SPLICE], 4800)

    assert [point.number for point in cue.decode(payloads[0])[0]] == [1, 2, 3]
    assert as_read(payloads) == ((SPLICE, DROPOUT, END), ())


def test_nothing_to_write_is_nothing() -> None:
    assert marks.write([], 4800) == (b"", b"")
    cues, said = marks.write([END], 4800)
    assert (len(cues), said) == (28, b"")
    assert as_read((cues, said)) == ((END,), ())
    assert marks.read(None, []) == ((), ())


def read(
    points: list[Point], *said: list[adtl.Item], frames: int | None = None
) -> tuple[list[Mark], list[tuple[str, int]]]:
    lists = [
        Part(id=b"LIST", offset=1000 * number, payload=adtl.encode(items))
        for number, items in enumerate(said, start=1)
    ]
    cues = Part(id=b"cue ", offset=100, payload=cue.encode(points)) if points else None
    found, damage = marks.read(cues, lists, frames=frames)
    return list(found), [(fault.kind, fault.offset) for fault in damage]


ONE = Point(number=5, position=0, sample_offset=480)
TWO = Point(number=3, position=0, sample_offset=96)


def test_marks_are_read_by_frame_whatever_their_numbers() -> None:
    found, kinds = read([ONE, TWO], [Label(number=5, text="b")], [Note(number=3, text="a")])

    assert found == [Mark(frame=96, note="a"), Mark(frame=480, label="b")]
    assert kinds == []


def test_what_is_said_twice_is_told_and_the_first_is_taken() -> None:
    found, kinds = read(
        [ONE],
        [Label(number=5, text="one"), Stretch(number=5, frames=7, purpose=b"scrp")],
        [Label(number=5, text="two"), Note(number=5, text="n"), Stretch(number=5, frames=8)],
    )

    assert found == [Mark(frame=480, label="one", note="n", frames=7, purpose=b"scrp")]
    assert kinds == [("adtl-duplicate", 2000), ("adtl-duplicate", 2000)]


def test_what_is_said_of_no_mark_is_told_and_left_out() -> None:
    assert read([ONE], [Label(number=6, text="lost")]) == (
        [Mark(frame=480)],
        [("adtl-orphan", 1012)],
    )
    assert read([], [Label(number=5, text="lost")]) == ([], [("adtl-orphan", 1012)])


def test_what_reaches_past_the_end_is_told_once_and_kept() -> None:
    said: list[adtl.Item] = [Stretch(number=5, frames=10)]

    assert read([ONE], said, frames=490) == ([Mark(frame=480, frames=10)], [])
    assert read([ONE], said, frames=489) == (
        [Mark(frame=480, frames=10)],
        [("adtl-past-end", 1000)],
    )
    assert read([ONE], said, frames=479)[1] == [("cue-past-end", 104)]


def test_text_is_read_by_the_code_page() -> None:
    cues = Part(id=b"cue ", offset=0, payload=cue.encode([ONE]))
    said = adtl.encode([Label(number=5, text="L?")]).replace(b"?", b"\x91")
    found, damage = marks.read(
        cues, [Part(id=b"LIST", offset=0, payload=said)], frames=None, code_page=437
    )

    assert found == (Mark(frame=480, label="Læ"),)
    assert [fault.kind for fault in damage] == ["adtl-not-ascii"]


REFUSED: list[tuple[Mark, int, str]] = [
    (Mark(frame=-1), 480, "outside the file's 480 frames"),
    (Mark(frame=481), 480, "outside the file's 480 frames"),
    (Mark(frame=480, frames=1), 480, "outside the file's 480 frames"),
    (Mark(frame=480, frames=-1), 480, "outside the file's 480 frames"),
    (Mark(frame=1 << 32), 1 << 33, "past 4294967295"),
    (Mark(frame=0, frames=1 << 32), 1 << 33, "past 4294967295"),
    (Mark(frame=0, text="x"), 480, "no length"),
    (Mark(frame=0, label="Læsø"), 480, "must be ASCII"),
    (Mark(frame=0, note="a\nb"), 480, "must be ASCII"),
    (Mark(frame=0, frames=1, text="\x1b"), 480, "must be ASCII"),
    (Mark(frame=0, frames=1, purpose=b"x"), 480, "four printable"),
]


@pytest.mark.parametrize(("mark", "frames", "words"), REFUSED)
def test_what_cannot_be_written_is_refused(mark: Mark, frames: int, words: str) -> None:
    with pytest.raises(MaterialError, match=words):
        marks.write([mark], frames)


def test_who_is_refused_is_told_what_to_do() -> None:
    for mark, frames, _ in REFUSED[:9]:
        with pytest.raises(MaterialError) as error:
            marks.write([mark], frames)
        assert error.value.remedy


def test_the_last_frame_of_32_bits_can_be_marked() -> None:
    last = Mark(frame=MAX_FRAME, frames=MAX_FRAME)

    assert as_read(marks.write([last], 1 << 33), frames=1 << 33) == ((last,), ())


U32 = st.integers(0, MAX_FRAME)
PLAIN = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=8)
MARK = st.one_of(
    st.builds(Mark, frame=U32, label=PLAIN, note=PLAIN),
    st.builds(Mark, frame=U32, label=PLAIN, note=PLAIN, frames=U32, text=PLAIN),
)


@given(st.lists(MARK, max_size=5))
def test_what_is_written_is_read_back(given_: list[Mark]) -> None:
    ordered = sorted(given_, key=lambda mark: mark.frame)

    assert as_read(marks.write(given_, 1 << 33), frames=1 << 33) == (tuple(ordered), ())


@given(st.binary(max_size=80), st.binary(max_size=80), U32)
def test_no_octets_whatever_raise(cues: bytes, said: bytes, frames: int) -> None:
    found, _ = marks.read(
        Part(id=b"cue ", offset=0, payload=b"\2\0\0\0" + cues),
        [Part(id=b"LIST", offset=0, payload=b"adtl" + one) for one in (said, b"ltxt" + said)],
        frames=frames,
    )
    assert len(found) <= 2
