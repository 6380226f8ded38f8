"""Several files read as one wave file: RIFF 1991 ch. 3; TimeReference: EBU Tech 3285 v2 §2.3."""

import io
import wave
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, BinaryIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.wave import bext, embed, fmt
from tailsout.wave.assembled import (
    Assembled,
    Fixed,
    Source,
    difference_between,
    gap_between,
    interleaved,
    joined,
)
from tailsout.wave.chunk import read_at
from tailsout.wave.riff import read_layout

MONO = bytes.fromhex("0100 0100 80BB0000 80320200 0300 1800")
"""48 kHz, 24 bits, one channel."""
SLOWER = MONO[:4] + bytes.fromhex("44AC0000 CC040200") + MONO[12:]
"""The same at 44.1 kHz."""
BEXT = bext.encode(bext.Bext(originator="Saltpan Row"))


def source(content: bytes, time_reference: int | None = 0) -> Source:
    stream = io.BytesIO(content)
    return Source(stream=stream, layout=read_layout(stream), time_reference=time_reference)


def a_part(maker: Any, audio: bytes, time_reference: int | None = 0, about: Any = None) -> Source:
    """A file with chunks around its audio that have no place in the whole."""
    content = maker.wave(
        maker.chunk(b"JUNK", b"\xa5" * 7),
        maker.fmt(about),
        maker.data(audio),
        maker.chunk(b"x  y", b"z"),
    )
    return source(content, time_reference)


def audio_in(stream: BinaryIO) -> tuple[bytes, Any]:
    layout = read_layout(stream)
    assert layout.damage == ()
    assert [chunk.id for chunk in layout.chunks] == [b"fmt ", b"data"]
    assert layout.data is not None
    return read_at(stream, layout.data.offset, layout.data.octets), layout


def test_parts_become_one_file_that_the_standard_library_reads(maker: Any) -> None:
    parts = [a_part(maker, bytes(range(n, n + 12)), 100 + n // 6) for n in (0, 12, 24)]
    whole = joined(parts)
    octets = whole.read()

    assert octets is not None
    with wave.open(io.BytesIO(octets)) as read:
        assert read.getparams()[:4] == (2, 3, 48_000, 6)
        assert read.readframes(6) == bytes(range(36))
    audio, layout = audio_in(whole)
    assert audio == bytes(range(36))
    assert layout.pcm == parts[0].layout.pcm


@given(
    audio=st.lists(st.integers(0, 5), min_size=2, max_size=4),
    channels=st.integers(2, 9),
    reads=st.lists(st.tuples(st.integers(0, 80), st.integers(1, 40)), max_size=8),
)
def test_any_stretch_reads_as_of_the_whole(
    maker: Any, audio: list[int], channels: int, reads: list[tuple[int, int]]
) -> None:
    at, parts = 0, []
    for number, frames in enumerate(audio):
        parts.append(a_part(maker, bytes([number + 1]) * 6 * frames, at))
        at += frames
    tracks = [a_part(maker, bytes(range(9 * n, 9 * n + 9)), 7, MONO) for n in range(channels)]
    for stream in (joined(parts), interleaved(tracks)):
        whole = stream.read()
        assert whole is not None
        for offset, octets in reads:
            taken = read_at(stream, offset, octets)
            assert taken == whole[offset : offset + octets]
            assert stream.tell() == max(offset, min(offset + octets, len(whole)))


def test_tracks_take_turns_sample_by_sample(maker: Any) -> None:
    tracks = [a_part(maker, bytes(range(n, n + 9)), 5, MONO) for n in (0, 100, 200)]
    audio, layout = audio_in(interleaved(tracks))

    assert audio == bytes(
        100 * track + 3 * frame + octet
        for frame in range(3)
        for track in range(3)
        for octet in range(3)
    )
    assert layout.pcm.channels == 3
    assert layout.frames == 3


def test_an_odd_whole_has_its_pad(maker: Any) -> None:
    mono = fmt.encode(read_layout(io.BytesIO(maker.wave(maker.fmt(MONO), maker.data(b"")))).pcm)  # type: ignore[arg-type]
    parts = [a_part(maker, bytes(3), 0, mono), a_part(maker, bytes(6), 1, mono)]
    whole = joined(parts).read()

    assert whole is not None
    assert len(whole) % 2 == 0
    assert whole[-10:] == bytes(10)


def test_a_whole_past_the_limit_is_rf64(maker: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(embed, "_LIMIT", 60)
    whole = joined([a_part(maker, bytes(24), 0), a_part(maker, bytes(24), 4)])

    layout = read_layout(whole)
    assert (layout.form, layout.damage, layout.frames) == ("RF64", (), 8)


def test_what_is_assembled_is_copied_through_like_any_file(maker: Any) -> None:
    whole = joined([a_part(maker, bytes(range(12)), 0), a_part(maker, bytes(range(12, 30)), 2)])
    target, heard = bytearray(), bytearray()
    recipe = embed.plan(read_layout(whole), bext=BEXT)
    embed.copy(
        whole,
        recipe,
        target.extend,
        essence=heard.extend,
        advance=lambda _: None,
    )

    assert heard == bytes(range(30))
    assert read_layout(io.BytesIO(target)).frames == 5


GAPS: dict[str, tuple[Any, str]] = {
    "a gap": (
        lambda m: [a_part(m, bytes(12), 0), a_part(m, bytes(12), 5)],
        "3 samples are missing",
    ),
    "an overlap": (
        lambda m: [a_part(m, bytes(12), 9), a_part(m, bytes(12), 10)],
        "1 sample comes twice",
    ),
    "a gap of one sample": (
        lambda m: [a_part(m, bytes(12), 0), a_part(m, bytes(12), 3)],
        "1 sample is missing",
    ),
    "no bext in the first": (
        lambda m: [a_part(m, b"", None), a_part(m, b"", 0)],
        "part 1 states no TimeReference",
    ),
    "no bext in the last": (
        lambda m: [a_part(m, b"", 0), a_part(m, b"", None)],
        "part 2 states no TimeReference",
    ),
    "another format": (
        lambda m: [a_part(m, bytes(12), 0), a_part(m, bytes(12), 2, MONO)],
        "part 1 and part 2 have different formats",
    ),
    "a gap between later parts": (
        lambda m: [a_part(m, bytes(6), n) for n in (0, 1, 3)],
        "between part 2 and part 3",
    ),
}


@pytest.mark.parametrize("name", GAPS)
def test_parts_that_are_not_proved_gapless_stay_apart(maker: Any, name: str) -> None:
    make, reason = GAPS[name]
    parts = make(maker)
    assert reason in gap_between([part.extent for part in parts])
    with pytest.raises(MaterialError, match="cannot be joined"):
        joined(parts)


DIFFERENCES: dict[str, tuple[Any, str]] = {
    "stereo": (lambda m: [a_part(m, bytes(12)), a_part(m, bytes(12))], "file 1 is not mono"),
    "another rate": (
        lambda m: [a_part(m, bytes(12), 0, MONO), a_part(m, bytes(12), 0, SLOWER)],
        "file 2 has another format",
    ),
    "another length": (
        lambda m: [a_part(m, bytes(12), 0, MONO), a_part(m, bytes(9), 0, MONO)],
        "file 2 has 3 samples, file 1 has 4",
    ),
    "another start": (
        lambda m: [a_part(m, bytes(12), 0, MONO), a_part(m, bytes(12), 48, MONO)],
        "file 2 begins at TimeReference 48, file 1 at 0",
    ),
}


@pytest.mark.parametrize("name", DIFFERENCES)
def test_files_that_do_not_fit_are_not_interleaved(maker: Any, name: str) -> None:
    make, reason = DIFFERENCES[name]
    tracks = make(maker)
    assert reason in difference_between([track.extent for track in tracks])
    with pytest.raises(MaterialError, match="cannot be interleaved"):
        interleaved(tracks)


def test_tracks_without_a_time_of_their_own_fit(maker: Any) -> None:
    tracks = [a_part(maker, bytes(6), start, MONO) for start in (3, None, 3)]
    assert difference_between([track.extent for track in tracks]) == ""
    assert read_layout(interleaved(tracks)).frames == 2


@pytest.mark.parametrize(
    "damaged",
    [
        lambda m: m.wave(m.fmt(), m.data(octets=1000)),  # truncated
        lambda m: m.wave(m.data(), m.fmt()),
        lambda m: m.wave(m.fmt(), m.data(bytes(25))),  # in the middle of a frame
        lambda m: m.wave(m.fmt()),
    ],
)
def test_a_part_whose_audio_is_in_doubt_is_refused(maker: Any, damaged: Any) -> None:
    for parts in (
        [source(damaged(maker)), a_part(maker, b"", 4)],
        [a_part(maker, b""), source(damaged(maker))],
    ):
        with pytest.raises(MaterialError):
            joined(parts)


def shortened(sources: Sequence[Source]) -> None:
    stream = sources[-1].stream
    stream.truncate(sources[-1].layout.data.offset)  # type: ignore[union-attr]


@pytest.mark.parametrize("how", [joined, interleaved])
def test_a_source_that_shrinks_or_fails_is_told(maker: Any, failing: Any, how: Any) -> None:
    def make() -> list[Source]:
        return [a_part(maker, bytes(6), 2 * n if how is joined else 0, MONO) for n in range(2)]

    shrunk = make()
    whole = how(shrunk)
    shortened(shrunk)
    with pytest.raises(SurroundingsError, match="changed while it was read"):
        whole.read()

    sources = make()
    broken = Source(
        stream=failing(sources[0].stream.getvalue(), 0),  # type: ignore[attr-defined]
        layout=sources[0].layout,
        time_reference=sources[0].time_reference,
    )
    with pytest.raises(SurroundingsError, match="Reading a capture"):
        how([broken, sources[1]]).read()


def in_a_stream(parts: Sequence[Source], make: Any) -> list[Source]:
    """The same with their first file in another stream."""
    first, *others = parts
    content = first.stream.getvalue()  # type: ignore[attr-defined]
    return [replace(first, stream=make(content)), *others]


def two(maker: Any, how: Any) -> list[Source]:
    later = 2 if how is joined else 0
    return [a_part(maker, bytes(range(n, n + 6)), later * (n > 0), MONO) for n in (0, 6)]


@pytest.mark.parametrize("how", [joined, interleaved])
def test_a_source_that_fails_at_any_time_is_not_asked_again(
    maker: Any, failing: Any, how: Any
) -> None:
    for good_operations in range(2):  # a seek and a read of the whole of its audio
        parts = in_a_stream(two(maker, how), lambda content, n=good_operations: failing(content, n))
        with pytest.raises(SurroundingsError, match="Reading a capture"):
            how(parts).read()
        assert parts[0].stream.left == -1  # type: ignore[attr-defined]
    parts = in_a_stream(two(maker, how), lambda content: failing(content, 2))
    assert how(parts).read() == how(two(maker, how)).read()


@pytest.mark.parametrize("how", [joined, interleaved])
@pytest.mark.parametrize("at_most", [1, 3])
def test_short_reads_make_no_difference(maker: Any, dribbling: Any, how: Any, at_most: int) -> None:
    parts = in_a_stream(two(maker, how), lambda content: dribbling(content, at_most))
    assert how(parts).read() == how(two(maker, how)).read()


def test_a_stream_seeks_like_any_other() -> None:
    stream = Assembled([Fixed(b"abc"), Fixed(b""), Fixed(b"defg")])
    assert (stream.readable(), stream.seekable(), stream.writable()) == (True, True, False)
    assert stream.seek(-2, io.SEEK_END) == 5
    assert stream.read(9) == b"fg"
    assert stream.seek(-3, io.SEEK_CUR) == 4
    assert stream.read(1) == b"e"
    assert stream.seek(100) == 100
    assert stream.read(1) == b""
    with pytest.raises(ValueError, match="before the start"):
        stream.seek(-1)
