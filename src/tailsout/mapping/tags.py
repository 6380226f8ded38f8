"""Between the chunks beside the audio and our records: what `wave` read of them becomes `Tags`."""

from collections.abc import Iterable
from dataclasses import fields
from typing import Any

from tailsout.ground.findings import Finding, Place
from tailsout.records.tags import (
    CartFacts,
    DefinitionRow,
    InfoEntry,
    PeakEnvelope,
    SetMark,
    SourceIdentifier,
    UmidParts,
    XmlDocument,
)
from tailsout.wave import history, usid
from tailsout.wave.bext import Bext
from tailsout.wave.cart import Cart
from tailsout.wave.chna import Row
from tailsout.wave.info import Entry
from tailsout.wave.levl import Levl
from tailsout.wave.marks import Mark
from tailsout.wave.umid import Umid
from tailsout.wave.usid import Usid

MAX_REMARKS = 50
"""Most remarks on one coding history that are kept."""


def of_bext(own: Bext | None) -> dict[str, Any]:
    """Return what the text of a `bext` chunk says by itself, by the fields of `Tags`."""
    if own is None:
        return {}
    _, remarks = history.parse(own.coding_history)
    more = len(remarks) - MAX_REMARKS
    kept = remarks[:MAX_REMARKS]
    usid_found = usid.parse(own.originator_reference)
    return {
        "history_lines": history.split(own.coding_history)[: history.MAX_LINES],
        "history_remarks": (*kept, f"{more} more remarks are left out.") if more > 0 else kept,
        "source": _source_of(usid_found) if usid_found else None,
        "reference_remark": usid.remark(own.originator_reference),
    }


def info_of(entries: Iterable[Entry]) -> tuple[InfoEntry, ...]:
    """Turn the entries of an INFO list into records."""
    return tuple(InfoEntry(id=one.id, text=one.text) for one in entries)


def marks_of(marks: Iterable[Mark]) -> tuple[SetMark, ...]:
    """Turn marks into records."""
    return tuple(
        SetMark(
            frame=mark.frame,
            label=mark.label,
            note=mark.note,
            frames=mark.frames,
            purpose=mark.purpose.decode("latin-1") if mark.frames is not None else "",
            text=mark.text,
        )
        for mark in marks
    )


def umid_of(umid: Umid) -> UmidParts:
    """Turn a UMID into a record."""
    return UmidParts(
        material_type=umid.material_type,
        material_method=umid.material_method,
        instance_number=umid.instance_number,
        material_number=umid.material_number.hex(),
        country=umid.country,
        organisation=umid.organisation,
        user=umid.user,
    )


def rows_of(rows: Iterable[Row]) -> tuple[DefinitionRow, ...]:
    """Turn the rows of a `chna` chunk into records."""
    return tuple(
        DefinitionRow(
            track=row.track,
            uid=row.uid,
            track_format=row.track_format,
            pack_format=row.pack_format,
        )
        for row in rows
    )


def envelope_of(levl: Levl) -> PeakEnvelope:
    """Turn the head of a `levl` chunk into a record."""
    return PeakEnvelope(
        version=levl.version,
        bits=levl.bits,
        points_per_value=levl.points_per_value,
        block_frames=levl.block_frames,
        channels=levl.channels,
        peak_frames=levl.peak_frames,
        peak_of_peaks=levl.peak_of_peaks,
        made=levl.made,
    )


def cart_of(cart: Cart) -> CartFacts:
    """Turn a `cart` chunk into a record."""
    texts = {one.name: getattr(cart, one.name) for one in fields(cart) if one.type is str}
    return CartFacts(
        texts={name: text for name, text in texts.items() if text},
        level_reference=cart.level_reference,
        timers=tuple((timer.usage, timer.frame) for timer in cart.timers),
    )


def document_of(
    chunk: str, content: bytes, place: Place
) -> tuple[XmlDocument, tuple[Finding, ...]]:
    """Read the document of an `iXML` or `axml` chunk, and what is wrong with it as XML."""
    # The XML library is slow to load, and few files have such a chunk.
    from tailsout.mapping import axml, ixml, xml, xml_texts  # noqa: PLC0415

    root, findings = xml.read(content, place)
    if root is None:
        document = XmlDocument(chunk=chunk, octets=len(content), root="", namespace="")
        return document, findings
    name, namespace = axml.name_of(root)
    taken, more = ixml.parse(root, place) if chunk == "iXML" else (None, ())
    document = XmlDocument(
        chunk=chunk,
        octets=len(content),
        root=name,
        namespace=namespace,
        ixml=taken,
        all_text=xml_texts.texts_of(root.iter()),
    )
    return document, (*findings, *more)


def _source_of(found: Usid) -> SourceIdentifier:
    return SourceIdentifier(
        country=found.country,
        organisation=found.organisation,
        serial=found.serial,
        time=found.time,
        random=found.random,
    )
