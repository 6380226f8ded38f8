"""Access copies in a new version: carried over, or made anew where what makes them was amended."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import BinaryIO

from tailsout.bag.plan import Written
from tailsout.mapping.copies.planned import PlannedCopy, planned
from tailsout.records.access import AccessCopy
from tailsout.records.amendment import FileChange
from tailsout.records.dossier import FileRecord
from tailsout.work import access
from tailsout.work.access import PreparedCopy
from tailsout.work.amending.draft import Draft
from tailsout.work.amending.superseded import Superseded
from tailsout.work.audio import audio_in
from tailsout.work.surroundings import ScratchFiles, Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyPlan:
    """What becomes of the copies of one master that stays."""

    carried: tuple[AccessCopy, ...] = ()
    anew: tuple[PlannedCopy, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NextCopies:
    """The copies of one master as the new version has them."""

    carried: tuple[AccessCopy, ...] = ()
    anew: tuple[PreparedCopy, ...] = ()

    def records(self, written: Mapping[str, Written]) -> tuple[AccessCopy, ...]:
        """Return what the master's side-car says of them."""
        return (*self.carried, *(one.record(written) for one in self.anew))


def paths_of(old: Superseded) -> frozenset[str]:
    """Return the paths of all copies in the version superseded."""
    return frozenset(
        copy.path for file in old.dossier.files if file.stated for copy in file.stated.copies
    )


def planned_for(old: Superseded, draft: Draft) -> dict[str, CopyPlan]:
    """Say for each master that stays what becomes of its copies, by the master's old path.

    One that the statements as they are now would make otherwise is made anew. Raises MaterialError
    for one that cannot be.
    """
    was, now = old.dossier.transfer, draft.transfer
    found: dict[str, CopyPlan] = {}
    if was is None or now is None:
        return found
    for file in old.dossier.files:
        if file.stated is None or file.path in draft.withdrawn:
            continue
        moved = _moved(file, draft)
        # A copy names its master in a tag.
        before = planned(was, file) if moved.path == file.path else ()
        wanted = [one for one in planned(now, moved) if one.path not in draft.withdrawn]
        same = {one.path for one in wanted if one in before}
        found[file.path] = CopyPlan(
            carried=tuple(copy for copy in file.stated.copies if copy.path in same),
            anew=tuple(one for one in wanted if one.path not in same),
        )
    return found


def _moved(file: FileRecord, draft: Draft) -> FileRecord:
    return replace(file, path=draft.renamed.get(file.path, file.path))


def changes(old: Superseded, draft: Draft, copies: Mapping[str, CopyPlan]) -> Iterator[FileChange]:
    """Yield what is told of copies that change without having been named themselves."""
    for file in old.dossier.files:
        if file.stated is None or file.path in draft.retaken:
            continue
        left = {copy.path for copy in file.stated.copies} - draft.withdrawn
        one = copies.get(file.path, CopyPlan())
        left -= {copy.path for copy in one.carried}
        for new in one.anew:
            yield FileChange(path=new.path, change="replaced" if new.path in left else "added")
            left.discard(new.path)
        for path in sorted(left):
            yield FileChange(path=path, change="withdrawn")


def prepare(
    old: Superseded,
    draft: Draft,
    copies: Mapping[str, CopyPlan],
    scratch: ScratchFiles | None,
    around: Surroundings,
) -> dict[str, NextCopies]:
    """Make those that are made anew, from the masters of the version superseded; by new paths."""
    return {
        _moved(file, draft).path: NextCopies(
            carried=copies[file.path].carried,
            anew=_prepared(
                old,
                file,
                _moved(file, draft),
                copies[file.path].anew,
                scratch=scratch,
                around=around,
            ),
        )
        for file in old.dossier.files
        if file.path in copies
    }


def _prepared(
    old: Superseded,
    file: FileRecord,
    moved: FileRecord,
    anew: tuple[PlannedCopy, ...],
    *,
    scratch: ScratchFiles | None,
    around: Surroundings,
) -> tuple[PreparedCopy, ...]:
    if file.stated is None:
        return ()

    @contextmanager
    def opened() -> Iterator[BinaryIO]:
        with old.bag.stream(file.path) as raw:
            yield audio_in(raw, file.path).stream

    parent = access.Parent(
        path=moved.path,
        file_id=file.stated.id,
        essence_sha256=file.stated.measured.essence_sha256,
        opened=opened,
    )
    return access.prepare_all(anew, parent, scratch, around.software, around.progress)
