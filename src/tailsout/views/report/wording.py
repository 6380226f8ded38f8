"""Small answers that several parts of the page need: times, names, lengths."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from tailsout.ground.units import clock_time, plain, speed
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.playing import Pass
from tailsout.records.reel import Equalisation, Region
from tailsout.records.transfer import Transfer
from tailsout.views.rows import inline

_INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:.]{5,15}(?:Z|[+-][0-9:]{5})", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """Where things lie in the captures, by the captures' own rates and lengths."""

    rates: dict[str, int]
    ends: dict[str, int]

    def at(self, capture: str, sample: int) -> str:
        """Write a position as a time, or as a sample where no rate is known."""
        rate = self.rates.get(capture)
        return clock_time(sample, rate)[:-2] if rate else f"sample {sample}"

    def end(self, region: Region) -> int | None:
        """Return the sample after a region's last one, where it is known."""
        return region.end if region.end is not None else self.ends.get(region.capture)

    def stretch(self, region: Region) -> str:
        """Write from when to when a region is."""
        end = self.end(region)
        until = "end" if end is None else self.at(region.capture, end)
        return f"{self.at(region.capture, region.start)}–{until}"

    def seconds(self, region: Region) -> Decimal | None:
        """Return how long a region plays; None where that cannot be told."""
        rate, end = self.rates.get(region.capture), self.end(region)
        if not rate or end is None or end <= region.start:
            return None
        return Decimal(end - region.start) / rate


def times(dossier: Dossier) -> Times:
    """Return where things lie in the captures of a dossier."""
    files = [file for file in dossier.files if file.capture]
    rates = {file.capture: file.pcm.sample_rate_hz for file in files if file.pcm and file.capture}
    ends = {file.capture: dossier.frames_of(file.capture) for file in files if file.capture}
    return Times(rates=rates, ends={one: end for one, end in ends.items() if end})


def who(transfer: Transfer, person: str | None) -> str:
    """Return the name of a person by his id."""
    known = next((one.name for one in transfer.people if one.id == person), None)
    return known or person or ""


def regions(transfer: Transfer) -> Iterator[tuple[str, Region]]:
    """Yield every region with the id of its side."""
    for side in transfer.reel.sides:
        for region in side.regions:
            yield side.id, region


def curve(equalisation: Equalisation | None) -> str:
    """Write a replay curve; empty if none is stated."""
    return inline(equalisation) if equalisation is not None else ""


def setting(region: Region) -> str:
    """Write speed and curve of a region; empty if neither is stated."""
    parts = [
        speed(region.speed_ips) if region.speed_ips is not None else "",
        curve(region.equalisation),
    ]
    return ", ".join(part for part in parts if part)


def to_play(region: Region, *, brief: bool = False) -> str:
    """Write how a region is played: speed and curve, what of both is not known, and any doubt.

    Where it was recorded at another speed or by another curve than it was played, that comes first.
    Empty for what carries no sound and has no setting of its own.
    """
    if not setting(region) and region.kind not in _SOUNDING:
        return ""
    in_words = _ips if brief else speed
    at = in_words(region.speed_ips) if region.speed_ips is not None else ""
    if region.recorded_speed_ips is not None:
        at = f"{in_words(region.recorded_speed_ips)}{f', here played at {at}' if at else ''}"
    by = curve(region.equalisation)
    if region.recorded_equalisation is not None:
        by = f"{curve(region.recorded_equalisation)}{f', here by {by}' if by else ''}"
    at = at or f"speed {region.absent.get('speed_ips', 'not stated')}"
    by = by or f"curve {region.absent.get('equalisation', 'not stated')}"
    doubt = " (uncertain)" if region.confidence == "uncertain" else ""
    return f"{at}, {by}{doubt}"


_SOUNDING = frozenset({"programme", "line-up tone", "slate"})


def _ips(one: Decimal) -> str:
    return f"{plain(one)} ips"


def pass_of(transfer: Transfer, capture: str) -> Pass | None:
    """Return the pass that a capture was made in."""
    wanted = next((one.pass_id for one in transfer.captures if one.id == capture), None)
    return next((one for one in transfer.passes if one.id == wanted), None)


def listed(parts: Iterable[str]) -> str:
    """Join words as a sentence does: `a, b and c`."""
    words = [part for part in parts if part]
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def day(text: str) -> str:
    """Write a date of EDTF (ISO 8601-2) in words: `about 1961-11`, `until 2026-02`."""
    first, slash, last = text.partition("/")
    if slash and first in {"", ".."}:
        return f"until {day(last)}"
    if slash:
        return f"from {day(first)} on" if last in {"", ".."} else f"{day(first)} to {day(last)}"
    words = {"~": "about ", "?": "perhaps ", "%": "perhaps about "}
    return f"{words[text[-1]]}{text[:-1]}" if text[-1:] in words else text


def moment(text: str | None) -> str:
    """Write a date, or an instant of RFC 3339, as people read it: `2026-03-14 09:10:00 UTC`."""
    if text is None or not _INSTANT.fullmatch(text):
        return text or ""
    return text.replace("T", " ").replace("Z", " UTC")


def length(seconds: float) -> str:
    """Write how long something plays: `1 h 04 min`, `12 min 30 s`."""
    whole = round(seconds)
    minutes, rest = divmod(whole, 60)
    hours, left = divmod(minutes, 60)
    if hours:
        return f"{hours} h {left:02d} min"
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def sound_files(dossier: Dossier) -> Iterator[FileRecord]:
    """Yield the audio of the reel itself: captures of calibration tapes and copies are none."""
    aside = dossier.aside
    yield from (file for file in dossier.files if file.path not in aside)


def clipped(text: str, most: int = 480) -> str:
    """Cut a line so that it stays one."""
    line = " ".join(text[: most + 1].split())
    return line if len(text) <= most else f"{line[:most].rstrip()} …"
