"""Compares two passes of one recording, each read three times and neither written to."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import BinaryIO

from tailsout.ground.errors import MaterialError
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.measure.levels import hundredths
from tailsout.measure.passes.align import Alignment, align
from tailsout.measure.passes.levels import FURTHEST_PERCENT
from tailsout.measure.passes.sound import Sound
from tailsout.records.comparison import Comparison, OnePass
from tailsout.records.sound import AudioFacts, Dropout
from tailsout.wave.chunk import read_at
from tailsout.work.measure import measure_stream
from tailsout.work.named_audio import opened
from tailsout.work.survey import Survey

_SAME_DROPOUT_S = 0.05
_WHOLE_LIST = 100
"""`AudioFacts.dropouts` names so many at most; beyond, some have no place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heard:
    sound: Sound
    facts: AudioFacts


def compare(first: Path, second: Path, progress: Progress) -> Comparison:
    """Lay the second pass on the first and tell how they differ.

    Raises UsageError if a file is not there, MaterialError if one holds no audio that can be
    measured or the two are not seen to hold one recording, SurroundingsError if one cannot be read.
    """
    with _heard(first, progress) as one, _heard(second, progress) as other:
        aligned = align(one.sound, other.sound)
    if aligned is None:
        raise MaterialError(
            f"{printable(str(first))} and {printable(str(second))} are not seen to hold the same"
            " recording.",
            "Name two passes of one side, played the same way round, three seconds or longer, whose"
            f" speeds differ by {FURTHEST_PERCENT:g} % at most.",
        )
    return _told(aligned, one.facts, other.facts)


@contextmanager
def _heard(path: Path, progress: Progress) -> Iterator[_Heard]:
    with opened(path) as named:
        stream, seen = named.audio.stream, named.seen
        facts = measure_stream(stream, seen, progress).facts
        progress.begin(f"Laying {seen.record.path} on the other", seen.layout.data_octets)
        yield _Heard(sound=_sound(stream, seen, progress), facts=facts)


def _sound(stream: BinaryIO, seen: Survey, progress: Progress) -> Sound:
    pcm, data = seen.sound()

    def read(position: int, frames: int) -> bytes:
        at = data.offset + position * pcm.frame_octets
        return read_at(stream, at, frames * pcm.frame_octets)

    return Sound(pcm=pcm, frames=seen.layout.frames, read=read, advance=progress.advance)


def _told(aligned: Alignment, first: AudioFacts, second: AudioFacts) -> Comparison:
    here, there = _only_here(aligned, first, second)
    return Comparison(
        offset_s=_places(aligned.offset_s, 5),
        speed_difference_percent=_places(aligned.speed_difference_percent, 3),
        wander_ms=_places(aligned.wander_s * 1000, 2),
        overlap_s=_places(aligned.overlap_s, 1),
        windows=aligned.windows,
        likeness=hundredths(aligned.likeness),
        is_inverted=aligned.is_inverted,
        level_difference_db=aligned.level_difference_db,
        bands=aligned.bands,
        first=_pass(first, here),
        second=_pass(second, there),
    )


def _places(value: float, places: int) -> Decimal:
    return Decimal(str(value)).quantize(Decimal(1).scaleb(-places))


def _pass(facts: AudioFacts, only_here: int | None) -> OnePass:
    floors = [c.noise_floor_dbfs for c in facts.channels if c.noise_floor_dbfs is not None]
    pair = facts.pairs[0] if facts.pairs else None
    return OnePass(
        noise_floor_dbfs=min(floors, default=None),
        dropouts=sum(channel.dropouts for channel in facts.channels),
        dropouts_only_here=only_here,
        delay_us=pair.delay_us if pair else None,
        delay_spread_us=pair.delay_spread_us if pair else None,
    )


def _only_here(
    aligned: Alignment, first: AudioFacts, second: AudioFacts
) -> tuple[int | None, int | None]:
    """Count the dropouts of each pass that the other has not, in what both hold."""
    if max(sum(c.dropouts for c in one.channels) for one in (first, second)) > _WHOLE_LIST:
        return None, None
    ours = list(_seconds(first.dropouts, first.sample_rate_hz))
    theirs = [
        (at - aligned.offset_s) / aligned.stretch
        for at in _seconds(second.dropouts, second.sample_rate_hz)
    ]
    length = first.frames / first.sample_rate_hz
    begins = max(0.0, -aligned.offset_s / aligned.stretch)
    ends = min(length, begins + aligned.overlap_s)
    return _without_twin(ours, theirs, begins, ends), _without_twin(theirs, ours, begins, ends)


def _seconds(dropouts: Iterable[Dropout], rate: int) -> Iterator[float]:
    return (one.start / rate for one in dropouts)


def _without_twin(
    places: Sequence[float], others: Sequence[float], begins: float, ends: float
) -> int:
    return sum(
        begins <= at <= ends and not any(abs(at - other) < _SAME_DROPOUT_S for other in others)
        for at in places
    )
