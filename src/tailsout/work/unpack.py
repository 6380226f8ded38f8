"""Unpacks a package from an archive that was judged, into a folder that is judged in turn."""

from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.archive import unpack as archives
from tailsout.bag.archive.open import open_archive
from tailsout.bag.archive.pack import LETS_PASS
from tailsout.bag.archive.unpack import Unpacked
from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Progress
from tailsout.records.dossier import Depth
from tailsout.rules import judge
from tailsout.work.check import check
from tailsout.work.package import bag_alone


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of an archive."""

    judgement: Judgement
    """Of the package as read back from disk; of the archive's structure if that stopped it."""
    unpacked: Unpacked | None
    """None if findings stopped it: then nothing was written."""


def unpack(archive: Path, parent: Path, *, disk: Disk, progress: Progress) -> Outcome:
    """Unpack the package in `archive` into `<parent>/<its base directory>`.

    Raises UsageError if it is not an archive, RefusedError if the destination is taken or two names
    would be one on some systems, SurroundingsError for disk, permission, lock or a change
    meanwhile.
    """
    with open_archive(archive, progress) as bag:
        seen = bag_alone(bag, Depth.STRUCTURE)
        facts = replace(bag.facts, archive=bag.with_digests(progress))
        judgements = [judge(replace(seen, package=facts))]
        if judgements[-1].verdict not in LETS_PASS:
            return Outcome(judgement=judgements[-1], unpacked=None)

        def judge_staged(stage: Path) -> Verdict:
            judgements.append(check(stage, progress).judgement)
            return judgements[-1].verdict

        try:
            done = archives.unpack(bag, parent, disk=disk, judge=judge_staged, progress=progress)
        except MaterialError:
            if judgements[-1].verdict in LETS_PASS:
                raise
            return Outcome(judgement=judgements[-1], unpacked=None)
    return Outcome(judgement=judgements[-1], unpacked=done)
