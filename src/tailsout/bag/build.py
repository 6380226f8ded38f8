"""Builds a bag from a plan (RFC 8493): staged beside its place, synced, judged, then renamed.

Nothing ever stands under the final name unless it is complete. A build that a crash or a full disk
cut off can be taken up again, to the same octets as if nothing had been.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.kept import keep_finished, reads_back
from tailsout.bag.names import to_disk
from tailsout.bag.notes import Caps
from tailsout.bag.place import check_room, commit, make_parents, refuse_if_there
from tailsout.bag.plan import Plan, Streamed, Written
from tailsout.bag.second_opinion import can_be_asked, disagreement
from tailsout.bag.stage import Stage
from tailsout.bag.tree import Tree
from tailsout.bag.volume import largest_file, not_promised
from tailsout.bag.writing import Writer, folders_of
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import (
    MaterialError,
    SurroundingsError,
    UnprovedError,
    from_os_error,
)
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress, Silent
from tailsout.ground.units import size

_OWN_FILES = 5
"""bagit.txt, bag-info.txt, the stage, its journal and the receipt."""
_STOPPING = frozenset({Verdict.FAIL, Verdict.REFUSED})


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A bag that stands under its final name."""

    path: Path
    files: int
    """Tag files included."""
    octets: int
    """Of all files."""
    tag_manifests: Mapping[str, Mapping[str, str]]
    """SHA-256 and SHA-512 of each tag manifest, by its name: what to record outside the bag."""
    durability: str
    """`fsynced` or `best effort`."""
    not_promised: tuple[str, ...]
    """What its file system cannot promise, one sentence each."""


def build(
    plan: Plan,
    parent: Path,
    *,
    disk: Disk,
    judge: Callable[[Path], Verdict],
    progress: Progress,
    record: Callable[[Built], None] | None = None,
    resume: bool = False,
) -> Built:
    """Build `<parent>/<name>`; `judge` sees the staged bag before it gets its name.

    `record` is called once the bag stands and before its journal goes: should it be cut off,
    `resume` calls it again. `resume` goes on with what an earlier call left, keeping what is
    finished; the plan must be that of the earlier call.

    Raises RefusedError if something stands there, MaterialError if the judge does not pass it or
    the plan is another than the one to be resumed, UsageError if there is nothing to resume,
    UnprovedError if the judge could not read it, SurroundingsError for disk, permission, lock,
    work left by an earlier call that is not resumed, or a source that changed.
    """
    final = parent / to_disk(plan.name)
    stage = Stage(final, disk, progress)
    try:
        if resume and _stands(plan, final, stage, disk):
            _pass(final, judge)
            disk.sync_directory(parent)
        else:
            refuse_if_there(final, disk)
            if not resume:
                stage.refuse_left_work()
                make_parents(parent, disk)
                _check_place(plan, parent, disk)
                check_room(plan.streamed_octets, parent, disk)
            with stage.held(resume=resume):
                refuse_if_there(final, disk)
                kept = _taken_up(plan, stage, disk, progress) if resume else {}
                written = _fill(plan, stage, kept, disk, progress)
                _pass(stage.path, judge)
                _confirm(stage.path, written)
                _agree(stage.path, progress)
                commit(stage.path, final, disk)
    except OSError as error:
        raise from_os_error(error, f"Building {final}") from error
    try:
        built = _built(final, disk)
        if record is not None:
            record(built)
        stage.journal.remove()
    except OSError as error:
        doing = f"{final} stands complete and was judged, but recording it"
        raise from_os_error(error, doing) from error
    return built


def _stands(plan: Plan, final: Path, stage: Stage, disk: Disk) -> bool:
    """Tell whether the build to be resumed had got as far as its final name."""
    left = stage.left()
    if left is None or left.is_there or left.begun is None or not disk.is_there(final):
        return False
    _refuse_another(plan, left.begun.plan, final)
    return True


def _refuse_another(plan: Plan, begun: str, final: Path) -> None:
    if begun != plan.digest:
        raise MaterialError(
            f"The build of {final} that was cut off is not this one: forms, captures or the "
            "version of this program changed since.",
            "Clear it away by --discard and begin anew.",
        )


def _taken_up(plan: Plan, stage: Stage, disk: Disk, progress: Progress) -> Mapping[str, Written]:
    """Return what stands finished in a stage that was left; all else in it is removed."""
    left = stage.left()
    begun = left.begun if left is not None else None
    if begun is None:
        stage.journal.remove()
    else:
        _refuse_another(plan, begun.plan, stage.path)
    kept = keep_finished(plan, begun, stage.path, disk, progress)
    octets = plan.streamed_octets - sum(one.octets for one in kept.values())
    check_room(octets, stage.path.parent, disk)
    disk.set_mode(stage.path, 0o700)
    return kept


def _fill(
    plan: Plan, stage: Stage, kept: Mapping[str, Written], disk: Disk, progress: Progress
) -> Mapping[str, Written]:
    """Write everything that does not stand in the stage yet; return all that then stands."""
    if not disk.is_there(stage.journal.path):
        stage.journal.begin(instant=plan.instant, software=plan.software, plan=plan.digest)
    progress.begin(f"Writing {plan.name}", plan.streamed_octets)
    writer = Writer(
        plan, stage.path, kept=kept, journal=stage.journal, disk=disk, progress=progress
    )
    writer.everything()
    return writer.written


def _pass(place: Path, judge: Callable[[Path], Verdict]) -> None:
    verdict = judge(place)
    if verdict in _STOPPING:
        raise MaterialError(
            f"The bag built as {place} was judged '{verdict}'; it was not let pass.",
            "The findings say why.",
        )
    if verdict is Verdict.NOT_EXAMINED:
        raise UnprovedError(
            f"The bag built as {place} could not be read back whole, so nobody knows what it is.",
            "Look to the disk and the permissions; the findings say what could not be read.",
        )


def _confirm(stage: Path, written: Mapping[str, Written]) -> None:
    """Read back the tag manifests: no list in a bag holds them, and the judge cannot know them."""
    tree = Tree(stage)
    try:
        for path, one in written.items():
            if path.startswith("tagmanifest-") and not reads_back(tree, one, Silent()):
                raise MaterialError(
                    f"{path} in {stage} reads back differently from what was written; nothing was "
                    "kept.",
                    "Do not trust the disk before it is checked.",
                )
    finally:
        tree.close()


def _agree(stage: Path, progress: Progress) -> None:
    if not can_be_asked():
        progress.say("No second opinion on completeness: this locale is not UTF-8.")
    elif why := disagreement(stage):
        raise MaterialError(
            f"The bag built as {stage} was judged complete here and not by the bagit library "
            f"({why}); nothing was kept.",
            "Report this, with the names of the files: one of the two is wrong.",
        )


def _built(final: Path, disk: Disk) -> Built:
    files, octets, tag_manifests = 0, 0, {}
    tree = Tree(final)
    try:
        for met in tree.walk(Caps()):
            files += met.sort == "file"
            octets += met.octets
            if met.path.startswith("tagmanifest-"):
                content = tree.read(met.path, Caps().manifest_octets)
                tag_manifests[met.path] = digests_of(content, ("sha256", "sha512"))
    finally:
        tree.close()
    return Built(
        path=final,
        files=files,
        octets=octets,
        tag_manifests=tag_manifests,
        durability=disk.durability,
        not_promised=(*not_promised(disk.file_system(final.parent)), *disk.not_promised),
    )


def _check_place(plan: Plan, parent: Path, disk: Disk) -> None:
    """Refuse a file system that cannot hold a file so large, or so many."""
    kind = disk.file_system(parent)
    most = largest_file(kind)
    items = (*plan.payload, *plan.tags)
    for item in items:
        if isinstance(item, Streamed) and most is not None and item.octets > most:
            raise SurroundingsError(
                f"{parent} is on a {kind} file system, whose files end at {size(most)}; "
                f"{item.path} has {size(item.octets)}.",
                "Choose a place on another file system; nothing was written.",
            )
    paths = [item.path for item in items]
    folders = {folder for path in paths for folder in folders_of(path)}
    needed = len(paths) + len(folders) + 2 * len(plan.algorithms) + _OWN_FILES
    free = disk.free_files(parent)
    if free is not None and free < needed:
        raise SurroundingsError(
            f"{parent} can take {free} more files; {needed} are needed.",
            "Choose another place; nothing was written.",
        )
