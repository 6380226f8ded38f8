"""`tailsout reckon`: trade sums with their formulas and sources."""

from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.listing import Listing
from tailsout.doors.cli.typed import Constants, Lasting, Length, Number, Speed
from tailsout.ground.errors import UsageError

if TYPE_CHECKING:
    from tailsout.work.reckon.answer import Answer
    from tailsout.work.reckon.curves import Constants as Curve

# The arithmetic is imported where it is called: help must not wait for it.
# ruff: noqa: PLC0415, D401


@click.group("reckon", cls=Listing)
def command() -> None:
    """Calculate for the bench: time, length, reels, curves, flux, heads, echoes, loads.

    Every answer comes with its formula, the numbers put in, and the source of the formula. Speeds
    are typed as 7.5, 7½ or 7 1/2 (ips), curves as 3180/50 or inf/35 (µs).
    """


def _option(name: str, kind: Any, text: str, **more: Any) -> Callable[[Any], Any]:  # noqa: ANN401  click's own
    more.setdefault("required", "default" not in more)
    return click.option(name, type=kind, help=text, **more)


def _optional(name: str, kind: Any, text: str) -> Callable[[Any], Any]:  # noqa: ANN401  click's own
    return click.option(name, type=kind, help=text)


_SPEED = _option("--speed", Speed(), "Tape speed.")
_JSON = click.option("--json", "as_json", is_flag=True, help="Print one line of JSON an answer.")
_OUTER = _option("--outer", Number(), "Radius of the pack outside, mm.", metavar="MM")
_HUB = _option("--hub", Number(), "Radius of the hub, mm.", metavar="MM")
_THICKNESS = _option("--thickness", Number(), "Thickness of the whole tape, µm.", metavar="UM")
_AT = click.option("--at", "tones", type=Number(), multiple=True, metavar="HZ", help="Frequency.")


@command.command("time")
@_option("--length", Length(), "Length of tape, as 1200ft or 366m.")
@_SPEED
@_JSON
def time(length: Decimal, speed: Decimal, *, as_json: bool) -> int:
    """How long a length of tape plays."""
    from tailsout.work.reckon import reels

    return _tell(reels.time(length, speed), as_json=as_json)


@command.command("length")
@_option("--time", Lasting(), "Time, as 32:00.")
@_SPEED
@_JSON
def length(time: Decimal, speed: Decimal, *, as_json: bool) -> int:
    """How much tape passes in a time, and which reel held so much."""
    from tailsout.work.reckon import reels

    return _tell(reels.length(time, speed), as_json=as_json)


@command.command("reel")
@_OUTER
@_HUB
@_THICKNESS
@_SPEED
@_JSON
def reel(outer: float, hub: float, thickness: float, speed: Decimal, *, as_json: bool) -> int:
    """What a pack between two radii holds, how long it plays, how its turns run."""
    from tailsout.work.reckon import reels

    return _tell(reels.reel(outer, hub, thickness, speed), as_json=as_json)


@command.command("thickness")
@_OUTER
@_HUB
@_option("--length", Length(), "Length of tape, as 1200ft or 366m.")
@_JSON
def thickness(outer: float, hub: float, length: Decimal, *, as_json: bool) -> int:
    """How thick the tape of a pack of known length is."""
    from tailsout.work.reckon import reels

    return _tell(reels.thickness(outer, hub, length), as_json=as_json)


@command.command("echo")
@_option("--radius", Number(), "Radius in the pack as it lay while it printed, mm.", metavar="MM")
@_THICKNESS
@_SPEED
@_JSON
def echo(radius: float, thickness: float, speed: Decimal, *, as_json: bool) -> int:
    """When print-through of the neighbouring turns is heard, and at which pitch most."""
    from tailsout.work.reckon import reels

    return _tell(reels.echo(radius, thickness, speed), as_json=as_json)


@command.command("pitch")
@_optional("--replay", Speed(), "Speed of the replay.")
@_optional("--recording", Speed(), "Speed of the recording.")
@_optional("--hum", Number(), "Recorded hum as found, Hz.")
@_optional("--mains", Number(), "The mains it came from, Hz.")
@_JSON
def pitch(
    replay: Decimal | None,
    recording: Decimal | None,
    hum: float | None,
    mains: float | None,
    *,
    as_json: bool,
) -> int:
    """What a wrong speed does to pitch and length: by two speeds, or by recorded hum."""
    from tailsout.work.reckon import curves

    if replay is not None and recording and hum is None and mains is None:
        ratio, formula = replay / recording, f"{replay} ÷ {recording} ips"
    elif hum is not None and mains and replay is None and recording is None:
        ratio, formula = Decimal(str(hum)) / Decimal(str(mains)), f"{hum} ÷ {mains} Hz"
    else:
        raise UsageError(
            "Pitch is reckoned from two speeds or from hum.",
            "Give --replay and --recording, or --hum and --mains.",
        )
    return _tell(curves.pitch(ratio, formula), as_json=as_json)


@command.command("curve")
@click.argument("constants", metavar="T1/T2", type=Constants())
@_AT
@_JSON
def curve(constants: "Curve", tones: tuple[float, ...], *, as_json: bool) -> int:
    """What a reproducer of a curve does, as curve 3180/50."""
    from tailsout.work.reckon import curves

    return _tell(curves.curve(constants, tones or curves.TONES_HZ), as_json=as_json)


@command.command("mismatch")
@_option("--tape", Constants(), "Curve of the tape.")
@_option("--machine", Constants(), "Curve of the reproducer.")
@_AT
@_JSON
def mismatch(tape: "Curve", machine: "Curve", tones: tuple[float, ...], *, as_json: bool) -> int:
    """How a tape of one curve sounds on a machine of another, 0 dB at 1 kHz."""
    from tailsout.work.reckon import curves

    return _tell(curves.mismatch(tape, machine, tones or curves.TONES_HZ), as_json=as_json)


@command.command("wrong-speed")
@_option("--machine", Constants(), "Curve of the reproducer.")
@_option("--replay", Speed(), "Speed of the replay.")
@_option("--recording", Speed(), "Speed of the recording.")
@_optional("--tape", Constants(), "Curve of the tape, if the error is wanted.")
@_AT
@_JSON
def wrong_speed(
    machine: "Curve",
    replay: Decimal,
    recording: Decimal,
    tape: "Curve | None",
    tones: tuple[float, ...],
    *,
    as_json: bool,
) -> int:
    """Which curve a capture at another speed has once it is brought to its own."""
    from tailsout.work.reckon import curves

    speeds = (replay, recording)
    found = curves.wrong_speed(machine, speeds, tape, tones or curves.TONES_HZ)
    return _tell(found, as_json=as_json)


@command.command("flux")
@_option("--of", Number(), "Fluxivity, nWb/m.", metavar="NWB")
@_option("--re", Number(), "The fluxivity it is held against, nWb/m.", metavar="NWB")
@click.option("--din", is_flag=True, help="The first was stated by the DIN transfer.")
@_JSON
def flux(of: float, re: float, *, din: bool, as_json: bool) -> int:
    """One fluxivity against another, in dB."""
    from tailsout.work.reckon import levels

    return _tell(levels.flux(of, re, din=din), as_json=as_json)


@command.command("full-scale")
@_option("--reference", Number(), "Fluxivity of the reference tone, nWb/m.", metavar="NWB")
@_option("--reads", Number(), "Where it reads in the file, dBFS.", metavar="DBFS")
@_optional("--peak", Number(), "Peak of the programme, dBFS.")
@_JSON
def full_scale(reference: float, reads: float, peak: float | None, *, as_json: bool) -> int:
    """Which flux 0 dBFS stands for, and the programme's peak."""
    from tailsout.work.reckon import levels

    return _tell(levels.full_scale(reference, reads, peak), as_json=as_json)


@command.command("azimuth")
@_option("--spacing", Number(), "From track to track, centre to centre, mm.", metavar="MM")
@_SPEED
@_optional("--delay", Number(), "Delay of the second channel, µs.")
@_optional("--minutes", Number(), "Or the angle, arc-minutes.")
@_option("--at", Number(), "Frequency, Hz.", default=10_000.0, show_default=True)
@_JSON
def azimuth(
    spacing: float,
    speed: Decimal,
    delay: float | None,
    minutes: float | None,
    at: float,
    *,
    as_json: bool,
) -> int:
    """Delay between channels as an angle, as phase, and as loss of their sum."""
    from tailsout.work.reckon import levels

    if (delay is None) == (minutes is None):
        raise UsageError("Azimuth is reckoned from a delay or from an angle.", "Give one of them.")
    found = delay if delay is not None else levels.delay(spacing, speed, minutes or 0.0)
    return _tell(levels.azimuth(spacing, speed, at, delay_us=found), as_json=as_json)


@command.command("loss")
@_option("--at", Number(), "Frequency, Hz.")
@_SPEED
@_optional("--spacing", Number(), "Distance from the head, µm.")
@_optional("--gap", Number(), "Optical gap of the head, µm.")
@_optional("--coating", Number(), "Thickness of the coating, µm.")
@_JSON
def loss(
    at: float,
    speed: Decimal,
    spacing: float | None,
    gap: float | None,
    coating: float | None,
    *,
    as_json: bool,
) -> int:
    """What distance, gap and coating take off."""
    from tailsout.work.reckon import levels

    found = levels.loss(at, speed, spacing_um=spacing, gap_um=gap, coating_um=coating)
    return _tell(found, as_json=as_json)


@command.command("track")
@_option("--track", Number(), "Width of the track, mm.", metavar="MM")
@_option("--head", Number(), "Width of the head's core, mm.", metavar="MM")
@_JSON
def track(track: float, head: float, *, as_json: bool) -> int:
    """What a track loses on a head of another width."""
    from tailsout.work.reckon import levels

    return _tell(levels.track(track, head), as_json=as_json)


@command.command("load")
@_option("--load", Number(), "Impedance of the load, Ω.", metavar="OHM")
@_option("--source", Number(), "Impedance of the output, Ω.", metavar="OHM")
@_optional("--meter", Number(), "Impedance of a meter across it, Ω.")
@_JSON
def load(load: float, source: float, meter: float | None, *, as_json: bool) -> int:
    """What a load takes off a level, and a meter across it."""
    from tailsout.work.reckon import levels

    return _tell(levels.load(load, source, meter), as_json=as_json)


def _tell(answers: "Iterable[Answer]", *, as_json: bool) -> int:
    from tailsout.mapping.plain import json_line
    from tailsout.work.reckon.answer import json_of

    for one in answers:
        if as_json:
            click.echo(json_line(json_of(one)))
            continue
        spread = f" ± {one.spread}" if one.spread is not None else ""
        printing.say(f"{one.what}: {one.value}{spread} {one.unit}")
        printing.say(f"    = {one.formula}")
        printing.say(f"    {one.source}{f'; {one.remark}' if one.remark else ''}")
    return 0
