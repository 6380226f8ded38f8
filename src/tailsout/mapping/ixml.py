"""Between the document of an `iXML` chunk and our records, both ways.

iXML is an open specification without a schema: every element may be missing, none need be known.
Names and meanings are from memory of it and from other readers. Where it and the `bext` chunk say
different things, `bext` holds; telling so is for the rules.
"""

import re
from collections.abc import Iterator, Sequence

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import xml
from tailsout.mapping.xml import Element
from tailsout.records.ixml import Ixml, IxmlTrack, SyncPoint
from tailsout.wave.marks import Mark

ROOT = "BWFXML"
VERSION = "2.10"
"""Of the specification whose elements are written."""

IXML_OTHER_ROOT = Kind(
    code="ixml-other-root",
    severity=Severity.NOTE,
    title="An iXML chunk holds some other document",
    basis="own rule: whoever reads iXML looks for BWFXML, and would find nothing",
    remedy="Nothing to do; it is kept as it is.",
)
KINDS = (IXML_OTHER_ROOT,)

_WORD = 32
"""Bits of each half of a number that is written in two."""
_NUMBER = re.compile(r"[0-9]{1,10}", re.ASCII)


def parse(root: Element, place: Place) -> tuple[Ixml | None, tuple[Finding, ...]]:
    """Take what is used out of a chunk's document; None if it is not iXML."""
    if root.tag != ROOT:
        text = f"its root is {printable(root.tag, 60)}, not {ROOT}."
        return None, (IXML_OTHER_ROOT.at(place, text),)
    since_midnight = "SPEED/TIMESTAMP_SAMPLES_SINCE_MIDNIGHT"
    ixml = Ixml(
        version=_text(root, "IXML_VERSION"),
        project=_text(root, "PROJECT"),
        scene=_text(root, "SCENE"),
        take=_text(root, "TAKE"),
        tape=_text(root, "TAPE"),
        note=_text(root, "NOTE"),
        file_uid=_text(root, "FILE_UID"),
        family_uid=_text(root, "FILE_SET/FAMILY_UID"),
        family_name=_text(root, "FILE_SET/FAMILY_NAME"),
        total_files=_number(root, "FILE_SET/TOTAL_FILES"),
        original_filename=_text(root, "HISTORY/ORIGINAL_FILENAME"),
        sample_rate_hz=_number(root, "SPEED/FILE_SAMPLE_RATE"),
        digitizer_sample_rate_hz=_number(root, "SPEED/DIGITIZER_SAMPLE_RATE"),
        bit_depth=_number(root, "SPEED/AUDIO_BIT_DEPTH"),
        timestamp=_two_words(root, f"{since_midnight}_HI", f"{since_midnight}_LO"),
        timestamp_sample_rate_hz=_number(root, "SPEED/TIMESTAMP_SAMPLE_RATE"),
        tracks=tuple(_tracks(root)),
        sync_points=tuple(_sync_points(root)),
        bext=tuple(_bext(root)),
    )
    return ixml, ()


def build(
    *,
    project: str = "",
    tape: str = "",
    note: str = "",
    file_uid: str = "",
    original_filename: str = "",
    tracks: Sequence[str] = (),
    marks: Sequence[Mark] = (),
) -> bytes:
    """Return a document; `tape` is the reel's identifier, `tracks` are names in channel order.

    What is empty is left out. Raises MaterialError for text that XML cannot hold.
    """
    texts = (("PROJECT", project), ("TAPE", tape), ("NOTE", note), ("FILE_UID", file_uid))
    parts = [xml.element("IXML_VERSION", VERSION)]
    parts += [xml.element(name, text) for name, text in texts if text]
    if marks:
        points = [_written_point(mark) for mark in marks]
        count = xml.element("SYNC_POINT_COUNT", str(len(points)))
        parts.append(xml.element("SYNC_POINT_LIST", [count, *points]))
    if original_filename:
        parts.append(xml.element("HISTORY", [xml.element("ORIGINAL_FILENAME", original_filename)]))
    if tracks:
        count = xml.element("TRACK_COUNT", str(len(tracks)))
        named = [_written_track(number, name) for number, name in enumerate(tracks, start=1)]
        parts.append(xml.element("TRACK_LIST", [count, *named]))
    return xml.write(xml.element(ROOT, parts))


def _text(within: Element, path: str) -> str:
    found = within.find(path)
    return (found.text or "").strip() if found is not None else ""


def _number(within: Element, path: str) -> int | None:
    text = _text(within, path)
    return int(text) if _NUMBER.fullmatch(text) else None


def _two_words(within: Element, high: str, low: str) -> int | None:
    """Return a number of 64 bits; its upper half may be left out, the lower may not."""
    upper = _number(within, high) if within.find(high) is not None else 0
    lower = _number(within, low)
    if upper is None or lower is None or max(upper, lower) >> _WORD:
        return None
    return upper << _WORD | lower


def _tracks(root: Element) -> Iterator[IxmlTrack]:
    for track in root.findall("TRACK_LIST/TRACK"):
        yield IxmlTrack(
            channel=_number(track, "CHANNEL_INDEX"),
            interleave=_number(track, "INTERLEAVE_INDEX"),
            name=_text(track, "NAME"),
            function=_text(track, "FUNCTION"),
        )


def _sync_points(root: Element) -> Iterator[SyncPoint]:
    for point in root.findall("SYNC_POINT_LIST/SYNC_POINT"):
        samples = _two_words(point, "SYNC_POINT_HIGH", "SYNC_POINT_LOW")
        if samples is not None:
            yield SyncPoint(
                function=_text(point, "SYNC_POINT_FUNCTION"),
                comment=_text(point, "SYNC_POINT_COMMENT"),
                samples=samples,
                since_midnight=_text(point, "SYNC_POINT_TYPE") == "ABSOLUTE",
                frames=_number(point, "SYNC_POINT_EVENT_DURATION") or 0,
            )


def _bext(root: Element) -> Iterator[tuple[str, str]]:
    copied = root.find("BEXT")
    for one in copied if copied is not None else ():
        yield one.tag.removeprefix("BWF_"), (one.text or "").strip()


def _written_point(mark: Mark) -> Element:
    high, low = divmod(mark.frame, 1 << _WORD)
    texts = (
        ("TYPE", "RELATIVE"),
        ("FUNCTION", "MARKER_GENERIC"),
        ("COMMENT", ": ".join(text for text in (mark.label, mark.note) if text)),
        ("LOW", str(low)),
        ("HIGH", str(high)),
        ("EVENT_DURATION", str(mark.frames or 0)),
    )
    return xml.element("SYNC_POINT", [xml.element(f"SYNC_POINT_{k}", v) for k, v in texts])


def _written_track(number: int, name: str) -> Element:
    texts = (("CHANNEL_INDEX", str(number)), ("INTERLEAVE_INDEX", str(number)), ("NAME", name))
    return xml.element("TRACK", [xml.element(key, text) for key, text in texts])
