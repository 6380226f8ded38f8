"""The `fact` chunk: how many sample frames a file has. RIFF 1991 chapter 3.

Linear PCM needs none; where one is there, it should agree with the audio. In RF64 a count that
does not fit stands in `ds64` (EBU Tech 3306).
"""

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted
from tailsout.wave.ds64 import UNSTATED

_OCTETS = 4


def decode(
    payload: bytes, *, offset: int = 0, frames: int | None = None, rf64: bool = False
) -> tuple[int | None, tuple[Damage, ...]]:
    """Read a `fact` payload that lies at `offset` in the file: frames as stated.

    None where it is too short, and in RF64 where it leaves the count to `ds64`. `frames` are
    those of the audio, where they are known.
    """
    if len(payload) < _OCTETS:
        text = f"The fact chunk has {counted(len(payload), 'octet')}, it needs {_OCTETS}."
        return None, (Damage(kind="fact-short", offset=offset, text=text),)
    stated = int.from_bytes(payload[:_OCTETS], "little")
    if rf64 and stated == UNSTATED:
        return None, ()
    if frames is not None and stated != frames:
        text = f"The fact chunk states {stated} frames, the file has {frames}."
        return stated, (Damage(kind="fact-differs", offset=offset, text=text),)
    return stated, ()


def encode(frames: int) -> bytes:
    """Return the payload: 4 octets; what 32 bits cannot hold is left to `ds64`.

    Raises MaterialError for a number below 0.
    """
    if frames < 0:
        raise MaterialError(f"A fact chunk cannot state {frames} frames.")
    return min(frames, UNSTATED).to_bytes(_OCTETS, "little")
