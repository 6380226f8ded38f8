"""A FLAC file read as the wave file that it stands for.

What comes out is a seekable, read-only stream: the chunks that were kept beside the audio
(`foreign`) or a plain head, and between them the samples, decoded where they are read. Whatever
walks, measures or copies a wave file does so with this one. The decoder is loaded at the first
sample, so that the structure of a stranger's file is seen without it.
"""

import hashlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.wave import assembled
from tailsout.wave.assembled import Fixed, Piece
from tailsout.wave.chunk import read_at
from tailsout.wave.flac import FlacLayout
from tailsout.wave.foreign import read_foreign
from tailsout.wave.streaminfo import BITS, FRAME_BITS, MAX_FRAMES

if TYPE_CHECKING:
    from tailsout.wave.flac_codec import Decoder

_BLOCK_FRAMES = 4096
FLIPPED = bytes(octet ^ 0x80 for octet in range(256))
"""What makes samples of 8 bits signed or unsigned: FLAC has the one, a wave file the other."""


class Essence:
    """The samples of a FLAC file as they lie in a wave file; a piece of an assembled stream.

    They are decoded in order. A step back begins again at the first, a step forward decodes what
    lies between.
    """

    def __init__(self, stream: BinaryIO, layout: FlacLayout, pcm: Pcm, frames: int) -> None:
        self._stream = stream
        self._layout = layout
        self._pcm = pcm
        self._frames = frames
        info = layout.info
        # A block of the library's own is decoded whole or not at all.
        is_usual = info is not None and 16 <= info.max_block == info.min_block
        self._step = info.max_block if info is not None and is_usual else _BLOCK_FRAMES
        self.hindrance: Damage | None = None
        """Why nothing of it can be decoded here."""
        if not _is_decodable(stream, layout, pcm):
            text = f"Samples of {pcm.valid_bits} bits, as they lie here, cannot be decoded."
            self.hindrance = Damage(kind="flac-bits", offset=layout.start, text=text)
        self._begin()

    def _begin(self) -> None:
        self.fault = self.hindrance
        """Why and from which sample on nothing could be decoded, once it was met."""
        self._decoder: Decoder | None = None
        self._md5 = hashlib.md5(usedforsecurity=False)
        self._start = 0
        self._block = b""

    @property
    def octets(self) -> int:
        """How many there are, by what the file states or by what was counted."""
        return self._frames * self._pcm.frame_octets

    @property
    def decoded_frames(self) -> int:
        """Samples a channel that have been decoded so far."""
        return (self._start + len(self._block)) // self._pcm.frame_octets

    def read_at(self, offset: int, octets: int) -> bytes:
        """Return at least one and at most `octets` octets from `offset` on, both inside it.

        Raises MaterialError where the file cannot be decoded any further, and then `fault` tells;
        SurroundingsError if it cannot be read.
        """
        if offset < self._start:
            self._begin()
        while offset >= self._start + len(self._block):
            self._next()
        at = offset - self._start
        return self._block[at : at + octets]

    def proof(self) -> tuple[Damage, ...]:
        """Decode what has not been yet, and hold all of it against what the file states.

        Raises SurroundingsError if it cannot be read.
        """
        while self.decoded_frames < self._frames and self.fault is None:
            with suppress(MaterialError):
                self._next()
        if self.fault is not None:
            return (self.fault,)
        return tuple(self._against_statements())

    def _against_statements(self) -> Iterator[Damage]:
        with suppress(MaterialError):
            if self._decoder is not None and self._decoder.next(1):
                text = f"More than the {self._frames} samples follow that the file states."
                yield self._damage("flac-length", text)
        found, stated = self._md5.hexdigest(), self._layout.md5
        if stated and found != stated:
            text = (
                f"The MD5 of the samples is {found}, the file states {stated}: they are not those "
                "that were encoded."
            )
            yield self._damage("flac-md5-differs", text)

    def _next(self) -> None:
        """Decode the next block."""
        if self.fault is not None:
            raise MaterialError(self.fault.text)
        at = self.decoded_frames
        self._start += len(self._block)
        self._block = b""
        try:
            if self._decoder is None:
                self._decoder = _decoder(self._stream, self._layout)
            block = self._decoder.next(min(self._step, self._frames - at))
        except MaterialError as error:
            text = f"After {at} samples the audio cannot be decoded: {error.sentence}"
            self.fault = self._damage("flac-frame", text)
            raise MaterialError(text) from error
        if not block:
            text = f"The audio ends after {at} of {self._frames} samples."
            self.fault = self._damage("flac-ends-early", text)
            raise MaterialError(text)
        self._md5.update(right_justified(block, self._pcm))
        self._block = block.translate(FLIPPED) if self._pcm.container_bits == 8 else block

    def _damage(self, kind: str, text: str) -> Damage:
        return Damage(kind=kind, offset=self._layout.audio_offset or 0, text=printable(text))


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """The wave file that a FLAC file stands for."""

    stream: BinaryIO
    essence: Essence
    damage: tuple[Damage, ...]
    """Of the chunks that were kept, and what keeps the samples from being decoded."""


def restored(stream: BinaryIO, layout: FlacLayout, *, frames: int | None = None) -> Restored | None:
    """Return the wave file that a FLAC file stands for, no sample of it decoded yet.

    `frames` is how many samples a channel there are, if not as stated. None where format, length or
    place of the audio is not known. Raises SurroundingsError if reading fails.
    """
    known = layout.frames if frames is None else frames
    own = layout.pcm
    if own is None or known is None or layout.audio_offset is None:
        return None
    kept, damage = read_foreign(stream, layout, frames=known)
    essence = Essence(stream, layout, own, known)
    if essence.hindrance is not None:
        damage = (*damage, essence.hindrance)
    pad = Fixed(b"\0" * (essence.octets % 2))
    pieces: list[Piece]
    if kept is None:
        pieces = [Fixed(assembled.head_of(own, essence.octets)), essence, pad]
    else:
        pieces = [*kept.before, essence, pad, *kept.behind]
    return Restored(stream=assembled.opened(pieces), essence=essence, damage=damage)


def counted(stream: BinaryIO, layout: FlacLayout) -> tuple[int, tuple[Damage, ...]]:
    """Decode a file that does not state its length; return its samples a channel and damage.

    Raises SurroundingsError if reading fails.
    """
    if layout.pcm is None or layout.audio_offset is None:
        return 0, ()
    essence = Essence(stream, layout, layout.pcm, MAX_FRAMES)
    damage = tuple(fault for fault in essence.proof() if fault.kind != "flac-ends-early")
    return essence.decoded_frames, damage


def right_justified(block: bytes, pcm: Pcm) -> bytes:
    """Move left-justified signed samples down to their lowest bits: so MD5 takes them (§8.2)."""
    width, bits = pcm.container_bits, pcm.valid_bits
    if bits == width:
        return block
    # All samples at once, as one long number: `ones` has the lowest bit of each set.
    whole = int.from_bytes(block, "little")
    ones = int.from_bytes((b"\1" + bytes(width // 8 - 1)) * (len(block) * 8 // width), "little")
    signs = whole >> width - 1 & ones
    moved = whole >> width - bits & ones * ((1 << bits) - 1)
    return (moved | signs * ((1 << width) - (1 << bits))).to_bytes(len(block), "little")


def _is_decodable(stream: BinaryIO, layout: FlacLayout, pcm: Pcm) -> bool:
    """Tell whether the library reads such samples: by STREAMINFO few widths, more by frames."""
    if pcm.valid_bits in BITS:
        return True
    # Of the fourth octet of a frame, three bits state the width (§9.1.4).
    head = read_at(stream, layout.audio_offset or 0, 4)
    stated = head[3] >> 1 & 0x7 if len(head) == 4 else 0
    return FRAME_BITS.get(pcm.valid_bits) == stated


def _decoder(stream: BinaryIO, layout: FlacLayout) -> "Decoder":
    from tailsout.wave.flac_codec import Decoder  # noqa: PLC0415  see its docstring

    return Decoder(stream, layout)
