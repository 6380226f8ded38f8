"""What a file says of itself in one chunk, against what another chunk or its audio says."""

import re
from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded
from tailsout.records.ixml import Ixml
from tailsout.rules.rule import Rule

IXML_FORMAT = Kind(
    code="ixml-format-differs",
    severity=Severity.QUERY,
    title="An iXML chunk states another sample rate or depth than the audio has",
    basis="RIFF 1991 ch. 3: fmt says how the samples lie; iXML SPEED repeats it",
    remedy="The engineer or the sender says at which rate the audio was recorded.",
)
IXML_BEXT = Kind(
    code="ixml-bext-differs",
    severity=Severity.NOTE,
    title="An iXML chunk repeats the bext chunk, but differently",
    basis="common practice, no source: where the two differ, bext holds",
    remedy="Nothing to do; both are kept as they are.",
)
SOURCE_TIME = Kind(
    code="source-time-differs",
    severity=Severity.NOTE,
    title="The identifier in OriginatorReference was made at another time than OriginationTime",
    basis="common practice, no source: EBU R 99 takes its time from OriginationTime, to a second",
    remedy="Nothing to do; the file may have been copied or edited. It is kept as it is.",
)
SOURCE_UNFILLED = Kind(
    code="source-unfilled",
    severity=Severity.NOTE,
    title="OriginatorReference holds a form that nobody filled in",
    basis="common practice, no source: EBU R 99 writes CCOOONNNNNNNNNNNNHHMMSSRRRRRRRRR",
    remedy="Nothing to do; it identifies nothing. It is kept as it is.",
)

_TIME = re.compile(r"([0-9]{2})[^0-9]?([0-9]{2})[^0-9]?([0-9]{2})", re.ASCII)
_DAY_SECONDS = 24 * 60 * 60
_NEAR_SECONDS = 1
"""Recorders make the two at moments of their own."""
_LOW, _HIGH = "TIME_REFERENCE_LOW", "TIME_REFERENCE_HIGH"


def _tags(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        if file.tags is None:
            continue
        for document in file.tags.documents:
            if document.ixml is not None:
                yield from _format(file, document.ixml)
                yield from _bext(file, document.ixml)
        yield from _source(file)


def _format(file: FileRecord, said: Ixml) -> Iterator[Finding]:
    if file.pcm is None:
        return
    rate, bits = said.sample_rate_hz, said.bit_depth
    place = Place(file=printable(file.path), part="iXML.SPEED")
    if rate is not None and rate != file.pcm.sample_rate_hz:
        text = f"it says {rate} Hz, the audio has {file.pcm.sample_rate_hz} Hz."
        yield IXML_FORMAT.at(place, text)
    if bits is not None and bits not in {file.pcm.valid_bits, file.pcm.container_bits}:
        text = f"it says {bits} bits, the audio has {file.pcm.valid_bits}."
        yield IXML_FORMAT.at(place, text)


def _bext(file: FileRecord, said: Ixml) -> Iterator[Finding]:
    own = file.embedded
    if own is None:
        return
    path = printable(file.path)
    counts_alike = file.pcm is None or said.timestamp_sample_rate_hz in {
        None,
        file.pcm.sample_rate_hz,
    }
    if said.timestamp is not None and counts_alike and said.timestamp != own.time_reference:
        text = f"it says sample {said.timestamp} since midnight, bext {own.time_reference}."
        yield IXML_BEXT.at(Place(file=path, part="iXML.SPEED"), text)
    # The bext chunk of a master of ours replaces the one that was copied.
    if file.sidecar is None:
        for name, copied, held in _copies(dict(said.bext), own):
            text = f"its {name} is {printable(copied, 60)!r}, that of bext {printable(held, 60)!r}."
            yield IXML_BEXT.at(Place(file=path, part="iXML.BEXT"), text)


def _copies(copied: dict[str, str], own: Embedded) -> Iterator[tuple[str, str, str]]:
    """Yield what iXML repeats and does not repeat as it is: name, copy, and what bext holds."""
    for name, held in (
        ("DESCRIPTION", own.description),
        ("ORIGINATOR", own.originator),
        ("ORIGINATOR_REFERENCE", own.originator_reference),
        ("ORIGINATION_DATE", own.origination_date),
        ("ORIGINATION_TIME", own.origination_time),
    ):
        copy = copied.get(name, "")
        if copy and copy != held.strip():
            yield name, copy, held
    low, high = copied.get(_LOW, ""), copied.get(_HIGH, "") or "0"
    if all(re.fullmatch(r"[0-9]{1,10}", one, re.ASCII) for one in (low, high)):
        reference = (int(high) << 32) + int(low)
        if reference != own.time_reference:
            yield "TIME_REFERENCE", str(reference), str(own.time_reference)


def _source(file: FileRecord) -> Iterator[Finding]:
    if file.tags is None or file.embedded is None:
        return
    place = Place(file=printable(file.path), part="bext.OriginatorReference")
    if file.tags.reference_remark:
        text = f"it reads {printable(file.embedded.originator_reference, 60)!r}."
        yield SOURCE_UNFILLED.at(place, text)
    if file.tags.source is None:
        return
    made, began = _seconds(file.tags.source.time), _seconds(file.embedded.origination_time)
    if made is None or began is None:
        return
    apart = (made - began) % _DAY_SECONDS
    if min(apart, _DAY_SECONDS - apart) > _NEAR_SECONDS:
        time = file.tags.source.time
        text = f"it says {time}, OriginationTime {printable(file.embedded.origination_time)}."
        yield SOURCE_TIME.at(place, text)


def _seconds(text: str) -> int | None:
    match = _TIME.fullmatch(text)
    if match is None:
        return None
    hours, minutes, seconds = map(int, match.groups())
    return (hours * 60 + minutes) * 60 + seconds


RULES = (
    Rule(
        name="embedded metadata against itself",
        kinds=(IXML_FORMAT, IXML_BEXT, SOURCE_TIME, SOURCE_UNFILLED),
        needs=frozenset({"headers"}),
        run=_tags,
    ),
)
