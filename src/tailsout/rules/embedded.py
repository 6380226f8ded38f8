"""What a file says of itself, against what its side-car or form says and what the audio is."""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import CM_PER_INCH, plain, printable
from tailsout.mapping.history import (
    is_analogue,
    machine_name,
    settings_of,
    speed_of,
    step_name,
)
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import Transfer
from tailsout.rules.rule import Rule, transfer_of
from tailsout.wave.history import Line

BEXT_MISSING = Kind(
    code="bext-missing",
    severity=Severity.MEND,
    title="A master of ours has no bext chunk",
    basis="EBU Tech 3285 v2 §2: a broadcast wave file carries one bext chunk",
    remedy="Ask the sender for the package again.",
)
BEXT_LOUDNESS = Kind(
    code="bext-loudness-differs",
    severity=Severity.MEND,
    title="Loudness in the bext chunk is not what the side-car says was measured",
    basis="EBU Tech 3285 v2 §2.4; both were written from one measurement",
    remedy="Measure the file again at the desk, and ask the sender which of the two was edited.",
)
BEXT_DATE = Kind(
    code="bext-date-differs",
    severity=Severity.QUERY,
    title="The day in the bext chunk is not the day stated for the capture",
    basis="EBU Tech 3285 v2 §2.3: OriginationDate is the day the audio was made",
    remedy="The engineer decides which day is right; a recorder's clock may have been off.",
)
DATE_UNKNOWN = Kind(
    code="capture-date-unknown",
    severity=Severity.QUERY,
    title="Nothing says on which day a capture was made",
    basis="EBU Tech 3285 v2 §2.3: OriginationDate",
    remedy='Give the day in the form, or write started = "not recorded" if nobody knows.',
)
HISTORY_FORMAT = Kind(
    code="history-format-differs",
    severity=Severity.QUERY,
    title="The last digital line of CodingHistory does not fit the audio",
    basis="EBU R 98-1999: F is the sampling frequency, W the word length",
    remedy="The engineer says which process made the file as it is.",
)
HISTORY_CHAIN = Kind(
    code="history-chain-differs",
    severity=Severity.QUERY,
    title="CodingHistory and the stated chain name different things",
    basis="EBU R 98-1999: one line for each process, oldest first",
    remedy="The engineer says which of the two is right.",
)


def _claims(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        if file.sidecar is None:
            continue
        # What was measured in this run may differ by a little: that is another rule's business.
        measured = file.stated.measured if file.stated else None
        if file.embedded is None:
            place = Place(file=printable(file.path))
            yield BEXT_MISSING.at(place, "its side-car is ours, yet it has no bext chunk.")
        elif measured is not None:
            yield from _loudness(file.path, file.embedded, measured)


def _loudness(path: str, said: Embedded, measured: AudioFacts) -> Iterator[Finding]:
    if said.version < 2:
        return
    for field, claim, fact in (
        ("LoudnessValue", said.loudness_value, measured.integrated_lufs),
        ("LoudnessRange", said.loudness_range, measured.range_lu),
        ("MaxTruePeakLevel", said.max_true_peak_level, measured.true_peak_dbtp),
        ("MaxMomentaryLoudness", said.max_momentary_loudness, measured.momentary_max_lufs),
        ("MaxShortTermLoudness", said.max_short_term_loudness, measured.short_term_max_lufs),
    ):
        if claim != _storable(fact):
            place = Place(file=printable(path), part=f"bext.{field}")
            yield BEXT_LOUDNESS.at(place, f"it reads {_shown(claim)}, measured: {_shown(fact)}.")


def _storable(value: Decimal | None) -> Decimal | None:
    """Tell what the chunk can hold of a value: nothing beyond ±99.99 (EBU Tech 3285 v2 §2.4)."""
    limit = Decimal("99.99")
    return value if value is not None and -limit <= value <= limit else None


def _shown(value: Decimal | None) -> str:
    return "unknown" if value is None else str(value)


def _dates(dossier: Dossier) -> Iterator[Finding]:
    for file, index, capture in _captures(dossier, transfer_of(dossier)):
        embedded_day = _day(file.embedded.origination_date) if file.embedded else ""
        if capture.started is None:
            known = embedded_day or _pass_day(transfer_of(dossier), capture)
            told_later = transfer_of(dossier).kind == "retrospective"
            if not known and "started" not in capture.absent and not told_later:
                place = dossier.place(f"/captures/{index}")
                yield DATE_UNKNOWN.at(place, f"capture {capture.id!r} has no day.")
        elif embedded_day and embedded_day != capture.started[:10]:
            place = Place(file=printable(file.path), part="bext.OriginationDate")
            stated = dossier.place(f"/captures/{index}/started")
            text = f"it reads {embedded_day}, {stated} says {capture.started}."
            yield BEXT_DATE.at(place, text)


def _day(text: str) -> str:
    """Write a bext date with hyphens, whatever its separator (Tech 3285 leaves it free)."""
    if len(text) != len("2026-03-14"):
        return ""
    return printable(f"{text[:4]}-{text[5:7]}-{text[8:]}")


def _pass_day(transfer: Transfer, capture: Capture) -> str:
    return next((p.on or "" for p in transfer.passes if p.id == capture.pass_id), "")


def _captures(dossier: Dossier, transfer: Transfer) -> Iterator[tuple[FileRecord, int, Capture]]:
    for file in dossier.files:
        for index, capture in enumerate(transfer.captures):
            if capture.id == file.capture:
                yield file, index, capture


def _history(dossier: Dossier) -> Iterator[Finding]:
    for file, _, capture in _captures(dossier, transfer_of(dossier)):
        if file.sidecar is None or file.embedded is None:
            continue
        lines = tuple(Line(parameters=one.parameters) for one in file.embedded.coding_history)
        place = Place(file=printable(file.path), part="bext.CodingHistory")
        digital = [line for line in lines if not is_analogue(line)]
        if digital and file.pcm is not None:
            yield from _format(place, digital[-1], file.pcm)
        for missing in _unsaid(transfer_of(dossier), capture, lines):
            yield HISTORY_CHAIN.at(place, f"the side-car states {missing}, the history does not.")


def _format(place: Place, line: Line, pcm: Pcm) -> Iterator[Finding]:
    said = dict(line.parameters)
    for key, fact in (("F", pcm.sample_rate_hz), ("W", pcm.valid_bits)):
        if key in said and said[key].strip() != str(fact):
            text = f"its last line says {key}={printable(said[key], 40)}, the audio has {fact}."
            yield HISTORY_FORMAT.at(place, text)


def _unsaid(transfer: Transfer, capture: Capture, lines: tuple[Line, ...]) -> Iterator[str]:
    """Name what the stated chain holds and no line of the history mentions."""
    analogue = [_text(line) for line in lines if is_analogue(line)]
    one_pass = next((p for p in transfer.passes if p.id == capture.pass_id), None)
    used = one_pass.machine if one_pass else None
    for machine in transfer.machines:
        name = machine_name(machine)
        if machine.id == used and name and not any(name in text for text in analogue):
            yield f"the machine {name!r}"
    for region in settings_of(transfer, capture):
        speed = speed_of(region, one_pass)
        wanted = f"{plain(speed * CM_PER_INCH)} cm/s" if speed is not None else ""
        if wanted and not any(wanted in text for text in analogue):
            yield f"the speed {wanted} of region {region.id!r}"
    everything = " ".join(_text(line) for line in lines)
    for step in transfer.chain.steps if transfer.chain else ():
        if step.signal == "digital" and step.device and step_name(step) not in everything:
            yield f"the device {step_name(step)!r}"


def _text(line: Line) -> str:
    return " ".join(value for _, value in line.parameters)


RULES = (
    Rule(
        name="embedded metadata against side-car",
        kinds=(BEXT_MISSING, BEXT_LOUDNESS),
        needs=frozenset({"side-cars", "headers"}),
        run=_claims,
    ),
    Rule(
        name="dates of the captures",
        kinds=(BEXT_DATE, DATE_UNKNOWN),
        needs=frozenset({"statements", "headers"}),
        run=_dates,
    ),
    Rule(
        name="coding history against chain",
        kinds=(HISTORY_FORMAT, HISTORY_CHAIN),
        needs=frozenset({"statements", "side-cars", "headers"}),
        run=_history,
    ),
)
