"""Copies of files of any chunks in any order: RIFF 1991 chapter 2, EBU Tech 3306.

What is promised of every copy, whatever lies around its audio.
"""

import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailsout.wave import assembled, bext, embed
from tailsout.wave.riff import Chunk, Layout, read_layout

New = tuple[bytes, bytes]

BEXT = bext.encode(bext.Bext(originator="Saltpan Row", coding_history="A=PCM,M=mono\r\n"))
PCM = {
    1: bytes.fromhex("0100 0100 80BB0000 80320200 0300 1800"),
    2: bytes.fromhex("0100 0200 80BB0000 00650400 0600 1800"),
}
"""48 kHz and 24 bits, by the number of channels."""
UNSTATED = 0xFFFF_FFFF

IDS = [b"JUNK", b"JUNK", b"LIST", b"bext", b"iXML", b"ds64", b"x  y", b"fact", b"cue "]
CHUNKS = st.lists(st.tuples(st.sampled_from(IDS), st.binary(max_size=40)), max_size=4)
NEW = st.lists(
    st.tuples(st.sampled_from([b"LIST", b"cue ", b"iXML"]), st.binary(max_size=9)), max_size=3
)


@dataclass(frozen=True, kw_only=True)
class Making:
    """A file, and how it is to be copied."""

    chunks: Sequence[New]
    channels: int
    audio: bytes
    is_rf64: bool
    without: frozenset[int]
    """Positions among `chunks`."""
    before: Sequence[New]
    behind: Sequence[New]
    limit: int

    def source(self, maker: Any) -> bytes:
        body = b"".join(maker.chunk(*one) for one in self.chunks if one[0] != b"data")
        if not self.is_rf64:
            return bytes(maker.wave(*(maker.chunk(*one) for one in self.chunks)))
        stated = (
            maker.chunk(*one, octets=UNSTATED if one[0] == b"data" else None) for one in self.chunks
        )
        octets = 4 + 36 + len(body) + 8 + len(self.audio) + len(self.audio) % 2
        frames = len(self.audio) // (3 * self.channels)
        sizes = maker.ds64(octets, len(self.audio), samples=frames)
        return bytes(maker.wave(sizes, *stated, form=b"RF64", riff_octets=UNSTATED))

    def kept(self) -> list[New]:
        """What of the source must be in the copy, in order."""
        return [
            one
            for at, one in enumerate(self.chunks)
            if one[0] in {b"fmt ", b"data"}
            or (one[0] not in {b"bext", b"ds64"} and at not in self.without)
        ]

    def left_out(self, layout: Layout) -> list[Chunk]:
        return [layout.chunks[at + self.is_rf64] for at in self.without]


@st.composite
def makings(draw: st.DrawFn) -> Making:
    channels = draw(st.sampled_from([1, 2]))
    audio = draw(st.binary(max_size=9)) * 3 * channels
    chunks = [
        *draw(CHUNKS),
        (b"fmt ", PCM[channels]),
        *draw(CHUNKS),
        (b"data", audio),
        *draw(CHUNKS),
    ]
    return Making(
        chunks=chunks,
        channels=channels,
        audio=audio,
        is_rf64=draw(st.booleans()),
        without=draw(st.frozensets(st.integers(0, len(chunks) - 1), max_size=3)),
        before=draw(NEW),
        behind=draw(NEW),
        limit=draw(st.sampled_from([0, 800, 900, UNSTATED])),
    )


@given(makings())
@settings(deadline=None)
def test_a_copy_is_sound_whole_and_the_same_again(maker: Any, making: Making) -> None:
    source = making.source(maker)
    layout = read_layout(io.BytesIO(source))
    new = {"bext": BEXT, "before": making.before, "behind": making.behind}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(embed, "_LIMIT", making.limit)
        recipe = embed.plan(layout, without=making.left_out(layout), **new)  # type: ignore[arg-type]
        target = passed(source, recipe, making.audio)
        copy = read_layout(io.BytesIO(target))
        ours = around(copy, len(making.before), len(making.behind))
        again = embed.plan(copy, without=ours, **new)  # type: ignore[arg-type]

    assert copy.damage == ()
    assert (copy.frames, copy.pcm) == (layout.frames, layout.pcm)
    assert copy.form == ("RIFF" if len(target) - 8 < making.limit else "RF64")
    kept = making.kept()
    if recipe.left_behind:
        gone, *kept = kept
        assert (gone[0], making.is_rf64) == (b"JUNK", False)
        assert len(gone[1]) >= 28  # what ds64 takes (EBU Tech 3306)
    wanted = [(b"bext", BEXT), *making.before, *kept, *making.behind]
    ds64 = copy.chunks[:1] if copy.form == "RF64" else ()
    assert [one.id for one in ds64] == [b"ds64"] * (copy.form == "RF64")
    found = copy.chunks[len(ds64) :]
    assert [one.id for one in found] == [chunk_id for chunk_id, _ in wanted]
    for chunk, (chunk_id, payload) in zip(found, wanted, strict=True):
        assert target[chunk.offset :].startswith(payload)
        ours_or_rf64 = chunk in ours or copy.form == "RF64"
        grown = len(payload) % 2 if ours_or_rf64 and chunk_id != b"data" else 0
        assert chunk.octets == len(payload) + grown
    assert passed(target, again, making.audio) == target


def passed(source: bytes, recipe: embed.Recipe, audio: bytes) -> bytes:
    """Copy; what is read of the copy that is not made must be the same."""
    target, digest, essence = bytearray(), hashlib.sha256(), hashlib.sha256()

    def write(block: bytes | memoryview) -> None:
        target.extend(block)
        digest.update(block)

    embed.copy(io.BytesIO(source), recipe, write, essence=essence.update, advance=lambda _: None)
    assert len(target) == recipe.octets
    assert digest.digest() == hashlib.sha256(target).digest()
    assert essence.digest() == hashlib.sha256(audio).digest()
    start = recipe.essence.offset
    assert target[start : start + recipe.essence.octets] == audio
    assert assembled.copied(io.BytesIO(source), recipe).read() == target
    return bytes(target)


def around(copy: Layout, before: int, behind: int) -> list[Chunk]:
    """The chunks of a copy that were put in beside `bext`."""
    first = 2 if copy.form == "RF64" else 1
    last = len(copy.chunks) - behind
    return [*copy.chunks[first : first + before], *copy.chunks[last:]]
