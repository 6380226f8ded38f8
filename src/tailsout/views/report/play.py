"""To play this reel again: five lines on machine, speed, way, level and what to look out for."""

from collections.abc import Iterable, Iterator

from tailsout.ground.units import plain
from tailsout.records.dossier import Dossier
from tailsout.records.machine import Machine
from tailsout.records.playing import Pass
from tailsout.records.reel import Reel, Side, StockSection
from tailsout.records.transfer import Transfer
from tailsout.views.report.wording import clipped, listed, regions, times, to_play
from tailsout.views.rows import inline

_DECIDE = (
    "Treatment: decide anew on inspection. Where it sheds, smells of vinegar or shows mould, leave "
    "it in its closed box and ask a conservator first."
)

_MOST_CHANGES = 6
"""Of speed or curve on a side that are told one by one."""


def lines(dossier: Dossier) -> Iterator[str]:
    """Yield five lines."""
    told = _told if dossier.transfer is not None else _untold
    yield from map(clipped, told(dossier))


def _untold(dossier: Dossier) -> Iterator[str]:
    yield "Machine and head: nobody states them here."
    history = dict.fromkeys(
        ",".join(f"{key}={value}" for key, value in line.parameters)
        for file in dossier.files
        if file.embedded
        for line in file.embedded.coding_history
        if ("A", "ANALOGUE") in line.parameters
    )
    yield (
        f"Speed and curve: the headers say {'; '.join(history)}."
        if history
        else "Speed and curve: neither is stated, nor told by a header."
    )
    yield "Noise reduction, azimuth and the way the tape ran: not stated."
    yield "Level: no tone and no fluxivity is stated."
    yield f"What the tape is made of is not stated: tell the base of every part first. {_DECIDE}"


def _told(dossier: Dossier) -> Iterator[str]:
    transfer = dossier.transfer
    if transfer is None:
        return
    yield _machine(transfer)
    yield _speeds(transfer, dossier)
    yield _way(transfer)
    yield _levels(dossier, transfer)
    yield _caution(transfer.reel)


def _machine(transfer: Transfer) -> str:
    played = {one.machine for one in transfer.passes}
    used = [one for one in transfer.machines if one.id in played] or list(transfer.machines)
    names = listed(_machine_name(one) for one in used)
    return " ".join(
        [
            *_threaded(transfer.reel),
            _head(transfer),
            f"Here it was played on {names}." if names else "No machine is stated.",
        ]
    )


def _threaded(reel: Reel) -> Iterator[str]:
    """Yield what a machine must take before any head matters."""
    told = [
        f"{plain(reel.width_mm)} mm wide" if reel.width_mm is not None else "",
        f"on a reel of {plain(reel.diameter_in)} inches" if reel.diameter_in is not None else "",
        f"oxide {reel.oxide}" if reel.oxide else "",
    ]
    if any(told):
        yield f"Tape {', '.join(one for one in told if one)}."


def _head(transfer: Transfer) -> str:
    sides: dict[str, dict[str, None]] = {}
    for side, one in regions(transfer):
        if one.tracks:
            sides.setdefault(one.tracks, {})[side] = None
    if not sides:
        return "What head it wants is not stated."
    if len(sides) == 1:
        return f"Head for {listed(sides)}."
    each = (f"{tracks} ({_sides(found)})" for tracks, found in sides.items())
    return f"Heads for {listed(each)}."


def _sides(ids: Iterable[str]) -> str:
    known = list(ids)
    return f"side{'s' if len(known) > 1 else ''} {listed(known)}"


def _machine_name(one: Machine) -> str:
    name = " ".join(part for part in (one.maker, one.model) if part) or one.id
    serial = f", serial {one.serial}" if one.serial else ""
    return f"a {name}{serial}{f' ({one.head})' if one.head else ''}"


def _speeds(transfer: Transfer, dossier: Dossier) -> str:
    sides = [told for side in transfer.reel.sides if (told := _of_side(side, dossier))]
    return " ".join(sides) if sides else "Speed and curve are not stated."


def _of_side(side: Side, dossier: Dossier) -> str:
    at = times(dossier)
    runs: list[tuple[str, str]] = []
    for one in side.regions:
        told = to_play(one)
        if told and (not runs or runs[-1][0] != told):
            runs.append((told, at.at(one.capture, one.start)))
    if not runs:
        return ""
    if len(runs) > _MOST_CHANGES:
        every = "; ".join(dict.fromkeys(told for told, _ in runs))
        changes = f"changing {len(runs) - 1} times, as the table of regions has it"
        return f"Side {side.id}, {changes}: {every}."
    first, *rest = runs
    later = "".join(f"; from {start} {told}" for told, start in rest)
    return f"Side {side.id}: {first[0]}{later}."


def _way(transfer: Transfer) -> str:
    told = []
    for name, words in (
        ("Noise reduction", _noise_reduction(transfer)),
        ("Azimuth", _azimuth(transfer.passes)),
        ("Played", _ran(transfer.passes)),
    ):
        told.append(f"{name}: {listed(words) or 'not stated'}.")
    reversed_ones = [
        f"{side} {one.id}" for side, one in regions(transfer) if one.direction == "reversed"
    ]
    if reversed_ones:
        told.append(f"In reverse: {listed(reversed_ones)}.")
    return " ".join(told)


def _noise_reduction(transfer: Transfer) -> Iterable[str]:
    of_regions = [one.noise_reduction for _, one in regions(transfer)]
    of_passes = [one.set_up.noise_reduction for one in transfer.passes if one.set_up]
    of_decoders = [inline(one.decoder) for one in transfer.passes if one.decoder]
    return dict.fromkeys(one for one in (*of_regions, *of_passes, *of_decoders) if one)


def _ran(passes: Iterable[Pass]) -> Iterable[str]:
    return dict.fromkeys(
        f"{f'{_sides(one.sides)} ' if one.sides else ''}{one.tape_ran}"
        for one in passes
        if one.tape_ran
    )


def _azimuth(passes: Iterable[Pass]) -> Iterable[str]:
    return dict.fromkeys(f"to {inline(one.azimuth)}" for one in passes if one.azimuth)


def _levels(dossier: Dossier, transfer: Transfer) -> str:
    at = times(dossier)
    tones = [
        f"{plain(tone.frequency_hz)} Hz on side {side} at {at.at(one.capture, one.start)}"
        f"{_more(inline(tone, but=('frequency_hz',)))}"
        for side, one in regions(transfer)
        for tone in one.tones
    ]
    flux = dict.fromkeys(
        f"0 dBFS in {file.path.rpartition('/')[2]} is {channel.full_scale_nwb_m} nWb/m"
        for file in dossier.files
        for scale in file.scales
        for channel in scale.channels
    )
    tone = f"Line-up tone on the reel: {listed(tones)}." if tones else "No line-up tone is stated."
    stands = (
        f"Level: {'; '.join(flux)}." if flux else "What flux its levels stand for is not known."
    )
    return f"{tone} {stands}"


def _more(text: str) -> str:
    return f" ({text})" if text else ""


def _caution(reel: Reel) -> str:
    end = reel.end_out_on_leaving
    out = f"It left with its {end} out{_BEGINS[end]}." if end else "Which end is out is not stated."
    bases = [_base(one) for one in reel.stock]
    base = f"Base: {'; '.join(bases)}." if bases else "What the tape is made of is not stated."
    return f"{out} {base} {_DECIDE}"


_BEGINS = {"heads": "", "tails": ", so that its first side begins at the hub"}


def _base(one: StockSection) -> str:
    by = f" by {listed(one.base_told_by)}" if one.base_told_by else ""
    sure = f", {one.confidence}" if one.confidence else ""
    return f"{one.id} {one.base or one.absent.get('base', 'not stated')}{by}{sure}"
