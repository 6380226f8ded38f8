"""A reading of line-up tones as lines for the bench."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from tailsout.ground.units import clock_time, counted, printable

if TYPE_CHECKING:
    from tailsout.ground.pcm import Pcm
    from tailsout.records.tones import FoundTone, ToneChannel, ToneFacts

WHY_NOT: Mapping[str, str] = {
    "few tones match": (
        "Few of these tones are the calibration tape's. Look whether it is the right tape, and "
        "whether its certificate lists the tones in the order of the tape."
    ),
    "another speed": (
        "These are the calibration tape's tones at another speed. Capture it again at its own."
    ),
    "no tones": "No steady tone of a second or more was found.",
}
"""What is said of readings that do not fit."""

_HEADING = (
    "    no  at             tone Hz   found Hz  ch     dBFS   re ref      off  within    phase"
)


def lines(name: str, pcm: "Pcm", facts: "ToneFacts") -> Iterator[str]:
    """Yield what was read: the whole, each tone, what stands behind them."""
    channels = counted(pcm.channels, "channel")
    yield printable(name)
    yield f"  format      {pcm.sample_rate_hz} Hz, {pcm.coding}, {channels}"
    yield f"  length      {clock_time(facts.frames, facts.sample_rate_hz)}"
    yield f"  tones       {_tape(facts)}"
    if facts.speed_error_percent is not None:
        error = facts.speed_error_percent
        way = "fast" if error > 0 else "slow" if error < 0 else "as it should be"
        yield f"  speed       {error:+} % ({way})"
    for channel in facts.channels:
        yield from _channel(channel)
    yield from _flutter(facts)
    if facts.tones:
        yield ""
        yield _HEADING
    for number, tone in enumerate(facts.tones, 1):
        yield from _tone(number, tone, facts)
    if facts.tape is not None and facts.fit == "fits":
        yield from _rest(facts)
    yield ""


def _tape(facts: "ToneFacts") -> str:
    found = f"{len(facts.tones)} found"
    if facts.tape is None:
        return f"{found}, the reel's own"
    if facts.fit == "fits":
        matched = sum(tone.number is not None for tone in facts.tones)
        listed = matched + len(facts.missing)
        return f"{found}; {matched} of the {listed} of calibration tape {facts.tape}"
    if facts.fit is None:
        return f"{found}; the certificate of calibration tape {facts.tape} lists none"
    return f"{found}; held against calibration tape {facts.tape}: {facts.fit}"


def _channel(one: "ToneChannel") -> Iterator[str]:
    told = []
    if one.reference_dbfs is not None:
        told.append(f"reference tone {one.reference_dbfs} dBFS")
    if one.balance_db is not None:
        told.append(f"balance {one.balance_db:+} dB")
    if told:
        yield f"  channel {one.channel}   {', '.join(told)}"
    azimuth = one.azimuth
    if azimuth is not None:
        late = "early" if azimuth.delay_us < 0 else "late"
        angle = (
            f", {azimuth.arc_minutes:+} arc-minutes at {azimuth.spacing_mm} mm"
            if azimuth.arc_minutes is not None
            else ""
        )
        yield (
            f"  azimuth     channel {one.channel} {late} by {abs(azimuth.delay_us)} µs{angle}, "
            f"{azimuth.residual_deg}° left over, {azimuth.tones} tones"
        )


def _flutter(facts: "ToneFacts") -> Iterator[str]:
    one = facts.flutter
    if one is None:
        return
    yield (
        f"  flutter     ±{one.weighted_percent} % weighted (2-sigma style), RMS "
        f"{one.weighted_rms_percent} % weighted, {one.unweighted_rms_percent} % unweighted, "
        f"drift {one.drift_percent:+} %"
    )
    for line in one.lines:
        size = f", a part of {line.diameter_mm} mm" if line.diameter_mm is not None else ""
        parts = f", consistent with {' or '.join(line.consistent_with)}"
        yield (
            f"              {line.frequency_hz} Hz, ±{line.depth_percent} %{size}"
            f"{parts if line.consistent_with else ''}"
        )


def _tone(number: int, tone: "FoundTone", facts: "ToneFacts") -> Iterator[str]:
    at = clock_time(tone.start, facts.sample_rate_hz)
    nominal = f"{tone.listed.frequency_hz:f}" if tone.listed is not None else "-"
    mark = "*" if facts.fit == "fits" and tone.number is None else " "
    head = f"  {mark}{number:3}  {at:12}  {nominal:>9}  {tone.frequency_hz:>9}"
    for level in tone.channels:
        within = {True: "yes", False: "NO", None: "-"}[level.is_within]
        phase = f"{level.phase_deg}°" if level.phase_deg is not None else "-"
        yield (
            f"{head}  {level.channel:2} {_level(level.level_dbfs)} {_level(level.relative_db)} "
            f"{_level(level.deviation_db)}  {within:>6}  {phase:>7}"
        )
        head = " " * len(head)


def _level(value: Decimal | None) -> str:
    return f"{value if value is not None else '-':>8}"


def _rest(facts: "ToneFacts") -> Iterator[str]:
    if any(tone.number is None for tone in facts.tones):
        yield "  * not among the tones of the certificate"
    if facts.missing:
        tones = ", ".join(f"{one.frequency_hz:f}" for one in facts.missing)
        yield f"  missing     {tones} Hz of the certificate"
