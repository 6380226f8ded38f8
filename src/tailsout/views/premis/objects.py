"""The recording, the reel, the package, its files, and the regions in them."""

from collections.abc import Iterator

from tailsout.mapping.xml import Element
from tailsout.records.reel import Reel
from tailsout.records.transfer import Transfer
from tailsout.views import details
from tailsout.views.dates import edtf
from tailsout.views.formats import format_of
from tailsout.views.packaged import Packaged, PayloadFile, Stretch
from tailsout.views.premis.identifiers import (
    amendment_event_id,
    derivation,
    package_id,
    recording_id,
    reel_id,
    version_id,
)
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


def objects(packaged: Packaged, losses: tuple[str, ...]) -> Iterator[Entity]:
    """Yield everything but the equipment; `losses` is what this description cannot hold."""
    transfer = packaged.transfer
    if transfer is not None:
        yield _recording(packaged, transfer)
        yield _reel(packaged, transfer)
    yield _package(packaged, losses)
    for name in packaged.earlier:
        yield _earlier(packaged, name)
    for file in packaged.files:
        yield _file(packaged, file)
    for one in packaged.stretches:
        yield _stretch(packaged, one)


def _recording(packaged: Packaged, transfer: Transfer) -> Entity:
    key = recording_id(packaged)
    title = transfer.reel.title or (transfer.work.title if transfer.work else None)
    return Entity(
        id=key,
        element=an_object(
            "intellectualEntity",
            [
                identifier("object", key),
                *properties(details.recording(transfer)),
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
    return Entity(
        id=key,
        element=an_object(
            "representation",
            [
                identifier("object", key),
                *(identifier("object", one.value, one.kind or "other") for one in reel.identifiers),
                *properties(details.reel(packaged, transfer)),
                optional("originalName", reel.title),
                *_storage(reel),
                relationship("structural", "represents", [recording_id(packaged)]),
            ],
        ),
    )


def _storage(reel: Reel) -> Iterator[Element]:
    medium = "magnetic tape on an open reel"
    shelves = [one.value for one in reel.identifiers if one.kind == "shelf mark"]
    for mark in shelves or [""]:
        location = [
            made("contentLocationType", "shelf mark"),
            made("contentLocationValue", mark),
        ]
        shelf = made("contentLocation", location) if mark else None
        yield made("storage", [shelf, made("storageMedium", medium)])


def _package(packaged: Packaged, losses: tuple[str, ...]) -> Entity:
    key = package_id(packaged)
    transfer = packaged.transfer
    told = [*details.package(packaged), *(("not held by PREMIS", one) for one in losses)]
    files = [packaged.file_id(file.path) for file in packaged.files]
    of = [recording_id(packaged)] if transfer is not None else []
    return Entity(
        id=key,
        element=an_object(
            "representation",
            [
                identifier("object", key),
                identifier("object", packaged.name, "name of the bag"),
                *properties(told),
                relationship("structural", "has part", files),
                relationship("structural", "represents", of),
                *_replaced(packaged, packaged.name),
            ],
        ),
    )


def _earlier(packaged: Packaged, name: str) -> Entity:
    """Tell of a version that is not here as much as links need."""
    key = version_id(packaged, name)
    return Entity(
        id=key,
        element=an_object(
            "representation",
            [
                identifier("object", key),
                identifier("object", name, "name of the bag"),
                *_replaced(packaged, name),
            ],
        ),
    )


def _replaced(packaged: Packaged, name: str) -> Iterator[Element | None]:
    for one in packaged.successions:
        if one.newer == name:
            older, event = version_id(packaged, one.older), amendment_event_id(packaged, one.by)
            yield relationship("replacement", "supersedes", [older], [event])


def _file(packaged: Packaged, file: PayloadFile) -> Entity:
    key = packaged.file_id(file.path)
    record = file.record
    of_record = details.file(packaged, record) if record is not None else ()
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
                _derivation(packaged, file),
            ],
        ),
    )


def _derivation(packaged: Packaged, file: PayloadFile) -> Element | None:
    known = derivation(packaged, file)
    if known is None:
        return None
    source, event = known
    return relationship("derivation", "has source", [source], [event])


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
    """Name what wrote the audio: as its capture states it, or the master of a copy."""
    if file.copied is not None:
        made_by = [one.software for one in file.copied.told.steps if one.step == "encoding"]
        return _made_by(made_by[0] if made_by else None, file.copied.when)
    if packaged.transfer is None or file.record is None:
        return None
    captures = packaged.transfer.captures
    capture = next((one for one in captures if one.id == file.record.capture), None)
    if capture is None:
        return None
    return _made_by(capture.program, edtf(capture.started) if capture.started else None)


def _made_by(program: str | None, when: str | None) -> Element | None:
    if not (program or when):
        return None
    return made(
        "creatingApplication",
        [
            optional("creatingApplicationName", program),
            optional("dateCreatedByApplication", when),
        ],
    )


def _stretch(packaged: Packaged, one: Stretch) -> Entity:
    key = packaged.stretch_id(one)
    record = one.file.record
    pcm = record.pcm if record is not None else None
    audio = pcm.coding if pcm is not None else "audio"
    return Entity(
        id=key,
        element=an_object(
            "bitstream",
            [
                identifier("object", key),
                *properties(details.stretch(one)),
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
