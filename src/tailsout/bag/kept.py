"""Decides what of a stage that a crash left may stay: what reads back as its journal says."""

import os
from collections.abc import Collection, Mapping
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.journal import Begun
from tailsout.bag.names import to_disk
from tailsout.bag.notes import Caps
from tailsout.bag.plan import Plan, Streamed, Written
from tailsout.bag.tree import Tree
from tailsout.ground.digests import BLOCK_OCTETS, Hashing
from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.progress import Progress
from tailsout.ground.units import counted


def keep_finished(
    plan: Plan, begun: Begun | None, stage: Path, disk: Disk, progress: Progress
) -> Mapping[str, Written]:
    """Return the finished files of a stage by path, and remove all else that lies in it.

    A file stays if the plan knows what it is made from, its journal line is whole, and its octets,
    read from the disk, have the length and digests of that line. Raises OSError.
    """
    sure = {
        item.path: item.octets
        for item in (*plan.payload, *plan.tags)
        if isinstance(item, Streamed) and item.source
    }
    told = begun.written if begun is not None else {}
    todo = {
        path: one
        for path, one in told.items()
        if sure.get(path) == one.octets and set(one.digests) == set(plan.algorithms)
    }
    progress.begin("Reading what was finished", sum(one.octets for one in todo.values()))
    tree = Tree(stage)
    try:
        kept = {p: one for p, one in todo.items() if reads_back(tree, one, progress)}
    finally:
        tree.close()
    clear_all_but(kept, stage, disk)
    if begun is not None:
        progress.say(f"Read back and kept: {len(kept)} of {counted(len(sure), 'large file')}.")
    return kept


def clear_all_but(kept: Collection[str], stage: Path, disk: Disk) -> None:
    """Remove from a stage everything but these files and the folders they lie in.

    Raises OSError.
    """
    tree = Tree(stage)
    try:
        met = list(tree.walk(Caps()))
    finally:
        tree.close()
    folders = {folder.as_posix() for path in kept for folder in Path(path).parents}
    for one in met:
        place = stage / to_disk(one.path)
        if not one.path or one.path in kept or one.path in folders or not disk.is_there(place):
            continue
        if one.sort == "directory":
            disk.remove_tree(place)
        else:
            disk.remove(place)


def reads_back(tree: Tree, one: Written, progress: Progress) -> bool:
    """Tell whether a file, read from the disk itself, is what was written there."""
    try:
        with tree.stream(one.path) as stream, Hashing(tuple(one.digests)) as hashing:
            # What counts is what the disk holds, not what memory still does.
            if hasattr(os, "posix_fadvise"):
                os.posix_fadvise(stream.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
            if os.fstat(stream.fileno()).st_size != one.octets:
                return False
            while block := stream.read(BLOCK_OCTETS):
                hashing.update(block)
                progress.advance(len(block))
            return hashing.hexdigests() == one.digests
    except (MaterialError, SurroundingsError, OSError):
        return False
