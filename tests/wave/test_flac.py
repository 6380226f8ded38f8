"""Metadata blocks of FLAC files, read without trust: RFC 9639 §8, from memory."""

import io
import random
import struct
import tracemalloc
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tailsout.ground.errors import SurroundingsError
from tailsout.wave import flac as module
from tailsout.wave.flac import Block, FlacLayout, application_blocks, is_flac, read_flac


def layout_of(content: bytes) -> FlacLayout:
    return read_flac(io.BytesIO(content))


def kinds(content: bytes) -> list[str]:
    return [fault.kind for fault in layout_of(content).damage]


def comment(*fields: bytes, vendor: bytes = b"groyne 4.2", count: int | None = None) -> bytes:
    texts = (struct.pack("<I", len(field)) + field for field in fields)
    number = struct.pack("<I", len(fields) if count is None else count)
    return struct.pack("<I", len(vendor)) + vendor + number + b"".join(texts)


def test_a_file_block_by_block(flac: Any) -> None:
    content = flac.flac(
        flac.block(2, b"riffRIFF....WAVE"),
        flac.block(3, bytes(18)),
        flac.block(4, comment(b"TITLE=Reel 7", b"note", b"TITLE=B=C")),
        flac.block(5, bytes(10)),
        flac.block(6, bytes(32)),
        flac.block(99, b"?"),
        audio=flac.frame(0, flac.tracks()[0]),
        info=flac.info(frames=16, md5=b"\1" * 16),
    )
    layout = layout_of(content)

    assert layout.damage == ()
    assert layout.blocks[:3] == (
        Block(type=0, offset=8, octets=34),
        Block(type=2, offset=46, octets=16, application=b"riff"),
        Block(type=3, offset=66, octets=18),
    )
    assert [block.name for block in layout.blocks] == [
        "STREAMINFO",
        "APPLICATION",
        "SEEKTABLE",
        "VORBIS_COMMENT",
        "CUESHEET",
        "PICTURE",
        "type 99",
        "PADDING",
    ]
    assert layout.vendor == "groyne 4.2"
    assert layout.comments == (("TITLE", "Reel 7"), ("note", ""), ("TITLE", "B=C"))
    assert (layout.frames, layout.md5) == (16, "01" * 16)
    assert layout.pcm is not None
    assert layout.pcm.coding == "24-bit PCM"
    assert layout.audio_offset == len(content) - layout.audio_octets
    assert layout.audio_octets == len(flac.frame(0, flac.tracks()[0]))


def test_a_whole_file_has_nothing_to_tell(flac: Any) -> None:
    assert layout_of(flac.good()).damage == ()


def test_blocks_of_one_application(flac: Any) -> None:
    layout = layout_of(
        flac.flac(*(flac.block(2, name + b"x") for name in (b"riff", b"aiff", b"riff")))
    )
    assert [b.offset for b in application_blocks(layout.blocks, b"riff")] == [46, 64]
    assert application_blocks(layout.blocks, b"w64 ") == ()


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda _f, _good: b"", ["not-flac"]),
        (lambda _f, good: b"RIFF" + good[4:], ["not-flac"]),
        (lambda _f, good: good[:4], ["flac-truncated", "flac-streaminfo"]),
        # The first block is none, or not alone.
        (lambda f, _good: f.MARK + f.block(1, b"", last=True) + b"\xff\xf8", ["flac-streaminfo"]),
        (
            lambda f, good: f.MARK + f.block(1, b"") + f.block(0, good[8:42]) + good[42:],
            ["flac-streaminfo"],
        ),
        (
            lambda f, good: good[:42] + f.block(0, f.info(rate=1)) + good[42:],
            ["flac-duplicate-streaminfo"],
        ),
        # Its length is another.
        (
            lambda f, good: f.MARK + f.block(0, good[8:42] + b"x", last=True) + good[48:],
            ["flac-streaminfo"],
        ),
        (
            lambda f, good: f.MARK + f.block(0, good[8:41], last=True) + good[48:],
            ["flac-streaminfo"],
        ),
        (lambda _f, good: good[:42] + b"\x7f" + good[43:], ["flac-block-type"]),
        (lambda f, good: good[:42] + f.block(2, b"rif") + good[42:], ["flac-application"]),
        (lambda _f, good: good[:48] + b"\0\0" + good[50:], ["flac-no-audio"]),
        (lambda _f, good: good[:48], ["flac-no-audio"]),
        # E32: a length past the end; more samples than so few octets can hold.
        (lambda f, good: good[:42] + f.block(6, b"", octets=0xFFFFFF), ["flac-truncated"]),
        (
            lambda _f, good: good[:21] + b"\x7f" + b"\xff" * 4 + good[26:],
            ["flac-length"],
        ),
    ],
)
def test_every_fault_is_told(
    flac: Any, change: Callable[[Any, bytes], bytes], expected: list[str]
) -> None:
    assert kinds(change(flac, flac.good())) == expected


def test_ten_thousand_blocks_are_walked_and_no_more(flac: Any) -> None:
    # E32: 100,000 PADDING blocks.
    content = flac.MARK + flac.block(0, flac.info()) + flac.block(1, b"") * 100_000
    layout = layout_of(content)

    assert len(layout.blocks) == module.MAX_BLOCKS
    assert layout.damage[-1].kind == "flac-too-many-blocks"
    assert layout.damage[-1].offset == 4 + 38 + 9_999 * 4
    assert layout.audio_offset is None


def test_a_picture_is_listed_and_not_looked_at(flac: Any) -> None:
    # E33: 16 MB, a URL in the place of a type, sizes that lie.
    payload = struct.pack(">II", 3, 0xFFFFFFFF) + b"-->http://picture.invalid/" + bytes(1 << 24)
    content = flac.flac(flac.block(6, payload[: (1 << 24) - 1]), info=flac.info(md5=b"\1" * 16))
    stream = io.BytesIO(content)
    tracemalloc.start()
    try:
        layout = read_flac(stream)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert [block.name for block in layout.blocks] == ["STREAMINFO", "PICTURE", "PADDING"]
    assert peak < 1 << 20


# A tag in front


@pytest.mark.parametrize(("octets", "flags"), [(0, 0), (300, 0), (300, 0x10)])
def test_a_tag_in_front_is_skipped_and_told(flac: Any, octets: int, flags: int) -> None:
    # E36; a flag says that a footer of ten octets follows.
    tag = flac.tag(octets, flags) + bytes(10 if flags else 0)
    plain, tagged = layout_of(flac.good()), layout_of(tag + flac.good())

    assert [(fault.kind, fault.offset) for fault in tagged.damage] == [("flac-tag-in-front", 0)]
    assert tagged.start == len(tag)
    assert tagged.info == plain.info
    assert tagged.audio_octets == plain.audio_octets
    assert is_flac(io.BytesIO(tag + flac.good()))


@pytest.mark.parametrize(
    "tag",
    [
        b"ID3\x04\0\0\x7f\x7f\x7f\x7f",  # 256 MiB, beyond the cap
        b"ID3\x04\0\0\0\0\0\x80",  # no seven bits
        b"ID3\x04\0\0\0\0\1\0",  # longer than it is
        b"ID3",
    ],
)
def test_a_tag_that_lies_is_no_tag(flac: Any, tag: bytes) -> None:
    content = tag + flac.good()
    assert kinds(content) == ["not-flac"]
    assert not is_flac(io.BytesIO(content))


def test_what_is_flac(flac: Any) -> None:
    assert is_flac(io.BytesIO(flac.good()))
    assert not is_flac(io.BytesIO(b""))
    assert not is_flac(io.BytesIO(b"RIFF"))


# Vorbis comments


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"\xff\xff\xff\xff",
        struct.pack("<I", 5) + b"four",
        comment(b"A=1", count=2),
        comment(b"A=1", count=0xFFFFFFFF),
        comment(b"A=1")[:-1],
        comment(b"A=1")[:-6],
    ],
)
def test_a_comment_that_runs_past_its_end(flac: Any, payload: bytes) -> None:
    content = flac.flac(flac.block(4, payload), info=flac.info(md5=b"\1" * 16))
    assert kinds(content) == ["flac-comment", "flac-no-audio"]


def test_of_two_comments_the_first_is_taken(flac: Any) -> None:
    # RFC 9639 §8.6, from memory: one at the most.
    blocks = [flac.block(4, comment(one)) for one in (b"A=1", b"B=2")]
    layout = layout_of(flac.flac(*blocks, audio=flac.good()[48:]))
    second = layout.blocks[2]

    assert layout.comments == (("A", "1"),)
    assert [(one.kind, one.offset) for one in layout.damage] == [
        ("flac-md5-unstated", 26),
        ("flac-comment", second.offset - 4),
    ]


def test_what_is_clear_of_a_comment_is_kept(flac: Any) -> None:
    layout = layout_of(flac.flac(flac.block(4, comment(b"A=1", b"B=\xff", count=3))))
    assert layout.comments == (("A", "1"), ("B", "\\xff"))
    assert layout.vendor == "groyne 4.2"


def test_a_comment_that_is_too_large_is_read_in_part(flac: Any) -> None:
    payload = comment(b"A=1", b"B=" + bytes(1 << 20), b"C=3")
    layout = layout_of(flac.flac(flac.block(4, payload)))
    assert layout.comments == (("A", "1"),)
    assert "1048614 octets" in next(f.text for f in layout.damage if f.kind == "flac-comment")


# Anything


def test_a_file_cut_anywhere_is_told(flac: Any) -> None:
    content = flac.tag(20) + flac.flac(
        flac.block(2, b"riffx"), flac.block(4, comment(b"A=1")), audio=b"\xff\xf8"
    )
    whole = set(kinds(content))
    for octets in range(len(content)):
        assert set(kinds(content[:octets])) - whole, octets


@example(content=b"\0\0\0\0\0\0\1")
@given(content=st.binary(max_size=200))
def test_any_octets_are_told_of(content: bytes) -> None:
    for start in (b"", b"fLaC", b"ID3"):
        layout = layout_of(start + content)
        assert layout.damage
        assert all(0 <= fault.offset <= len(start + content) for fault in layout.damage)


def test_any_change_is_walked(flac: Any) -> None:
    noise = random.Random(7)
    good = flac.flac(flac.block(2, b"riffx"), flac.block(4, comment(b"A=1", b"B=2")), audio=b"\xff")
    for _ in range(3000):
        content = bytearray(good)
        for _ in range(noise.randrange(1, 4)):
            content[noise.randrange(len(content))] = noise.randrange(256)
        layout = layout_of(bytes(content))
        assert all(0 <= fault.offset <= len(content) for fault in layout.damage)


def test_a_read_that_fails_stops_the_work(flac: Any, failing: Any) -> None:
    for operations in range(12):
        with pytest.raises(SurroundingsError):
            read_flac(failing(flac.good(), operations))


def test_octets_that_come_in_drops_are_the_same(flac: Any, dribbling: Any) -> None:
    assert read_flac(dribbling(flac.good())) == layout_of(flac.good())
