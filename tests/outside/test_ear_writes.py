"""Files that ear writes, the EBU's own renderer, as BW64 (ITU-R BS.2088-1) and as RIFF.

Chunks, their places and their contents are those that ear itself finds in the file.
"""

import importlib
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tailsout.ground.errors import MaterialError
from tailsout.wave import bext, chna, ds64
from tailsout.wave.bext import Bext
from tailsout.wave.embed import plan
from tailsout.wave.riff import read_chunk, read_layout

pytestmark = pytest.mark.oracles

AXML = b'<?xml version="1.0"?><ebuCoreMain/>'
OWN = bext.encode(Bext(originator="Saltpan Row", coding_history="A=ANALOGUE\r\n"))
TRACKS = (
    (1, "ATU_00000001", "AT_00031001_01", "AP_00031001"),
    (2, "ATU_00000002", "AT_00031002_01", None),
)


@pytest.fixture
def write(ear: Any, tmp_path: Path) -> Callable[..., Path]:
    """Let ear write some frames of stereo with every chunk that it knows."""
    chunks = importlib.import_module("ear.fileio.bw64.chunks")

    def make(*, bits: int = 24, own: bytes = OWN, bw64: bool = True) -> Path:
        path = tmp_path / "file.wav"
        samples = np.linspace(-0.5, 0.5, 18).reshape(9, 2)
        form = chunks.FormatInfoChunk(channelCount=2, sampleRate=48_000, bitsPerSample=bits)
        table = chunks.ChnaChunk([chunks.AudioID(*track) for track in TRACKS])
        with path.open("wb") as stream:
            writer = ear.Bw64Writer(stream, form, chna=table, axml=AXML, bext=own, forceBw64=bw64)
            writer.write(samples)
            writer.close()
        return path

    return make


@pytest.mark.parametrize("bits", [16, 24, 32])
@pytest.mark.parametrize("bw64", [False, True])
def test_chunks_lie_where_ear_finds_them(
    ear: Any, write: Callable[..., Path], bits: int, *, bw64: bool
) -> None:
    with write(bits=bits, bw64=bw64).open("rb") as stream:
        theirs = ear.Bw64Reader(stream)
        places = {name: (one.position.data, one.size) for name, one in theirs._chunks.items()}
        layout = read_layout(stream)

        assert layout.form == ("BW64" if bw64 else "RIFF") == theirs.fileFormat.decode()
        assert layout.damage == ()
        first, *others = layout.chunks
        assert first.id == (b"ds64" if bw64 else b"JUNK")
        assert {one.id: (one.offset, one.octets) for one in others} == {
            name: place for name, place in places.items() if name != b"JUNK"
        }
        assert layout.pcm is not None
        assert layout.pcm.container_bits == theirs.bitdepth == bits
        assert (layout.frames, layout.pcm.channels) == (len(theirs), theirs.channels) == (9, 2)


def test_what_the_chunks_say_is_what_ear_reads(ear: Any, write: Callable[..., Path]) -> None:
    with write().open("rb") as stream:
        theirs = ear.Bw64Reader(stream)
        layout = read_layout(stream)
        ours = {one.id: read_chunk(stream, one, 1 << 10) for one in layout.chunks}
        assert ours[b"axml"] == theirs.axml == AXML
        assert ours[b"bext"] == theirs.bext == OWN

    sizes, damage = ds64.decode(ours[b"ds64"])
    assert sizes is not None
    assert (sizes.riff, sizes.data, damage) == (theirs._ds64.riffSize, theirs._ds64.dataSize, ())
    table, damage = chna.decode(ours[b"chna"])
    assert table is not None
    assert (table.tracks, damage) == (theirs.chna.numTracks, ())
    assert [(one.track, one.uid, one.track_format, one.pack_format) for one in table.rows] == [
        (
            one.trackIndex,
            one.audioTrackUID,
            one.audioTrackFormatIDRef,
            one.audioPackFormatIDRef or "",
        )
        for one in theirs.chna.audioIDs
    ]


def test_an_odd_bext_of_ear_is_found_out(
    hear: Callable[[str, Path], Any], write: Callable[..., Path]
) -> None:
    path = write(own=OWN + b"x")
    layout = read_layout(io.BytesIO(path.read_bytes()))

    # It pads axml and not bext, and then cannot find the audio itself.
    assert [fault.kind for fault in layout.damage] == ["missing-pad"]
    assert layout.frames == 9
    assert hear("ear", path) is None
    with pytest.raises(MaterialError, match="no pad octet"):
        plan(layout, bext=OWN)
