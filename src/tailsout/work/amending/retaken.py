"""A better transfer of a side: a new capture takes the place of a master in a new version."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tailsout.ground.findings import Judgement
from tailsout.mapping import masters
from tailsout.records.amendment import Amendment
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.transfer import Transfer
from tailsout.work import captures, first_pass
from tailsout.work.amending.superseded import Superseded
from tailsout.work.calibration import Bench
from tailsout.work.captures import Taken
from tailsout.work.contents import Contents
from tailsout.work.located import Located
from tailsout.work.master_files import MasterFiles
from tailsout.work.settling import Waiting, settle
from tailsout.work.surroundings import ScratchFiles, Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class Retaken:
    """New captures, looked into and measured, by the path of the master each replaces."""

    taken: Mapping[str, Taken]
    passed: Mapping[str, first_pass.Passed]
    digests: Mapping[str, str]
    dossier: Dossier
    """Of them alone, for the rules and for what their side-cars tell."""

    @property
    def files(self) -> tuple[FileRecord, ...]:
        """Return what is known of each, as the rules want it."""
        return self.dossier.files

    def path(self, replaced: str, transfer: Transfer) -> str:
        """Return where the new master lies."""
        return masters.master_path(transfer, self.taken[replaced].survey.record)


def retake(
    sources: Mapping[str, Path],
    old: Superseded,
    transfer: Transfer,
    around: Surroundings,
    *,
    only_plan: bool,
) -> Retaken:
    """Look into the new captures and measure them, unless only a plan is wanted.

    Raises SurroundingsError for one that is growing or cannot be read, MaterialError for one that
    cannot be used.
    """
    of = {file.path: file.capture for file in old.dossier.files}
    taken: dict[str, Taken] = {}
    waiting = Waiting(seconds_now=around.seconds_now, wait=False, progress=around.progress)
    for path, source in sources.items():
        found = {str(of[path]): Located(way="one file", files=(source,))}
        settle(found, source.parent, waiting)
        (taken[path],) = captures.look(found, source.parent, interleave=False)
    every = tuple(taken.values())
    passed = {} if only_plan else first_pass.measure(every, around.progress, transfer)
    dossier = Dossier(
        origin="closing",
        transfer=transfer,
        files=tuple(one.survey.record for one in every),
        calibrations=old.dossier.calibrations,
        at_rest=old.dossier.at_rest,
    )
    return Retaken(
        taken=taken,
        passed=passed,
        digests={} if only_plan else first_pass.digests(every, passed, around.progress),
        dossier=first_pass.with_facts(dossier, passed),
    )


def lay_out(
    new: Retaken,
    amendments: tuple[Amendment, ...],
    around: Surroundings,
    scratch: ScratchFiles | None,
) -> tuple[MasterFiles, ...]:
    """Lay out the new masters, each with its side-car. Raises as `Contents.plan`."""
    contents = Contents(
        dossier=new.dossier,
        judgement=Judgement(findings=(), checks=()),
        taken=tuple(new.taken.values()),
        kept={},
        passed=new.passed,
        digests=new.digests,
        bench=Bench(),
        around=around,
        amendments=amendments,
    )
    return tuple(contents.masters(scratch))
