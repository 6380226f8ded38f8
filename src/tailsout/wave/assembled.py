"""Several wave files read as one: parts that a recorder split, or one mono file a track.

What comes out is a read-only stream whose octets are a plain wave file: `fmt `, `data`, and no
chunk besides (RIFF 1991 chapter 3; past 4 GiB EBU Tech 3306). Nothing is copied to a disk, so what
walks, measures and copies one capture does so with several. The chunks of the sources are not in
it: marks and notes that were true of one file are not true of the whole.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import BinaryIO, Protocol, cast

from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.pcm import Pcm
from tailsout.wave import fmt
from tailsout.wave.chunk import HEADER
from tailsout.wave.ds64 import UNSTATED
from tailsout.wave.embed import Recipe, audio_of, form_head
from tailsout.wave.riff import Layout

_BLOCK_FRAMES = 1 << 14
_KEEP = "Keep them apart, as they were captured."


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """How long a file is, and when it begins."""

    pcm: Pcm | None
    frames: int
    time_reference: int | None
    """Samples since midnight (EBU Tech 3285 v2 §2.3); None where there is no `bext`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One file that is open, as it was walked."""

    stream: BinaryIO
    layout: Layout
    time_reference: int | None = None

    @property
    def extent(self) -> Extent:
        """How long it is, and when it begins."""
        return Extent(
            pcm=self.layout.pcm, frames=self.layout.frames, time_reference=self.time_reference
        )


class Piece(Protocol):
    """A stretch of an assembled stream."""

    @property
    def octets(self) -> int:
        """How long it is."""
        ...

    def read_at(self, offset: int, octets: int) -> bytes:
        """Return at least one and at most `octets` octets from `offset` on, both inside it."""
        ...


class Assembled(io.RawIOBase):
    """The octets of some pieces, one behind the other; seekable, read-only."""

    def __init__(self, pieces: Sequence[Piece]) -> None:
        super().__init__()
        self._pieces = [piece for piece in pieces if piece.octets]
        self._octets = sum(piece.octets for piece in self._pieces)
        self._position = 0

    def readable(self) -> bool:
        """Say yes."""
        return True

    def seekable(self) -> bool:
        """Say yes."""
        return True

    def tell(self) -> int:
        """Return the position, in octets."""
        return self._position

    def seek(self, offset: int, whence: int = io.SEEK_SET, /) -> int:
        """Move to a position that is not before the start, and return it."""
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self._position, io.SEEK_END: self._octets}[whence]
        if base + offset < 0:
            raise ValueError(f"seek to {base + offset}, before the start")
        self._position = base + offset
        return self._position

    # `BinaryIO` names what to read into by a wider type than the class this one derives from.
    def readinto(self, buffer: memoryview, /) -> int:  # type: ignore[override]
        """Fill a buffer as far as one piece goes; 0 at the end.

        Raises SurroundingsError if a source cannot be read or has become shorter.
        """
        offset = self._position
        for piece in self._pieces:
            if offset < piece.octets:
                wanted = min(len(buffer), piece.octets - offset)
                block = piece.read_at(offset, wanted) if wanted else b""
                buffer[: len(block)] = block
                self._position += len(block)
                return len(block)
            offset -= piece.octets
        return 0


def opened(pieces: Sequence[Piece]) -> BinaryIO:
    """Return a stream of the octets of some pieces, as whoever reads a file wants it."""
    return cast("BinaryIO", Assembled(pieces))


@dataclass(frozen=True, slots=True)
class Fixed:
    """Octets that are known."""

    content: bytes

    @property
    def octets(self) -> int:
        """How many there are."""
        return len(self.content)

    def read_at(self, offset: int, octets: int) -> bytes:
        """Return them from `offset` on."""
        return self.content[offset : offset + octets]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Octets of a file that is open."""

    stream: BinaryIO
    start: int
    octets: int

    def read_at(self, offset: int, octets: int) -> bytes:
        """Return some from `offset` on. Raises SurroundingsError."""
        try:
            self.stream.seek(self.start + offset)
            block = self.stream.read(octets)
        except OSError as error:
            raise from_os_error(error, "Reading a capture") from error
        if not block:
            raise SurroundingsError(
                f"A capture ended {self.octets - offset} octets early: it was changed while it "
                "was read.",
                "Make sure nothing writes to it, then run the same command again.",
            )
        return block


@dataclass(frozen=True, slots=True, kw_only=True)
class _Interleaved:
    """Mono stretches of one length, a sample of each in turn."""

    tracks: tuple[Stretch, ...]
    sample_octets: int

    @property
    def octets(self) -> int:
        return len(self.tracks) * self.tracks[0].octets

    def read_at(self, offset: int, octets: int) -> bytes:
        width = self.sample_octets
        frame = width * len(self.tracks)
        first = offset // frame
        last = min(-(-(offset + octets) // frame), first + _BLOCK_FRAMES)
        block = bytearray((last - first) * frame)
        for track, stretch in enumerate(self.tracks):
            samples = _whole(stretch, first * width, (last - first) * width)
            for octet in range(width):
                block[track * width + octet :: frame] = samples[octet::width]
        start = offset - first * frame
        return bytes(block[start : start + octets])


def _whole(stretch: Stretch, offset: int, octets: int) -> bytes:
    taken = bytearray()
    while len(taken) < octets:
        taken += stretch.read_at(offset + len(taken), octets - len(taken))
    return bytes(taken)


def gap_between(parts: Sequence[Extent]) -> str:
    """Say why parts in order are not proved to follow each other without a gap; empty if they are.

    The proof is that TimeReference (EBU Tech 3285 v2 §2.3) of each part is that of the part before
    and its frames, and that all have one format.
    """
    for number, (before, after) in enumerate(pairwise(parts), start=1):
        names = f"part {number} and part {number + 1}"
        if before.pcm != after.pcm:
            return f"{names} have different formats."
        if before.time_reference is None or after.time_reference is None:
            lacking = number if before.time_reference is None else number + 1
            return f"part {lacking} states no TimeReference."
        wanted, found = before.time_reference + before.frames, after.time_reference
        if found != wanted:
            return (
                f"between {names} {_apart(found - wanted)}: the TimeReference is {found}, by the "
                f"part before it should be {wanted}."
            )
    return ""


def _apart(samples: int) -> str:
    if abs(samples) == 1:
        return "1 sample is missing" if samples > 0 else "1 sample comes twice"
    return f"{abs(samples)} samples {'are missing' if samples > 0 else 'come twice'}"


def difference_between(tracks: Sequence[Extent]) -> str:
    """Say why mono files cannot be the tracks of one file; empty if they can."""
    first = tracks[0]
    for number, one in enumerate(tracks, start=1):
        if one.pcm is None or one.pcm.channels != 1:
            return f"file {number} is not mono."
        if one.pcm != first.pcm:
            return f"file {number} has another format than file 1."
        if one.frames != first.frames:
            return f"file {number} has {one.frames} samples, file 1 has {first.frames}."
        starts = [t.time_reference for t in (first, one) if t.time_reference is not None]
        if len(set(starts)) > 1:
            return f"file {number} begins at TimeReference {starts[1]}, file 1 at {starts[0]}."
    return ""


def joined(parts: Sequence[Source]) -> BinaryIO:
    """Return parts in order as one wave file.

    Raises MaterialError where the audio of a part is not beyond doubt or is not a whole number of
    frames, and where `gap_between` finds them not proved to be gapless.
    """
    pcm, stretches = _stretches(parts)
    _refuse(gap_between([part.extent for part in parts]), "joined")
    octets = sum(stretch.octets for stretch in stretches)
    return _around(pcm, octets, stretches)


def interleaved(tracks: Sequence[Source]) -> BinaryIO:
    """Return mono files as one wave file of as many channels, in the order given.

    Raises MaterialError where the audio of one is not beyond doubt, and for what
    `difference_between` finds.
    """
    mono, stretches = _stretches(tracks)
    _refuse(difference_between([track.extent for track in tracks]), "interleaved")
    pcm = replace(mono, channels=len(tracks), channel_mask=None)
    audio = _Interleaved(tracks=tuple(stretches), sample_octets=mono.frame_octets)
    return _around(pcm, audio.octets, [audio])


def copied(source: BinaryIO, recipe: Recipe) -> BinaryIO:
    """Return the copy that a recipe makes of a source, without making it."""
    return opened(
        [
            Fixed(segment)
            if isinstance(segment, bytes)
            else Stretch(stream=source, start=segment.offset, octets=segment.octets)
            for segment in recipe.segments
        ]
    )


def _refuse(why: str, done: str) -> None:
    if why:
        raise MaterialError(f"These files cannot be {done}: {why}", _KEEP)


def _stretches(sources: Sequence[Source]) -> tuple[Pcm, list[Stretch]]:
    found = [audio_of(source.layout) for source in sources]
    for data, pcm in found:
        if data.octets % pcm.frame_octets:
            raise MaterialError("One of these files ends in the middle of a sample frame.", _KEEP)
    stretches = [
        Stretch(stream=source.stream, start=data.offset, octets=data.octets)
        for source, (data, _) in zip(sources, found, strict=True)
    ]
    return found[0][1], stretches


def _around(pcm: Pcm, octets: int, audio: Sequence[Piece]) -> BinaryIO:
    """Put a head before audio of so many octets, and a pad behind it where it is odd."""
    return opened([Fixed(head_of(pcm, octets)), *audio, Fixed(b"\0" * (octets % 2))])


def head_of(pcm: Pcm, octets: int) -> bytes:
    """Return a wave file as far as its audio of so many octets, with no chunk but `fmt `."""
    about = fmt.encode(pcm)
    about = HEADER.pack(b"fmt ", len(about)) + about
    riff_octets = len(b"WAVE") + len(about) + HEADER.size + octets + octets % 2
    form, head = form_head(riff_octets, data=octets, frames=octets // pcm.frame_octets)
    stated = octets if form == "RIFF" else UNSTATED
    return head + about + HEADER.pack(b"data", stated)
