"""Reads the line-up tones of a capture, and holds them against a calibration tape."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import BinaryIO

from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.findings import Finding
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping.forms import job_forms, transfer
from tailsout.mapping.forms.form import form_at
from tailsout.measure.line_up import ToneReading, read_line_up
from tailsout.records.machine import CalibrationTape, Head
from tailsout.records.session import Reading
from tailsout.records.tones import FoundTone, ToneFacts
from tailsout.work.measure import with_damage
from tailsout.work.named_audio import opened
from tailsout.work.survey import Survey

SHELF = "calibration_tapes"
_MOST_FAULTS = 3


def calibration_tape(named: str, studio: Path | None) -> CalibrationTape:
    """Read the form of a calibration tape: a TOML file, or an id that the studio has it under.

    Raises UsageError if it is not there, MaterialError for a form with faults, SurroundingsError if
    it cannot be read.
    """
    shown = printable(named)
    findings: tuple[Finding, ...]
    known: list[str] = []
    try:
        if Path(named).suffix == ".toml" and Path(named).is_file():
            form, findings = form_at(Path(named))
        else:
            forms, findings = job_forms.forms_on(studio, SHELF) if studio is not None else ({}, ())
            form, known = forms.get(named), sorted(forms)
    except OSError as error:
        raise from_os_error(error, f"Looking for {shown}") from error
    if form is not None:
        # What is wrong with the forms of other tapes does not matter here.
        tape, findings = transfer.calibration_tape_of(form)
        if tape is not None:
            return tape
    if findings:
        told = " ".join(f"{one.place}: {one.text}" for one in findings[:_MOST_FAULTS])
        more = f" And {len(findings) - _MOST_FAULTS} more." if findings[_MOST_FAULTS:] else ""
        raise MaterialError(f"The form of calibration tape {shown} has faults: {told}{more}")
    there = f"; the studio has {', '.join(map(printable, known))}." if known else "."
    raise UsageError(
        f"There is no calibration tape {shown}{there}",
        "Name its form, a TOML file, or its id together with --studio DIR.",
    )


def studio_of(capture: Path) -> Path | None:
    """Return the studio folder that a capture lies in, as the captures of its sessions do."""
    return job_forms.studio_above(capture)


def read_tones(
    path: Path, tape: CalibrationTape | None, head: Head | None, progress: Progress
) -> tuple[Survey, ToneReading]:
    """Return what the header of one file shows, and its line-up tones.

    Without a tape they are the reel's own. Raises UsageError if it is not there, MaterialError if
    it holds no audio that can be measured, SurroundingsError if it cannot be read through.
    """
    with opened(path) as named:
        found = tones_in(named.audio.stream, named.seen, tape, head, progress)
        return with_damage(named.seen, named.audio.proof()), found


def tones_in(
    stream: BinaryIO,
    seen: Survey,
    tape: CalibrationTape | None,
    head: Head | None,
    progress: Progress,
) -> ToneReading:
    """Read the tones of a surveyed file, open as a wave file.

    Raises MaterialError if it holds no audio that can be measured, SurroundingsError.
    """
    pcm, data = seen.sound()
    progress.begin(f"Reading the tones of {seen.record.path}", seen.layout.data_octets)
    return read_line_up(
        stream,
        pcm,
        data_offset=data.offset,
        data_octets=seen.layout.data_octets,
        tape=tape,
        head=head,
        advance=progress.advance,
    )


def readings(facts: ToneFacts) -> tuple[Reading, ...]:
    """Return the tones as a setting of a session holds them, `as_found` or `as_left`.

    By the certificate's frequency where the tape's tones were found, else by their own; speed and
    flutter stand beside the tone that they were read on. None of tones that are not the tape's.
    """
    if facts.fit not in {None, "fits"}:
        return ()
    return tuple(one for tone in facts.tones for one in _readings(tone, facts))


def _readings(tone: FoundTone, facts: ToneFacts) -> Iterator[Reading]:
    flutter = facts.flutter
    has_flutter = flutter is not None and tone.start <= flutter.start < tone.end
    listed = tone.listed
    for level in tone.channels:
        if level.level_dbfs is None:
            continue
        is_first = flutter is not None and has_flutter and level.channel == flutter.channel
        yield Reading(
            frequency_hz=listed.frequency_hz if listed is not None else tone.frequency_hz,
            channel=level.channel,
            level_db=level.relative_db,
            phase_deg=level.phase_deg,
            speed_error_percent=tone.speed_error_percent if has_flutter else None,
            flutter_percent=flutter.weighted_percent if flutter and is_first else None,
        )


def form_text(read: Iterable[Reading], moment: str) -> Iterator[str]:
    """Yield the lines that a session form takes for them, below its setting.

    `moment` is `as_found` or `as_left`.
    """
    for one in read:
        yield f"[[settings.{moment}]]"
        for key, value in _pairs(one):
            yield f"{key} = {value:f}" if isinstance(value, Decimal) else f"{key} = {value}"
        yield ""


def _pairs(one: Reading) -> Iterator[tuple[str, Decimal | int]]:
    for key in (
        "frequency_hz",
        "channel",
        "level_db",
        "phase_deg",
        "speed_error_percent",
        "flutter_percent",
    ):
        value = getattr(one, key)
        if value is not None:
            yield key, value
