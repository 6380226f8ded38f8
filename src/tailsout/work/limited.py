"""Decodes a stranger's FLAC file or photograph in a child process that may do next to nothing.

It gets the open file and no environment, and the system ends it where it takes more memory or
processor time than is fair, or writes. What it answers is trusted no more than the file.
"""

import io
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from io import BufferedReader
from pathlib import Path
from typing import IO, Any, BinaryIO, cast

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Kind, Severity, Verdict
from tailsout.ground.progress import Progress
from tailsout.mapping import strict_json
from tailsout.rules.damage import KIND_OF

FLAC_UNPROVED = Kind(
    code="flac-not-proved",
    severity=Severity.QUERY,
    title="A FLAC file was not decoded to its end, so its samples were not held against its MD5",
    basis="our limit: 60 s of processor time and 1 s more for every 5 MB; 512 MiB of memory",
    remedy="Nothing is said about its samples; another program may decode and prove it.",
    leads_to=Verdict.NOT_EXAMINED,
)
KINDS = (FLAC_UNPROVED,)

MEMORY_OCTETS = 512 << 20
_LEAST_SECONDS = 60
_OCTETS_A_SECOND = 5_000_000
_GRACE_SECONDS = 5
_PICTURE_SECONDS = 20
MOST_PICTURE_OCTETS = 60_000
"""Of a photograph made small."""
_JPEG = b"\xff\xd8\xff"
"""How one begins (ISO/IEC 10918-1, B.1.1.3)."""
_LONGEST_LINE = 1 << 16
_MOST_DAMAGE = 100

_START = (
    "import json, sys; sys.path[:] = json.loads(sys.argv[1]); "
    "from tailsout.doors.decoding import main; main(sys.argv[2:])"
)
_START_SHRINKING = _START.replace("decoding", "shrinking")
_KEPT = ("LD_LIBRARY_PATH", "SYSTEMROOT")
"""Of the environment: without them some systems do not find their libraries."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoded:
    """What a child told of one file."""

    frames: int
    """Samples a channel, as stated or counted."""
    essence_sha256: str
    """Of the samples as they lie in a wave file; empty if not all could be decoded."""
    damage: tuple[Damage, ...]


def decode(
    source: BufferedReader,
    octets: int,
    progress: Progress,
    take: Callable[[BinaryIO], None] | None = None,
) -> Decoded | str:
    """Decode an open FLAC file of so many octets, or say why that did not come to its end.

    `take` is handed the samples as they are decoded, as they lie in a wave file; it may leave some,
    and tells of its own progress.
    """
    seconds = _LEAST_SECONDS + octets // _OCTETS_A_SECOND
    try:
        child = _started(_START, source, seconds, *(("samples",) if take else ()))
    except OSError as error:
        return f"the process that decodes it could not be started: {os.strerror(error.errno or 0)}."
    with child:
        try:
            if take is not None and child.stdout is not None:
                answer = _taken(_Samples(child.stdout), take)
            else:
                answer = _answer(child.stdout, progress)
            if answer is not None:
                return answer
            if child.stdout is not None:
                child.stdout.close()
            with suppress(subprocess.TimeoutExpired):
                child.wait(_GRACE_SECONDS)
        finally:
            child.kill()
    if child.returncode == 0:
        return "what the process that decodes it answered makes no sense."
    if child.returncode == -getattr(signal, "SIGXCPU", 0):
        return f"decoding it took more than {seconds} s of processor time."
    return f"the process that decodes it broke down (exit {child.returncode})."


def small_picture(source: BufferedReader) -> bytes:
    """Return an open photograph as a small JPEG; empty if none could be made of it."""
    try:
        child = _started(_START_SHRINKING, source, _PICTURE_SECONDS)
    except OSError:
        return b""
    with child:
        try:
            made = child.stdout.read(MOST_PICTURE_OCTETS + 1) if child.stdout is not None else b""
            if len(made) <= MOST_PICTURE_OCTETS:
                with suppress(subprocess.TimeoutExpired):
                    child.wait(_GRACE_SECONDS)
        finally:
            child.kill()
    is_one = made.startswith(_JPEG) and len(made) <= MOST_PICTURE_OCTETS
    return made if is_one and child.returncode == 0 else b""


def _started(
    start: str, source: BufferedReader, seconds: int, *more: str
) -> "subprocess.Popen[bytes]":
    here = json.dumps([str(Path(path).absolute()) for path in sys.path])
    environment = {name: os.environ[name] for name in _KEPT if name in os.environ}
    return subprocess.Popen(  # noqa: S603  this program's own code, no text of a stranger's
        [sys.executable, "-I", "-S", "-c", start, here, str(MEMORY_OCTETS), str(seconds), *more],
        stdin=source,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd=os.sep,
        # The numerical library would start a thread for each core, each with its own memory.
        env={**environment, "OPENBLAS_NUM_THREADS": "1"},
        start_new_session=True,
    )


def _answer(lines: IO[bytes] | None, progress: Progress) -> Decoded | None:
    """Read what a child says as far as it makes sense."""
    while lines is not None:
        line = lines.readline(_LONGEST_LINE)
        if not line.endswith(b"\n"):
            return None
        if not line[:-1].isdigit():
            return _decoded(line)
        progress.advance(int(line[:18]))
    return None


class _Samples(io.RawIOBase):
    """What a child sends: blocks of samples, each after a line with its octets; then its answer."""

    def __init__(self, lines: IO[bytes]) -> None:
        self._lines, self._left, self.last = lines, 0, b""

    def readable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = 0) -> int:
        """Stay where it is: whoever begins at the start has read nothing yet."""
        if offset or whence:
            raise io.UnsupportedOperation
        return 0

    def readinto(self, buffer: Any) -> int:  # noqa: ANN401  whatever holds octets
        """Fill a buffer as far as the block at hand goes; 0 at the end of the samples."""
        while not self._left and not self.last:
            line = self._lines.readline(_LONGEST_LINE)
            if line.endswith(b"\n") and line[:-1].isdigit():
                self._left = int(line[:18])
            else:
                self.last = line or b"\n"
        view = memoryview(buffer)[: self._left]
        block = self._lines.read(len(view)) if view else b""
        view[: len(block)] = block
        # A child that breaks off in a block has nothing more to say.
        self._left = self._left - len(block) if block else 0
        return len(block)


def _taken(samples: _Samples, take: Callable[[BinaryIO], None]) -> Decoded | None:
    take(cast("BinaryIO", samples))
    rest = bytearray(_LONGEST_LINE)
    while samples.readinto(rest):
        pass
    return _decoded(samples.last) if samples.last.endswith(b"\n") else None


def _decoded(line: bytes) -> Decoded | None:
    try:
        told: Any = strict_json.load(line)
        frames, digest, damage = told["frames"], told["sha256"], told["damage"][:_MOST_DAMAGE]
        found = tuple(Damage(kind=kind, offset=at, text=text) for kind, at, text in damage)
    except (KeyError, TypeError, ValueError):
        return None
    is_sound = (
        isinstance(frames, int)
        and frames >= 0
        and isinstance(digest, str)
        and all(
            one.kind in KIND_OF and isinstance(one.offset, int) and isinstance(one.text, str)
            for one in found
        )
    )
    return Decoded(frames=frames, essence_sha256=digest, damage=found) if is_sound else None
