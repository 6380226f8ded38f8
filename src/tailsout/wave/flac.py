"""One walk along the metadata blocks of a FLAC file, trusting no size it declares.

FLAC: RFC 9639 §8 (metadata blocks) and appendix D.2 (a tag in front); Vorbis comments as §8.6 has
them. Section numbers are from memory. Audio frames are not decoded here, pictures and cue sheets
are listed and never opened. Nothing is repaired; a fault is told as `Damage`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import counted
from tailsout.wave import streaminfo
from tailsout.wave.chunk import octets_of, read_at
from tailsout.wave.streaminfo import StreamInfo

MARK = b"fLaC"

MAX_BLOCKS = 10_000
"""Most metadata blocks that are walked."""

STREAMINFO, PADDING, APPLICATION, SEEKTABLE, VORBIS_COMMENT, CUESHEET, PICTURE = range(7)
_NAMES = (
    "STREAMINFO",
    "PADDING",
    "APPLICATION",
    "SEEKTABLE",
    "VORBIS_COMMENT",
    "CUESHEET",
    "PICTURE",
)
_FORBIDDEN = 127
"""A block of this type would look like the start of a frame."""

HEADER_OCTETS = 4
"""A bit that says whether it is the last, seven of type, 24 of length."""

_ID3_HEADER_OCTETS = 10
_ID3_CAP = 1 << 24
"""Largest tag in front that is skipped."""
_COMMENT_CAP = 1 << 20
"""Octets of a VORBIS_COMMENT that are read: beyond it lie pictures in disguise."""

_SMALLEST_FRAME = 10
"""Octets: sync and codes 4, number 1, CRC 1, one constant subframe of one octet 2, CRC 2 (§9)."""
_LARGEST_BLOCK = 65_535


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Where one metadata block lies; all figures in octets."""

    type: int
    offset: int
    """Of the payload, behind its four octets of header."""
    octets: int
    """Of the payload as declared; may exceed the file."""
    application: bytes = b""
    """The four octets that say whose an APPLICATION block is."""

    @property
    def name(self) -> str:
        """The type in the words of RFC 9639."""
        return _NAMES[self.type] if self.type < len(_NAMES) else f"type {self.type}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlacLayout:
    """What a FLAC file is made of."""

    file_octets: int
    start: int
    """Octet offset of the `fLaC` mark: 0, or behind a tag in front."""
    blocks: tuple[Block, ...]
    damage: tuple[Damage, ...]
    info: StreamInfo | None
    """None where no STREAMINFO was found or none that can be read."""
    vendor: str
    """What wrote the file, as it says itself; empty if it says nothing."""
    comments: tuple[tuple[str, str], ...]
    """Keys and values of the Vorbis comment, in order."""
    audio_offset: int | None
    """Where the first frame should start; None where the walk did not come so far."""

    @property
    def pcm(self) -> Pcm | None:
        """The format of the wave file that it stands for."""
        return self.info.pcm if self.info is not None else None

    @property
    def frames(self) -> int | None:
        """Samples a channel as stated; None if they are not stated."""
        return self.info.frames or None if self.info is not None else None

    @property
    def md5(self) -> str:
        """MD5 of the samples as stated, hex; empty if it is not stated."""
        return self.info.md5 if self.info is not None else ""

    @property
    def audio_octets(self) -> int:
        """Octets from the first frame to the end of the file."""
        return 0 if self.audio_offset is None else self.file_octets - self.audio_offset


def is_flac(stream: BinaryIO) -> bool:
    """Tell whether a seekable stream holds a FLAC file, be it behind a tag.

    Raises SurroundingsError if reading fails.
    """
    return read_at(stream, _tag_octets(stream), len(MARK)) == MARK


def read_flac(stream: BinaryIO) -> FlacLayout:
    """Walk the metadata blocks of a seekable stream.

    Raises SurroundingsError if reading fails, and nothing over the content.
    """
    return _Walk(stream).layout()


def _tag_octets(stream: BinaryIO) -> int:
    """Return the octets of an ID3v2 tag in front; 0 if there is none or it is beyond the cap."""
    head = read_at(stream, 0, _ID3_HEADER_OCTETS)
    if len(head) < _ID3_HEADER_OCTETS or head[:3] != b"ID3" or max(head[6:]) > 0x7F:
        return 0
    # Four octets of seven bits each, and a footer of ten octets where a flag says so.
    octets = int.from_bytes(head[6:], "big")
    octets = sum((octets >> (8 * n) & 0x7F) << (7 * n) for n in range(4))
    octets += _ID3_HEADER_OCTETS * (2 if head[5] & 0x10 else 1)
    return octets if octets <= _ID3_CAP else 0


class _Walk:
    """The state of one walk."""

    def __init__(self, stream: BinaryIO) -> None:
        self.stream = stream
        self.file_octets = octets_of(stream)
        self.start = _tag_octets(stream)
        self.at = self.start + len(MARK)
        self.blocks: list[Block] = []
        self.damage: list[Damage] = []
        self.info: StreamInfo | None = None
        self.has_comment = False
        self.vendor = ""
        self.comments: tuple[tuple[str, str], ...] = ()
        self.audio_offset: int | None = None

    def layout(self) -> FlacLayout:
        if read_at(self.stream, self.start, len(MARK)) != MARK:
            # A tag may claim to be longer than the file.
            at = min(self.start, self.file_octets)
            self._tell("not-flac", at, "No fLaC mark stands here; nothing is walked.")
        else:
            if self.start:
                text = (
                    f"An ID3v2 tag of {self.start} octets stands in front, a FLAC file begins "
                    "with fLaC; the tag is skipped."
                )
                self._tell("flac-tag-in-front", 0, text)
            self._blocks()
            self.damage += self._judged()
        return FlacLayout(
            file_octets=self.file_octets,
            start=self.start,
            blocks=tuple(self.blocks),
            damage=tuple(self.damage),
            info=self.info,
            vendor=self.vendor,
            comments=self.comments,
            audio_offset=self.audio_offset,
        )

    def _tell(self, kind: str, offset: int, text: str) -> None:
        self.damage.append(Damage(kind=kind, offset=offset, text=text))

    def _blocks(self) -> None:
        for _ in range(MAX_BLOCKS):
            header = read_at(self.stream, self.at, HEADER_OCTETS)
            if len(header) < HEADER_OCTETS:
                text = f"A block header takes 4 octets, left are {len(header)}; the walk stops."
                self._tell("flac-truncated", self.at, text)
                return
            is_last, sort = divmod(header[0], 0x80)
            if sort == _FORBIDDEN:
                text = "The block type 127 is forbidden; the walk stops."
                self._tell("flac-block-type", self.at, text)
                return
            if not self._take(sort, int.from_bytes(header[1:], "big")):
                return
            if is_last:
                self.audio_offset = self.at
                return
        text = f"The file has more than {MAX_BLOCKS} metadata blocks; the walk stops."
        self._tell("flac-too-many-blocks", self.at, text)

    def _take(self, sort: int, octets: int) -> bool:
        """List one block and move behind it; say whether the walk goes on."""
        offset = self.at + HEADER_OCTETS
        present = self.file_octets - offset
        application = read_at(self.stream, offset, 4) if sort == APPLICATION else b""
        block = Block(type=sort, offset=offset, octets=octets, application=application[:octets])
        self.blocks.append(block)
        if octets > present:
            text = (
                f"The {block.name} block declares {counted(octets, 'octet')}, the file holds "
                f"{present} of them; the walk stops."
            )
            self._tell("flac-truncated", self.at, text)
            return False
        if sort == STREAMINFO:
            self._stream_info(block)
        elif sort == VORBIS_COMMENT:
            self._comment(block)
        elif sort == APPLICATION and octets < len("riff"):
            text = f"An APPLICATION block has {counted(octets, 'octet')}, whose it is takes 4."
            self._tell("flac-application", self.at, text)
        self.at = offset + octets
        return True

    def _stream_info(self, block: Block) -> None:
        if self.info is not None or any(b.type == STREAMINFO for b in self.blocks[:-1]):
            text = "There is a second STREAMINFO block; the first one is taken."
            self._tell("flac-duplicate-streaminfo", self.at, text)
            return
        if len(self.blocks) > 1:
            text = "The STREAMINFO block must be the first, it is not."
            self._tell("flac-streaminfo", self.at, text)
        if block.octets != streaminfo.OCTETS:
            text = f"The STREAMINFO block has {counted(block.octets, 'octet')}, it must have 34."
            self._tell("flac-streaminfo", self.at, text)
        payload = read_at(self.stream, block.offset, min(block.octets, streaminfo.OCTETS))
        self.info, faults = streaminfo.decode(payload, offset=block.offset)
        self.damage += faults

    def _comment(self, block: Block) -> None:
        if self.has_comment:
            text = "There is a second Vorbis comment; the first one is taken."
            self._tell("flac-comment", self.at, text)
            return
        self.has_comment = True
        payload = read_at(self.stream, block.offset, min(block.octets, _COMMENT_CAP))
        self.vendor, self.comments, why = _comments_in(payload)
        if block.octets > _COMMENT_CAP:
            why = f"it has {block.octets} octets, {_COMMENT_CAP} are read"
        if why:
            text = f"The Vorbis comment is not as it should be: {why}; what is clear is taken."
            self._tell("flac-comment", block.offset, text)

    def _judged(self) -> Iterator[Damage]:
        """Set the blocks against what follows them."""
        if not any(block.type == STREAMINFO for block in self.blocks):
            text = "No STREAMINFO block was found: how the samples lie is not stated."
            yield Damage(kind="flac-streaminfo", offset=self.start, text=text)
        if self.audio_offset is None or self.info is None:
            return
        octets = self.file_octets - self.audio_offset
        start = read_at(self.stream, self.audio_offset, 2)
        if start[:1] != b"\xff" or start[1:] not in {b"\xf8", b"\xf9"}:
            text = "No audio frame starts behind the metadata."
            yield Damage(kind="flac-no-audio", offset=self.audio_offset, text=text)
        elif self.info.frames > -(-octets // _SMALLEST_FRAME) * _LARGEST_BLOCK:
            frames = counted(self.info.frames, "sample")
            text = f"The file states {frames} a channel, its {octets} octets cannot hold them."
            yield Damage(kind="flac-length", offset=self.audio_offset, text=text)


def _comments_in(payload: bytes) -> tuple[str, tuple[tuple[str, str], ...], str]:
    """Return vendor, fields, and why not all could be read; empty if they could."""
    vendor, at = _counted(payload, 0)
    if vendor is None:
        return "", (), "the name of the encoder runs past its end"
    count = int.from_bytes(payload[at : at + 4], "little")
    fields: list[tuple[str, str]] = []
    at += 4
    while len(fields) < count:
        # A field takes four octets at least, so a count that lies ends here.
        field, at = _counted(payload, at)
        if field is None:
            return vendor, tuple(fields), f"{len(fields)} of {counted(count, 'field')} can be read"
        key, _, value = field.partition("=")
        fields.append((key, value))
    return vendor, tuple(fields), ""


def _counted(payload: bytes, at: int) -> tuple[str | None, int]:
    """Read a text behind its length; None where it runs past the end."""
    end = at + 4 + int.from_bytes(payload[at : at + 4], "little")
    if len(payload) < at + 4 or end > len(payload):
        return None, at
    return payload[at + 4 : end].decode("utf-8", "backslashreplace"), end


def application_blocks(blocks: Sequence[Block], application: bytes) -> tuple[Block, ...]:
    """Return the APPLICATION blocks of one application, in file order."""
    return tuple(b for b in blocks if b.type == APPLICATION and b.application == application)
