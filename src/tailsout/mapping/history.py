"""CodingHistory (EBU R 98-1999) from the stated chain: one ANALOGUE line a setting, then PCM.

What the recorder wrote itself is kept and continued; its own analogue lines give way to the forms'
where the forms state passes or regions.
"""

import unicodedata
from collections.abc import Iterator
from decimal import Decimal

from tailsout.ground.pcm import Pcm
from tailsout.ground.units import CM_PER_INCH, plain
from tailsout.records.capture import Capture
from tailsout.records.chain import ChainStep
from tailsout.records.machine import Machine
from tailsout.records.playing import Pass
from tailsout.records.reel import Equalisation, Region
from tailsout.records.transfer import Transfer
from tailsout.wave.history import Line

_FRACTIONS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}
_SPELLED = str.maketrans(
    {
        **{sign: f" {shown}" for sign, shown in _FRACTIONS.items()},
        "⁄": "/",
        "µ": "u",
        "μ": "u",
        "–": "-",
        "—": "-",
        "−": "-",
        "‘": "'",
        "’": "'",
        "‚": "'",
        "‹": "'",
        "›": "'",
        "“": '"',
        "”": '"',
        "„": '"',
        "«": '"',
        "»": '"',
        "…": "...",
        "×": "x",
        "±": "+/-",
        "°": " deg ",
        "ß": "ss",
        "æ": "ae",
        "Æ": "AE",
        "ø": "o",
        "Ø": "O",
        "œ": "oe",
        "Œ": "OE",
        "ð": "d",
        "þ": "th",
        "ł": "l",
        "Ł": "L",
    }
)


def ascii_reduced(text: str) -> str:
    """Reduce text to printable ASCII on one line; what has no likeness becomes `?`."""
    spelled = unicodedata.normalize("NFKD", text.translate(_SPELLED))
    bare = "".join(c for c in spelled if not unicodedata.combining(c))
    shown = "".join(c if " " <= c <= "~" else " " if c.isspace() else "?" for c in bare)
    return " ".join(shown.split())


def history_for(
    transfer: Transfer, capture: Capture, pcm: Pcm, own: tuple[Line, ...]
) -> tuple[Line, ...]:
    """Return the history of one capture, oldest process first.

    `own` are the lines of the capture's own history; what R 98 does not have in them is mended.
    """
    own = tuple(kept for kept in map(_mended, own) if kept.parameters)
    stated = tuple(_analogue(transfer, capture, pcm))
    analogue = stated or tuple(line for line in own if is_analogue(line))
    digital = [line for line in own if not is_analogue(line)]
    steps = [s for s in (transfer.chain.steps if transfer.chain else ()) if s.signal == "digital"]
    along_the_chain = []
    for step in steps:
        # One line may speak of several steps, and is told once.
        said = next((line for line in digital if _mentions(line, step)), None)
        if said not in along_the_chain:
            along_the_chain.append(said or _digital(step, pcm))
    before = (line for line in digital if line not in along_the_chain)
    return (*analogue, *before, *along_the_chain)


def _mended(line: Line) -> Line:
    """Make of a recorder's line one that can be written: each key once, its value clean."""
    parameters = {key: _clean(value) for key, value in reversed(line.parameters)}
    first = tuple((key, parameters[key]) for key in dict(line.parameters) if parameters[key])
    return Line(parameters=first)


def _mentions(line: Line, step: ChainStep) -> bool:
    return step.device is not None and any(step_name(step) in value for _, value in line.parameters)


def is_analogue(line: Line) -> bool:
    """Tell whether a line speaks of an analogue process, by either spelling seen."""
    coding = next((value for key, value in line.parameters if key.upper() == "A"), "")
    return coding.strip().upper() in {"ANALOGUE", "ANALOG"}


def machine_name(machine: Machine) -> str:
    """Return maker and model of a machine as history lines write them; may be empty."""
    return _clean(" ".join(part for part in (machine.maker, machine.model) if part))


def step_name(step: ChainStep) -> str:
    """Return the device of a chain step as history lines write it."""
    return _clean(step.device or "") or step.kind


def settings_of(transfer: Transfer, capture: Capture) -> tuple[Region, ...]:
    """Return the first region of each distinct setting used in a capture, in order of start.

    A region that states neither speed nor curve nor tracks, such as a leader, sets nothing. What
    it leaves unsaid of these is filled from the set-up of the capture's pass.
    """
    one_pass = _pass_of(transfer, capture)
    regions = sorted(
        (r for side in transfer.reel.sides for r in side.regions if r.capture == capture.id),
        key=lambda region: region.start,
    )
    seen: dict[tuple[object, ...], Region] = {}
    for region in regions:
        if region.speed_ips is not None or region.equalisation or region.tracks:
            key = (speed_of(region, one_pass), _curve(region, one_pass), region.tracks)
            seen.setdefault(key, region)
    # The same speed and curve with the tracks unsaid is not a setting of its own.
    told = {key[:2] for key in seen if key[2] is not None}
    return tuple(region for key, region in seen.items() if key[2] or key[:2] not in told)


def speed_of(region: Region, one_pass: Pass | None) -> Decimal | None:
    """Return the speed of a region; that of its pass where the region is silent."""
    if region.speed_ips is not None or one_pass is None or one_pass.set_up is None:
        return region.speed_ips
    return one_pass.set_up.speed_ips


def _pass_of(transfer: Transfer, capture: Capture) -> Pass | None:
    return next((p for p in transfer.passes if p.id == capture.pass_id), None)


def _curve(region: Region, one_pass: Pass | None) -> str:
    curve = region.equalisation
    if curve is None and one_pass is not None and one_pass.set_up is not None:
        curve = one_pass.set_up.equalisation
    return equalisation_text(curve) if curve is not None else ""


def equalisation_text(curve: Equalisation) -> str:
    """Write a replay curve as `NAB 3180+50 us`."""
    constants = [plain(t) for t in (curve.t1_us, curve.t2_us) if t is not None]
    shown = f"{'+'.join(constants)} us" if constants else ""
    return " ".join(part for part in (curve.standard, shown) if part)


def _analogue(transfer: Transfer, capture: Capture, pcm: Pcm) -> Iterator[Line]:
    one_pass = _pass_of(transfer, capture)
    machine = next(
        (m for m in transfer.machines if one_pass is not None and m.id == one_pass.machine), None
    )
    settings = settings_of(transfer, capture)
    for region in settings:
        yield _analogue_line(
            machine,
            speed_of(region, one_pass),
            _curve(region, one_pass),
            region.tracks or "",
            pcm,
        )
    if not settings and one_pass is not None:
        set_up = one_pass.set_up
        curve = set_up.equalisation if set_up else None
        yield _analogue_line(
            machine,
            set_up.speed_ips if set_up else None,
            equalisation_text(curve) if curve else "",
            "",
            pcm,
        )


def _analogue_line(
    machine: Machine | None, speed_ips: Decimal | None, curve: str, tracks: str, pcm: Pcm
) -> Line:
    parts = [
        machine_name(machine) if machine else "",
        f"SN {machine.serial}" if machine and machine.serial else "",
        f"{plain(speed_ips * CM_PER_INCH)} cm/s" if speed_ips is not None else "",
        curve,
        tracks,
    ]
    text = "; ".join(_clean(part) for part in parts if part) or "tape machine not recorded"
    return Line(parameters=(("A", "ANALOGUE"), ("M", _heard_as(tracks, pcm)), ("T", text)))


def _digital(step: ChainStep, pcm: Pcm) -> Line:
    parts = [
        step_name(step),
        f"SN {step.serial}" if step.serial else "",
        "A/D" if step.kind == "converter" else "",
    ]
    text = "; ".join(_clean(part) for part in parts if part)
    return Line(
        parameters=(
            ("A", "PCM"),
            ("F", str(pcm.sample_rate_hz)),
            ("W", str(pcm.valid_bits)),
            ("M", _heard_as("", pcm)),
            ("T", text),
        )
    )


def _heard_as(tracks: str, pcm: Pcm) -> str:
    if pcm.channels == 1:
        return "mono"
    if pcm.channels == 2:
        return "dual-mono" if tracks.endswith("mono") else "stereo"
    return "multitrack"


def _clean(text: str) -> str:
    """ASCII, and no comma, which would end the parameter (R 98)."""
    return ascii_reduced(text).replace(",", ";")
