"""An open audio file as a wave file: itself, or what it stands for if it is FLAC."""

from dataclasses import dataclass, replace
from typing import BinaryIO

from tailsout.ground.damage import Damage
from tailsout.mapping import naming
from tailsout.wave.chunk import read_at
from tailsout.wave.flac import FlacLayout, is_flac, read_flac
from tailsout.wave.flac_audio import Restored, counted, restored
from tailsout.wave.signature import HEAD_OCTETS, form_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Audio:
    """One file, open for reading."""

    stream: BinaryIO
    """A wave file; of FLAC that cannot be read as one, the file as it is."""
    flac: FlacLayout | None = None
    restored: Restored | None = None
    """None for a wave file, and for FLAC that cannot be read as one."""
    damage: tuple[Damage, ...] = ()
    """Of its name, and of FLAC what is wrong with it as far as nothing is decoded."""

    def proof(self) -> tuple[Damage, ...]:
        """Hold the samples against what the file states of them; a wave file states nothing.

        What has been read to its end is not decoded again. Raises SurroundingsError.
        """
        return self.restored.essence.proof() if self.restored is not None else ()


def audio_in(stream: BinaryIO, path: str, *, frames: int | None = None) -> Audio:
    """Read an open file called `path` as a wave file; no sample of it is decoded yet.

    `frames` is how many samples a channel FLAC has that does not state it. Raises SurroundingsError
    if reading fails.
    """
    if not is_flac(stream):
        form = form_of(read_at(stream, 0, HEAD_OCTETS))
        read_at(stream, 0, 0)  # back to its start
        text = f"The file is named as FLAC and is: {form}."
        lie = (Damage(kind="not-flac", offset=0, text=text),) if naming.is_flac(path) else ()
        return Audio(stream=stream, damage=lie)
    flac = read_flac(stream)
    found = restored(stream, flac, frames=frames if flac.frames is None else None)
    text = "The file is not a RIFF, RF64 or BW64 wave file but FLAC."
    lie = (Damage(kind="not-wave", offset=0, text=text),) if naming.is_wave(path) else ()
    return Audio(
        stream=found.stream if found is not None else stream,
        flac=flac,
        restored=found,
        damage=(*lie, *flac.damage, *(found.damage if found is not None else ())),
    )


def audio_counted_in(stream: BinaryIO, path: str) -> Audio:
    """Read an open file as a wave file; FLAC that does not state its length is decoded for it.

    Raises SurroundingsError if reading fails.
    """
    audio = audio_in(stream, path)
    if audio.flac is None or audio.restored is not None:
        return audio
    frames, damage = counted(stream, audio.flac)
    audio = audio_in(stream, path, frames=frames)
    return replace(audio, damage=(*audio.damage, *damage))
