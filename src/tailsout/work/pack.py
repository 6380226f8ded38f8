"""Packs a package into a tar that is judged before it gets its name."""

import os
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.archive import pack as tars
from tailsout.bag.archive.pack import LETS_PASS, Packed
from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Progress
from tailsout.records.dossier import Depth
from tailsout.work.check import check
from tailsout.work.destination import refuse_within


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a package."""

    judgement: Judgement
    """Of the tar as read back from disk; of the package's structure if that stopped it."""
    packed: Packed | None
    """None if findings stopped it: then nothing was written."""


def pack(package: Path, parent: Path, *, disk: Disk, progress: Progress) -> Outcome:
    """Pack the package in folder `package` into `<parent>/<its name>.tar`.

    Raises UsageError if there is no such folder, RefusedError if the destination is taken or lies
    inside the package, SurroundingsError for disk, permission, lock or a change meanwhile.
    """
    folder = Path(os.path.realpath(package))
    refuse_within(parent, folder, "package")
    with open_bag(package) as bag:
        facts = bag.facts
    judgements = [check(package, progress, depth=Depth.STRUCTURE).judgement]
    if judgements[-1].verdict not in LETS_PASS:
        return Outcome(judgement=judgements[-1], packed=None)

    def judge(staged: Path) -> Verdict:
        judgements.append(check(staged, progress).judgement)
        return judgements[-1].verdict

    try:
        packed = tars.pack(folder, facts, parent, disk=disk, judge=judge, progress=progress)
    except MaterialError:
        if judgements[-1].verdict in LETS_PASS:
            raise
        return Outcome(judgement=judgements[-1], packed=None)
    return Outcome(judgement=judgements[-1], packed=packed)
