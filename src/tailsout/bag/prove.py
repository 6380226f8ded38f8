"""Reads a bag back from disk and takes the digests its manifests speak of (RFC 8493 §3).

Each file is read once for all its algorithms and, where asked, for the stretch of audio in it.
Comparing the digests with the manifests is the rules' work. A file that cannot be read, or that
changes meanwhile, says so and does not stop the others.
"""

import hashlib
import io
import itertools
import os
import threading
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from io import BufferedReader

from tailsout.bag.readable import ReadableBag
from tailsout.ground.digests import ALGORITHMS, BLOCK_OCTETS, BUFFERS, Hashing
from tailsout.ground.errors import NoFileError, TailsoutError
from tailsout.ground.progress import Progress
from tailsout.records.facts import FoundFile, Observation, PackageFacts

_FILES_AT_ONCE = 2
_AHEAD = 2 << 20
"""Octets that the disk is asked for beforehand."""
_WORTH_THREADS = 32 << 20
"""Octets from which a file that outweighs all others gets a thread for each algorithm."""


def prove(
    bag: ReadableBag,
    *,
    spans: Mapping[str, tuple[int, int]],
    progress: Progress,
    from_disk: bool = False,
) -> PackageFacts:
    """Return the bag's facts with the digests of its files, or why they could not be taken.

    `from_disk` has the system forget what it holds of each file first, where it can.

    `spans` gives offset and octets of the audio payload by path; where the file holds that
    stretch, `essence_sha256` is filled.
    """
    wanted = _wanted(bag.facts, spans)
    turns = {path: turn for turn, path in enumerate(bag.order)}
    todo = sorted(
        (f for f in bag.facts.files if f.path in wanted and not f.trouble),
        key=lambda f: (turns.get(f.path, 0), -f.octets, f.path),
    )
    total = sum(f.octets for f in todo)
    progress.begin(f"Reading back {bag.facts.name}", total)
    reading = _Reading(bag, spans, progress, from_disk=from_disk)
    with ThreadPoolExecutor(1 if turns else _FILES_AT_ONCE, "prove") as pool:
        under_way = []
        for file in todo:
            alone = file.octets >= _WORTH_THREADS and file.octets * 2 > total
            under_way.append(pool.submit(reading.one, file, wanted[file.path], alone=alone))
        try:
            found = {file.path: file for file in (future.result() for future in under_way)}
        except BaseException:
            reading.stop.set()
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    files = tuple(found.get(f.path, f) for f in bag.facts.files)
    swapped = sorted(reading.swapped, key=lambda one: one.file)
    return replace(bag.facts, files=files, observations=(*bag.facts.observations, *swapped))


def _wanted(
    facts: PackageFacts, spans: Mapping[str, tuple[int, int]]
) -> dict[str, tuple[str, ...]]:
    """Return the algorithms to take of each path, in the manifests' order."""
    wanted: dict[str, dict[str, None]] = {path: {} for path in spans}
    for manifest in facts.manifests:
        if manifest.algorithm in ALGORITHMS:
            for line in manifest.lines:
                wanted.setdefault(line.path, {})[manifest.algorithm] = None
    return {path: tuple(algorithms) for path, algorithms in wanted.items()}


class _OneThread:
    """The digests of one stream, taken where the octets arrive."""

    def __init__(self, algorithms: Sequence[str]) -> None:
        self._hashes = {name: hashlib.new(name, usedforsecurity=False) for name in algorithms}

    def update(self, block: memoryview) -> None:
        for one in self._hashes.values():
            one.update(block)

    def hexdigests(self) -> dict[str, str]:
        return {name: one.hexdigest() for name, one in self._hashes.items()}


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
    """What the reading of all files has in common."""

    def __init__(
        self,
        bag: ReadableBag,
        spans: Mapping[str, tuple[int, int]],
        progress: Progress,
        *,
        from_disk: bool,
    ) -> None:
        self._from_disk = from_disk
        self._bag, self._spans, self._progress = bag, spans, progress
        self._lock = threading.Lock()
        self.stop = threading.Event()
        self.swapped: list[Observation] = []
        """What was a file when the bag was opened and is one no more."""

    def one(self, file: FoundFile, algorithms: tuple[str, ...], *, alone: bool) -> FoundFile:
        """Return the file with its digests, or with its trouble."""
        stretch = _Stretch(*self._spans[file.path]) if file.path in self._spans else None
        hashing: AbstractContextManager[Hashing | _OneThread] = (
            Hashing(algorithms) if alone else nullcontext(_OneThread(algorithms))
        )
        try:
            with self._bag.stream(file.path) as source, hashing as taking:
                before = self._bag.mark(file.path, source)
                octets = self._pass(source, taking, stretch)
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
        return replace(file, digests=digests, essence_sha256=stretch.hexdigest() if stretch else "")

    def _pass(
        self, source: BufferedReader, taking: Hashing | _OneThread, stretch: _Stretch | None
    ) -> int:
        """Feed the whole file to the digests; return how many octets it had."""
        descriptor = _descriptor(source)
        if descriptor >= 0 and self._from_disk:
            os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)
        # In turn: Hashing may still be at one while the next is filled.
        blocks = itertools.cycle([memoryview(bytearray(BLOCK_OCTETS)) for _ in range(BUFFERS)])
        octets = 0
        while not self.stop.is_set():
            _fetch_ahead(descriptor, octets)
            block = next(blocks)
            count = source.readinto(block)
            if not count:
                break
            taking.update(block[:count])
            if stretch is not None:
                stretch.update(block[:count])
            octets += count
            with self._lock:
                self._progress.advance(count)
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
