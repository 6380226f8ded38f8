"""Between the `bext` chunk (EBU Tech 3285 v2) and our records, both ways.

The chunk is ASCII with short fields: text is reduced and cut here, and the full text stays in the
side-car. What the forms leave unsaid is taken over from the capture's own chunk.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.mapping.history import ascii_reduced, history_for
from tailsout.records.capture import Capture
from tailsout.records.facts import ChunkFacts, ContainerFacts, Embedded, EmbeddedHistoryLine
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import TextChunk
from tailsout.wave import history, umid
from tailsout.wave.bext import FIXED_OCTETS, Bext
from tailsout.wave.flac import FlacLayout
from tailsout.wave.riff import Layout

DESCRIPTION_LENGTH = 256
ORIGINATOR_LENGTH = 32
"""Of Originator and OriginatorReference alike (EBU Tech 3285 v2 §2.3)."""
READABLE_OCTETS = 10_240
"""Most octets of a `bext` that libsndfile reads (by trial, with 1.2.2)."""
SEE_DESCRIPTION = "See Description for identifiers"
"""What FADGI 2012 writes as OriginatorReference where no identifier fits (as quoted by others)."""

BEXT_REDUCED = Kind(
    code="bext-text-reduced",
    severity=Severity.NOTE,
    title="Text was reduced to ASCII or cut to fit a bext field",
    basis="EBU Tech 3285 v2 §2.3: ASCII, 256 and 32 characters",
    remedy="Nothing to do: the full text stands in the side-car.",
)
BEXT_LONG = Kind(
    code="bext-long",
    severity=Severity.NOTE,
    title="A bext chunk is longer than a widespread reader takes",
    basis="EBU Tech 3285 v2 §2.3 sets no limit; libsndfile 1.2 passes over more than 10,240 octets",
    remedy="Nothing to do: the chunk is in order, and the history stands in the side-car as well.",
)
KINDS = (BEXT_REDUCED, BEXT_LONG)


@dataclass(frozen=True, slots=True, kw_only=True)
class Master:
    """How one master is named, and what of its capture it holds."""

    path: str
    """Path in the package."""
    stem: str
    file_id: str
    """UUID."""
    starts_at: int = 0
    """Position of its first sample in the capture."""
    is_part: bool = False
    """Whether other parts of the capture are kept apart from it."""
    track: int | None = None
    """Which of the mono files it is, counted from 1."""
    texts: Mapping[tuple[TextChunk, str], str] = field(default_factory=dict)
    """What the recipient wants to read in some of its fields, by chunk and field."""


def embedded_of(bext: Bext) -> Embedded:
    """Turn a chunk as read into a record."""
    lines, _ = history.parse(bext.coding_history)
    return Embedded(
        version=bext.version,
        description=bext.description,
        originator=bext.originator,
        originator_reference=bext.originator_reference,
        origination_date=bext.origination_date,
        origination_time=bext.origination_time,
        time_reference=bext.time_reference,
        umid=bext.umid.hex() if any(bext.umid) else "",
        loudness_value=bext.loudness_value,
        loudness_range=bext.loudness_range,
        max_true_peak_level=bext.max_true_peak_level,
        max_momentary_loudness=bext.max_momentary_loudness,
        max_short_term_loudness=bext.max_short_term_loudness,
        coding_history=tuple(EmbeddedHistoryLine(parameters=line.parameters) for line in lines),
    )


def container_of(layout: Layout) -> ContainerFacts:
    """Turn a walked file's structure into a record."""
    return ContainerFacts(
        form=layout.form,
        chunks=tuple(
            ChunkFacts(id=c.id.decode("latin-1"), offset=c.offset, octets=c.octets, pad=c.pad)
            for c in layout.chunks
        ),
        damage=layout.damage,
    )


def flac_container_of(layout: FlacLayout, damage: tuple[Damage, ...]) -> ContainerFacts:
    """Turn a walked FLAC file's metadata blocks into a record; `damage` is all that was met."""
    return ContainerFacts(
        form="FLAC",
        chunks=tuple(
            ChunkFacts(id=block.name, offset=block.offset, octets=block.octets)
            for block in layout.blocks
        ),
        damage=damage,
    )


def bext_for(
    transfer: Transfer,
    capture: Capture,
    *,
    master: Master,
    pcm: Pcm,
    facts: AudioFacts,
    own: Bext | None,
) -> tuple[Bext, tuple[Finding, ...]]:
    """Make the chunk of one master, version 2.

    `own` is the chunk of what it is made of, if there is one.
    """
    findings: list[Finding] = []

    def fit(text: str, length: int, field: str) -> str:
        reduced = ascii_reduced(text)[:length].rstrip()
        if reduced != text:
            place = Place(file=master.path, part=f"bext.{field}")
            findings.append(BEXT_REDUCED.at(place, f"it reads {reduced!r} for {text!r}."))
        return reduced

    asked = {name: text for (chunk, name), text in master.texts.items() if chunk == "bext"}
    own_lines, _ = history.parse(own.coding_history) if own else ((), ())
    later = master.starts_at > 0
    day, hour = _origination(transfer, None if later else capture.started, capture, own)
    bext = Bext(
        description=fit(
            asked.get("Description") or _description(transfer, capture, master),
            DESCRIPTION_LENGTH,
            "Description",
        ),
        originator=fit(
            asked.get("Originator") or _originator(transfer, own), ORIGINATOR_LENGTH, "Originator"
        ),
        originator_reference=fit(
            asked.get("OriginatorReference") or _reference(transfer, master),
            ORIGINATOR_LENGTH,
            "OriginatorReference",
        ),
        origination_date=day,
        origination_time=hour,
        # Common practice: of a reel split over several files each goes on where the last ended.
        time_reference=own.time_reference if own else master.starts_at,
        version=2,
        umid=_umid(transfer, master, own),
        loudness_value=facts.integrated_lufs,
        loudness_range=facts.range_lu,
        max_true_peak_level=facts.true_peak_dbtp,
        max_momentary_loudness=facts.momentary_max_lufs,
        max_short_term_loudness=facts.short_term_max_lufs,
        coding_history=history.render(history_for(transfer, capture, pcm, own_lines)),
    )
    length = len(bext.coding_history)
    if FIXED_OCTETS + length > READABLE_OCTETS:
        place = Place(file=master.path, part="bext.CodingHistory")
        findings.append(BEXT_LONG.at(place, f"the coding history has {length} characters."))
    return bext, tuple(findings)


def follows_fadgi(transfer: Transfer) -> bool:
    """Tell whether the recipient wants the masters to follow the FADGI guideline."""
    return transfer.recipient is not None and transfer.recipient.embedding_guideline == "FADGI"


def identifiers_of(transfer: Transfer) -> tuple[str, ...]:
    """Return how the reel is called, the name of the package first, each once."""
    named = (one.value for one in transfer.reel.identifiers)
    return tuple(dict.fromkeys((transfer.package_id, *named)))


def _reference(transfer: Transfer, master: Master) -> str:
    """Name the file; FADGI 2012 wants its best identifier, or a pointer to Description."""
    stem = ascii_reduced(master.stem)
    if len(stem) <= ORIGINATOR_LENGTH:
        return stem
    # A UUID without its hyphens is exactly as long as the field.
    return SEE_DESCRIPTION if follows_fadgi(transfer) else master.file_id.replace("-", "")


def _umid(transfer: Transfer, master: Master, own: Bext | None) -> bytes:
    if own is not None and own.umid:
        return own.umid
    wanted = transfer.recipient is not None and transfer.recipient.umid
    return umid.basic(UUID(master.file_id).bytes) if wanted else b""


def _description(transfer: Transfer, capture: Capture, master: Master) -> str:
    if follows_fadgi(transfer):
        # The guideline makes the field a list of identifiers, the most important first.
        return "; ".join((master.stem, *identifiers_of(transfer), f"UUID: {master.file_id}"))
    sides = [s.id for s in transfer.reel.sides if any(r.capture == capture.id for r in s.regions)]
    shown = f"side {', '.join(sides)}" if sides else capture.id
    if master.track is not None:
        shown = f"{shown}, track {master.track}"
    if master.is_part:
        shown = f"{shown}, from sample {master.starts_at}"
    package_id, *others = identifiers_of(transfer)
    parts = [package_id, shown, transfer.reel.title or "", *others]
    return "; ".join(part for part in parts if part)


def _originator(transfer: Transfer, own: Bext | None) -> str:
    wanted = transfer.recipient.originator if transfer.recipient else None
    return wanted or transfer.studio.name or (own.originator if own else "") or "not recorded"


def _origination(
    transfer: Transfer, started: str | None, capture: Capture, own: Bext | None
) -> tuple[str, str]:
    """Day and time: as stated for the capture; else as the recorder wrote; else the pass's.

    What a recorder wrote that is not a day or time (§2.3) is not written again, and tells nothing.
    """
    if started is None and own is not None and _is_day(own.origination_date):
        hour = own.origination_time
        return own.origination_date, hour if _HOUR.fullmatch(hour) else ""
    if started is None:
        started = next((p.on for p in transfer.passes if p.id == capture.pass_id), None)
    if started is None:
        return "", ""
    day, _, rest = started.partition("T")
    clock = rest[:8] if len(rest) >= len("10:20:30") and rest[5] == ":" else f"{rest[:5]}:00"
    return day, clock if rest else ""


# Any separator may stand between the figures (EBU Tech 3285 v2 §2.3).
_DAY = re.compile(r"([0-9]{4})[ -/:-~]([0-9]{2})[ -/:-~]([0-9]{2})", re.ASCII)
_HOUR = re.compile(r"([01][0-9]|2[0-3])[ -/:-~][0-5][0-9][ -/:-~][0-5][0-9]", re.ASCII)


def _is_day(text: str) -> bool:
    match = _DAY.fullmatch(text)
    try:
        return match is not None and bool(date(*map(int, match.groups())))
    except ValueError:
        return False
