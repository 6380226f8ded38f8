"""Closes out many jobs, each for itself, and goes on with a night that was cut off."""

import os
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from tailsout.bag.grammar import MANIFEST_NAME
from tailsout.bag.open import open_bag
from tailsout.bag.stage import Stage
from tailsout.ground.digests import BLOCK_OCTETS, Hashing
from tailsout.ground.errors import RefusedError, TailsoutError, from_os_error
from tailsout.ground.portable import not_portable
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.forms.form import read_form
from tailsout.mapping.forms.job_forms import read_job
from tailsout.mapping.receipt import tag_manifests
from tailsout.work.close_out import Outcome, close
from tailsout.work.package import read_package
from tailsout.work.parallel import Done, run_each
from tailsout.work.recount import recount
from tailsout.work.surroundings import Surroundings
from tailsout.work.turns import Turns


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How all the jobs are to be closed."""

    wait: bool = False
    only_plan: bool = False
    with_calibration: bool = False
    resume: bool = False
    """Go on with those that were begun, pass over those that are finished, begin the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """What became of one job of many."""

    outcome: Outcome | None = None
    finished: Path | None = None
    """The package that stood already, with its receipt."""


def close_all(
    folders: Sequence[str],
    parent: Path,
    around: Surroundings,
    wish: Wish,
    *,
    jobs: int,
    progress_of: Callable[[str], Progress],
) -> Generator[Done[Closed], None, None]:
    """Close each job into `parent`, all as of one instant, and yield what came of each.

    Of several that are under way at once and want to pack the same captures of calibration tapes,
    the one named first packs them.
    """
    turns = Turns(folders)

    def one(job: str, progress: Progress) -> Closed:
        try:
            return closed(job, progress)
        finally:
            turns.end(job)

    def closed(job: str, progress: Progress) -> Closed:
        own = replace(around, progress=progress)
        begun = False
        if wish.resume:
            name = _package_id(Path(job))
            # One whose receipt was written last of all has its journal still: it was begun.
            begun = name is not None and _is_begun(parent / name, own)
            if name is not None and not begun and _is_finished(parent, name):
                _check_owner(Path(job), parent / name)
                _log_again(Path(job), parent / name, own)
                return Closed(finished=parent / name)
        outcome = close(
            Path(job),
            parent,
            own,
            wait=wish.wait,
            only_plan=wish.only_plan,
            with_calibration=wish.with_calibration,
            resume=begun,
            turn=partial(turns.take, job) if not wish.only_plan else None,
        )
        return Closed(outcome=outcome)

    return run_each(folders, one, jobs=jobs, progress_of=progress_of)


def _package_id(job: Path) -> str | None:
    """Return the name of a job's package; None where `close` will tell why there is none."""
    form = Path(os.path.realpath(job)) / "job.toml"
    if not form.is_file():
        return None
    data, _ = read_form(form)
    name = data.get("package_id") if data is not None else None
    return name if isinstance(name, str) and "/" not in name and not not_portable(name) else None


def _check_owner(job: Path, package: Path) -> None:
    """Raise RefusedError if the package that stands was made from another job of that name."""
    data, _ = read_form(job / "job.toml")
    with open_bag(package) as bag:
        transfer = read_package(bag).transfer
    if transfer is not None and data is not None and transfer.job_id != data.get("job_id"):
        raise RefusedError(
            f"{printable(str(package))} was made from another job, whose job_id is "
            f"{printable(transfer.job_id)}.",
            "Give this job a package_id of its own, or close it into another place.",
        )


def _log_again(job: Path, package: Path, around: Surroundings) -> None:
    """Add the lines of a package that a cut kept from the logbooks; those that stand stay."""
    forms, _ = read_job(Path(os.path.realpath(job)))
    studio = forms.studio_folder if forms is not None else None
    if studio is None:
        return
    try:
        recount([package], studio, disk=around.disk, progress=around.progress)
    except TailsoutError as error:
        around.progress.say(f"{error} The package stands; `tailsout recount` adds the line later.")


def _is_begun(final: Path, around: Surroundings) -> bool:
    return Stage(final, around.disk, around.progress).left() is not None


def _is_finished(parent: Path, name: str) -> bool:
    """Tell whether a package stands with the receipt that was written for it.

    Nothing of it is read but its tag manifests, of which the receipt holds the digests. Raises
    RefusedError for one that is not the package its receipt tells of.
    """
    final, receipt = parent / name, parent / f"{name}{naming.RECEIPT_BESIDE}"
    try:
        if not final.is_dir() or not receipt.is_file():
            return False
        told = tag_manifests(receipt.read_bytes(), name)
        names = {one.name for one in final.iterdir() if _is_tag_manifest(one.name)}
        if told is not None and names == set(told):
            found = {one: _digests(final / one, list(told[one])) for one in names}
            if found == told:
                return True
    except OSError as error:
        raise from_os_error(error, f"Looking at {printable(str(final))}") from error
    raise RefusedError(
        f"{printable(str(final))} is there, and is not what the receipt beside it tells of.",
        "`tailsout check` tells what it is; close the job into another place.",
    )


def _is_tag_manifest(name: str) -> bool:
    return name.startswith("tag") and MANIFEST_NAME.fullmatch(name) is not None


def _digests(path: Path, algorithms: list[str]) -> dict[str, str]:
    with Hashing(algorithms) as hashing, path.open("rb") as stream:
        while block := stream.read(BLOCK_OCTETS):
            hashing.update(block)
        return dict(hashing.hexdigests())
