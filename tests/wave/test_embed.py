"""Copy-through: EBU Tech 3285 chunks under a RIFF or EBU Tech 3306 header, the audio unchanged."""

import errno
import hashlib
import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError
from tailsout.wave import bext, embed
from tailsout.wave.embed import Recipe, Span, copy, plan
from tailsout.wave.riff import Layout, read_chunk, read_layout

BEXT = bext.encode(bext.Bext(originator="An archive"))
GIB4 = 0xFFFF_FFFF


def layout_of(content: bytes) -> Layout:
    return read_layout(io.BytesIO(content))


def copied(content: bytes, recipe: Recipe) -> tuple[bytes, bytes]:
    """Return the new file and what `essence` was given."""
    target, heard = bytearray(), bytearray()
    passed: list[int] = []
    copy(io.BytesIO(content), recipe, target.extend, essence=heard.extend, advance=passed.append)
    assert sum(passed) == recipe.octets == len(target)
    return bytes(target), bytes(heard)


def embedded(content: bytes, **how: Any) -> bytes:
    return copied(content, plan(layout_of(content), bext=BEXT, **how))[0]


def ids(content: bytes) -> list[bytes]:
    return [chunk.id for chunk in layout_of(content).chunks]


@pytest.fixture
def small_rf64(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make a few octets too many for RIFF."""
    monkeypatch.setattr(embed, "_LIMIT", 100)


def test_a_plain_file_octet_for_octet(maker: Any) -> None:
    source = maker.good()
    recipe = plan(layout_of(source), bext=BEXT)

    header = maker.wave(maker.chunk(b"bext", BEXT), riff_octets=670) + b"fmt \x10\0\0\0"
    assert recipe == Recipe(
        form="RIFF",
        segments=(
            header,
            Span(offset=20, octets=16),
            b"data\x18\0\0\0",
            Span(offset=44, octets=24),
        ),
        octets=678,
        essence=Span(offset=654, octets=24),
        left_behind=(),
    )
    target, heard = copied(source, recipe)
    assert target == header + maker.FMT + maker.data()
    assert heard == maker.AUDIO


def test_other_chunks_keep_octets_and_order(maker: Any) -> None:
    source = maker.wave(
        maker.chunk(b"JUNK", b"\xa5" * 30),
        maker.chunk(b"bext", b"old" * 201),
        maker.chunk(b"LIST", b"INFOx"),
        maker.fmt(maker.FMT + bytes(2)),
        maker.data(b"\x01" * 9),
        maker.chunk(b"iXML", b"<BWFXML/>"),
        maker.chunk(b"junk", b""),
    )
    target = embedded(source)
    old, new = layout_of(source), layout_of(target)

    assert [fault.kind for fault in new.damage] == ["incomplete-frame"]  # nine octets of audio
    assert ids(target) == [b"bext", b"JUNK", b"LIST", b"fmt ", b"data", b"iXML", b"junk"]
    for chunk in new.chunks[1:]:
        (before,) = old.named(chunk.id)
        start, end = before.header_offset, before.offset + before.octets + before.pad
        assert source[start:end] in target
        assert (
            target[chunk.header_offset : chunk.offset + chunk.octets + chunk.pad]
            == (source[start:end])
        )
    assert read_chunk(io.BytesIO(target), new.chunks[0], 1000) == BEXT


def test_chunks_can_be_left_out_but_never_the_audio(maker: Any) -> None:
    source = maker.wave(
        maker.chunk(b"LIST", b"INFO"), maker.fmt(), maker.data(), maker.chunk(b"LIST", b"adtl")
    )

    assert ids(embedded(source, without=layout_of(source).chunks)) == [b"bext", b"fmt ", b"data"]


def test_new_chunks_stand_before_and_behind_the_chunks_of_the_source(maker: Any) -> None:
    source = maker.wave(
        maker.chunk(b"LIST", b"INFOold"), maker.fmt(), maker.data(), maker.chunk(b"axml", b"<x/>")
    )
    how = {
        "before": [(b"LIST", b"INFOnew")],
        "behind": [(b"cue ", bytes(4)), (b"LIST", b"adtl"), (b"iXML", b"odd")],
    }
    target = embedded(source, without=layout_of(source).named(b"LIST"), **how)
    layout = layout_of(target)

    assert layout.damage == ()
    assert ids(target) == [b"bext", b"LIST", b"fmt ", b"data", b"axml", b"cue ", b"LIST", b"iXML"]
    assert target.endswith(b"iXML\x04\0\0\0odd\0")
    assert read_chunk(io.BytesIO(target), layout.chunks[1], 100) == b"INFOnew\0"
    ours = [*layout.named(b"LIST"), *layout.named(b"cue "), *layout.named(b"iXML")]
    assert embedded(target, without=ours, **how) == target


def test_new_chunks_count_towards_the_limit(maker: Any, small_rf64: None) -> None:
    source = maker.wave(maker.fmt(), maker.data(b""))
    assert layout_of(embedded(source)).form == "RF64"
    recipe = plan(layout_of(source), bext=b"", behind=[(b"cue ", bytes(60))])
    assert recipe.form == "RF64"
    assert plan(layout_of(source), bext=b"", behind=[(b"cue ", bytes(4))]).form == "RIFF"
    target = copied(source, recipe)[0]
    assert layout_of(target).damage == ()
    assert len(target) == recipe.octets


def test_an_odd_bext_is_made_even(maker: Any) -> None:
    recipe = plan(layout_of(maker.good()), bext=BEXT + b"x")

    assert layout_of(copied(maker.good(), recipe)[0]).chunks[0].octets == 604


# Faults that a copy puts right or keeps, for the audio's place is beyond doubt.
HARMLESS: dict[str, tuple[Callable[[Any], bytes], list[str]]] = {
    "RIFF size 0": (lambda m: m.wave(m.fmt(), m.data(), riff_octets=0), []),
    "no pad at the end": (
        lambda m: m.wave(m.fmt(), m.data(), m.chunk(b"id3 ", b"abc", pad=b"")),
        [],
    ),
    "pad not zero": (lambda m: m.wave(m.chunk(b"LIST", b"abc", pad=b"x"), m.fmt(), m.data()), []),
    "garbage behind the end": (lambda m: m.good() + b"\xa5" * 7, []),
    "two bext": (
        lambda m: m.wave(m.chunk(b"bext", b""), m.chunk(b"bext", b""), m.fmt(), m.data()),
        [],
    ),
    "octets a second off": (
        lambda m: m.wave(m.fmt(m.FMT[:8] + bytes(4) + m.FMT[12:]), m.data()),
        ["fmt-byte-rate"],
    ),
    "incomplete frame": (lambda m: m.wave(m.fmt(), m.data(bytes(25))), ["incomplete-frame"]),
    "no frame": (lambda m: m.wave(m.fmt(), m.data(b""), m.chunk(b"LIST", b"INFO")), []),
    "RF64 where RIFF would do": (lambda m: m.rf64(), []),
    "RF64 without its RIFF size": (lambda m: m.rf64(riff=0), []),
    "BW64": (lambda m: m.rf64(form=b"BW64"), []),
}


@pytest.mark.parametrize("name", HARMLESS)
def test_harmless_faults_are_copied_and_a_second_plan_changes_nothing(
    maker: Any, name: str
) -> None:
    make, remaining = HARMLESS[name]
    source = make(maker)
    before = layout_of(source)
    target, heard = copied(source, plan(before, bext=BEXT))
    after = layout_of(target)

    assert [fault.kind for fault in after.damage] == remaining
    assert before.data is not None
    assert heard == source[before.data.offset : before.data.offset + before.data.octets]
    assert (after.form, after.frames, after.pcm) == ("RIFF", before.frames, before.pcm)
    assert embedded(target) == target


def test_a_pad_that_the_source_counts_into_its_audio_is_a_pad_in_the_copy(maker: Any) -> None:
    mono = bytes.fromhex("0100 0100 80BB0000 80320200 0300 1800")
    audio = bytes(range(1, 10))
    source = maker.wave(
        maker.ds64(82, 10, samples=3),
        maker.fmt(mono),
        maker.data(audio + b"\0", octets=GIB4),
        form=b"RF64",
        riff_octets=GIB4,
    )
    target, heard = copied(source, plan(layout_of(source), bext=BEXT))

    assert heard == audio
    assert target.endswith(b"data\x09\0\0\0" + audio + b"\0")
    assert layout_of(target).damage == ()


# What the refusal must say of a file, and how it is made.
UNSAFE: dict[str, Callable[[Any], bytes]] = {
    "truncated": lambda m: m.good()[:-1],
    "not-wave": lambda m: b"fLaC" + m.good(),
    "no-fmt": lambda m: m.wave(m.data()),
    "no-data": lambda m: m.wave(m.fmt()),
    "fmt-after-data": lambda m: m.wave(m.data(), m.fmt()),
    "fmt-short": lambda m: m.wave(m.fmt(b""), m.data()),
    "fmt-coding": lambda m: m.wave(m.fmt(b"\x11" + m.FMT[1:]), m.data()),
    "fmt-inconsistent": lambda m: m.wave(m.fmt(m.FMT[:4] + bytes(4) + m.FMT[8:]), m.data()),
    "duplicate-fmt": lambda m: m.wave(m.fmt(), m.fmt(), m.data()),
    "duplicate-data": lambda m: m.wave(m.fmt(), m.data(), m.data()),
    "never-finished": lambda m: m.wave(m.fmt(), m.data(octets=GIB4)),
    "bad-chunk-id": lambda m: m.wave(m.fmt(), m.data(), bytes(8)),
    "missing-pad": lambda m: m.wave(m.chunk(b"LIST", b"abc", pad=b""), m.fmt(), m.data()),
    "ds64-missing": lambda m: m.wave(m.fmt(), m.data(), form=b"RF64"),
    "ds64-short": lambda m: m.wave(m.chunk(b"ds64", b""), m.fmt(), m.data(), form=b"RF64"),
    "ds64-table": lambda m: m.wave(m.ds64(96, 24, rows=1), m.fmt(), m.data(), form=b"RF64"),
    "ds64-mismatch": lambda m: m.wave(m.ds64(90, 18), m.fmt(), m.data(), form=b"RF64"),
    "too-many-chunks": lambda m: m.wave(m.fmt(), m.data(), b"JUNK\0\0\0\0" * 10_000),
}


@pytest.mark.parametrize("kind", UNSAFE)
def test_what_cannot_be_copied_safely_is_refused_with_its_reason(maker: Any, kind: str) -> None:
    layout = layout_of(UNSAFE[kind](maker))
    reason = next(fault.text for fault in layout.damage if fault.kind == kind)

    with pytest.raises(MaterialError) as refusal:
        plan(layout, bext=BEXT)
    assert reason in refusal.value.sentence


def test_every_unsafe_kind_has_a_sample() -> None:
    assert set(UNSAFE) - {"fmt-inconsistent"} | {"size-wrapped"} == embed._UNSAFE


def test_a_file_full_of_chunks_is_refused_for_the_copy_could_not_be_walked(maker: Any) -> None:
    full = maker.wave(maker.fmt(), maker.data(), b"JUNK\0\0\0\0" * 9_997)
    assert layout_of(full).damage == ()
    with pytest.raises(MaterialError, match="9999 chunks"):
        plan(layout_of(full), bext=BEXT)

    nearly = maker.wave(maker.fmt(), maker.data(), b"JUNK\0\0\0\0" * 9_996)
    assert plan(layout_of(nearly), bext=BEXT).form == "RIFF"


def test_a_chunk_may_take_what_32_bits_count(maker: Any) -> None:
    layout = layout_of(maker.wave(maker.fmt(), maker.data(), maker.chunk(b"axml", b"<a/>")))

    def grown(octets: int) -> Layout:
        axml = replace(layout.chunks[-1], octets=octets)
        return replace(layout, chunks=(*layout.chunks[:-1], axml))

    assert plan(grown(GIB4 - 1), bext=BEXT).form == "RF64"
    with pytest.raises(MaterialError, match="axml"):
        plan(grown(GIB4), bext=BEXT)


def test_what_is_left_behind_is_listed(maker: Any) -> None:
    recipe = plan(layout_of(maker.good() + b"\xa5" * 1000), bext=BEXT)

    assert len(recipe.left_behind) == 1
    assert "1000 octets" in recipe.left_behind[0]


@pytest.mark.usefixtures("small_rf64")
class TestPastTheLimit:
    def test_ds64_comes_first_and_tells_the_sizes(self, maker: Any) -> None:
        target = embedded(maker.good())
        sizes = maker.ds64(len(target) - 8, 24, samples=4)
        start = b"RF64\xff\xff\xff\xffWAVE" + sizes + maker.chunk(b"bext", BEXT) + maker.fmt()

        assert target == start + b"data\xff\xff\xff\xff" + maker.AUDIO
        assert layout_of(target).damage == ()
        assert embedded(target) == target

    def test_a_filler_gives_its_place_to_ds64_once(self, maker: Any) -> None:
        filler = maker.chunk(b"JUNK", bytes(28))
        source = maker.wave(filler, filler, maker.fmt(), maker.data())
        recipe = plan(layout_of(source), bext=BEXT)
        target, _ = copied(source, recipe)

        assert ids(target) == [b"ds64", b"bext", b"JUNK", b"fmt ", b"data"]
        assert "JUNK" in recipe.left_behind[0]
        assert embedded(target) == target

    def test_a_filler_too_small_for_ds64_stays(self, maker: Any) -> None:
        source = maker.wave(maker.chunk(b"JUNK", bytes(26)), maker.fmt(), maker.data())

        assert ids(embedded(source)) == [b"ds64", b"bext", b"JUNK", b"fmt ", b"data"]

    def test_no_chunk_but_audio_is_odd(self, maker: Any) -> None:
        source = maker.wave(
            maker.chunk(b"LIST", b"INFOx"), maker.fmt(), maker.data(bytes(15) + b"\x01\x02\x03")
        )
        source = source.replace(b"data\x12\0\0\0", b"data\x11\0\0\0")[:-1] + b"\0"
        target = embedded(source)
        layout = layout_of(target)

        assert [chunk.octets % 2 for chunk in layout.chunks] == [0, 0, 0, 0, 1]
        assert read_chunk(io.BytesIO(target), layout.named(b"LIST")[0], 9) == b"INFOx\0"
        assert embedded(target) == target


def sparse_layout(maker: Any, path: Path, octets: int, *before: bytes) -> Layout:
    """Lay out a file whose audio is a hole of that many octets."""
    head = maker.wave(*before, maker.fmt(), maker.chunk(b"data", b"", octets=octets))
    file_octets = len(head) + octets + octets % 2
    with path.open("wb") as file:
        file.write(head[:4] + (file_octets - 8).to_bytes(4, "little") + head[8:])
        file.truncate(file_octets)
    with path.open("rb") as file:
        layout = read_layout(file)
    assert all(fault.kind == "incomplete-frame" for fault in layout.damage)
    return layout


# Octets of the new file besides its audio: header, bext, fmt, header of data.
AROUND = 12 + 8 + len(BEXT) + 24 + 8


@pytest.mark.parametrize(
    ("octets", "form"),
    [
        (GIB4 + 8 - AROUND - 1, "RIFF"),  # the RIFF size comes to 0xFFFFFFFE, all octets counted
        (GIB4 + 8 - AROUND, "RF64"),
        (GIB4 + 8 - AROUND + 1, "RF64"),
    ],
)
def test_rf64_begins_where_32_bits_end(maker: Any, tmp_path: Path, octets: int, form: str) -> None:
    layout = sparse_layout(maker, tmp_path / "long.wav", octets)
    recipe = plan(layout, bext=BEXT)

    assert recipe.form == form
    assert recipe.essence.octets == octets
    if form == "RF64":
        assert recipe.octets == AROUND + 36 + octets + octets % 2
        head = recipe.segments[0]
        assert isinstance(head, bytes)
        assert int.from_bytes(head[20:28], "little") == recipe.octets - 8
        assert int.from_bytes(head[28:36], "little") == octets
        assert int.from_bytes(head[36:44], "little") == octets // 6
    else:
        assert recipe.octets - 8 == GIB4 - 1


def test_a_filler_goes_rather_than_make_rf64_of_riff(maker: Any, tmp_path: Path) -> None:
    filler = maker.chunk(b"JUNK", bytes(92))
    octets = GIB4 + 8 - AROUND - 1
    recipe = plan(sparse_layout(maker, tmp_path / "long.wav", octets, filler), bext=BEXT)

    assert (recipe.form, recipe.octets) == ("RIFF", AROUND + octets)
    assert len(recipe.left_behind) == 1


def test_wrapped_sizes_are_refused(maker: Any, tmp_path: Path) -> None:
    octets = 5_000_000_004
    head = maker.wave(
        maker.fmt(),
        maker.chunk(b"data", b"", octets=octets % 2**32),
        riff_octets=(36 + octets) % 2**32,
    )
    path = tmp_path / "wrapped.wav"
    with path.open("wb") as file:
        file.write(head)
        file.truncate(44 + octets)
    with path.open("rb") as file, pytest.raises(MaterialError, match="outgrew"):
        plan(read_layout(file), bext=BEXT)


def test_only_audio_may_be_huge(maker: Any, tmp_path: Path) -> None:
    octets = 5_000_000_000
    head = maker.wave(
        maker.ds64(4 + 48 + 24 + 32 + 8 + octets, 24, table=b"axml" + octets.to_bytes(8, "little")),
        maker.fmt(),
        maker.data(octets=GIB4),
        maker.chunk(b"axml", b"", octets=GIB4),
        form=b"RF64",
        riff_octets=GIB4,
    )
    path = tmp_path / "axml.wav"
    with path.open("wb") as file:
        file.write(head)
        file.truncate(len(head) + octets)
    with path.open("rb") as file:
        layout = read_layout(file)
    assert layout.damage == ()
    with pytest.raises(MaterialError, match="axml"):
        plan(layout, bext=BEXT)
    assert plan(layout, bext=BEXT, without=layout.named(b"axml")).form == "RIFF"


def test_blocks_are_small_and_take_turns_in_two_buffers(maker: Any) -> None:
    audio = bytes(range(256)) * (3 << 12)
    source = maker.wave(maker.fmt(), maker.data(audio))
    recipe = plan(layout_of(source), bext=BEXT)
    buffers, digest = [], hashlib.sha256()

    def write(block: bytes | memoryview) -> None:
        if isinstance(block, memoryview):
            assert len(block) <= 1 << 20
            buffers.append(id(block.obj))

    copy(io.BytesIO(source), recipe, write, essence=digest.update, advance=lambda _: None)

    assert len(buffers) == 4  # fmt and three of audio
    assert buffers[0] == buffers[2] != buffers[1] == buffers[3]
    assert digest.digest() == hashlib.sha256(audio).digest()


@pytest.mark.parametrize("at_most", [1, 3])
def test_short_reads_make_no_difference(maker: Any, dribbling: Any, at_most: int) -> None:
    source = maker.good()
    recipe = plan(layout_of(source), bext=BEXT)
    target, heard = bytearray(), bytearray()
    copy(
        dribbling(source, at_most),
        recipe,
        target.extend,
        essence=heard.extend,
        advance=lambda _: None,
    )

    assert bytes(target) == copied(source, recipe)[0]
    assert bytes(heard) == maker.AUDIO


def test_a_source_that_shrank_meanwhile_stops_the_copy(maker: Any) -> None:
    recipe = plan(layout_of(maker.good()), bext=BEXT)
    for octets in range(len(maker.good())):
        with pytest.raises(SurroundingsError, match="changed while"):
            copied(maker.good()[:octets], recipe)


@pytest.mark.parametrize("good_operations", range(5))
def test_a_source_that_fails_at_any_time_stops_the_copy_at_once(
    maker: Any, failing: Any, good_operations: int
) -> None:
    recipe = plan(layout_of(maker.good()), bext=BEXT)
    whole, _ = copied(maker.good(), recipe)
    source, target = failing(maker.good(), good_operations), bytearray()

    def run() -> None:
        copy(source, recipe, target.extend, essence=lambda _: None, advance=lambda _: None)

    if good_operations < 4:  # a seek and a read for each of two spans
        with pytest.raises(SurroundingsError, match="Reading the source"):
            run()
        assert source.left == -1  # nothing was asked a second time
        assert len(target) < len(whole)
    else:
        run()
        assert source.left == 0
    assert whole.startswith(target)


@pytest.mark.parametrize("full_at", range(4))
def test_what_the_writer_raises_at_any_time_passes_through_at_once(
    maker: Any, full_at: int
) -> None:
    recipe = plan(layout_of(maker.good()), bext=BEXT)
    whole, _ = copied(maker.good(), recipe)
    refusal = OSError(errno.ENOSPC, "No space left on device")
    target: list[bytes] = []
    heard = bytearray()
    passed: list[int] = []

    def write(block: bytes | memoryview) -> None:
        target.append(bytes(block))
        if len(target) > full_at:
            raise refusal

    with pytest.raises(OSError, match="No space") as raised:
        copy(io.BytesIO(maker.good()), recipe, write, essence=heard.extend, advance=passed.append)

    assert raised.value is refusal
    assert len(target) == full_at + 1  # nothing was written a second time, or after it
    assert whole.startswith(b"".join(target))
    assert passed == [len(block) for block in target[:-1]]
    assert bytes(heard) == (maker.AUDIO if full_at == 3 else b"")


def test_a_file_cut_anywhere_is_refused_or_copied_whole(maker: Any) -> None:
    whole = maker.wave(maker.chunk(b"LIST", b"INFOx"), maker.fmt(), maker.data(bytes(23)))
    copies = 0
    for octets in range(len(whole) + 1):
        try:
            target = embedded(whole[:octets])
        except TailsoutError:
            continue
        copies += 1
        assert layout_of(target).data_octets == 23
    assert copies == 2  # whole, and without its last pad octet
