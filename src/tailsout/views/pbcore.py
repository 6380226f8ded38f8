"""The package in PBCore 2.1 (schema of May 2018): the recording, the reel, masters and copies.

Each region is an essence track with its own playback speed, of the file it lies in. What was done
to the reel stands in annotations.
"""

import re
from collections.abc import Iterable, Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.ground.units import plain
from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.recording import Recording
from tailsout.records.reel import Reel, Region
from tailsout.records.transfer import Transfer
from tailsout.views import losses
from tailsout.views.formats import Format, format_of
from tailsout.views.mets.structure import time_code
from tailsout.views.packaged import Copied, Packaged, PayloadFile
from tailsout.views.rows import inline, pairs
from tailsout.views.xml_text import holdable

PBCORE = "http://www.pbcore.org/PBCore/PBCoreNamespace.html"
_THREE_LETTERS = re.compile("[a-z]{3}")
NOT_RECORDED = "not recorded"
"""Stands where the schema wants a text and nobody gave one."""

NOT_HELD = {
    "Recipient": "What the recipient asks stands in the side-car and in the recipient's form.",
    "Person": "People and what they do stand in the side-car.",
    "Commission": "The commission stands in the side-car.",
    "Machine": "Machines and their care stand in the side-car.",
    "Converter": "Converters stand in the side-car.",
    "CalibrationTape": "Calibration tapes stand in the side-car.",
    "Session": "Sessions at the machine and calibrations stand in the side-car.",
    "Chain": "The signal chain stands in the side-car.",
    "Pass": "Passes of the tape over the heads stand in the side-car.",
    "Capture": "How each capture was made stands in the side-car.",
    "SignalNote": "What was heard in the captures stands in the side-car.",
    "Listening": "Who listened to how much stands in the side-car.",
    "Correction": "Corrections of what labels say stand in the side-car.",
    "Answer": "Answers to questions of the checks stand in the side-car.",
    "Jotting": "Jottings made while the tape ran stand in the side-car.",
}


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the document. `assets` holds nothing that this view needs."""
    del findings, assets
    packaged = Packaged(dossier)
    content = [*_described(packaged), *_instantiations(packaged)]
    content += [_made("pbcoreAnnotation", one, annotationType="left out") for one in lost(dossier)]
    root = xml.element(_tag("pbcoreDescriptionDocument"), content, prefixes={None: PBCORE})
    return xml.write(root)


def lost(dossier: Dossier) -> tuple[str, ...]:
    """Say what PBCore does not hold, a sentence each."""
    told = [*losses.lost(dossier.transfer, NOT_HELD)]
    if any(file.stated is not None for file in dossier.files):
        told.append("Measurements stand in the side-cars.")
    if any(one.record is None and one.copied is None for one in Packaged(dossier).files):
        told.append("Files that are no audio stand in the manifests.")
    told += [*losses.cut(dossier.transfer), *losses.odd_names(dossier.package)]
    return (*told, *losses.unwritable(dossier.transfer))


def _tag(name: str) -> str:
    return f"{{{PBCORE}}}{name}"


def _made(name: str, content: str | Iterable[Element], **attributes: str | None) -> Element:
    said = {key: holdable(value) for key, value in attributes.items() if value}
    held = holdable(content) if isinstance(content, str) else content
    return xml.element(_tag(name), held, attributes=said)


def _described(packaged: Packaged) -> Iterator[Element]:
    transfer = packaged.transfer
    recording = transfer.recording if transfer is not None else None
    recording = recording or Recording()
    info = dict(packaged.bag_info)
    if recording.when:
        yield _made("pbcoreAssetDate", recording.when, dateType="recorded")
    yield _made("pbcoreIdentifier", packaged.name, source="name of the package")
    title = transfer.reel.title if transfer is not None else None
    yield _made("pbcoreTitle", title or packaged.name)
    description = recording.what or info.get("External-Description") or NOT_RECORDED
    yield _made("pbcoreDescription", description)
    related = [("Replaces", name) for name in packaged.earlier[:1]]
    if transfer is not None and transfer.work is not None:
        related.append(("Is Part Of", inline(transfer.work)))
    for how, other in related:
        told = [_made("pbcoreRelationType", how), _made("pbcoreRelationIdentifier", other)]
        yield _made("pbcoreRelation", told)
    for place in (recording.place, recording.country):
        if place:
            yield _made("pbcoreCoverage", [_made("coverage", place, annotation="place recorded")])
    yield from _who(recording)
    yield from _rights(recording)


def _who(recording: Recording) -> Iterator[Element]:
    for name in recording.recorded_by:
        yield _made("pbcoreCreator", [_made("creator", name), _made("creatorRole", "recorded by")])
    for role, names in (("speaker", recording.speakers), ("performer", recording.performers)):
        for name in names:
            who = [_made("contributor", name), _made("contributorRole", role)]
            yield _made("pbcoreContributor", who)


def _rights(recording: Recording) -> Iterator[Element]:
    for label, text in pairs(recording.rights):
        yield _made("pbcoreRightsSummary", [_made("rightsSummary", text, annotation=label)])


def _instantiations(packaged: Packaged) -> Iterator[Element]:
    transfer = packaged.transfer
    if transfer is not None:
        yield _made("pbcoreInstantiation", _reel(packaged, transfer))
    for file in packaged.files:
        if file.record is not None:
            yield _made("pbcoreInstantiation", _file(packaged, file, file.record))
        elif file.copied is not None:
            yield _made("pbcoreInstantiation", _copy(packaged, file, file.copied))


def _reel(packaged: Packaged, transfer: Transfer) -> Iterator[Element]:
    reel = transfer.reel
    yield _made("instantiationIdentifier", packaged.id("/reel"), source="UUID")
    for one in reel.identifiers:
        source = one.assigned_by or one.kind or NOT_RECORDED
        yield _made("instantiationIdentifier", one.value, source=source, annotation=inline(one))
    if reel.width_mm is not None:
        yield _made("instantiationDimensions", plain(reel.width_mm), unitsOfMeasure="mm")
    if reel.diameter_in is not None:
        yield _made("instantiationDimensions", plain(reel.diameter_in), unitsOfMeasure="inches")
    yield _made("instantiationPhysical", "Open reel audiotape")
    holder = reel.custody[-1].holder if reel.custody else None
    yield _made("instantiationLocation", holder or NOT_RECORDED)
    yield _made("instantiationMediaType", "Sound")
    recording = transfer.recording
    if recording is not None and recording.generation:
        yield _made("instantiationGenerations", recording.generation)
    known, _ = _languages(recording)
    yield from (_made("instantiationLanguage", code) for code in known)
    in_files = {one.pointer for one in packaged.stretches}
    for pointer, side, region in packaged.regions():
        if pointer not in in_files:
            yield _made("instantiationEssenceTrack", _track(side.id, region, (0, None), None))
    yield from _annotations(transfer, reel)


def _languages(recording: Recording | None) -> tuple[list[str], list[str]]:
    """Part codes that the schema takes from what else stands for a language."""
    every = recording.languages if recording is not None else ()
    known = [one for one in every if _THREE_LETTERS.fullmatch(one)]
    return known, [one for one in every if one not in known]


def _annotations(transfer: Transfer, reel: Reel) -> Iterator[Element]:
    but = ("identifiers", "sides", "width_mm", "diameter_in", "title")
    told = [
        *pairs(reel, but=but),
        *(("side", inline(side, but=("regions",))) for side in reel.sides),
    ]
    told += (("recording language", one) for one in _languages(transfer.recording)[1])
    left = ("what", "when", "place", "country", "recorded_by", "speakers", "performers")
    elsewhere = (*left, "languages", "rights", "generation")
    # What is the recording's or the studio's must not be taken for the reel's.
    for of, rest in (
        ("recording", pairs(transfer.recording, but=elsewhere)),
        ("studio", pairs(transfer.studio)),
    ):
        told += ((f"{of} {label}", text) for label, text in rest)
    here = {"kind", "not played because", "not played category", "note", "package id", "not stated"}
    told += [pair for pair in pairs(transfer) if pair[0] in here]
    for label, text in told:
        yield _made("instantiationAnnotation", text, annotationType=label)


def _file(packaged: Packaged, file: PayloadFile, record: FileRecord) -> Iterator[Element]:
    known, pcm = format_of(file), record.pcm
    yield _made("instantiationIdentifier", packaged.file_id(file.path), source="UUID")
    yield _made("instantiationIdentifier", file.path, source="path in the package")
    started = _started(packaged, record)
    if started:
        yield _made("instantiationDate", started, dateType="digitized")
    yield _made("instantiationDigital", known.media_type)
    yield _standard(known)
    yield _made("instantiationLocation", packaged.name)
    yield _made("instantiationMediaType", "Sound")
    if record.stated is not None:
        yield _made("instantiationGenerations", "Preservation master")
    yield _made("instantiationFileSize", str(file.octets), unitsOfMeasure="octets")
    if pcm is not None and record.frames is not None:
        yield _made("instantiationDuration", time_code(record.frames, pcm.sample_rate_hz))
    if pcm is not None:
        yield _made("instantiationTracks", str(pcm.channels))
    for one in packaged.stretches:
        if one.file is file:
            track = _track(one.side.id, one.region, (one.start, one.end), record)
            yield _made("instantiationEssenceTrack", track)
    if packaged.transfer is not None:
        yield _related("Is Dubbed From", packaged.id("/reel"))
    yield from _digests(file)


def _copy(packaged: Packaged, file: PayloadFile, copied: Copied) -> Iterator[Element]:
    known, told = format_of(file), copied.told
    yield _made("instantiationIdentifier", packaged.file_id(file.path), source="UUID")
    yield _made("instantiationIdentifier", file.path, source="path in the package")
    yield _made("instantiationDate", copied.when, dateType="created")
    yield _made("instantiationDigital", known.media_type)
    yield _standard(known)
    yield _made("instantiationLocation", packaged.name)
    yield _made("instantiationMediaType", "Sound")
    yield _made("instantiationGenerations", "Access copy")
    yield _made("instantiationFileSize", str(file.octets), unitsOfMeasure="octets")
    yield _made("instantiationDuration", time_code(told.frames, told.sample_rate_hz))
    yield _made("instantiationTracks", str(told.channels))
    yield _related("Is Format Of", packaged.file_id(copied.of))
    yield from _digests(file)
    for label, text in pairs(told, but=("path", "octets", "sha256", "sha512", "steps")):
        yield _made("instantiationAnnotation", text, annotationType=label)
    for number, step in enumerate(told.steps, start=1):
        yield _made("instantiationAnnotation", inline(step), annotationType=f"step {number}")


def _related(how: str, key: str) -> Element:
    related = [
        _made("instantiationRelationType", how),
        _made("instantiationRelationIdentifier", key),
    ]
    return _made("instantiationRelation", related)


def _standard(known: Format) -> Element:
    registered = {"source": "PRONOM", "ref": known.pronom} if known.pronom else {}
    return _made("instantiationStandard", known.name, version=known.version, **registered)


def _digests(file: PayloadFile) -> Iterator[Element]:
    for algorithm, digest in file.digests:
        yield _made("instantiationAnnotation", digest, annotationType=algorithm)


def _started(packaged: Packaged, record: FileRecord) -> str | None:
    transfer = packaged.transfer
    if transfer is None:
        return None
    capture = next((one for one in transfer.captures if one.id == record.capture), None)
    if capture is None:
        return None
    one_pass = next((one for one in transfer.passes if one.id == capture.pass_id), None)
    return capture.started or (one_pass.on if one_pass is not None else None)


def _track(
    side: str, region: Region, span: tuple[int, int | None], record: FileRecord | None
) -> Iterator[Element]:
    pcm = record.pcm if record is not None else None
    yield _made("essenceTrackType", "Audio")
    yield _made("essenceTrackIdentifier", f"side {side}, {region.id}", source="side and region")
    if pcm is not None:
        yield _made("essenceTrackEncoding", pcm.coding)
    if region.speed_ips is not None:
        speed = plain(region.speed_ips)
        yield _made("essenceTrackPlaybackSpeed", speed, unitsOfMeasure="inches per second")
    if pcm is not None:
        rate = str(pcm.sample_rate_hz)
        yield _made("essenceTrackSamplingRate", rate, unitsOfMeasure="Hz")
        yield _made("essenceTrackBitDepth", str(pcm.valid_bits))
    start, end = span
    if pcm is not None:
        yield _made("essenceTrackTimeStart", time_code(start, pcm.sample_rate_hz))
        if end is not None:
            yield _made("essenceTrackDuration", time_code(end - start, pcm.sample_rate_hz))
    for label, text in pairs(region, but=("speed_ips", "id")):
        yield _made("essenceTrackAnnotation", text, annotationType=label)
