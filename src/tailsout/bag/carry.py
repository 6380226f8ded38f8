"""Carries a package to another disk as it is: staged there, read back, judged, then named.

Every file has its digest taken twice, of the octets as they were read here and of the octets as
the other disk gives them back; both are kept. What a crash, a pull or a full disk cut off can be
taken up again, and what stands whole there is proved and not copied once more.
"""

import hashlib
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.fingerprint import fingerprint_of
from tailsout.bag.kept import clear_all_but, reads_back
from tailsout.bag.names import to_disk
from tailsout.bag.open import OpenBag, open_bag
from tailsout.bag.place import commit, refuse_if_there
from tailsout.bag.plan import Written
from tailsout.bag.stage import Stage
from tailsout.bag.tree import Tree
from tailsout.bag.volume import not_promised
from tailsout.bag.writing import folders_of
from tailsout.ground.digests import BLOCK_OCTETS
from tailsout.ground.errors import (
    MaterialError,
    SurroundingsError,
    UnprovedError,
    from_os_error,
)
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import counted, printable
from tailsout.records.facts import FoundFile

ALGORITHM = "sha512"
_LETS_PASS = frozenset({Verdict.PASS, Verdict.OPEN})
_LARGE = 1 << 20
"""Octets from which a file is written down as finished: smaller ones are copied again sooner."""
_FLUSH_EVERY = 32 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedFile:
    """One file and its SHA-512 on both sides."""

    path: str
    octets: int
    here: str
    """Of the octets as they were read from the source."""
    there: str
    """Of the octets as the other disk gave them back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A package that stands under its name on the other disk."""

    path: Path
    files: tuple[CarriedFile, ...]
    was_there: bool
    """It stood there from an earlier run, and was proved once more."""
    durability: str
    """`fsynced` or `best effort`."""
    not_promised: tuple[str, ...]

    @property
    def octets(self) -> int:
        """Octets of all its files."""
        return sum(file.octets for file in self.files)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What came of judging a package where it was carried to."""

    verdict: Verdict
    digests: Mapping[str, Mapping[str, str]]
    """By path and algorithm, as far as they were taken."""


def carry(
    bag: OpenBag,
    parent: Path,
    *,
    disk: Disk,
    judge: Callable[[Path], Proof],
    software: str,
    progress: Progress,
    resume: bool = False,
) -> Carried:
    """Carry an open package to `<parent>/<its name>`; `judge` sees it there before it is named.

    The package must have been judged: every regular file is copied and nothing else. `resume` takes
    up what an earlier call left. Raises RefusedError if something stands there, MaterialError if
    the judge does not let it pass, UnprovedError if it could not be read back, SurroundingsError
    for disk, permission, lock, or a source that changed.
    """
    name = printable(bag.facts.name)
    final = parent / to_disk(bag.facts.name)
    stage = Stage(final, disk, progress)
    octets = sum(file.octets for file in bag.facts.files)
    try:
        was_there = resume and disk.is_there(final)
        if was_there:
            progress.begin(f"Reading {name}", octets)
            _refuse_more(bag, final)
            here = {file.path: _read(bag, file, progress) for file in bag.facts.files}
            files = _proved(bag, here, final, judge(final))
        else:
            refuse_if_there(final, disk)
            begun = resume and stage.left() is not None
            if not begun:
                stage.refuse_left_work()
            with stage.held(resume=begun and disk.is_there(stage.path)):
                refuse_if_there(final, disk)
                progress.begin(f"Carrying {name}", octets)
                copied = _Copy(bag, stage, software, disk, progress).everything()
                files = _proved(bag, copied, stage.path, judge(stage.path))
                commit(stage.path, final, disk)
        stage.journal.remove()
    except OSError as error:
        raise from_os_error(error, f"Carrying {name} to {printable(str(parent))}") from error
    return Carried(
        path=final,
        files=files,
        was_there=was_there,
        durability=disk.durability,
        not_promised=(*not_promised(disk.file_system(parent)), *disk.not_promised),
    )


class _Copy:
    """The copying of one package into its stage."""

    def __init__(
        self, bag: OpenBag, stage: Stage, software: str, disk: Disk, progress: Progress
    ) -> None:
        self._bag, self._stage, self._disk, self._progress = bag, stage, disk, progress
        self._software = software
        # By what is to be copied: listing with all times, tag files.
        self._pin = hashlib.sha256(repr(fingerprint_of(bag)).encode()).hexdigest()

    def everything(self) -> Mapping[str, str]:
        """Fill the stage and sync it; return the digests of what was read. Raises OSError."""
        kept = self._kept()
        here = {path: one.digests[ALGORITHM] for path, one in kept.items()}
        made: dict[str, None] = {}
        for path in kept:
            made |= dict.fromkeys(folders_of(path))
        for file in self._bag.facts.files:
            if file.path in kept:
                self._progress.advance(file.octets)
                continue
            for folder in folders_of(file.path):
                if folder not in made:
                    self._disk.make_directory(self._stage.path / to_disk(folder))
                    made[folder] = None
            here[file.path] = self._one(file)
        for folder in sorted(made, key=lambda path: (-path.count("/"), path)):
            self._disk.sync_directory(self._stage.path / to_disk(folder))
        self._disk.set_mode(self._stage.path, 0o755)
        self._disk.sync_directory(self._stage.path)
        return here

    def _kept(self) -> Mapping[str, Written]:
        """Return what an earlier run left whole, read back from the disk; all else is removed."""
        journal = self._stage.journal
        left = self._stage.left()
        begun = left.begun if left is not None else None
        octets = {file.path: file.octets for file in self._bag.facts.files}
        kept: dict[str, Written] = {}
        if begun is not None and begun.plan == self._pin:
            tree = Tree(self._stage.path)
            try:
                for path, one in begun.written.items():
                    is_same = octets.get(path) == one.octets and set(one.digests) == {ALGORITHM}
                    if is_same and reads_back(tree, one, self._progress):
                        kept[path] = one
            finally:
                tree.close()
            self._progress.say(f"Read back and kept: {counted(len(kept), 'large file')}.")
        else:
            journal.remove()
        clear_all_but(kept, self._stage.path, self._disk)
        if not self._disk.is_there(journal.path):
            journal.begin(instant="", software=self._software, plan=self._pin)
        return kept

    def _one(self, file: FoundFile) -> str:
        descriptor = self._disk.create(self._stage.path / to_disk(file.path))
        written = 0

        def write(block: bytes) -> None:
            nonlocal written
            self._disk.write_all(descriptor, block)
            written += len(block)
            if written % _FLUSH_EVERY < len(block):
                self._disk.begin_sync(descriptor)

        try:
            digest = _read(self._bag, file, self._progress, write)
            self._disk.sync_file(descriptor)
            # What is read back is to come from the disk.
            self._disk.begin_sync(descriptor)
        finally:
            self._disk.close(descriptor)
        if file.octets >= _LARGE:
            one = Written(path=file.path, octets=file.octets, digests={ALGORITHM: digest})
            self._stage.journal.add(one)
        return digest


def _read(
    bag: OpenBag,
    file: FoundFile,
    progress: Progress,
    take: Callable[[bytes], None] = lambda _block: None,
) -> str:
    """Read a file of the source through; return its digest. Raises SurroundingsError, OSError."""
    digest = hashlib.new(ALGORITHM)
    octets = 0
    with bag.stream(file.path) as stream:
        before = bag.mark(file.path, stream)
        # Whoever writes on to a file must not keep this at it for ever.
        while octets <= file.octets and (block := stream.read(BLOCK_OCTETS)):
            digest.update(block)
            take(block)
            octets += len(block)
            progress.advance(len(block))
    if bag.mark_now(file.path) != before or octets != file.octets:
        raise SurroundingsError(
            f"{printable(file.path)} of {printable(bag.facts.name)} changed while it was read.",
            "Wait until nothing writes to the package, then run the same command again.",
        )
    return digest.hexdigest()


def _refuse_more(bag: OpenBag, final: Path) -> None:
    """Stop where what stands there does not have the files of the package, and no others."""
    with open_bag(final) as standing:
        found = {(file.path, file.octets) for file in standing.facts.files}
    if found != {(file.path, file.octets) for file in bag.facts.files}:
        raise MaterialError(
            f"{printable(str(final))} stands there already and is not the package to be carried.",
            "Choose another disk, or move it away first; a package is never overwritten.",
        )


def _proved(
    bag: OpenBag, here: Mapping[str, str], place: Path, proof: Proof
) -> tuple[CarriedFile, ...]:
    """Compare both sides, file by file."""
    if proof.verdict is Verdict.NOT_EXAMINED:
        raise UnprovedError(
            f"{printable(str(place))} could not be read back whole, so nobody knows what it is.",
            "Look to the disk and the permissions; the findings say what could not be read.",
        )
    if proof.verdict not in _LETS_PASS:
        raise MaterialError(
            f"{printable(str(place))} was judged '{proof.verdict}' where it was carried to.",
            "The findings say why; check the package where it came from.",
        )
    files = []
    tree = Tree(place)
    try:
        for file in bag.facts.files:
            there = proof.digests.get(file.path, {}).get(ALGORITHM) or _there(tree, file.path)
            if there != here[file.path]:
                raise MaterialError(
                    f"{printable(file.path)} of {printable(bag.facts.name)} reads back otherwise "
                    "than it was written.",
                    "Do not trust that disk before it is checked.",
                )
            one = CarriedFile(path=file.path, octets=file.octets, here=here[file.path], there=there)
            files.append(one)
    finally:
        tree.close()
    return tuple(files)


def _there(tree: Tree, path: str) -> str:
    """Return the digest of a file as the disk gives it back, not as memory holds it."""
    digest = hashlib.new(ALGORITHM)
    with tree.stream(path) as stream:
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(stream.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        while block := stream.read(BLOCK_OCTETS):
            digest.update(block)
    return digest.hexdigest()
