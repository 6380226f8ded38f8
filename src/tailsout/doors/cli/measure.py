"""`tailsout measure`: what one read of a wave file shows."""

from decimal import Decimal
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

import click

from tailsout.doors.cli import plotting, printing
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import clock_time, counted, printable

if TYPE_CHECKING:
    from tailsout.ground.pcm import Pcm
    from tailsout.records.sound import AudioFacts


@click.command("measure")
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON a file.")
@click.option(
    "--plots",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Write waveform and spectrogram as new SVG files into this folder.",
)
def command(files: tuple[str, ...], *, as_json: bool, folder: Path | None) -> int:
    """Measure wave and FLAC files: digest of the samples, length, levels, loudness, faults, hum.

    Loudness by ITU-R BS.1770 and EBU Tech 3341 and 3342; dBFS of a level is re a full-scale sine.
    Also dropouts, gaps, what channels share, bandwidth. The files are only read, once. A damaged
    file is measured as far as it goes, its damage told, and the exit code is 1.
    """
    return printing.most_serious(_one(name, as_json=as_json, folder=folder) for name in files)


def _one(name: str, *, as_json: bool, folder: Path | None) -> int:
    from tailsout.mapping import json_output  # noqa: PLC0415  help must not wait for it
    from tailsout.mapping.plain import json_line  # noqa: PLC0415
    from tailsout.work.measure import is_damaged, measure_file  # noqa: PLC0415

    try:
        if folder is not None:
            plotting.refuse(folder, Path(name), of_tones=False)
        with progress() as shown:
            seen, measured = measure_file(Path(name), shown)
        drawn = plotting.sound(folder, Path(name), measured) if folder is not None else None
    except TailsoutError as error:
        if as_json:
            line = json_output.could_not(json_output.MEASURE, name, str(error), error.exit_code)
            click.echo(json_line(line))
        return printing.stopped(error)
    pcm = seen.layout.pcm
    if pcm is None:
        raise ValueError("what was measured has a format")
    damage = seen.record.container.damage
    if as_json:
        click.echo(json_line(json_output.measured(name, pcm, measured.facts, damage)))
    else:
        for shown_line in _lines(name, pcm, measured.facts):
            printing.say(shown_line)
        plotting.say(drawn)
        word = "damage" if is_damaged(seen) else "note"
        for one in damage:
            click.echo(f"  {word}: {printable(one.text)}", err=True)
    return 1 if is_damaged(seen) else 0


def _lines(name: str, pcm: "Pcm", facts: "AudioFacts") -> list[str]:
    from tailsout.views import measured  # noqa: PLC0415  help must not wait for it

    channels = counted(pcm.channels, "channel")
    length = clock_time(facts.frames, facts.sample_rate_hz)
    integrated = _figure(facts.integrated_lufs, "LUFS", "integrated")
    momentary = _figure(facts.momentary_max_lufs, "LUFS", "momentary")
    short_term = _figure(facts.short_term_max_lufs, "LUFS", "short-term")
    true_peak = _figure(facts.true_peak_dbtp, "dBTP", "true")
    sample_peak = _figure(facts.sample_peak_dbfs, "dBFS", "sample")
    lines = [
        printable(name),
        f"  format      {pcm.sample_rate_hz} Hz, {pcm.coding}, {channels}",
        f"  length      {length} ({counted(facts.frames, 'sample')} a channel)",
        f"  samples     sha256 {facts.essence_sha256}",
        f"  loudness    {integrated}, range {measured.figure(facts.range_lu, 'LU')}",
        f"  maxima      {momentary}, {short_term}",
        f"  peak        {true_peak}, {sample_peak}",
    ]
    for label, told in (*measured.channels(facts), *measured.together(facts)):
        start, more = f"  {label:<11} ", " " * 14
        lines += wrap(told, printing.width(), initial_indent=start, subsequent_indent=more)
    if facts.non_finite_samples:
        lines.append(f"  danger      samples that are not numbers: {facts.non_finite_samples}")
    return lines


def _figure(value: Decimal | None, unit: str, what: str) -> str:
    return f"{value} {unit} {what}" if value is not None else f"{what}: nothing to measure"
