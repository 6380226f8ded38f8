"""The recording, the reel, the package, its files, and the regions in them."""

from collections.abc import Iterator

from tailsout.mapping.xml import Element
from tailsout.records.dossier import FileRecord
from tailsout.records.transfer import Transfer
from tailsout.views.formats import format_of
from tailsout.views.packaged import Packaged, PayloadFile, Stretch, edtf
from tailsout.views.premis.parts import (
    PRONOM_NAME,
    UUID,
    Entity,
    an_object,
    identifier,
    made,
    optional,
    properties,
    relationship,
)
from tailsout.views.premis.terms import ALGORITHMS
from tailsout.views.rows import inline, pairs

_REEL_ELSEWHERE = ("identifiers", "sides", "events", "condition", "custody", "title")
"""What of a reel is an identifier, a bitstream, an event or a name."""
_TRANSFER_HERE = ("package id", "note", "kind", "not played because", "commission", "not stated")
_LISTS = (
    "channels",
    "clipped_runs",
    "pairs",
    "gaps",
    "dropouts",
    "lines",
    "hum",
)
"""What of measured facts is a table of its own, which the side-car holds."""


def recording_id(packaged: Packaged) -> str:
    """Return the UUID of what was recorded."""
    return packaged.id("recording")


def reel_id(packaged: Packaged) -> str:
    """Return the UUID of the reel."""
    return packaged.id("/reel")


def package_id(packaged: Packaged) -> str:
    """Return the UUID of this version of the package."""
    return packaged.id(f"package/{packaged.name}")


def capture_event_id(packaged: Packaged, capture: str | None) -> str | None:
    """Return the UUID of the event that made a capture, if the capture is stated."""
    captures = packaged.transfer.captures if packaged.transfer is not None else ()
    numbers = (number for number, one in enumerate(captures) if one.id == capture)
    return next((packaged.id(f"event/captures/{number}") for number in numbers), None)


def objects(packaged: Packaged, losses: tuple[str, ...]) -> Iterator[Entity]:
    """Yield everything but the equipment; `losses` is what this description cannot hold."""
    transfer = packaged.transfer
    if transfer is not None:
        yield _recording(packaged, transfer)
        yield _reel(packaged, transfer)
    yield _package(packaged, losses)
    for file in packaged.files:
        yield _file(packaged, file)
    for one in packaged.stretches:
        yield _stretch(packaged, one)


def _recording(packaged: Packaged, transfer: Transfer) -> Entity:
    key = recording_id(packaged)
    title = transfer.reel.title or (transfer.work.title if transfer.work else None)
    said = pairs(transfer.recording, but=("rights",)) if transfer.recording else ()
    work = [("work", inline(transfer.work))] if transfer.work else ()
    return Entity(
        id=key,
        element=an_object(
            "intellectualEntity",
            [
                identifier("object", key),
                *properties((*said, *work)),
                optional("originalName", title),
                relationship(
                    "structural",
                    "is represented by",
                    [reel_id(packaged), package_id(packaged)],
                ),
                _rights(packaged, transfer),
            ],
        ),
    )


def _rights(packaged: Packaged, transfer: Transfer) -> Element | None:
    if transfer.recording is None or transfer.recording.rights is None:
        return None
    return identifier("linkingRightsStatement", packaged.id("/recording/rights"), UUID)


def _reel(packaged: Packaged, transfer: Transfer) -> Entity:
    key, reel = reel_id(packaged), transfer.reel
    in_files = {one.pointer for one in packaged.stretches}
    alone = [
        ("region", f"side {side.id}: {inline(region)}")
        for pointer, side, region in packaged.regions()
        if pointer not in in_files
    ]
    heard = {file.record.capture for file in packaged.files if file.record is not None}
    said = [
        *pairs(reel, but=_REEL_ELSEWHERE),
        *(("side", inline(side, but=("regions",))) for side in reel.sides),
        *alone,
        *(("identifier", inline(one)) for one in reel.identifiers),
        *(("correction", inline(one)) for one in transfer.corrections),
        *(
            ("signal note", inline(one))
            for one in transfer.signal_notes
            if one.capture not in heard
        ),
    ]
    return Entity(
        id=key,
        element=an_object(
            "representation",
            [
                identifier("object", key),
                *(identifier("object", one.value, one.kind or "other") for one in reel.identifiers),
                *properties(said),
                optional("originalName", reel.title),
                made("storage", [made("storageMedium", "magnetic tape on an open reel")]),
                relationship("structural", "represents", [recording_id(packaged)]),
            ],
        ),
    )


def _package(packaged: Packaged, losses: tuple[str, ...]) -> Entity:
    key = package_id(packaged)
    transfer = packaged.transfer
    said = [(f"bag-info {label}", value) for label, value in packaged.bag_info]
    if transfer is not None:
        said += [pair for pair in pairs(transfer) if pair[0] in _TRANSFER_HERE]
    said += [("not held by PREMIS", one) for one in losses]
    files = [packaged.file_id(file.path) for file in packaged.files]
    of = [recording_id(packaged)] if transfer is not None else []
    return Entity(
        id=key,
        element=an_object(
            "representation",
            [
                identifier("object", key),
                identifier("object", packaged.name, "name of the bag"),
                *properties(said),
                relationship("structural", "has part", files),
                relationship("structural", "represents", of),
            ],
        ),
    )


def _file(packaged: Packaged, file: PayloadFile) -> Entity:
    key = packaged.file_id(file.path)
    record = file.record
    of_record = _of_record(packaged, record) if record is not None else ()
    sources = record.sources if record is not None else ()
    return Entity(
        id=key,
        element=an_object(
            "file",
            [
                identifier("object", key),
                identifier("object", file.path, "path in the bag"),
                *properties(of_record),
                _characteristics(packaged, file),
                optional("originalName", sources[0].file if sources else None),
                relationship("structural", "is part of", [package_id(packaged)]),
                _derivation(packaged, record),
            ],
        ),
    )


def _derivation(packaged: Packaged, record: FileRecord | None) -> Element | None:
    event = capture_event_id(packaged, record.capture) if record is not None else None
    if event is None:
        return None
    return relationship("derivation", "has source", [reel_id(packaged)], [event])


def _of_record(packaged: Packaged, record: FileRecord) -> Iterator[tuple[str, str]]:
    """Yield what is known of an audio file beside its format."""
    stated = record.stated
    if record.pcm is not None:
        pcm = record.pcm
        yield "audio", f"{pcm.coding}, {pcm.sample_rate_hz} Hz, {pcm.channels} channels"
    if record.frames is not None:
        yield "samples a channel", str(record.frames)
    if stated is None:
        return
    yield "SHA-256 of the audio data alone", stated.measured.essence_sha256
    yield "made", stated.made
    yield from (("made from", inline(one)) for one in stated.sources)
    measured = pairs(stated.measured, but=("essence_sha256", "frames", "sample_rate_hz", *_LISTS))
    yield from ((f"measured {label}", text) for label, text in measured)
    for note in packaged.transfer.signal_notes if packaged.transfer is not None else ():
        if note.capture == stated.capture:
            yield "signal note", inline(note)


def _characteristics(packaged: Packaged, file: PayloadFile) -> Element:
    known = format_of(file)
    designation = made(
        "formatDesignation",
        [made("formatName", known.name), optional("formatVersion", known.version)],
    )
    registry = made(
        "formatRegistry",
        [
            made("formatRegistryName", PRONOM_NAME),
            made("formatRegistryKey", known.pronom),
        ],
    )
    return made(
        "objectCharacteristics",
        [
            *(_fixity(algorithm, digest) for algorithm, digest in file.digests),
            made("size", str(file.octets)),
            made("format", [designation, registry if known.pronom else None]),
            _application(packaged, file),
        ],
    )


def _fixity(algorithm: str, digest: str) -> Element:
    return made(
        "fixity",
        [
            made("messageDigestAlgorithm", ALGORITHMS.get(algorithm, algorithm)),
            made("messageDigest", digest),
        ],
    )


def _application(packaged: Packaged, file: PayloadFile) -> Element | None:
    """Name what wrote the audio, as its capture states it."""
    if packaged.transfer is None or file.record is None:
        return None
    captures = packaged.transfer.captures
    capture = next((one for one in captures if one.id == file.record.capture), None)
    if capture is None or not (capture.program or capture.started):
        return None
    started = edtf(capture.started) if capture.started else None
    return made(
        "creatingApplication",
        [
            optional("creatingApplicationName", capture.program),
            optional("dateCreatedByApplication", started),
        ],
    )


def _stretch(packaged: Packaged, one: Stretch) -> Entity:
    key = packaged.stretch_id(one)
    record = one.file.record
    pcm = record.pcm if record is not None else None
    audio = pcm.coding if pcm is not None else "audio"
    end = str(one.end) if one.end is not None else "the end"
    said = [
        ("samples of the file", f"{one.start} to {end}"),
        ("side", one.side.id),
        *pairs(one.region),
    ]
    return Entity(
        id=key,
        element=an_object(
            "bitstream",
            [
                identifier("object", key),
                *properties(said),
                made(
                    "objectCharacteristics",
                    [
                        made(
                            "format",
                            [made("formatDesignation", [made("formatName", audio)])],
                        )
                    ],
                ),
                relationship("structural", "is part of", [packaged.file_id(one.file.path)]),
            ],
        ),
    )
