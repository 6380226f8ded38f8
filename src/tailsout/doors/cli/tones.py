"""`tailsout tones`: line-up tones of a capture, held against a calibration tape."""

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout.doors.cli import plotting, printing, tone_table
from tailsout.doors.cli.showing import progress
from tailsout.doors.cli.typed import Number
from tailsout.ground.errors import TailsoutError, UsageError
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.measure.line_up import ToneReading
    from tailsout.records.machine import Head
    from tailsout.records.tones import ToneFacts
    from tailsout.work.survey import Survey

_MOMENTS = {"as-found": "as_found", "as-left": "as_left"}
_SPACING = Number(0.1, 100.0)


@click.command("tones")
@click.argument("capture", type=click.Path())
@click.option(
    "--against",
    metavar="TAPE",
    help="Calibration tape: its form, a TOML file, or its id in the studio folder.",
)
@click.option("--studio", type=click.Path(), metavar="DIR", help="Studio folder with the tape.")
@click.option("--on-reel", is_flag=True, help="The tones are the reel's own: no certificate.")
@click.option(
    "--head-spacing",
    type=_SPACING,
    metavar="MM",
    help="From track centre to track centre of the head, for the angle of azimuth.",
)
@click.option(
    "--form",
    "moment",
    type=click.Choice(list(_MOMENTS)),
    help="Print only the lines for the session form.",
)
@click.option(
    "--plots",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Write response, azimuth and flutter as new SVG files into this folder.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON.")
def command(
    capture: str,
    against: str | None,
    studio: str | None,
    head_spacing: float | None,
    moment: str | None,
    *,
    folder: Path | None,
    on_reel: bool,
    as_json: bool,
) -> int:
    """Read the line-up tones of CAPTURE: level, speed, azimuth, response, wow and flutter.

    Announcements between the tones are passed over. A reading is held against the certificate only
    if these are the tape's tones; else the exit code is 1. Limits of common practice give notes,
    nothing more. The file is only read, and nothing in it is corrected.
    """
    if (against is None) is not on_reel:
        raise UsageError("Name a calibration tape with --against, or say --on-reel: one of them.")
    if moment is not None and as_json:
        raise UsageError("Ask for --form or for --json, not for both.")
    from tailsout.mapping import json_output  # noqa: PLC0415  help must not wait for it
    from tailsout.mapping.plain import json_line  # noqa: PLC0415
    from tailsout.records.machine import Head  # noqa: PLC0415
    from tailsout.work.measure import is_damaged  # noqa: PLC0415
    from tailsout.work.tone_notes import notes_on  # noqa: PLC0415
    from tailsout.work.tones import readings  # noqa: PLC0415

    head = Head(spacing_mm=Decimal(str(head_spacing))) if head_spacing is not None else None
    try:
        if folder is not None:
            plotting.refuse(folder, Path(capture), of_tones=True)
        seen, reading = _read(Path(capture), against, Path(studio) if studio else None, head)
        drawn = plotting.tones(folder, Path(capture), reading) if folder is not None else None
    except TailsoutError as error:
        if as_json:
            line = json_output.could_not(json_output.TONES, capture, str(error), error.exit_code)
            click.echo(json_line(line))
        raise
    damage, facts = seen.record.container.damage, reading.facts
    if as_json and seen.layout.pcm is not None:
        line = json_output.toned(
            capture,
            seen.layout.pcm,
            facts,
            readings=readings(facts),
            notes=notes_on(facts),
            damage=damage,
        )
        click.echo(json_line(line))
    else:
        _say(capture, seen, facts, moment)
        if moment is None:
            plotting.say(drawn)
        word = "damage" if is_damaged(seen) else "note"
        for one in damage:
            click.echo(f"  {word}: {printable(one.text)}", err=True)
    return 1 if is_damaged(seen) or not _is_read(facts) else 0


def _read(
    capture: Path, against: str | None, studio: Path | None, head: "Head | None"
) -> "tuple[Survey, ToneReading]":
    from tailsout.work import tones  # noqa: PLC0415  help must not wait for it

    tape = None
    if against is not None:
        tape = tones.calibration_tape(against, studio or tones.studio_of(capture))
    with progress() as shown:
        return tones.read_tones(capture, tape, head, shown)


def _say(name: str, seen: "Survey", facts: "ToneFacts", moment: str | None) -> None:
    from tailsout.work import tone_notes, tones  # noqa: PLC0415  help must not wait for it

    read = tones.readings(facts)
    if moment is not None:
        printing.say("\n".join(tones.form_text(read, _MOMENTS[moment])))
        return
    pcm = seen.layout.pcm
    if pcm is None:
        raise ValueError("what was read has a format")
    for line in tone_table.lines(name, pcm, facts):
        printing.say(line)
    for note in tone_notes.notes_on(facts):
        printing.say(f"  note: {note}")


def _is_read(facts: "ToneFacts") -> bool:
    """Tell whether it is what it was said to be; if not, tell why on standard error."""
    why = tone_table.WHY_NOT.get(facts.fit or "")
    if why is None and not facts.tones:
        why = tone_table.WHY_NOT["no tones"]
    if why is not None:
        click.echo(f"tailsout: {why}", err=True)
    return why is None
