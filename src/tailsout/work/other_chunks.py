"""Looks into the chunks beside the audio of one wave file: lists, marks, tables, documents.

Each is read up to a size and a number; what goes beyond is told. What is in no chunk named here is
listed by its id and left alone, `id3 ` before all: it can hold a compressed bomb.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import BinaryIO, TypeVar

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable
from tailsout.mapping import tags as mapped
from tailsout.records.tags import InfoEntry, SetMark, Tags, UmidParts, XmlDocument
from tailsout.wave import (
    adtl,
    bext,
    cart,
    chna,
    chunk_limits,
    cset,
    fact,
    info,
    levl,
    lists,
    marks,
    umid,
    xmlchunks,
)
from tailsout.wave.bext import Bext
from tailsout.wave.chunk_limits import Faults
from tailsout.wave.lists import Part
from tailsout.wave.riff import Chunk, Layout, read_chunk

_READ = frozenset(b"ds64|fmt |data|bext|CSET|LIST|cue |fact|chna|levl|cart|iXML|axml".split(b"|"))
"""Ids of chunks that are looked into, here or elsewhere."""
_XML = (b"iXML", b"axml")
_UMID_AT = bext.LAYOUT["umid"].offset
_FACT_OCTETS = 4
_TYPE_OCTETS = 4

_Value = TypeVar("_Value")
_Decoded = tuple[_Value | None, tuple[Damage, ...]]


def look_beside(
    stream: BinaryIO, layout: Layout, own: Bext | None, path: str, faults: Faults
) -> tuple[Tags, tuple[Finding, ...]]:
    """Return what the chunks of a walked wave file say, and what is wrong with its documents.

    `own` is its `bext` chunk; what is wrong with any chunk is added to `faults`. Raises
    SurroundingsError if reading fails, and nothing over the content.
    """
    look = _Look(stream, layout, path, faults)
    return look.tags(own), tuple(look.findings)


class _Look:
    """One file under reading."""

    def __init__(self, stream: BinaryIO, layout: Layout, path: str, faults: Faults) -> None:
        self.stream = stream
        self.layout = layout
        self.path = printable(path)
        self.frames = layout.frames if layout.pcm and layout.data else None
        self.faults = faults
        self.findings: list[Finding] = []
        self.list_types: dict[int, str] = {}

    def tags(self, own: Bext | None) -> Tags:
        charset = self.head(b"CSET", chunk_limits.MAX_OCTETS, cset.decode)
        code_page = charset.code_page if charset else None
        info_lists, mark_lists = self.lists()
        definition = self.head(b"chna", chna.MAX_OCTETS, chna.decode)
        envelope = self.start(b"levl", levl.HEAD_OCTETS, levl.decode)
        carted = self.head(b"cart", cart.MAX_OCTETS, cart.decode)
        others = (c.id.decode("latin-1") for c in self.layout.chunks if c.id not in _READ)
        return Tags(
            **mapped.of_bext(own),
            umid=self.umid(own),
            code_page=code_page,
            info=self.info(info_lists, code_page),
            marks=self.marks(mark_lists, code_page),
            fact_frames=self.start(b"fact", _FACT_OCTETS, self.fact),
            definition_tracks=definition.tracks if definition else None,
            definition_rows=mapped.rows_of(definition.rows) if definition else (),
            envelope=mapped.envelope_of(envelope) if envelope else None,
            cart=mapped.cart_of(carted) if carted else None,
            documents=tuple(one for chunk_id in _XML for one in self.documents(chunk_id)),
            list_types=self.list_types,
            listed=tuple(dict.fromkeys(others)),
        )

    def head(
        self, chunk_id: bytes, cap: int, decode: Callable[..., _Decoded[_Value]]
    ) -> _Value | None:
        """Read the first chunk of an id, and tell if it is larger than what is read of it."""
        chunk = self.first(chunk_id)
        if chunk is None:
            return None
        payload, faults = chunk_limits.head(self.stream, self.layout, chunk, cap)
        self.faults.add(faults)
        return self.decoded(chunk, payload, decode)

    def start(
        self, chunk_id: bytes, octets: int, decode: Callable[..., _Decoded[_Value]]
    ) -> _Value | None:
        """Read the first chunk of an id, of which no more than its start is wanted."""
        chunk = self.first(chunk_id)
        if chunk is None or not chunk_limits.is_whole(self.layout, chunk):
            return None
        return self.decoded(chunk, read_chunk(self.stream, chunk, octets), decode)

    def first(self, chunk_id: bytes) -> Chunk | None:
        chunk, faults = chunk_limits.single(self.layout, chunk_id)
        self.faults.add(faults)
        return chunk

    def whole(self, chunk: Chunk) -> bytes | None:
        payload, faults = chunk_limits.whole(self.stream, self.layout, chunk)
        self.faults.add(faults)
        return payload

    def decoded(
        self, chunk: Chunk, payload: bytes | None, decode: Callable[..., _Decoded[_Value]]
    ) -> _Value | None:
        if payload is None:
            return None
        found, faults = decode(payload, offset=chunk.offset)
        self.faults.add(faults)
        return found

    def fact(self, payload: bytes, *, offset: int) -> _Decoded[int]:
        data = self.layout.data
        # Of audio that is cut short the walk has told; the count of the whole is not wrong then.
        is_whole = data is not None and chunk_limits.is_whole(self.layout, data)
        frames = self.frames if is_whole else None
        rf64 = self.layout.form != "RIFF"
        return fact.decode(payload, offset=offset, frames=frames, rf64=rf64)

    def umid(self, own: Bext | None) -> UmidParts | None:
        if own is None or not own.umid:
            return None
        at = self.layout.named(b"bext")[0].offset + _UMID_AT
        found, faults = umid.decode(own.umid, offset=at)
        self.faults.add(faults)
        return mapped.umid_of(found) if found else None

    def lists(self) -> tuple[list[Part], list[Part]]:
        """Return the lists of type INFO and those of type adtl."""
        chunks, faults = chunk_limits.alike(self.layout, b"LIST")
        self.faults.add(faults)
        infos: dict[Chunk, Part] = {}
        labels: list[Part] = []
        for chunk in chunks:
            payload = self.whole(chunk)
            if payload is None:
                continue
            list_type, _, faults = lists.parts(payload[:_TYPE_OCTETS], offset=chunk.offset)
            self.faults.add(faults)
            if list_type:
                self.list_types[chunk.offset] = list_type.decode("latin-1")
            part = Part(id=chunk.id, offset=chunk.offset, payload=payload)
            if list_type == info.TYPE:
                infos[chunk] = part
            elif list_type == adtl.TYPE:
                labels.append(part)
        self.faults.add(chunk_limits.repeated("LIST chunk of type INFO", tuple(infos)))
        return list(infos.values()), labels

    def info(self, found: Iterable[Part], code_page: int | None) -> tuple[InfoEntry, ...]:
        entries: list[InfoEntry] = []
        for part in found:
            taken, faults = info.decode(part.payload, offset=part.offset, code_page=code_page)
            self.faults.add(faults)
            entries += mapped.info_of(taken)
        return tuple(entries)

    def marks(self, found: Iterable[Part], code_page: int | None) -> tuple[SetMark, ...]:
        chunk = self.first(b"cue ")
        cues = None
        if chunk is not None:
            payload = self.whole(chunk)
            if payload is None:
                # Every label would seem to belong to no point.
                return ()
            cues = Part(id=chunk.id, offset=chunk.offset, payload=payload)
        taken, faults = marks.read(cues, found, frames=self.frames, code_page=code_page)
        self.faults.add(faults)
        return mapped.marks_of(taken)

    def documents(self, chunk_id: bytes) -> Iterator[XmlDocument]:
        chunks, faults = chunk_limits.alike(self.layout, chunk_id)
        self.faults.add(faults)
        name = chunk_id.decode("ascii")
        self.faults.add(chunk_limits.repeated(f"{name} chunk", chunks))
        for number, chunk in enumerate(chunks, start=1):
            if not chunk_limits.is_whole(self.layout, chunk):
                continue
            payload = read_chunk(self.stream, chunk, xmlchunks.MAX_OCTETS)
            content, faults = xmlchunks.content(payload, chunk.octets, offset=chunk.offset)
            self.faults.add(faults)
            # A chunk of nothing but what fills it up is room kept for a document.
            if not content:
                continue
            part = name if number == 1 else f"{name} {number}"
            place = Place(file=self.path, part=part)
            document, found = mapped.document_of(name, content, place)
            self.findings += found
            yield document
