"""A wave file compressed into a FLAC file from which it can be had again octet for octet.

The audio goes through libsndfile, every chunk around it into an APPLICATION block (`foreign`).
The octets depend on the source and on the library's version alone. STREAMINFO's MD5 (RFC 9639
§8.2, from memory) is held against the samples that were handed over.
"""

import hashlib
from collections.abc import Callable, Iterator
from typing import BinaryIO

from tailsout.ground.digests import BLOCK_OCTETS
from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.wave import foreign, streaminfo
from tailsout.wave.assembled import Stretch
from tailsout.wave.chunk import Chunk
from tailsout.wave.embed import audio_of
from tailsout.wave.flac import APPLICATION, HEADER_OCTETS, MARK
from tailsout.wave.flac_audio import FLIPPED
from tailsout.wave.flac_codec import Encoder
from tailsout.wave.riff import Layout
from tailsout.wave.streaminfo import hindrance

_LAST = 0x80


def encode(
    source: BinaryIO,
    layout: Layout,
    target: BinaryIO,
    *,
    essence: Callable[[bytes], object],
    advance: Callable[[int], None],
) -> int:
    """Write a wave file as FLAC from the start of a seekable stream; return its octets.

    `essence` receives the payload of `data`, `advance` the octets of each block of it.

    Raises MaterialError for audio that FLAC does not hold or a wave file that could not be had
    again, SurroundingsError if reading or writing fails.
    """
    data, pcm = audio_of(layout)
    why = hindrance(data.octets, pcm)
    if why:
        raise MaterialError(f"FLAC does not hold {why}.", "Keep it as WAV.")
    kept = foreign.chunks_of(layout, source)
    blocks = [len(foreign.APPLICATION) + stretch.octets for stretch in kept]
    reserved = sum(HEADER_OCTETS + octets for octets in blocks)
    encoder = Encoder(target, reserved, pcm)
    md5 = hashlib.md5(usedforsecurity=False)
    for block in _audio(source, data, pcm):
        essence(block)
        signed = block.translate(FLIPPED) if pcm.container_bits == 8 else block
        md5.update(signed)
        encoder.take(signed)
        advance(len(block))
    head = _not_last(encoder.finish())
    _refuse_if_differs(head, data.octets // pcm.frame_octets, md5.hexdigest())
    try:
        octets = target.seek(0, 2)
        target.seek(0)
        target.write(head)
        for number, stretch in enumerate(kept, start=1):
            last = _LAST if number == len(kept) else 0
            size = (len(foreign.APPLICATION) + stretch.octets).to_bytes(3, "big")
            target.write(bytes([last | APPLICATION]) + size + foreign.APPLICATION)
            target.writelines(_pieces(stretch))
        target.flush()
    except OSError as error:
        raise from_os_error(error, "Writing a FLAC file") from error
    return octets


def _audio(source: BinaryIO, data: Chunk, pcm: Pcm) -> Iterator[bytes]:
    """Yield the audio in blocks of whole frames."""
    most = BLOCK_OCTETS // pcm.frame_octets * pcm.frame_octets
    stretch = Stretch(stream=source, start=data.offset, octets=data.octets)
    at = 0
    while at < data.octets:
        block = bytearray()
        wanted = min(most, data.octets - at)
        while len(block) < wanted:
            block += stretch.read_at(at + len(block), wanted - len(block))
        at += wanted
        yield bytes(block)


def _pieces(stretch: Stretch) -> Iterator[bytes]:
    at = 0
    while at < stretch.octets:
        piece = stretch.read_at(at, min(BLOCK_OCTETS, stretch.octets - at))
        at += len(piece)
        yield piece


def _not_last(head: bytes) -> bytes:
    """Return the encoder's metadata with room behind it for more blocks."""
    changed = bytearray(head)
    at = len(MARK)
    while at < len(head):
        changed[at] &= ~_LAST
        at += HEADER_OCTETS + int.from_bytes(head[at + 1 : at + HEADER_OCTETS], "big")
    return bytes(changed)


def _refuse_if_differs(head: bytes, frames: int, md5: str) -> None:
    offset = len(MARK) + HEADER_OCTETS
    info, _ = streaminfo.decode(head[offset : offset + streaminfo.OCTETS])
    if info is None or (info.frames, info.md5) != (frames, md5):
        raise SurroundingsError(
            "The FLAC encoder took other samples than it was handed; memory may be at fault.",
            "Check the machine before trying again.",
        )
