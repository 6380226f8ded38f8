"""Captures that are several files: whether they belong together, and what is typed of them."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.mapping import naming
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.rules.rule import Rule, transfer_of
from tailsout.wave.assembled import Extent, difference_between, gap_between

PARTS_APART = Kind(
    code="parts-not-joined",
    severity=Severity.QUERY,
    title="Nothing proves that the parts of a capture follow each other without a gap",
    basis="EBU Tech 3285 v2 §2.3: TimeReference counts samples, so each part's is known by the "
    "one before",
    remedy="The engineer says whether something is missing; each part is a master of its own.",
)
TRACKS_APART = Kind(
    code="tracks-not-interleaved",
    severity=Severity.QUERY,
    title="The recipient wants mono files made into one, and these do not fit together",
    basis="own rule: tracks of one file begin and end together and have one format",
    remedy="The engineer says why they differ; each file is a master of its own.",
)
PART_DIFFERS = Kind(
    code="part-differs",
    severity=Severity.QUERY,
    title="What is stated of a part is not what the file shows",
    basis="own rule: figures that were typed are held against the file",
    remedy="The engineer says whether it is the right file, or corrects the figure.",
)
FLAC_RESTORED = Kind(
    code="flac-restored",
    severity=Severity.NOTE,
    title="A master was made of a FLAC file: the wave file that it stands for",
    basis="RFC 9639 §8.2: the MD5 of the samples; own rule: a master is a wave file",
    remedy="Nothing to do; keep the FLAC file too if it is wanted, the package does not hold it.",
)


def _sources(dossier: Dossier) -> Iterator[Finding]:
    for index, capture in enumerate(transfer_of(dossier).captures):
        place = dossier.place(f"/captures/{index}")
        files = [file for file in dossier.files if file.capture == capture.id]
        parts = sorted((f for f in files if f.made == "part"), key=lambda file: file.starts_at)
        if len(parts) > 1:
            why = gap_between([_extent(part) for part in parts]) or _DOUBTFUL
            yield PARTS_APART.at(place, f"the parts of capture {capture.id!r} stay apart: {why}")
        tracks = sorted((f for f in files if f.track is not None), key=lambda f: f.track or 0)
        if len(tracks) > 1 and _wants_one(dossier):
            why = difference_between([_extent(track) for track in tracks]) or _DOUBTFUL
            text = f"the mono files of capture {capture.id!r} stay apart: {why}"
            yield TRACKS_APART.at(place, text)
        yield from _stated(dossier, index, capture, files)
        yield from _restored(dossier, index, files)


_DOUBTFUL = "the audio of one is in doubt or ends in the middle of a sample frame."


def _wants_one(dossier: Dossier) -> bool:
    recipient = transfer_of(dossier).recipient
    return recipient is not None and recipient.interleave is True


def _extent(file: FileRecord) -> Extent:
    # A package may be written by anybody, so that a file may name no source.
    stated = file.sources[0].time_reference if file.sources else None
    return Extent(pcm=file.pcm, frames=file.frames or 0, time_reference=stated)


def _stated(
    dossier: Dossier, index: int, capture: Capture, files: list[FileRecord]
) -> Iterator[Finding]:
    found = {source.file: source for file in files for source in file.sources}
    for number, part in enumerate(capture.parts):
        source = found.get(part.file)
        if source is None:
            continue
        for key, said, shown in (
            ("frames", part.frames, source.frames),
            ("time_reference", part.time_reference, source.time_reference),
        ):
            if said is not None and said != shown:
                place = dossier.place(f"/captures/{index}/parts/{number}/{key}")
                has = "states none" if shown is None else f"has {shown}"
                yield PART_DIFFERS.at(place, f"it says {said}, the file {has}.")


def _restored(dossier: Dossier, index: int, files: list[FileRecord]) -> Iterator[Finding]:
    if dossier.origin != "closing":
        return
    for file in files:
        for source in file.sources:
            if file.made == "restored from FLAC" or naming.is_flac(source.file):
                text = (
                    f"{source.file} was decoded; its metadata blocks are kept in "
                    f"{naming.AS_CAPTURED}."
                )
                yield FLAC_RESTORED.at(dossier.place(f"/captures/{index}/file"), text)


RULES = (
    Rule(
        name="files of a capture",
        kinds=(PARTS_APART, TRACKS_APART, PART_DIFFERS, FLAC_RESTORED),
        needs=frozenset({"statements", "headers"}),
        run=_sources,
    ),
)
