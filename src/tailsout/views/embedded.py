"""Lines of plain text about what one audio file says of itself, chunk by chunk."""

from collections.abc import Iterator

from tailsout.ground.units import clock_time, counted, printable
from tailsout.records.facts import Embedded
from tailsout.records.ixml import Ixml
from tailsout.records.tags import (
    CartFacts,
    PeakEnvelope,
    SetMark,
    Tags,
    UmidParts,
    XmlDocument,
)
from tailsout.views.rows import MOST_ROWS, heading, hung, row, rows, table
from tailsout.wave.info import TITLES

_Lines = Iterator[str]

_METHODS = {1: "SMPTE", 2: "UUID", 3: "masked", 4: "IEEE 1394"}
"""How the material number of a UMID was made (SMPTE ST 330)."""


def bext_lines(said: Embedded, tags: Tags, rate: int) -> _Lines:
    """Yield every field of a `bext` chunk; `tags` holds what was made of its text.

    `rate` is in Hz, 0 if not known; then no moment gets a time of day.
    """
    yield from heading(f"bext, version {said.version} (EBU Tech 3285)")
    yield from row("description", said.description or "empty")
    yield from row("originator", said.originator or "empty")
    yield from row("originator reference", said.originator_reference or "empty")
    if tags.source is not None:
        one = tags.source
        text = f"EBU R 99: country {one.country}, organisation {one.organisation}, serial "
        time = f"{one.time[:2]}:{one.time[2:4]}:{one.time[4:]}"
        yield from row("", f"{text}{one.serial}, made at {time}, random {one.random}")
    yield from row("", tags.reference_remark)
    yield from row("origination date", said.origination_date or "empty")
    yield from row("origination time", said.origination_time or "empty")
    yield from row("time reference", _since_midnight(said.time_reference, rate))
    yield from _umid(said, tags.umid)
    yield from _loudness(said)
    if tags.history_lines or tags.history_remarks:
        yield from _history(tags)
    else:
        yield from row("coding history", "empty")


def _since_midnight(samples: int, rate: int) -> str:
    clock = f", {clock_time(samples, rate)}" if rate and samples < 1 << 53 else ""
    return f"sample {samples} since midnight{clock}"


def _umid(said: Embedded, parts: UmidParts | None) -> _Lines:
    if said.version == 0:
        yield from row("UMID", "version 0 has none")
        return
    yield from row("UMID", said.umid or "none")
    if parts is None:
        return
    kind = "not identified" if parts.material_type == 0x0F else f"type {parts.material_type}"
    method = _METHODS.get(parts.material_method, f"method {parts.material_method}")
    told = [
        f"SMPTE ST 330: material {kind}, number {parts.material_number} made by {method}",
        f"instance {parts.instance_number}",
        *(
            f"{name} {text}"
            for name, text in (
                ("country", parts.country),
                ("organisation", parts.organisation),
                ("user", parts.user),
            )
            if text
        ),
    ]
    yield from row("", ", ".join(told))


def _loudness(said: Embedded) -> _Lines:
    for label, value, unit in (
        ("loudness", said.loudness_value, "LUFS integrated"),
        ("loudness range", said.loudness_range, "LU"),
        ("true peak maximum", said.max_true_peak_level, "dBTP"),
        ("momentary maximum", said.max_momentary_loudness, "LUFS"),
        ("short-term maximum", said.max_short_term_loudness, "LUFS"),
    ):
        text = "unknown" if value is None else f"{value} {unit}"
        yield from row(label, text if said.version >= 2 else f"version {said.version} has none")


def _history(tags: Tags) -> _Lines:
    yield from heading("CodingHistory (EBU R 98)")
    for number, line in enumerate(tags.history_lines, start=1):
        yield from hung(f"{number:>4}  ", line)
    if tags.history_remarks:
        yield "Not as EBU R 98 has it:"
    for remark in tags.history_remarks:
        yield from hung("      ", remark)


def tag_lines(tags: Tags, rate: int) -> _Lines:
    """Yield what the chunks beside the audio say, `bext` left out; `rate` as in `bext_lines`."""
    yield from _info(tags)
    yield from _marks(tags.marks, rate)
    for document in tags.documents:
        yield from _document(document)
    yield from _definition(tags)
    if tags.envelope is not None:
        yield from _envelope(tags.envelope)
    if tags.cart is not None:
        yield from _cart(tags.cart, rate)
    if tags.fact_frames is not None or tags.code_page is not None or tags.listed:
        yield from heading("Other chunks")
        if tags.fact_frames is not None:
            yield from row("fact", f"states {counted(tags.fact_frames, 'sample')} a channel")
        if tags.code_page is not None:
            yield from row("CSET", f"states code page {tags.code_page}")
        ids = [printable(one).rstrip() or repr(one) for one in tags.listed]
        more = f", and {len(ids) - MOST_ROWS} more" if len(ids) > MOST_ROWS else ""
        yield from row("not looked into", ", ".join(ids[:MOST_ROWS]) + more)


def _info(tags: Tags) -> _Lines:
    if not tags.info:
        return
    yield from heading("INFO (RIFF 1991)")
    for one in tags.info[:MOST_ROWS]:
        yield from hung(f"{one.id}  {TITLES.get(one.id, ''):<17} ", one.text or "empty")
    if len(tags.info) > MOST_ROWS:
        yield f"… and {len(tags.info) - MOST_ROWS} more"


def _marks(marks: tuple[SetMark, ...], rate: int) -> _Lines:
    if not marks:
        return
    yield from heading("Marks")
    cells = (
        (
            clock_time(mark.frame, rate) if rate else "",
            str(mark.frame),
            _length(mark.frames, rate),
            _said(mark),
        )
        for mark in marks
    )
    yield from table(("time", "sample", "length", "what is said"), cells)


def _length(frames: int | None, rate: int) -> str:
    if frames is None:
        return ""
    return clock_time(frames, rate) if rate else str(frames)


def _said(mark: SetMark) -> str:
    stretch = f"{mark.purpose.strip()}: {mark.text}" if mark.text else mark.purpose.strip()
    note = f"note: {mark.note}" if mark.note else ""
    return printable("; ".join(part for part in (mark.label, note, stretch) if part))


def _document(document: XmlDocument) -> _Lines:
    yield from heading(f"{document.chunk} ({counted(document.octets, 'octet')} of XML)")
    yield from row("root", document.root or "not read")
    yield from row("namespace", document.namespace)
    if document.ixml is not None:
        yield from _ixml(document.ixml)


def _ixml(ixml: Ixml) -> _Lines:
    apart = ("timestamp", "timestamp_sample_rate_hz", "tracks", "sync_points", "bext")
    yield from rows(ixml, but=apart)
    if ixml.timestamp is not None:
        rate = ixml.timestamp_sample_rate_hz or ixml.sample_rate_hz or 0
        stamped = f", counted at {rate} Hz" if ixml.timestamp_sample_rate_hz else ""
        yield from row("time stamp", _since_midnight(ixml.timestamp, rate) + stamped)
    for number, track in enumerate(ixml.tracks[:MOST_ROWS], start=1):
        figures = (
            f"{name} {figure}"
            for name, figure in (("channel", track.channel), ("interleaved", track.interleave))
            if figure is not None
        )
        yield from row(f"track {number}", _joined(track.name, track.function, *figures))
    for number, point in enumerate(ixml.sync_points[:MOST_ROWS], start=1):
        since = "since midnight" if point.since_midnight else "of the file"
        place = f"sample {point.samples} {since}"
        length = f"{counted(point.frames, 'sample')} long" if point.frames else ""
        told = _joined(place, length, point.function, point.comment)
        yield from row(f"sync point {number}", told)
    for name, value in ixml.bext[:MOST_ROWS]:
        yield from row("copy of bext", f"{name}: {value}")


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _definition(tags: Tags) -> _Lines:
    if tags.definition_tracks is None:
        return
    yield from heading("chna (ITU-R BS.2088)")
    yield from row("tracks stated", str(tags.definition_tracks))
    for one in tags.definition_rows[:MOST_ROWS]:
        label = f"track {one.track}" if one.track else "row not used"
        yield from row(label, _joined(one.uid, one.track_format, one.pack_format) or "empty")
    if len(tags.definition_rows) > MOST_ROWS:
        yield f"… and {len(tags.definition_rows) - MOST_ROWS} more"


def _envelope(envelope: PeakEnvelope) -> _Lines:
    yield from heading(f"levl, version {envelope.version} (EBU Tech 3285 s3)")
    yield from row("channels", str(envelope.channels))
    yield from row(
        "values a channel",
        f"{envelope.peak_frames}, each of {counted(envelope.block_frames, 'sample')}",
    )
    bits = f"{envelope.bits} bits" if envelope.bits else "unknown form"
    yield from row("points a value", f"{envelope.points_per_value}, of {bits}")
    peak = envelope.peak_of_peaks
    yield from row("highest peak", "unknown" if peak is None else f"at sample {peak}")
    yield from row("made", envelope.made)


def _cart(cart: CartFacts, rate: int) -> _Lines:
    yield from heading("cart (AES46)")
    for name, text in cart.texts.items():
        yield from row(name.replace("_", " "), text)
    yield from row("level reference", str(cart.level_reference))
    for usage, frame in cart.timers:
        clock = f", {clock_time(frame, rate)}" if rate else ""
        yield from row(f"timer {usage}", f"sample {frame}{clock}")
