"""Wave chunks in `riff` APPLICATION blocks: the reference encoder's convention (tests/outside)."""

import io
from collections.abc import Callable, Sequence
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError
from tailsout.wave import foreign, riff
from tailsout.wave.flac import read_flac
from tailsout.wave.foreign import Foreign, chunks_of, read_foreign

HEAD = b"RIFF\xee\0\0\0WAVE"
FMT = b"fmt \x10\0\0\0" + bytes.fromhex("0100 0200 80BB0000 00650400 0600 1800")
DATA = b"data\xc0\0\0\0"  # 32 frames of 6 octets
LIST = b"LIST\x05\0\0\0INFOx\0"


def kept(flac: Any, *chunks: bytes, info: bytes | None = None) -> tuple[Foreign | None, list[str]]:
    blocks = [flac.block(2, b"riff" + one) for one in chunks]
    content = flac.flac(*blocks, audio=flac.good()[48:], info=info)
    stream = io.BytesIO(content)
    found, damage = read_foreign(stream, read_flac(stream), frames=32)
    return found, [fault.text for fault in damage]


def octets(pieces: Sequence[Any]) -> list[bytes]:
    return [piece.read_at(0, piece.octets) for piece in pieces]


def test_chunks_before_and_behind_the_audio(flac: Any) -> None:
    found, damage = kept(flac, HEAD, LIST, FMT, DATA, LIST, b"odd \x01\0\0\0x\0")

    assert damage == []
    assert found is not None
    assert octets(found.before) == [HEAD, LIST, FMT, DATA]
    assert octets(found.behind) == [LIST, b"odd \x01\0\0\0x\0"]


def test_no_chunk_at_all_is_no_fault(flac: Any) -> None:
    assert kept(flac) == (None, [])


def test_other_applications_are_not_looked_at(flac: Any) -> None:
    stream = io.BytesIO(flac.flac(flac.block(2, b"aiffFORM"), audio=b"\xff\xf8"))
    assert read_foreign(stream, read_flac(stream), frames=32) == (None, ())


def sizes(data: int) -> bytes:
    payload = b"".join(one.to_bytes(8, "little") for one in (0, data, 32)) + bytes(4)
    return b"ds64\x1c\0\0\0" + payload


ALL_ONES = 0xFFFF_FFFF
UNSTATED = b"data\xff\xff\xff\xff"
RF64 = b"RF64\xff\xff\xff\xffWAVE"


def test_the_sizes_of_rf64_stand_in_ds64(flac: Any) -> None:
    found, damage = kept(flac, RF64, sizes(192), FMT, UNSTATED)

    assert damage == []
    assert found is not None
    assert octets(found.before) == [RF64, sizes(192), FMT, UNSTATED]


CONTRADICTIONS: dict[str, tuple[list[bytes], str]] = {
    "no head": ([FMT, DATA], "twelve octets"),
    "a head that is too long": ([HEAD + b"x", FMT, DATA], "twelve octets"),
    "a head that is too short": ([HEAD[:11], FMT, DATA], "twelve octets"),
    "another form": ([b"RIFX" + HEAD[4:], FMT, DATA], "twelve octets"),
    "another type": ([HEAD[:8] + b"AVI ", FMT, DATA], "twelve octets"),
    "a head alone": ([HEAD], "there are 0 fmt chunks"),
    "no audio": ([HEAD, FMT], "there are 0 data chunks"),
    "two formats": ([HEAD, FMT, FMT, DATA], "there are 2 fmt chunks"),
    "audio twice": ([HEAD, FMT, DATA, DATA], "there are 2 data chunks"),
    "the wrong order": ([HEAD, DATA, FMT], "behind the data chunk"),
    "RF64 without ds64": ([RF64, FMT, UNSTATED], "must go together"),
    "ds64 without RF64": ([HEAD, sizes(192), FMT, DATA], "must go together"),
    "a chunk that is too long": ([HEAD, LIST + b"\0", FMT, DATA], "its block has 15"),
    "a chunk without its pad": ([HEAD, LIST[:-1], FMT, DATA], "its block has 13"),
    "half a header": ([HEAD, b"LIST\1", FMT, DATA], "its block has 5"),
    "nothing in a block": ([HEAD, b"", FMT, DATA], "its block has 0"),
    "audio in its block": ([HEAD, FMT, DATA + bytes(192)], "its block has 200"),
    "a size that differs": ([HEAD, FMT, b"data\xbf\0\0\0"], "states 191 octets, the audio has 192"),
    "a size in ds64 that differs": ([RF64, sizes(191), FMT, UNSTATED], "states 191 octets"),
    "a format that is none": ([HEAD, b"fmt \0\0\0\0", DATA], "no linear PCM"),
    "another rate": ([HEAD, FMT[:12] + b"\x44" + FMT[13:], DATA], "STREAMINFO 24-bit PCM in 2"),
}


@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_chunks_that_contradict_are_told_and_not_used(flac: Any, name: str) -> None:
    chunks, reason = CONTRADICTIONS[name]
    found, damage = kept(flac, *chunks)

    assert found is None
    assert len(damage) == 1
    assert reason in damage[0]


def test_audio_of_another_format_than_its_chunk(flac: Any) -> None:
    for info in (flac.info(channels=1), flac.info(bits=16), flac.info(rate=44_100)):
        assert "STREAMINFO" in kept(flac, HEAD, FMT, DATA, info=info)[1][0]
    # What counts is the length that the audio has, be it stated or not.
    assert kept(flac, HEAD, FMT, DATA, info=flac.info(frames=0))[1] == []


def test_fewer_valid_bits_than_the_container_are_left_as_they_are(flac: Any) -> None:
    extensible = FMT[8:].replace(b"\1\0", b"\xfe\xff", 1) + bytes.fromhex(
        "1600 1400 03000000 0100 0000 0000 1000 8000 00AA 0038 9B71"
    )
    chunk = b"fmt \x28\0\0\0" + extensible
    assert kept(flac, HEAD, chunk, DATA)[1] == []
    assert kept(flac, HEAD, chunk, DATA, info=flac.info(bits=20))[1] == []


# The way back


def stretches(content: bytes) -> list[bytes]:
    stream = io.BytesIO(content)
    return octets(chunks_of(riff.read_layout(stream), stream))


def test_a_wave_file_chunk_by_chunk(maker: Any) -> None:
    content = maker.wave(
        maker.chunk(b"LIST", b"INFOx"), maker.fmt(), maker.data(), maker.chunk(b"odd ", b"y")
    )
    assert stretches(content) == [
        content[:12],
        maker.chunk(b"LIST", b"INFOx"),
        maker.fmt(),
        b"data\x18\0\0\0",
        maker.chunk(b"odd ", b"y"),
    ]
    assert stretches(maker.rf64())[-1] == UNSTATED


REFUSED: dict[str, tuple[Callable[[Any], bytes], str]] = {
    "octets behind the end": (
        lambda m: m.wave(m.fmt(), m.data()) + b"more octets",
        "11 octets follow",
    ),
    "no pad behind the last chunk": (
        lambda m: m.wave(m.fmt(), m.data(), m.chunk(b"odd ", b"y", pad=b"")),
        "the odd chunk lacks its pad octet",
    ),
    "a pad behind the audio that is not 0": (
        lambda m: m.wave(m.fmt(), m.data(bytes(9), pad=b"x")),
        "is not 0",
    ),
    "BW64": (lambda m: m.rf64(form=b"BW64"), "its form is BW64"),
    "ds64 in a RIFF file": (
        lambda m: m.wave(m.ds64(96, 24), m.fmt(), m.data()),
        "must go together",
    ),
    "a pad octet that ds64 counts": (
        lambda m: m.wave(
            m.ds64(82, 10, samples=3),
            m.fmt(bytes.fromhex("0100 0100 80BB0000 80320200 0300 1800")),
            m.data(bytes(10), octets=ALL_ONES),
            form=b"RF64",
            riff_octets=ALL_ONES,
        ),
        "states 10 octets, the audio has 9",
    ),
    "a size in the table of ds64": (
        lambda m: m.wave(
            m.ds64(122, 24, table=b"axml" + (6).to_bytes(8, "little")),
            m.chunk(b"axml", b"<axml>", octets=ALL_ONES),
            m.fmt(),
            m.data(octets=ALL_ONES),
            form=b"RF64",
            riff_octets=ALL_ONES,
        ),
        "the axml chunk takes 4294967304 octets, its block has 14",
    ),
    "a file that is cut": (lambda m: m.wave(m.fmt(), m.data(octets=99)), "cannot be copied safely"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_wave_file_that_could_not_be_had_again_is_refused(maker: Any, name: str) -> None:
    make, reason = REFUSED[name]
    with pytest.raises(MaterialError, match=reason):
        stretches(make(maker))


def test_a_chunk_beyond_a_block_is_refused(maker: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    content = maker.wave(maker.chunk(b"axml", bytes(40)), maker.fmt(), maker.data())
    monkeypatch.setattr(foreign, "_LARGEST", 48)
    assert stretches(content)[1] == maker.chunk(b"axml", bytes(40))
    monkeypatch.setattr(foreign, "_LARGEST", 47)
    with pytest.raises(MaterialError, match="the axml chunk has 40 octets"):
        stretches(content)
