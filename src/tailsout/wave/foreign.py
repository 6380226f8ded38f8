"""Chunks of a wave file kept in a FLAC file, so that the wave file can be had again.

The convention of the reference encoder, no standard; tests/outside holds it against the program.
APPLICATION blocks `riff`, in file order: the first holds the twelve octets that begin the form,
each further one a chunk with header, payload and pad octet; that of `data` its header alone, and
what follows it lies behind the audio. Chunks of other containers, kept under other names, are not
looked at.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.wave import ds64, fmt
from tailsout.wave.assembled import Stretch
from tailsout.wave.chunk import HEADER, read_at, shown
from tailsout.wave.ds64 import UNSTATED
from tailsout.wave.embed import audio_of
from tailsout.wave.flac import FlacLayout, application_blocks
from tailsout.wave.riff import Layout
from tailsout.wave.walk import FIRST_CHUNK

APPLICATION = b"riff"
_FORMS = (b"RIFF", b"RF64")
_FORM_OCTETS = 12
_LARGEST = (1 << 24) - 1 - len(APPLICATION)
"""Octets that one block can keep."""
_FMT_CAP = 1024
_KEEP = "Keep it as WAV."


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreign:
    """The octets of a wave file around its audio, as they lie in a FLAC file."""

    before: tuple[Stretch, ...]
    """From the form's first octet to the header of `data`."""
    behind: tuple[Stretch, ...]
    """Chunks behind the audio and its pad octet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kept:
    """One chunk in its block, or to be."""

    id: bytes
    stated: int
    """Octets of payload as its header says."""
    offset: int
    """Of the header, in the FLAC file or the wave file."""
    present: int
    """Octets from there on that the block holds."""


def read_foreign(
    stream: BinaryIO, layout: FlacLayout, *, frames: int
) -> tuple[Foreign | None, tuple[Damage, ...]]:
    """Return what is kept around the audio, of so many frames, of a FLAC file.

    None where nothing is, and, with damage, where what is kept contradicts itself or the audio.
    Raises SurroundingsError if reading fails.
    """
    blocks = application_blocks(layout.blocks, APPLICATION)
    if not blocks or layout.pcm is None or layout.audio_offset is None:
        return None, ()
    stretches = [
        Stretch(
            stream=stream,
            start=block.offset + len(APPLICATION),
            octets=block.octets - len(APPLICATION),
        )
        for block in blocks
    ]
    kept = [_kept(one) for one in stretches[1:]]
    why = _contradiction(stretches[0], kept)
    why = why or _against_audio(stream, layout.pcm, frames, kept)
    if why:
        text = f"The wave chunks that are kept cannot be put back: {why}; none is used."
        return None, (Damage(kind="flac-chunks", offset=blocks[0].offset, text=text),)
    border = 2 + next(n for n, chunk in enumerate(kept) if chunk.id == b"data")
    return Foreign(before=tuple(stretches[:border]), behind=tuple(stretches[border:])), ()


def _kept(stretch: Stretch) -> _Kept:
    header = read_at(stretch.stream, stretch.start, min(HEADER.size, stretch.octets))
    chunk_id, stated = HEADER.unpack(header.ljust(HEADER.size, b"\0"))
    return _Kept(id=chunk_id, stated=stated, offset=stretch.start, present=stretch.octets)


def _format(stream: BinaryIO, kept: Sequence[_Kept]) -> Pcm | None:
    chunk = next((one for one in kept if one.id == b"fmt "), None)
    if chunk is None:
        return None
    pcm, _ = fmt.decode(_payload(stream, chunk, _FMT_CAP))
    return pcm


def _payload(stream: BinaryIO, chunk: _Kept, cap: int) -> bytes:
    octets = min(chunk.stated, max(chunk.present - HEADER.size, 0), cap)
    return read_at(stream, chunk.offset + HEADER.size, octets)


def _contradiction(first: Stretch, kept: Sequence[_Kept]) -> str:
    """Say what keeps the blocks from being a wave file; empty if nothing does."""
    head = read_at(first.stream, first.start, min(first.octets, _FORM_OCTETS))
    if first.octets != _FORM_OCTETS or head[:4] not in _FORMS or head[8:] != b"WAVE":
        return "the first block does not hold the twelve octets that begin a wave file"
    ids = [chunk.id for chunk in kept]
    for needed in (b"fmt ", b"data"):
        if ids.count(needed) != 1:
            return f"there are {ids.count(needed)} {shown(needed)} chunks, there must be one"
    if ids.index(b"data") < ids.index(b"fmt "):
        return "the fmt chunk stands behind the data chunk"
    if (head[:4] == b"RF64") != (ids[0] == b"ds64"):
        return "RF64 and a ds64 chunk in the first place must go together"
    for chunk in kept:
        octets = chunk.stated + chunk.stated % 2 if chunk.id != b"data" else 0
        if chunk.present != HEADER.size + octets:
            return (
                f"the {shown(chunk.id)} chunk takes {HEADER.size + octets} octets, its block has "
                f"{chunk.present}"
            )
    return ""


def _against_audio(stream: BinaryIO, own: Pcm, frames: int, kept: Sequence[_Kept]) -> str:
    """Say where the chunks contradict STREAMINFO; empty if nowhere."""
    pcm = _format(stream, kept)
    if pcm is None:
        return "the fmt chunk states no linear PCM"
    if (pcm.is_float, pcm.sample_rate_hz, pcm.channels, pcm.container_bits) != (
        False,
        own.sample_rate_hz,
        own.channels,
        own.container_bits,
    ):
        return (
            f"the fmt chunk states {pcm.coding} in {pcm.channels} channels at "
            f"{pcm.sample_rate_hz} Hz, STREAMINFO {own.coding} in {own.channels} at "
            f"{own.sample_rate_hz}"
        )
    data = next(chunk for chunk in kept if chunk.id == b"data")
    stated = data.stated
    if kept[0].id == b"ds64" and stated == UNSTATED:
        sizes, _ = ds64.decode(_payload(stream, kept[0], ds64.MAX_OCTETS))
        stated = sizes.data if sizes is not None else 0
    if stated != frames * own.frame_octets:
        return f"the data chunk states {stated} octets, the audio has {frames * own.frame_octets}"
    return ""


def fits(octets: int) -> bool:
    """Tell whether a block can keep a chunk whose payload has so many octets."""
    return HEADER.size + octets + octets % 2 <= _LARGEST


def chunks_of(layout: Layout, stream: BinaryIO) -> list[Stretch]:
    """Return what of a wave file goes into `riff` blocks, a stretch of the file for each.

    Raises MaterialError where the wave file could not be had again octet for octet.
    """
    data, pcm = audio_of(layout)
    if layout.form.encode("ascii") not in _FORMS:
        _refuse(f"its form is {layout.form}, which no decoder knows there")
    stretches = [Stretch(stream=stream, start=0, octets=_FORM_OCTETS)]
    at = FIRST_CHUNK
    for chunk in layout.chunks:
        end = chunk.offset + chunk.octets + chunk.pad
        if chunk.header_offset != at or chunk.octets % 2 != chunk.pad:
            _refuse(f"the {shown(chunk.id)} chunk lacks its pad octet")
        octets = HEADER.size if chunk is data else end - at
        if chunk is not data and not fits(chunk.octets):
            _refuse(f"the {shown(chunk.id)} chunk has {chunk.octets} octets")
        stretches.append(Stretch(stream=stream, start=at, octets=octets))
        at = end
    if at != layout.file_octets:
        _refuse(f"{layout.file_octets - at} octets follow its last chunk")
    if data.pad and read_at(stream, data.offset + data.octets, 1) != b"\0":
        _refuse("the pad octet behind its audio is not 0")
    # What would not be put back must not be kept: whoever reads it asks the same.
    kept = [_kept(one) for one in stretches[1:]]
    why = _contradiction(stretches[0], kept) or _against_audio(stream, pcm, layout.frames, kept)
    if why:
        _refuse(why)
    return stretches


def _refuse(why: str) -> None:
    raise MaterialError(f"A FLAC file cannot keep all of this wave file: {why}.", _KEEP)
