"""`tailsout compare`: two passes of one side, laid on each other."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.records.comparison import Comparison, OnePass


@click.command("compare")
@click.argument("first", type=click.Path())
@click.argument("second", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON.")
def command(first: str, second: str, *, as_json: bool) -> int:
    """Compare two passes of one side: before and after treatment, two machines, two settings.

    SECOND is laid on FIRST, whatever its start, and within 6 % of its speed. Told are offset, speed
    and its wander, level, treble band by band, azimuth, noise and dropouts. Both files are only
    read. If they do not hold one recording, no figure is told and the exit code is 1.
    """
    from tailsout.mapping import json_output  # noqa: PLC0415  help must not wait for it
    from tailsout.mapping.plain import json_line  # noqa: PLC0415
    from tailsout.work.compare import compare  # noqa: PLC0415

    try:
        with progress() as shown:
            found = compare(Path(first), Path(second), shown)
    except TailsoutError as error:
        if as_json:
            name = f"{first} {second}"
            click.echo(
                json_line(
                    json_output.could_not(json_output.COMPARE, name, str(error), error.exit_code)
                )
            )
        raise
    if as_json:
        click.echo(json_line(json_output.compared(first, second, found)))
        return 0
    for line in _lines(first, second, found):
        printing.say(line)
    return 0


def _lines(first: str, second: str, found: "Comparison") -> list[str]:
    turned = "; the second has the other polarity" if found.is_inverted else ""
    alike = f"likeness {found.likeness} in {found.windows} windows"
    wander = f"wander ± {found.wander_ms} ms"
    lines = [
        f"first   {printable(first)}",
        f"second  {printable(second)}",
        f"  laid on each other  {found.overlap_s} s held by both, {alike}{turned}",
        f"  offset              {found.offset_s} s: where the first begins in the second",
        f"  speed               second {found.speed_difference_percent:+} %, {wander}",
        f"  level               second {found.level_difference_db:+} dB, 200 Hz to 4 kHz",
        "  second less first, by thirds of an octave",
    ]
    lines += [
        "    " + "  ".join(f"{band.centre_hz:>5} Hz {band.difference_db:+6.2f} dB" for band in row)
        for row in (found.bands[n : n + 4] for n in range(0, len(found.bands), 4))
    ]
    for name, one in (("first", found.first), ("second", found.second)):
        lines.append(f"  {name:<18}  {_one(one)}")
    return lines


def _one(one: "OnePass") -> str:
    floor = f"{one.noise_floor_dbfs} dBFS" if one.noise_floor_dbfs is not None else "not told"
    told = [f"noise floor {floor}", f"{one.dropouts} dropouts"]
    if one.dropouts_only_here is not None:
        told[-1] += f", {one.dropouts_only_here} of them only here"
    if one.delay_us is not None:
        spread = f" ± {one.delay_spread_us}" if one.delay_spread_us is not None else ""
        told.append(f"channel 2 late by {one.delay_us}{spread} µs")
    return "; ".join(told)
