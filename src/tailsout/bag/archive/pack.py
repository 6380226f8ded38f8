"""Packs a bag into a tar, with its digest in a file beside it.

Written beside its place, synced, judged by the code that judges strangers, which reads it back from
the disk and holds it against the manifests in it, and only then named. The same bag gives the same
octets: names in order (bagit.txt and the manifests first, so that a reader of the stream knows at
once what is to come), owners, modes and times fixed. The time is midnight UTC of the Bagging-Date,
which travels in the bag; what its files say of their age changes with every copy of them.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BufferedReader
from pathlib import Path
from typing import Self

from tailsout.bag.archive import digest_beside, tar_write
from tailsout.bag.disk import Disk
from tailsout.bag.grammar import MANIFEST_NAME
from tailsout.bag.names import to_disk
from tailsout.bag.notes import Caps
from tailsout.bag.place import check_room, commit, make_parents, refuse_if_there
from tailsout.bag.stage import Stage
from tailsout.bag.tree import Met, Tree
from tailsout.bag.volume import largest_file
from tailsout.ground.digests import BLOCK_OCTETS, Hashing
from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable, size
from tailsout.records.facts import InfoLine, PackageFacts

LETS_PASS = frozenset({Verdict.PASS, Verdict.OPEN})
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_FLUSH_EVERY = 32 << 20
_HEADERS_OCTETS = 2048
"""At most for one member of usual names; for the estimate of room only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A tar that stands under its final name, and its digest beside it."""

    path: Path
    digest_file: Path
    octets: int
    files: int
    sha512: str
    durability: str
    """`fsynced` or `best effort`."""


def pack(
    folder: Path,
    facts: PackageFacts,
    parent: Path,
    *,
    disk: Disk,
    judge: Callable[[Path], Verdict],
    progress: Progress,
) -> Packed:
    """Pack the bag in `folder` into `<parent>/<name>.tar`.

    Raises RefusedError if something stands there, MaterialError if the bag holds anything but files
    and folders or the judge does not let the tar pass, SurroundingsError for disk, permission, lock
    or a bag that changed meanwhile.
    """
    name = f"{facts.name}.tar"
    final, beside = (parent / to_disk(one) for one in (name, digest_beside.name_of(name)))
    digest_beside.line(name, "")
    stage = Stage(final, disk, progress)
    try:
        refuse_if_there(final, disk)
        refuse_if_there(beside, disk)
        with _Packing(folder, facts, disk, progress) as packing:
            make_parents(parent, disk)
            _check_size(packing.estimate, parent, disk)
            with stage.held(resume=False):
                refuse_if_there(final, disk)
                staged = stage.path / final.name
                digest = packing.write(staged)
                _write(stage.path / beside.name, digest_beside.line(name, digest), disk)
                disk.sync_directory(stage.path)
                let_pass(staged, judge)
                commit(staged, final, disk)
                commit(stage.path / beside.name, beside, disk)
                disk.remove_tree(stage.path)
    except OSError as error:
        raise from_os_error(error, f"Packing {printable(name)}") from error
    return Packed(
        path=final,
        digest_file=beside,
        octets=packing.octets,
        files=packing.files,
        sha512=digest,
        durability=disk.durability,
    )


def let_pass(staged: Path, judge: Callable[[Path], Verdict]) -> None:
    """Raise MaterialError unless what is staged passes."""
    verdict = judge(staged)
    if verdict not in LETS_PASS:
        raise MaterialError(
            f"{printable(str(staged))} was judged '{verdict}'; nothing was kept.",
            "The findings say why.",
        )


def time_of(bag_info: tuple[InfoLine, ...]) -> int:
    """Return the time that all members of a tar get: the bag's own, or 0 if it states none."""
    for line in bag_info:
        match = _DATE.fullmatch(line.value.strip())
        if line.label.casefold() == "bagging-date" and match is not None:
            try:
                day = datetime.fromisoformat(match[0]).replace(tzinfo=UTC)
            except ValueError:
                continue
            return max(0, int(day.timestamp()))
    return 0


def _check_size(octets: int, parent: Path, disk: Disk) -> None:
    check_room(octets, parent, disk)
    kind = disk.file_system(parent)
    most = largest_file(kind)
    if most is not None and octets > most:
        raise SurroundingsError(
            f"{printable(str(parent))} is on a {kind} file system, whose files end at "
            f"{size(most)}; the tar comes to {size(octets)}.",
            "Choose a place on another file system; nothing was written.",
        )


def _write(path: Path, content: bytes, disk: Disk) -> None:
    descriptor = disk.create(path)
    try:
        disk.write_all(descriptor, content)
        disk.sync_file(descriptor)
    finally:
        disk.close(descriptor)


def _turn(met: Met) -> tuple[int, str]:
    """Return what puts members in order: bagit.txt, manifests, then all by path."""
    if met.path == "bagit.txt":
        return 0, met.path
    return (1 if MANIFEST_NAME.fullmatch(met.path) else 2), met.path


class _Packing:
    """Writes one tar; a context manager that holds the folder open."""

    def __init__(self, folder: Path, facts: PackageFacts, disk: Disk, progress: Progress) -> None:
        self._base, self._time = facts.name, time_of(facts.bag_info)
        self._disk, self._progress = disk, progress
        self._tree = Tree(folder)
        self._members = sorted(self._tree.walk(Caps()), key=_turn)
        self.octets = 0
        self.files = sum(met.sort == "file" for met in self._members)
        self.estimate = sum(met.octets + _HEADERS_OCTETS for met in self._members)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_error: object) -> None:
        self._tree.close()

    def write(self, path: Path) -> str:
        """Write the tar and sync it; return its SHA-512."""
        self._progress.begin(f"Packing {printable(self._base)}", self.estimate)
        descriptor = self._disk.create(path)
        try:
            with Hashing((digest_beside.ALGORITHM,)) as hashing:
                for block in self._blocks():
                    hashing.update(block)
                    self._disk.write_all(descriptor, block)
                    self.octets += len(block)
                    if self.octets % _FLUSH_EVERY < len(block):
                        self._disk.begin_sync(descriptor)
                    self._progress.advance(len(block))
                digests = hashing.hexdigests()
            self._disk.sync_file(descriptor)
            # What is read back is to come from the disk.
            self._disk.begin_sync(descriptor)
        finally:
            self._disk.close(descriptor)
        return digests[digest_beside.ALGORITHM]

    def _blocks(self) -> Iterator[bytes]:
        yield tar_write.entry(self._base, None, self._time)
        for met in self._members:
            path = f"{self._base}/{met.path}"
            if met.sort == "directory":
                yield tar_write.entry(path, None, self._time)
            elif met.sort == "file":
                yield tar_write.entry(path, met.octets, self._time)
                with self._tree.stream(met.path) as stream:
                    yield from _content(met, stream)
                yield tar_write.filling(met.octets)
            else:
                raise MaterialError(
                    f"{printable(path)} is neither file nor folder and was not packed.",
                    "A package holds nothing else; see what it is.",
                )
        yield tar_write.end(self.octets)


def _content(met: Met, stream: BufferedReader) -> Iterator[bytes]:
    left = met.octets
    while left > 0 and (block := stream.read(min(BLOCK_OCTETS, left))):
        left -= len(block)
        yield block
    if left or stream.read(1):
        raise SurroundingsError(
            f"{printable(met.path)} changed while it was packed.",
            "Wait until nothing writes to the package, then run the same command again.",
        )
