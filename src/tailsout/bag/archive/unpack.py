"""Unpacks a bag from an archive by a writer of our own.

Members are read as streams and written under names that were judged: plain files, 0644, and
folders, 0755, into a fresh folder that nobody else may enter, so that nothing an earlier archive
left can stand in the way (CVE-2025-45582). It is judged there, and only then named.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.archive.open import ArchivedBag
from tailsout.bag.archive.pack import let_pass
from tailsout.bag.disk import Disk
from tailsout.bag.names import to_disk
from tailsout.bag.notes import Caps
from tailsout.bag.place import check_room, commit, make_parents, refuse_if_there
from tailsout.bag.stage import Stage
from tailsout.bag.tree import Tree
from tailsout.ground.digests import BLOCK_OCTETS
from tailsout.ground.errors import MaterialError, RefusedError, SurroundingsError, from_os_error
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpacked:
    """A package that stands under its final name."""

    path: Path
    octets: int
    files: int
    durability: str
    """`fsynced` or `best effort`."""


def unpack(
    bag: ArchivedBag,
    parent: Path,
    *,
    disk: Disk,
    judge: Callable[[Path], Verdict],
    progress: Progress,
) -> Unpacked:
    """Unpack the bag into `<parent>/<its base directory>`; the archive was judged before.

    Raises RefusedError if something stands there or two names in it would be one on some systems,
    MaterialError if the judge does not let it pass, SurroundingsError for disk, permission, lock or
    an archive that changed meanwhile.
    """
    _refuse_unsafe(bag)
    final = parent / to_disk(bag.facts.name)
    stage = Stage(final, disk, progress)
    octets = sum(file.octets for file in bag.facts.files)
    try:
        refuse_if_there(final, disk)
        make_parents(parent, disk)
        check_room(octets, parent, disk)
        with stage.held(resume=False):
            refuse_if_there(final, disk)
            progress.begin(f"Unpacking {printable(bag.facts.name)}", octets)
            _fill(bag, stage.path, disk, progress)
            let_pass(stage.path, judge)
            _confirm_unlisted(bag, stage.path)
            commit(stage.path, final, disk)
    except OSError as error:
        raise from_os_error(error, f"Unpacking {printable(bag.facts.name)}") from error
    return Unpacked(
        path=final, octets=octets, files=len(bag.facts.files), durability=disk.durability
    )


def _refuse_unsafe(bag: ArchivedBag) -> None:
    """Stop before anything is written. The names of an archive are a stranger's."""
    archive = bag.facts.archive
    kinds = {one.kind for one in bag.facts.observations}
    if archive is None or not archive.whole or "archive-base" in kinds or not bag.facts.name:
        raise MaterialError(
            "The archive does not hold one package that may be unpacked.", "The findings say why."
        )
    if "name-twins" in kinds:
        raise RefusedError(
            "Two names in the archive would be one on some systems; it was not unpacked.",
            "Ask the sender for another one; `tailsout check` names them.",
        )


def _fill(bag: ArchivedBag, stage: Path, disk: Disk, progress: Progress) -> None:
    folders = sorted(met.path for met in bag.walk(Caps()) if met.sort == "directory")
    for path in folders:
        disk.make_directory(stage / to_disk(path))
    for path in bag.order or [file.path for file in bag.facts.files]:
        _copy(bag, path, stage / to_disk(path), disk, progress)
    for path in reversed(folders):
        disk.sync_directory(stage / to_disk(path))
    disk.set_mode(stage, 0o755)
    disk.sync_directory(stage)


def _confirm_unlisted(bag: ArchivedBag, stage: Path) -> None:
    """Read back what no manifest speaks of, tag manifests above all, and compare it."""
    listed = {line.path for manifest in bag.facts.manifests for line in manifest.lines}
    tree = Tree(stage)
    try:
        for path in bag.order or [file.path for file in bag.facts.files]:
            if path in listed:
                continue
            with bag.stream(path) as packed, tree.stream(path) as written:
                same = True
                while same and (block := packed.read(BLOCK_OCTETS)):
                    same = written.read(len(block)) == block
                if not same or written.read(1):
                    raise SurroundingsError(
                        f"{printable(path)} is not on the disk as it was written; nothing was "
                        "kept.",
                        "Do not trust that disk before it is checked.",
                    )
    finally:
        tree.close()


def _copy(bag: ArchivedBag, path: str, place: Path, disk: Disk, progress: Progress) -> None:
    descriptor = disk.create(place)
    octets = 0
    try:
        with bag.stream(path) as stream:
            before = bag.mark(path, stream)
            while block := stream.read(BLOCK_OCTETS):
                disk.write_all(descriptor, block)
                octets += len(block)
                progress.advance(len(block))
        disk.sync_file(descriptor)
        # What is read back is to come from the disk.
        disk.begin_sync(descriptor)
    finally:
        disk.close(descriptor)
    if bag.mark_now(path) != before or octets != before[0]:
        raise SurroundingsError(
            "The archive changed while it was unpacked; nothing was kept.",
            "Wait until nothing writes to it, then run the same command again.",
        )
