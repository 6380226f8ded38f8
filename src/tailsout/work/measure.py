"""Measures an audio file in one read."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.progress import Progress
from tailsout.measure import onepass
from tailsout.measure.onepass import Measured
from tailsout.rules.damage import HARMLESS
from tailsout.wave.flac_audio import restored
from tailsout.work.audio import Audio
from tailsout.work.named_audio import opened
from tailsout.work.survey import Survey, survey_of


def measure_file(path: Path, progress: Progress) -> tuple[Survey, Measured]:
    """Return what the header and the samples of one file show.

    Raises UsageError if it is not there, MaterialError if it holds no audio that can be measured,
    SurroundingsError if it cannot be read through.
    """
    with opened(path) as named:
        return _measured(named.file, named.audio, named.seen, progress)


def _measured(
    stream: BinaryIO, audio: Audio, seen: Survey, progress: Progress
) -> tuple[Survey, Measured]:
    try:
        measured = measure_stream(audio.stream, seen, progress)
    except MaterialError:
        fault = audio.restored.essence.fault if audio.restored is not None else None
        if fault is None or audio.flac is None or audio.restored is None:
            raise
        # As with a wave file that is cut: what can be had is measured, and the rest told.
        good = audio.restored.essence.decoded_frames
        rest = restored(stream, audio.flac, frames=good)
        if rest is None or not good:
            raise
        cut = survey_of(replace(audio, stream=rest.stream, restored=rest), seen.record.path)
        return with_damage(cut, (fault,)), measure_stream(rest.stream, cut, progress)
    return with_damage(seen, audio.proof()), measured


def with_damage(seen: Survey, damage: tuple[Damage, ...]) -> Survey:
    """Add to a file what only its samples could show."""
    container = seen.record.container
    container = replace(container, damage=(*container.damage, *damage))
    return replace(seen, record=replace(seen.record, container=container))


def is_damaged(seen: Survey) -> bool:
    """Tell whether the figures rest on a file whose structure cannot be relied on."""
    return any(one.kind not in HARMLESS for one in seen.record.container.damage)


def measure_stream(
    stream: BinaryIO,
    seen: Survey,
    progress: Progress,
    *,
    regions: Sequence[tuple[int, int]] = (),
    turns: tuple[float, float] | None = None,
) -> Measured:
    """Measure a surveyed file, open as a wave file; `regions` are told of by themselves.

    Print-through is looked for if the shortest and the longest turn of the reel are given. Raises
    MaterialError if it holds no audio, SurroundingsError.
    """
    pcm, data = seen.sound()
    layout = seen.layout
    progress.begin(f"Measuring {seen.record.path}", layout.file_octets)
    return onepass.measure(
        stream,
        pcm,
        data_offset=data.offset,
        data_octets=layout.data_octets,
        file_octets=layout.file_octets,
        advance=progress.advance,
        regions=regions,
        turns=turns,
    )
