"""One walk along the chunks of a wave file, trusting no size it declares.

RIFF and WAVE: Multimedia Programming Interface and Data Specifications 1.0 (1991), chapters 2
and 3; RF64: EBU Tech 3306; BW64: ITU-R BS.2088-1.

Nothing is repaired, LIST chunks are not opened, no payload but that of `ds64` is read. A fault
is told as `Damage`; where it bears on the walk, its text says whether the walk goes on or stops.
"""

from collections import deque
from collections.abc import Iterator
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.ground.units import counted
from tailsout.wave import ds64
from tailsout.wave.chunk import HEADER, Chunk, is_id, octets_of, read_at, shown
from tailsout.wave.ds64 import UNSTATED
from tailsout.wave.signature import HEAD_OCTETS, WAVE_FORMS, form_of

MAX_CHUNKS = 10_000
"""Most chunks that are walked."""

FIRST_CHUNK = 12
"""Offset of the first chunk: behind the form's id, size and type."""

_WRAP = 1 << 32
_ID3_HEADER, _ID3_FOOTER = 10, 0x10
_CASED = b"fmt |data|fact|LIST|cue |bext|ds64|iXML|axml|chna|umid|levl|cart".split(b"|")
"""Ids whose chunk is lost to readers where the case is wrong. Fillers mean nothing in any case, and
`id3 ` is in use in both."""
_BY_FOLDED = {chunk_id.lower(): chunk_id for chunk_id in _CASED}


def walk(stream: BinaryIO) -> Iterator[Chunk | Damage]:
    """Yield the chunks of a seekable stream in file order, and every fault where it is met.

    A chunk that runs past the end of the file is yielded as well, before its damage. Raises
    SurroundingsError if reading fails, and nothing over the content.
    """
    octets = octets_of(stream)
    head = read_at(stream, 0, HEAD_OCTETS)
    form = form_of(head)
    if form not in WAVE_FORMS:
        begins = f", its first octets are {head.hex(' ')}" if form == "unknown" else ""
        form = _behind_tag(stream, head) or form
        text = (
            f"The file is not a RIFF, RF64 or BW64 wave file but {form}{begins}; nothing is walked."
        )
        yield Damage(kind="not-wave", offset=0, text=text)
        return
    yield from _Walk(stream, form, octets, int.from_bytes(head[4:8], "little")).items()


def _behind_tag(stream: BinaryIO, head: bytes) -> str:
    """Name what stands behind an ID3 tag at the head (ID3v2.4 §3.1), if it is a wave file."""
    if head[:3] != b"ID3" or len(head) < _ID3_HEADER:
        return ""
    size = sum((one & 0x7F) << 7 * place for place, one in enumerate(reversed(head[6:10])))
    behind = _ID3_HEADER + size + (_ID3_HEADER if head[5] & _ID3_FOOTER else 0)
    form = form_of(read_at(stream, behind, HEAD_OCTETS))
    return f"an ID3 tag, and {form} from octet {behind} on" if form in WAVE_FORMS else ""


class _Walk:
    """The state of one walk."""

    def __init__(self, stream: BinaryIO, form: str, file_octets: int, stated: int) -> None:
        self.stream = stream
        self.form = form
        self.file_octets = file_octets
        self.stated = stated
        self.sizes: ds64.Sizes | None = None
        self.rows: dict[bytes, deque[int]] = {}
        self.riff_end: int | None = None
        self.at = FIRST_CHUNK
        self.on_riff_end = False
        self.data_at: int | None = None
        self.going = True
        self.kinds: list[str] = []

    def items(self) -> Iterator[Chunk | Damage]:
        if self.form != "RIFF":
            yield from self._read_ds64()
        riff_octets = (self.sizes.riff if self.sizes else 0) or self.stated
        if riff_octets not in {0, UNSTATED}:
            self.riff_end = 8 + riff_octets
        self.on_riff_end = self.riff_end == self.at
        for _ in range(MAX_CHUNKS):
            if self._over():
                break
            for item in self._step():
                if isinstance(item, Damage):
                    self.kinds.append(item.kind)
                yield item
        if not self._over():
            self.going = False
            text = f"The file has more than {MAX_CHUNKS} chunks; the walk stops."
            yield Damage(kind="too-many-chunks", offset=self.at, text=text)
        yield from self._judge_rows()
        yield from self._judge_riff_size()

    def _over(self) -> bool:
        if not self.going or self.at >= self.file_octets:
            return True
        # A size that is too short may end the RIFF before the audio: then whatever looks like a
        # chunk is still taken.
        return self.on_riff_end and (self.data_at is not None or not self._starts_at(self.at))

    def _read_ds64(self) -> Iterator[Damage]:
        header = read_at(self.stream, FIRST_CHUNK, HEADER.size)
        if len(header) < HEADER.size or header[:4] != b"ds64":
            text = (
                f"The first chunk of a {self.form} file must be ds64, it is not; the walk goes on "
                "with the 32-bit sizes."
            )
            yield Damage(kind="ds64-missing", offset=FIRST_CHUNK, text=text)
            return
        offset = FIRST_CHUNK + HEADER.size
        octets = min(int.from_bytes(header[4:], "little"), ds64.MAX_OCTETS)
        payload = read_at(self.stream, offset, octets)
        self.sizes, faults = ds64.decode(payload, offset=offset)
        for chunk_id, size in self.sizes.table if self.sizes else ():
            self.rows.setdefault(chunk_id, deque()).append(size)
        yield from faults

    def _step(self) -> Iterator[Chunk | Damage]:
        """Take one chunk and move on to where the next one should start."""
        at = self.at
        header = read_at(self.stream, at, HEADER.size)
        if len(header) < HEADER.size:
            self.going = False
            yield self._left_over(len(header))
            return
        chunk_id, stated = HEADER.unpack(header)
        true = self._true_octets(chunk_id, stated)
        octets = UNSTATED if true is None else true
        offset = at + HEADER.size
        end = offset + octets
        yield from self._judge_header(chunk_id, stated, octets)
        if not self.going:
            return
        pad, pad_damage = 0, None
        if octets % 2 and end <= self.file_octets and true is not None:
            pad, pad_damage = self._pad(chunk_id, end)
        self.at = end + pad
        self.on_riff_end = self.riff_end in {end, self.at}
        if chunk_id == b"data" and self.data_at is None:
            self.data_at = at
        yield Chunk(id=chunk_id, header_offset=at, offset=offset, octets=octets, pad=pad)
        if pad_damage is not None:
            yield pad_damage
        yield from self._judge_end(chunk_id, true, at)

    def _left_over(self, octets: int) -> Damage:
        text = f"A chunk header takes {HEADER.size} octets, left are {octets}; the walk stops."
        # Where the RIFF form counts them, nothing was cut off: they are a filler without a header.
        whole = self.data_at is not None and self.riff_end == self.file_octets
        kind = "trailing-octets" if whole else "truncated"
        return Damage(kind=kind, offset=self.at, text=text)

    def _true_octets(self, chunk_id: bytes, stated: int) -> int | None:
        """Return the payload size; None where no place of the file states it."""
        if chunk_id == b"data" and self.data_at is None and self.sizes is not None:
            # ds64 goes before a 32-bit size that is filled in as well; a ds64 that was never
            # filled in has zeros throughout.
            if self.sizes.data or (stated == UNSTATED and self.sizes.riff):
                return self.sizes.data
        elif stated == UNSTATED and self.rows.get(chunk_id):
            return self.rows[chunk_id].popleft()
        return None if stated == UNSTATED else stated

    def _judge_header(self, chunk_id: bytes, stated: int, octets: int) -> Iterator[Damage]:
        at = self.at
        likely = _BY_FOLDED.get(chunk_id.lower(), chunk_id)
        if not is_id(chunk_id):
            end = at + HEADER.size + octets
            self.going = self._starts_at(end + octets % 2)
            text = (
                f"The chunk id '{shown(chunk_id)}' is not four printable ASCII characters; the "
                f"walk {'goes on' if self.going else 'stops'}."
            )
            yield Damage(kind="bad-chunk-id", offset=at, text=text)
        elif likely != chunk_id:
            text = (
                f"The chunk id '{shown(chunk_id)}' is '{shown(likely)}' but for its case, which "
                "counts; the walk goes on, the chunk is taken for an unknown one."
            )
            yield Damage(kind="id-case", offset=at, text=text)
        elif chunk_id == b"ds64" and (self.form == "RIFF" or at != FIRST_CHUNK):
            why = "has no meaning in a RIFF file"
            if self.form != "RIFF":
                why = "must come first and only once"
            text = f"A ds64 chunk {why}; the walk goes on without the sizes of this one."
            yield Damage(kind="ds64-unused", offset=at, text=text)
        elif stated not in {octets, UNSTATED}:
            text = (
                f"The data chunk states {stated} octets, its ds64 chunk {octets}; the walk goes "
                "on with the latter."
            )
            yield Damage(kind="ds64-mismatch", offset=at, text=text)
        elif chunk_id == b"data" and stated not in {0, UNSTATED} and self._says_no_audio():
            text = (
                f"The data chunk states {stated} octets, its ds64 chunk none; the walk goes on "
                "with the former."
            )
            yield Damage(kind="ds64-mismatch", offset=at, text=text)

    def _says_no_audio(self) -> bool:
        """Say whether a ds64 that was filled in states no octets of audio, and none came yet."""
        return (
            self.data_at is None
            and self.sizes is not None
            and self.sizes.riff > 0
            and not self.sizes.data
        )

    def _pad(self, chunk_id: bytes, end: int) -> tuple[int, Damage | None]:
        """Say whether a pad octet lies at `end`, where a chunk of odd size ends."""
        octet = read_at(self.stream, end, 1)
        if octet == b"\0":
            return 1, None
        name = shown(chunk_id)
        if not octet or end == self.riff_end:
            text = f"The last chunk, {name}, has an odd size and no pad octet; nothing is lost."
            return 0, Damage(kind="missing-final-pad", offset=end, text=text)
        if self._starts_at(end) and not self._starts_at(end + 1):
            text = (
                f"The {name} chunk has an odd size and no pad octet: the next chunk seems to "
                "start right behind it; the walk goes on there."
            )
            return 0, Damage(kind="missing-pad", offset=end, text=text)
        text = (
            f"The pad octet behind the {name} chunk is 0x{octet.hex()}, it must be 0; the walk "
            "goes on."
        )
        return 1, Damage(kind="pad-not-zero", offset=end, text=text)

    def _judge_end(self, chunk_id: bytes, octets: int | None, at: int) -> Iterator[Damage]:
        present = self.file_octets - at - HEADER.size
        if octets is None:
            kind = "never-finished"
            text = (
                f"The {shown(chunk_id)} chunk states no size, as a stream does that was never "
                f"finished; {present} octets follow; the walk stops."
            )
        elif octets > present:
            kind = "truncated"
            text = (
                f"The {shown(chunk_id)} chunk declares {counted(octets, 'octet')}, the file holds "
                f"{present} of them; the walk stops."
            )
        else:
            return
        self.going = False
        yield Damage(kind=kind, offset=at, text=text)

    def _judge_rows(self) -> Iterator[Damage]:
        left = {chunk_id: len(sizes) for chunk_id, sizes in self.rows.items() if sizes}
        if self.going and left:
            text = (
                f"{sum(left.values())} rows of the ds64 table belong to no chunk, the first of "
                f"them to {shown(next(iter(left)))}; nothing is lost."
            )
            yield Damage(kind="ds64-row-unused", offset=FIRST_CHUNK + HEADER.size, text=text)

    def _judge_riff_size(self) -> Iterator[Damage]:
        filled_in = self.sizes is None or self.sizes.riff
        if self.riff_end is None or not filled_in:
            if self.form == "RIFF" or self.sizes is not None:
                yield self._riff_size(self.sizes.riff if self.sizes else self.stated)
            return
        beyond = self.file_octets - self.riff_end
        padless = beyond == -1 and "missing-final-pad" in self.kinds
        # The size that a cut file states is not wrong by itself: its last chunk tells of the cut.
        if beyond == 0 or padless or (beyond < 0 and "truncated" in self.kinds):
            return
        if beyond > 0 and beyond % _WRAP == 0 and self.form == "RIFF":
            text = (
                f"The RIFF size {self.stated} is short by {beyond // _WRAP} times 2^32: the file "
                "outgrew its 32-bit sizes, so where its audio ends is not known."
            )
            yield Damage(kind="size-wrapped", offset=4, text=text)
            return
        stopped_before = self.at < self.riff_end
        if beyond < 0 or not (stopped_before or self.at == self.riff_end):
            yield self._riff_size(self.riff_end - 8)
        if beyond > 0 and (stopped_before or self.on_riff_end):
            end = max(self.at, self.riff_end)
            if end < self.file_octets:
                yield self._trailing(end)

    def _trailing(self, end: int) -> Damage:
        form = form_of(read_at(self.stream, end, HEAD_OCTETS))
        another = f" and begin as another {form} file" if form in WAVE_FORMS else ""
        text = (
            f"{self.file_octets - end} octets follow the end of the RIFF form{another}; they are "
            "not walked."
        )
        return Damage(kind="trailing-octets", offset=end, text=text)

    def _riff_size(self, stated: int) -> Damage:
        early = self.data_at is not None and 8 + stated <= self.data_at
        text = (
            f"The file states a RIFF size of {stated}, by its length it is "
            f"{self.file_octets - 8}{': its audio lies outside' if early else ''}; the walk goes "
            "on without it."
        )
        offset = 4 if self.sizes is None else FIRST_CHUNK + HEADER.size
        kind = "riff-ends-early" if early else "riff-size"
        return Damage(kind=kind, offset=offset, text=text)

    def _starts_at(self, at: int) -> bool:
        """Say whether a chunk could start at `at`, or else the file or the RIFF ends there."""
        if at in {self.file_octets, self.riff_end}:
            return True
        if at > self.file_octets - HEADER.size:
            return False
        chunk_id, stated = HEADER.unpack(read_at(self.stream, at, HEADER.size))
        fits = stated == UNSTATED or stated <= self.file_octets - at - HEADER.size
        return fits and is_id(chunk_id)
