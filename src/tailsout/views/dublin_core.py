"""The recording in the fifteen elements of Dublin Core 1.1 (DCMI, ISO 15836-1).

Of a package without statements, what its bag-info says.
"""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.records.dossier import Dossier
from tailsout.records.recording import Recording
from tailsout.records.transfer import Transfer
from tailsout.views.formats import format_of
from tailsout.views.packaged import Packaged
from tailsout.views.xml_text import holdable

DC = "http://purl.org/dc/elements/1.1/"
OAI_DC = "http://www.openarchives.org/OAI/2.0/oai_dc/"
"""Dublin Core has no container of its own; this one is the usual one."""
_BAG_INFO = {
    "External-Description": "description",
    "External-Identifier": "identifier",
    "Source-Organization": "contributor",
    "Bag-Group-Identifier": "relation",
}

_LOSSES = "It tells of the recording; reel, machine, transfer and files stand in the side-car."

Said = Iterator[tuple[str, str]]


def said(packaged: Packaged) -> tuple[tuple[str, str], ...]:
    """Return elements and their values, each pair once."""
    found: list[tuple[str, str]] = []
    if packaged.transfer is not None:
        found += _of_transfer(packaged.transfer)
    else:
        found.append(("title", packaged.name))
        found += ((_BAG_INFO[k], value) for k, value in packaged.bag_info if k in _BAG_INFO)
    audio = [file for file in packaged.files if file.record is not None]
    if packaged.transfer is not None or audio:
        found.append(("type", "Sound"))
    found += (("format", format_of(file).media_type) for file in audio)
    return tuple(dict.fromkeys((name, value) for name, value in found if value))


def elements(packaged: Packaged) -> tuple[Element, ...]:
    """Return the same as XML."""
    return tuple(xml.element(f"{{{DC}}}{name}", holdable(value)) for name, value in said(packaged))


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return a document. `assets` holds nothing that this view needs."""
    del findings, assets
    root = xml.element(
        f"{{{OAI_DC}}}dc", elements(Packaged(dossier)), prefixes={"oai_dc": OAI_DC, "dc": DC}
    )
    return xml.write(root)


def lost(dossier: Dossier) -> tuple[str, ...]:
    """Say what Dublin Core does not hold, in one sentence."""
    return (_LOSSES,) if dossier.transfer is not None else ()


def _of_transfer(transfer: Transfer) -> Said:
    reel, work = transfer.reel, transfer.work
    yield "title", reel.title or (work.title if work is not None else None) or transfer.package_id
    for one in reel.identifiers:
        yield "identifier", one.value
    yield "identifier", transfer.package_id
    if work is not None:
        yield "relation", work.title or work.id
    if transfer.recording is not None:
        yield from _of_recording(transfer.recording)
    marks = ", ".join(one.value for one in reel.identifiers)
    yield "source", f"magnetic tape on an open reel{': ' if marks else ''}{marks}"
    if transfer.studio.name:
        yield "contributor", f"{transfer.studio.name} (transfer)"


def _of_recording(recording: Recording) -> Said:
    yield "description", recording.what or ""
    yield "date", recording.when or ""
    yield from (("creator", name) for name in recording.recorded_by)
    yield from (("contributor", name) for name in recording.speakers)
    yield from (("contributor", name) for name in recording.performers)
    yield "coverage", recording.place or ""
    yield "coverage", recording.country or ""
    yield from (("language", code) for code in recording.languages)
    rights = recording.rights
    if rights is not None:
        yield from (("rights", one or "") for one in (rights.statement, rights.restriction))
        if rights.holder:
            yield "rights", f"held by {rights.holder}"
