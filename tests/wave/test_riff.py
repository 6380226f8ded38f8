"""RIFF 1991 chapters 2 and 3, EBU Tech 3306 and ITU-R BS.2088-1, read without trust."""

import io
import tracemalloc
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.damage import Damage
from tailsout.ground.errors import SurroundingsError
from tailsout.wave import riff
from tailsout.wave.riff import Chunk, Layout, read_chunk, read_layout, walk

# One file in full: an odd chunk with its pad octet, a filler, the format, four frames.
WHOLE = bytes.fromhex(
    "52494646 54000000 57415645"  # RIFF, 84 octets follow, WAVE
    "4C495354 05000000 494E464F 58 00"  # LIST, 5 octets, pad
    "4A554E4B 02000000 0000"  # JUNK, 2 octets
    "666D7420 10000000"  # fmt , 16 octets
    "0100 0200 80BB0000 00650400 0600 1800"  # PCM, 2 channels, 48 kHz, 24 bits
    "64617461 18000000"  # data, 24 octets
    "000102 030405 060708 090A0B 0C0D0E 0F1011 121314 151617"
)


def layout_of(content: bytes) -> Layout:
    return read_layout(io.BytesIO(content))


def kinds(content: bytes) -> list[str]:
    return [fault.kind for fault in layout_of(content).damage]


def test_a_sound_file_is_laid_out_in_integers() -> None:
    layout = layout_of(WHOLE)

    assert layout.damage == ()
    assert (layout.form, layout.file_octets) == ("RIFF", 92)
    assert layout.chunks == (
        Chunk(id=b"LIST", header_offset=12, offset=20, octets=5, pad=1),
        Chunk(id=b"JUNK", header_offset=26, offset=34, octets=2, pad=0),
        Chunk(id=b"fmt ", header_offset=36, offset=44, octets=16, pad=0),
        Chunk(id=b"data", header_offset=60, offset=68, octets=24, pad=0),
    )
    assert layout.data == layout.chunks[3]
    assert (layout.frames, layout.data_octets) == (4, 24)
    assert layout.pcm is not None
    assert layout.pcm.coding == "24-bit PCM"
    assert layout.named(b"JUNK") == (layout.chunks[1],)


@pytest.mark.parametrize("form", [b"RF64", b"BW64"])
def test_the_64_bit_forms_take_their_sizes_from_ds64(maker: Any, form: bytes) -> None:
    layout = layout_of(maker.rf64(form=form))

    assert layout.damage == ()
    assert layout.form == form.decode()
    assert layout.data is not None
    assert (layout.data.octets, layout.frames) == (24, 4)


def test_a_ds64_table_row_sizes_a_chunk_that_is_not_audio(maker: Any) -> None:
    table = b"axml" + (6).to_bytes(8, "little")
    content = maker.wave(
        maker.ds64(4 + 48 + 24 + 32 + 14, 24, table=table),
        maker.fmt(),
        maker.data(octets=0xFFFFFFFF),
        maker.chunk(b"axml", b"<abc/>", octets=0xFFFFFFFF),
        form=b"RF64",
        riff_octets=0xFFFFFFFF,
    )
    layout = layout_of(content)

    assert layout.damage == ()
    assert [chunk.octets for chunk in layout.named(b"axml")] == [6]


def test_an_rf64_with_real_32_bit_sizes_is_sound(maker: Any) -> None:
    octets = 4 + 36 + 24 + 32
    content = maker.wave(
        maker.ds64(octets, 24), maker.fmt(), maker.data(), form=b"RF64", riff_octets=octets
    )

    assert kinds(content) == []


def test_audio_without_a_frame_is_no_damage(maker: Any) -> None:
    layout = layout_of(maker.wave(maker.fmt(), maker.data(b"")))

    assert (layout.damage, layout.frames) == ((), 0)


@pytest.mark.parametrize(
    ("content", "form"),
    [
        (b"", "empty file"),
        (b"FORM\0\0\0\x20AIFFCOMM", "AIFF"),
        (b"FORM\0\0\0\x20AIFCCOMM", "AIFF"),
        (b"fLaC\0\0\0\x22", "FLAC"),
        (b"RIFX\0\0\0\x20WAVE", "RIFX"),
        (bytes.fromhex("72696666 2E91CF11 A5D628DB 04C10000"), "Wave64"),
        (b"ID3\x04\0\0\0\0\0\0", "MP3"),
        (b"\xff\xfb\x90\x64", "MP3"),
        (b"OggS\0\2", "Ogg"),
        (b"caff\0\1\0\0", "CAF"),
        (b"\xff\xd8\xff\xe0 a picture", "unknown"),
        (b"\xff", "unknown"),
        (b"FORM\0\0\0\x20ILBMBMHD", "unknown"),
        (b"RIFF\x20\0\0\0WAV fmt ", "unknown"),
        (b"RIFF", "unknown"),
    ],
)
def test_what_is_no_wave_file_is_called_by_its_name(content: bytes, form: str) -> None:
    layout = layout_of(content)

    assert layout.form == form
    assert [fault.kind for fault in layout.damage] == ["not-wave"]
    assert form in layout.damage[0].text
    assert (layout.chunks, layout.pcm, layout.data, layout.frames) == ((), None, None, 0)


@pytest.mark.parametrize(
    ("tag", "at"),
    [
        (b"ID3\3\0\0\0\0\0\5hello", 15),
        # Sizes are of seven bits an octet (ID3v2.4 §3.1); a footer is ten octets more (§3.4).
        (b"ID3\4\0\0\0\0\1\0" + bytes(128), 138),
        (b"ID3\4\0\x10\0\0\0\1xFOOTER1234", 21),
    ],
)
def test_a_wave_file_behind_a_tag_is_told_to_be_there(maker: Any, tag: bytes, at: int) -> None:
    [fault] = layout_of(tag + maker.good()).damage
    assert f"but an ID3 tag, and RIFF from octet {at} on;" in fault.text


def test_a_cut_chunk_is_told_with_both_figures_and_its_place(maker: Any) -> None:
    layout = layout_of(maker.wave(maker.fmt(), maker.data(octets=5000)))

    assert layout.damage[0].offset == 36
    assert "5000" in layout.damage[0].text
    assert "24" in layout.damage[0].text
    assert "stops" in layout.damage[0].text
    assert layout.data is not None
    assert (layout.data.octets, layout.data_octets, layout.frames) == (5000, 24, 4)


@pytest.mark.parametrize("riff_octets", [0, 59, 61, 0xFFFFFFFF])
def test_a_wrong_riff_size_is_told_with_both_figures(maker: Any, riff_octets: int) -> None:
    (fault,) = layout_of(maker.wave(maker.fmt(), maker.data(), riff_octets=riff_octets)).damage

    assert f" {riff_octets}," in fault.text
    assert "60" in fault.text


def test_the_walk_goes_on_behind_a_bad_id_and_a_missing_pad(maker: Any) -> None:
    for chunk in (maker.chunk(b"\1\2\3\4", b"ab"), maker.chunk(b"LIST", b"INFOx", pad=b"")):
        layout = layout_of(maker.wave(chunk, maker.fmt(), maker.data()))

        assert "goes on" in layout.damage[0].text
        assert layout.frames == 4


def test_sizes_that_end_the_riff_too_early_do_not_hide_the_audio(maker: Any) -> None:
    for octets in (0, 4, 28, 40, 59, 61, 0xFFFFFFFF):
        layout = layout_of(maker.wave(maker.fmt(), maker.data(), riff_octets=octets))

        assert layout.frames == 4, octets


def test_ids_from_strangers_are_safe_to_print(maker: Any) -> None:
    layout = layout_of(maker.wave(maker.fmt(), maker.chunk(b"\x1b]2;", b"", octets=9999)))

    assert all(fault.text.isprintable() for fault in layout.damage)
    assert any("\\x1b" in fault.text for fault in layout.damage)


def test_a_file_cut_anywhere_is_damage_and_never_an_exception() -> None:
    for octets in range(len(WHOLE)):
        layout = layout_of(WHOLE[:octets])

        assert layout.damage, octets
        assert layout.file_octets == octets
        assert all(0 <= fault.offset <= octets for fault in layout.damage if octets > 12)


def test_every_octet_spoilt_in_every_header_is_survived(maker: Any) -> None:
    sample = maker.rf64()
    for at in range(80):
        for octet in (0x00, 0x01, 0x7F, 0x80, 0xFF):
            spoilt = sample[:at] + bytes([octet]) + sample[at + 1 :]
            layout = layout_of(spoilt)

            assert layout.frames * 6 <= len(spoilt)


@given(st.sampled_from([b"RIFF", b"RF64", b"BW64"]), st.binary(max_size=400))
def test_no_octets_whatever_raise(form: bytes, rest: bytes) -> None:
    content = form + rest[:4].ljust(4, b"\0") + b"WAVE" + rest[4:]
    layout = layout_of(content)

    assert layout.data_octets <= len(content)
    assert all(chunk.header_offset < len(content) for chunk in layout.chunks)


def test_a_device_that_fails_at_once_is_no_empty_file(maker: Any, failing: Any) -> None:
    with pytest.raises(SurroundingsError):
        read_layout(failing(maker.good(), 0))
    with pytest.raises(SurroundingsError):
        next(walk(failing(maker.good(), 2)))


def sparse(path: Path, start: bytes, octets: int) -> Path:
    with path.open("wb") as file:
        file.write(start)
        file.truncate(octets)
    return path


def walk_cheaply(path: Path) -> Layout:
    """Read the layout of a huge file and make sure that no memory follows its sizes."""
    tracemalloc.start()
    try:
        with path.open("rb") as file:
            layout = read_layout(file)
        assert tracemalloc.get_traced_memory()[1] < 1 << 20
    finally:
        tracemalloc.stop()
    return layout


def test_five_gigabytes_of_rf64_are_walked_at_once(maker: Any, tmp_path: Path) -> None:
    data = 5_000_000_004
    head = maker.wave(
        maker.ds64(72 + data, data, samples=data // 6),
        maker.fmt(),
        maker.chunk(b"data", b"", octets=0xFFFFFFFF),
        form=b"RF64",
        riff_octets=0xFFFFFFFF,
    )
    layout = walk_cheaply(sparse(tmp_path / "long.wav", head, 80 + data))

    assert layout.damage == ()
    assert layout.frames == data // 6


def test_a_ds64_row_sizes_a_chunk_past_4_gib(maker: Any, tmp_path: Path) -> None:
    octets = 5_000_000_001
    table = b"axml" + octets.to_bytes(8, "little")
    head = maker.wave(
        maker.ds64(4 + 48 + 8 + octets + 1 + 24 + 32, 24, table=table),
        maker.chunk(b"axml", b"", octets=0xFFFFFFFF),
        form=b"RF64",
        riff_octets=0xFFFFFFFF,
    )
    path = sparse(tmp_path / "axml.wav", head, len(head) + octets + 1)
    with path.open("ab") as file:
        file.write(maker.fmt() + maker.data(octets=0xFFFFFFFF))
    layout = walk_cheaply(path)

    assert layout.damage == ()
    assert [(one.id, one.octets, one.pad) for one in layout.chunks[1:3]] == [
        (b"axml", octets, 1),
        (b"fmt ", 16, 0),
    ]
    assert layout.frames == 4


def test_rows_of_one_id_are_taken_in_their_order(maker: Any) -> None:
    table = b"".join(b"axml" + one.to_bytes(8, "little") for one in (4, 6))
    content = maker.wave(
        maker.ds64(4 + 60 + 24 + 32 + 12 + 14, 24, table=table),
        maker.fmt(),
        maker.data(octets=0xFFFFFFFF),
        maker.chunk(b"axml", b"<a/>", octets=0xFFFFFFFF),
        maker.chunk(b"axml", b"<abc/>", octets=0xFFFFFFFF),
        form=b"BW64",
        riff_octets=0xFFFFFFFF,
    )
    layout = layout_of(content)

    assert layout.damage == ()
    assert [chunk.octets for chunk in layout.named(b"axml")] == [4, 6]


def test_a_chunk_of_2_gib_is_no_negative_size(maker: Any, tmp_path: Path) -> None:
    octets = 2**31 + 2
    head = maker.wave(
        maker.chunk(b"JUNK", b"", octets=octets), riff_octets=4 + 8 + octets + 24 + 32
    )
    path = sparse(tmp_path / "filler.wav", head, len(head) + octets)
    with path.open("ab") as file:
        file.write(maker.fmt() + maker.data())
    layout = walk_cheaply(path)

    assert (layout.damage, layout.frames) == ((), 4)


@pytest.mark.parametrize(("form", "told"), [(b"RF64", ["ds64-samples"]), (b"BW64", [])])
def test_the_sample_count_says_nothing_in_bw64(maker: Any, form: bytes, told: list[str]) -> None:
    content = maker.wave(
        maker.ds64(96, 24, samples=99),
        maker.fmt(),
        maker.data(octets=0xFFFFFFFF),
        form=form,
        riff_octets=0xFFFFFFFF,
    )

    assert kinds(content) == told


def test_ds64_sizes_the_first_data_chunk_alone(maker: Any) -> None:
    content = maker.wave(
        maker.ds64(4 + 36 + 24 + 32 + 14, 24),
        maker.fmt(),
        maker.data(octets=0xFFFFFFFF),
        maker.data(bytes(6)),
        form=b"RF64",
        riff_octets=0xFFFFFFFF,
    )

    assert kinds(content) == ["duplicate-data"]
    assert [chunk.octets for chunk in layout_of(content).named(b"data")] == [24, 6]
    silent = content.replace((24).to_bytes(8, "little"), bytes(8), 1)
    silent = silent.replace(b"data\xff\xff\xff\xff" + maker.AUDIO, b"data" + bytes(4))
    silent = silent.replace((110).to_bytes(8, "little"), (86).to_bytes(8, "little"), 1)
    assert kinds(silent) == ["duplicate-data", "ds64-samples"]


def test_a_bad_id_behind_a_missing_pad_is_passed_over(maker: Any) -> None:
    content = maker.wave(
        maker.chunk(b"LIST", b"INFOx", pad=b""),
        maker.chunk(b"JUNK", b""),
        maker.chunk(b"\0\1\2\3", b"abcd"),
        maker.fmt(),
        maker.data(),
    )

    assert kinds(content) == ["missing-pad", "bad-chunk-id"]
    assert layout_of(content).frames == 4


MONO = bytes.fromhex("0100 0100 80BB0000 80320200 0300 1800")
"""48 kHz, 24 bits, one channel: three octets a frame."""


def odd_rf64(maker: Any, samples: int = 3, over: bytes = b"\0", form: bytes = b"RF64") -> bytes:
    """Three frames of three octets and what is over, all of it counted into the audio."""
    audio = bytes(range(1, 10)) + over
    return bytes(
        maker.wave(
            maker.ds64(72 + len(audio) + len(audio) % 2, len(audio), samples=samples),
            maker.fmt(MONO),
            maker.data(audio, octets=0xFFFFFFFF),
            form=form,
            riff_octets=0xFFFFFFFF,
        )
    )


def test_a_pad_octet_that_ds64_counts_is_a_pad(maker: Any) -> None:
    layout = read_layout(io.BytesIO(odd_rf64(maker)))

    # 28: where the size of data stands in ds64 (EBU Tech 3306).
    assert [(one.kind, one.offset) for one in layout.damage] == [("ds64-pad-counted", 28)]
    assert (layout.frames, layout.data_octets) == (3, 9)
    assert layout.data == layout.chunks[-1]
    assert (layout.chunks[-1].octets, layout.chunks[-1].pad) == (9, 1)


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"over": b"\x01"}, ["incomplete-frame"]),
        ({"over": b"\0\0"}, ["incomplete-frame"]),
        ({"samples": 0}, ["incomplete-frame"]),
        ({"samples": 2}, ["incomplete-frame", "ds64-samples"]),
        ({"over": b""}, []),
        ({"form": b"BW64"}, ["incomplete-frame"]),
    ],
)
def test_what_is_over_for_another_reason_is_no_pad(maker: Any, how: Any, told: list[str]) -> None:
    assert kinds(odd_rf64(maker, **how)) == told


def test_sizes_wrapped_at_4_gib_are_told(maker: Any, tmp_path: Path) -> None:
    data = 5_000_000_004
    head = maker.wave(
        maker.fmt(),
        maker.chunk(b"data", b"", octets=data % 2**32),
        riff_octets=(36 + data) % 2**32,
    )
    layout = walk_cheaply(sparse(tmp_path / "wrapped.wav", head, 44 + data))

    assert [(fault.kind, fault.offset) for fault in layout.damage] == [("size-wrapped", 4)]


def test_a_data_size_wrapped_under_an_open_riff_size_stops_the_walk(
    maker: Any, tmp_path: Path
) -> None:
    data = 5_000_000_004
    head = maker.wave(
        maker.fmt(), maker.chunk(b"data", b"", octets=data % 2**32), riff_octets=0xFFFFFFFF
    )
    layout = walk_cheaply(sparse(tmp_path / "wrapped.wav", head, 44 + data))

    told = [fault.kind for fault in layout.damage]
    assert told == ["bad-chunk-id", "riff-size", "incomplete-frame"]


def test_huge_chunks_and_tables_that_are_really_there_take_no_memory(
    maker: Any, tmp_path: Path
) -> None:
    bext = maker.wave(maker.chunk(b"bext", b"", octets=4_000_000_000))
    assert walk_cheaply(sparse(tmp_path / "bext.wav", bext, 4_000_000_020)).chunks[0].pad == 0

    head = b"RF64\xff\xff\xff\xffWAVE" + b"ds64" + (3_000_000_000).to_bytes(4, "little")
    head += bytes(24) + (200_000_000).to_bytes(4, "little")
    layout = walk_cheaply(sparse(tmp_path / "table.wav", head, 4_000_000_000))
    assert "ds64-table" in [fault.kind for fault in layout.damage]

    fmt = maker.wave(maker.chunk(b"fmt ", maker.FMT, octets=4_000_000_000))
    assert walk_cheaply(sparse(tmp_path / "fmt.wav", fmt, 4_000_000_020)).pcm is not None


def test_a_chunk_is_read_up_to_a_cap_and_to_the_end_of_the_file(maker: Any) -> None:
    content = maker.wave(maker.fmt(), maker.data(octets=5000))
    stream = io.BytesIO(content)
    data = read_layout(stream).data
    assert data is not None

    assert read_chunk(stream, data, 5) == maker.AUDIO[:5]
    assert read_chunk(stream, data, 10**12) == maker.AUDIO
    beyond = Chunk(id=b"LIST", header_offset=10_000, offset=10_008, octets=4, pad=0)
    assert read_chunk(stream, beyond, 100) == b""


def test_the_memory_for_a_chunk_follows_the_file_and_not_its_size(
    maker: Any, tmp_path: Path
) -> None:
    path = tmp_path / "lie.wav"
    path.write_bytes(maker.wave(maker.fmt(), maker.data(octets=300_000_000)))
    with path.open("rb") as file:
        data = read_layout(file).data
        assert data is not None
        tracemalloc.start()
        try:
            assert read_chunk(file, data, 10**12) == maker.AUDIO
            assert tracemalloc.get_traced_memory()[1] < 1 << 20
        finally:
            tracemalloc.stop()


def test_exactly_the_cap_of_chunks_is_sound(maker: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tailsout.wave.walk.MAX_CHUNKS", 2)

    assert kinds(maker.good()) == []
    assert kinds(maker.good() + b"\xa5" * 8) == ["trailing-octets"]
    assert kinds(maker.wave(maker.fmt(), maker.data(), b"JUNK\0\0\0\0")) == ["too-many-chunks"]


def test_walk_yields_chunks_and_damage_in_file_order(maker: Any) -> None:
    items = list(walk(io.BytesIO(maker.wave(maker.fmt(), maker.data(bytes(5), pad=b"\x01")))))

    assert [type(item) for item in items] == [Chunk, Chunk, Damage]
    assert riff.walk is walk
