"""The door of the child process in which a stranger's FLAC file is decoded.

`work.limited` starts it: the file is standard input, what it may use stands in the arguments.
Standard output gets a line with the octets decoded since the last one, now and then; or at every
block, the samples behind it, if they are asked for. At the end stands one line of JSON. Whatever is
wrong with the file is in that line; the process fails only if it reaches its limits or if the
decoder breaks down.
"""

import hashlib
import json
import sys
from collections.abc import Callable, Sequence
from typing import BinaryIO

from tailsout.doors.limits import limit
from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.wave.flac import read_flac
from tailsout.wave.flac_audio import Restored, counted, restored

STRIDE_OCTETS = 1 << 24
"""How much is decoded between two lines."""

_BLOCK_OCTETS = 1 << 16


def main(arguments: Sequence[str]) -> None:
    """Decode standard input within so many octets of memory and seconds of processor time."""
    memory, seconds = (int(one) for one in arguments[:2])
    limit(memory, seconds)
    with open(0, "rb", closefd=False) as stream:
        answer = decoded(stream, _send if arguments[2:] == ["samples"] else _Counting())
    sys.stdout.write(json.dumps(answer) + "\n")


class _Counting:
    """Says now and then how many octets were decoded."""

    def __init__(self) -> None:
        self._octets = 0

    def __call__(self, block: bytes) -> None:
        self._octets += len(block)
        if self._octets >= STRIDE_OCTETS:
            sys.stdout.write(f"{self._octets}\n")
            sys.stdout.flush()
            self._octets = 0


def _send(block: bytes) -> None:
    """Send samples behind their number of octets."""
    sys.stdout.buffer.write(b"%d\n%b" % (len(block), block))
    sys.stdout.buffer.flush()


def decoded(stream: BinaryIO, tell: Callable[[bytes], None] = lambda _: None) -> dict[str, object]:
    """Return the length of a FLAC file, SHA-256 of its samples and what is wrong with them.

    `tell` is handed the samples, block by block.

    The digest is that of the `data` chunk of the wave file that it stands for; it is empty where
    not all of it can be decoded.
    """
    layout = read_flac(stream)
    frames, damage = layout.frames, list[Damage]()
    if frames is None:
        frames, found = counted(stream, layout)
        damage += found
    whole = restored(stream, layout, frames=frames if layout.frames is None else None)
    digest = ""
    if whole is not None:
        digest = _digest(whole, tell)
        damage += whole.essence.proof()
    return {
        "frames": frames,
        "sha256": digest,
        "damage": [[one.kind, one.offset, one.text] for one in damage],
    }


def _digest(whole: Restored, tell: Callable[[bytes], None]) -> str:
    essence, taken = whole.essence, hashlib.sha256()
    at = 0
    while at < essence.octets:
        try:
            block = essence.read_at(at, _BLOCK_OCTETS)
        except MaterialError:
            return ""
        taken.update(block)
        tell(block)
        at += len(block)
    return taken.hexdigest()
