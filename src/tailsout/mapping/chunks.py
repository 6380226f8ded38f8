"""Which chunks a master gets besides its `bext`, and which of the capture's own they replace.

Pure: what the capture's own chunks hold was read before. Marks and INFO are written only where the
recipient asks, INFO also where the capture had one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.mapping import axml, ixml
from tailsout.mapping.embedded import Master
from tailsout.mapping.history import ascii_reduced
from tailsout.mapping.info import entries_for
from tailsout.mapping.marks import marks_for
from tailsout.records.capture import Capture
from tailsout.records.transfer import Transfer
from tailsout.wave import info, marks, xmlchunks
from tailsout.wave.bext import Bext
from tailsout.wave.cue import MAX_FRAME
from tailsout.wave.embed import NewChunk
from tailsout.wave.lists import Part
from tailsout.wave.marks import Mark
from tailsout.wave.riff import Chunk

MARKS_LEFT_OUT = Kind(
    code="marks-left-out",
    severity=Severity.NOTE,
    title="A mark or a chunk of marks that the recipient wants is not in the master",
    basis="RIFF 1991 ch. 3: a cue point counts samples in 32 bits; own rule: what a recorder wrote "
    "as iXML or axml is not replaced",
    remedy="Nothing to do: every region and note stands in the side-car.",
)
MARKS_REDUCED = Kind(
    code="marks-text-reduced",
    severity=Severity.NOTE,
    title="The text of a mark was reduced to ASCII",
    basis="RIFF 1991 ch. 2: without a CSET chunk it is ISO 8859-1, which many readers do not take",
    remedy="Nothing to do: the full text stands in the side-car.",
)
KINDS = (MARKS_LEFT_OUT, MARKS_REDUCED)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnChunks:
    """What the capture itself holds of the chunks that ours may replace."""

    bext: Bext | None = None
    info: tuple[tuple[Chunk, bytes], ...] = ()
    cue: tuple[tuple[Chunk, bytes], ...] = ()
    adtl: tuple[tuple[Chunk, bytes], ...] = ()
    ids: frozenset[bytes] = frozenset()
    """Of all its chunks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Embedding:
    """What is put in and what gives way, for `wave.embed.plan`."""

    before: tuple[NewChunk, ...] = ()
    behind: tuple[NewChunk, ...] = ()
    without: tuple[Chunk, ...] = ()
    kept: tuple[tuple[str, bytes], ...] = ()
    """Name and payload of each chunk that gave way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """The master that is spoken of."""

    transfer: Transfer
    capture: Capture
    master: Master
    bext: Bext
    """As it will be in the master."""
    pcm: Pcm
    frames: int
    software: str


def embedding_for(subject: Subject, own: OwnChunks) -> tuple[Embedding, tuple[Finding, ...]]:
    """Say which chunks a master gets, and what could not be said in them.

    Raises MaterialError for what no chunk can hold: a document too long, too many marks.
    """
    result, told = _with_info(subject, own)
    recipient = subject.transfer.recipient
    wishes = recipient.marks if recipient else ()
    wanted = (
        marks_for(subject.transfer, subject.capture, master=subject.master, frames=subject.frames)
        if wishes
        else ()
    )
    if "cue" in wishes:
        result, more = _with_cues(result, own, wanted, subject)
        told += more
    for wish, page in (("axml", _axml), ("iXML", _ixml)):
        if wish not in wishes:
            continue
        if wish.encode() in own.ids:
            text = f"the capture has an {wish} chunk of its own, which is kept as it is."
            told.append(MARKS_LEFT_OUT.at(Place(file=subject.master.path), text))
            continue
        chunk = (wish.encode(), xmlchunks.encode(page(subject, wanted)))
        result = replace(result, behind=(*result.behind, chunk))
    return result, tuple(told)


def _with_info(subject: Subject, own: OwnChunks) -> tuple[Embedding, list[Finding]]:
    entries = tuple(one for _, payload in own.info for one in info.decode(payload)[0])
    said, findings = entries_for(
        subject.transfer,
        subject.capture,
        made=subject.bext,
        software=subject.software,
        asked={
            name: text for (chunk, name), text in subject.master.texts.items() if chunk == "INFO"
        },
        own=entries,
        place=Place(file=subject.master.path),
    )
    if not said:
        # One of which nothing can be read stays where it is.
        return Embedding(), list(findings)
    result = Embedding(
        before=((b"LIST", info.encode(said)),),
        without=tuple(chunk for chunk, _ in own.info),
        kept=_named("INFO", own.info),
    )
    return result, list(findings)


def _named(name: str, chunks: Sequence[tuple[Chunk, bytes]]) -> tuple[tuple[str, bytes], ...]:
    return tuple(
        (name if number == 1 else f"{name}-{number}", payload)
        for number, (_, payload) in enumerate(chunks, start=1)
    )


def _with_cues(
    result: Embedding, own: OwnChunks, wanted: Sequence[Mark], subject: Subject
) -> tuple[Embedding, list[Finding]]:
    """Write our marks and the capture's own into one pair of chunks: a file has one `cue `."""
    cue = next((Part(id=c.id, offset=0, payload=p) for c, p in own.cue), None)
    lists = [Part(id=c.id, offset=0, payload=p) for c, p in own.adtl]
    frames, place = subject.frames, Place(file=subject.master.path)
    theirs, _ = marks.read(cue, lists, frames=frames)
    findings: list[Finding] = []
    kept: dict[Mark, None] = {}
    for mark in (*theirs, *wanted):
        end = mark.frame + (mark.frames or 0)
        if mark.frame > MAX_FRAME or end > frames or (mark.frames or 0) > MAX_FRAME:
            text = f"the mark {mark.label!r} from sample {mark.frame} on cannot be a cue point."
            findings.append(MARKS_LEFT_OUT.at(place, text))
            continue
        reduced = replace(
            mark,
            label=ascii_reduced(mark.label),
            note=ascii_reduced(mark.note),
            text=ascii_reduced(mark.text),
        )
        if reduced != mark:
            text = f"the mark {mark.label!r} reads {reduced.label!r}."
            findings.append(MARKS_REDUCED.at(place, text))
        kept[reduced] = None
    points, labels = marks.write(kept, frames)
    new = [(b"cue ", points)] if points else []
    new += [(b"LIST", labels)] if labels else []
    return (
        replace(
            result,
            behind=(*result.behind, *new),
            without=(*result.without, *(chunk for chunk, _ in (*own.cue, *own.adtl))),
            kept=(*result.kept, *_named("cue", own.cue), *_named("adtl", own.adtl)),
        ),
        findings,
    )


def _axml(subject: Subject, wanted: Sequence[Mark]) -> bytes:
    transfer = subject.transfer
    return axml.build(
        title=transfer.reel.title or transfer.package_id,
        identifier=f"urn:uuid:{subject.master.file_id}",
        created=subject.bext.origination_date,
        pcm=subject.pcm,
        frames=subject.frames,
        marks=wanted,
    )


def _ixml(subject: Subject, wanted: Sequence[Mark]) -> bytes:
    transfer, capture = subject.transfer, subject.capture
    one_pass = next((p for p in transfer.passes if p.id == capture.pass_id), None)
    channels = sorted(one_pass.channels, key=lambda one: one.channel) if one_pass else []
    return ixml.build(
        project=transfer.reel.title or "",
        tape=transfer.package_id,
        note=capture.note or "",
        file_uid=subject.master.file_id,
        original_filename=capture.original_name or "",
        tracks=[one.track or "" for one in channels],
        marks=wanted,
    )
