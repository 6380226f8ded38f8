"""Reads a bag back from disk and takes the digests its manifests speak of (RFC 8493 §3).

Each file is read once for all its algorithms and, where asked, for the stretch of audio in it:
large files first, each by one worker, meanwhile all small ones by another, and as long as one is
idle each algorithm has a thread of its own. Comparing the digests with the manifests is the rules'
work. A file that cannot be read, or that changes meanwhile, says so and does not stop the others.
"""

import hashlib
import io
import itertools
import os
import threading
import time
from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from dataclasses import replace
from functools import partial
from io import BufferedReader

from tailsout.bag.readable import ReadableBag
from tailsout.bag.workers import Workers
from tailsout.ground.digests import ALGORITHMS, BLOCK_OCTETS, Hashing
from tailsout.ground.errors import NoFileError, TailsoutError
from tailsout.ground.progress import Progress
from tailsout.records.facts import FoundFile, Observation, PackageFacts

_AHEAD = 2 << 20
"""Octets that the disk is asked for beforehand."""
_WAITED_S = 0.001
"""Longer than a block takes that the system holds already: the disk was waited for."""
_ASKING = 16 << 20
"""Octets for which the disk is asked beforehand once it was waited for.

To ask for what the system holds already costs a fortieth of the time of reading.
"""
_LARGE = 1 << 16
"""Octets from which a file is a piece of work by itself.

Smaller ones keep the interpreter busier than the digests: two workers at them are slower than one,
while another at a large file hardly asks for the interpreter.
"""
_EACH = 1 << 14
"""Octets of which the digests take as long as all else that a small file costs."""
_BY_FAR = 4


def prove(
    bag: ReadableBag,
    *,
    spans: Mapping[str, tuple[int, int]],
    progress: Progress,
    from_disk: bool = False,
    workers: Workers | None = None,
) -> PackageFacts:
    """Return the bag's facts with the digests of its files, or why they could not be taken.

    `from_disk` has the system forget what it holds of each file first, where it can.
    `spans` gives offset and octets of the audio payload by path; where the file holds that
    stretch, `essence_sha256` is filled.
    """
    wanted = _wanted(bag.facts, spans)
    todo = [file for file in bag.facts.files if file.path in wanted and not file.trouble]
    progress.begin(f"Reading back {bag.facts.name}", sum(file.octets for file in todo))
    with nullcontext(workers) if workers is not None else Workers() as at_work:
        reading = _Reading(bag, spans, wanted, progress, at_work, from_disk=from_disk)
        found = reading.all(_in_order(todo, bag.order) if bag.order else _in_pieces(todo))
    files = tuple(found.get(f.path, f) for f in bag.facts.files)
    swapped = sorted(reading.swapped, key=lambda one: one.file)
    return replace(bag.facts, files=files, observations=(*bag.facts.observations, *swapped))


def _in_order(todo: list[FoundFile], order: Sequence[str]) -> list[list[FoundFile]]:
    """Return one piece of work for files that must be read one after the other."""
    turns = {path: turn for turn, path in enumerate(order)}
    return [sorted(todo, key=lambda f: turns.get(f.path, 0))]


def _in_pieces(todo: list[FoundFile]) -> list[list[FoundFile]]:
    """Return pieces of work: the largest file first, all small ones together right after it.

    Where large ones outweigh them by far, two fifths of the small ones come last: two workers that
    have large ones by turns then end at about the same time, and never both sit at small ones.
    """
    large = sorted((f for f in todo if f.octets >= _LARGE), key=lambda f: (-f.octets, f.path))
    small = [f for f in todo if f.octets < _LARGE]
    pieces = [[file] for file in large]
    octets = sum(file.octets for file in large)
    outweighed = len(large) > 1 and octets > _BY_FAR * sum(file.octets + _EACH for file in small)
    first = -(-3 * len(small) // 5) if outweighed else len(small)
    if small:
        pieces.insert(1, small[:first])
    if small[first:]:
        pieces.append(small[first:])
    return pieces


def _wanted(
    facts: PackageFacts, spans: Mapping[str, tuple[int, int]]
) -> dict[str, tuple[str, ...]]:
    """Return the algorithms to take of each path, in the manifests' order."""
    wanted: dict[str, tuple[str, ...]] = dict.fromkeys(spans, ())
    # One tuple for all files that want the same: there may be 200,000 of them.
    alike: dict[tuple[str, ...], tuple[str, ...]] = {}
    for manifest in facts.manifests:
        if manifest.algorithm not in ALGORITHMS:
            continue
        for line in manifest.lines:
            before = wanted.get(line.path, ())
            if manifest.algorithm not in before:
                after = (*before, manifest.algorithm)
                wanted[line.path] = alike.setdefault(after, after)
    return wanted


class _Stretch:
    """SHA-256 of a part of a stream that is fed from its start."""

    def __init__(self, start: int, octets: int) -> None:
        self._hash = hashlib.sha256()
        self._start, self._end, self._position = start, start + octets, 0

    def update(self, block: memoryview) -> None:
        low = max(self._start - self._position, 0)
        high = min(self._end - self._position, len(block))
        if low < high:
            self._hash.update(block[low:high])
        self._position += len(block)

    def hexdigest(self) -> str:
        """Return the digest; empty if the stream ended before the stretch did."""
        return self._hash.hexdigest() if self._position >= self._end else ""


class _Reading:
    """What the reading of all files of a bag has in common."""

    def __init__(
        self,
        bag: ReadableBag,
        spans: Mapping[str, tuple[int, int]],
        wanted: Mapping[str, tuple[str, ...]],
        progress: Progress,
        workers: Workers,
        *,
        from_disk: bool,
    ) -> None:
        self._bag, self._spans, self._wanted, self._progress = bag, spans, wanted, progress
        self._workers, self._from_disk = workers, from_disk
        self._lock = threading.Lock()
        self.stop = threading.Event()
        self.swapped: list[Observation] = []
        """What was a file when the bag was opened and is one no more."""

    def all(self, pieces: list[list[FoundFile]]) -> dict[str, FoundFile]:
        """Have all pieces read; what breaks one off breaks off the others."""
        under_way = [self._workers.take(partial(self._some, piece)) for piece in pieces]
        try:
            return {file.path: file for future in under_way for file in future.result()}
        except BaseException:
            self.stop.set()
            self._workers.let_go(under_way)
            raise

    def _some(self, piece: list[FoundFile]) -> list[FoundFile]:
        return [self.one(file) for file in piece if not self.stop.is_set()]

    def one(self, file: FoundFile) -> FoundFile:
        """Return the file with its digests, or with its trouble."""
        stretch = _Stretch(*self._spans[file.path]) if file.path in self._spans else None
        try:
            with self._bag.stream(file.path) as source, Hashing(self._wanted[file.path]) as taking:
                before = self._bag.mark(file.path, source)
                octets = self._pass(source, taking, stretch, file.octets)
                digests = taking.hexdigests()
            after = self._bag.mark_now(file.path)
        except NoFileError as error:
            self.swapped.append(Observation(kind="swapped", file=file.path, text=error.sentence))
            return replace(file, trouble=error.sentence)
        except TailsoutError as error:
            return replace(file, trouble=error.sentence)
        except OSError as error:
            return replace(file, trouble=f"Reading failed: {os.strerror(error.errno or 0)}.")
        if before != after or not file.octets == before[0] == octets:
            return replace(file, trouble="It changed while it was read.")
        # Field by field: `replace` takes twice as long, and there may be 200,000 of them.
        return FoundFile(
            path=file.path,
            octets=file.octets,
            changed_ns=file.changed_ns,
            digests=digests,
            essence_sha256=stretch.hexdigest() if stretch else "",
        )

    def _pass(
        self, source: BufferedReader, taking: Hashing, stretch: _Stretch | None, most: int
    ) -> int:
        """Feed the whole file to the digests; return how many octets it had.

        Of a file that grows it stops soon after `most`: whoever writes on could keep it for ever.
        """
        descriptor = _descriptor(source) if self._from_disk or most > BLOCK_OCTETS else -1
        if descriptor >= 0 and self._from_disk:
            os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)
        buffers = itertools.cycle(self._workers.buffers())
        block = next(buffers)
        octets, asking_until = 0, _ASKING if self._from_disk and most > BLOCK_OCTETS else 0
        while octets <= most and not self.stop.is_set():
            if octets < asking_until:
                _fetch_ahead(descriptor, octets)
            begun = time.perf_counter()
            count = source.readinto(block)
            if time.perf_counter() - begun > _WAITED_S:
                asking_until = octets + _ASKING
            here = not self._workers.has_idle
            taking.update(block[:count], here=here)
            if stretch is not None:
                stretch.update(block[:count])
            octets += count
            with self._lock:
                self._progress.advance(count)
            if count < len(block):
                # A buffered reader stops short at the end alone.
                break
            if not here:
                # Threads may still be at this one. Else it is filled anew while it is in the cache.
                block = next(buffers)
        return octets


def _descriptor(source: BufferedReader) -> int:
    """Return what the disk can be spoken to about; -1 if there is nothing of the kind."""
    if not hasattr(os, "posix_fadvise"):
        return -1
    try:
        return source.fileno()
    except io.UnsupportedOperation:
        return -1


def _fetch_ahead(descriptor: int, position: int) -> None:
    """Have the disk read on while the digests are at what has come already."""
    if descriptor >= 0 and position % _AHEAD == 0:
        os.posix_fadvise(descriptor, position, 2 * _AHEAD, os.POSIX_FADV_WILLNEED)
