"""`tailsout close`: pack a transfer."""

import time
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress, progress_of_many
from tailsout.doors.cli.together import MOST_AT_ONCE, Together
from tailsout.doors.cli.typed import Whole
from tailsout.ground import clock
from tailsout.ground.errors import UsageError
from tailsout.ground.findings import Severity
from tailsout.ground.progress import Progress, Silent
from tailsout.ground.units import counted, printable, size
from tailsout.mapping import naming

if TYPE_CHECKING:
    from tailsout.bag.build import Built
    from tailsout.bag.plan import Plan
    from tailsout.work.batch import Wish
    from tailsout.work.close_out import Outcome
    from tailsout.work.surroundings import Surroundings


@click.command("close")
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=click.Path())
@click.option(
    "-o",
    "--output",
    "parent",
    required=True,
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Where the package and its receipt are written; may exist.",
)
@click.option(
    "--plan", "only_plan", is_flag=True, help="Show what would be written; write nothing."
)
@click.option("--wait", is_flag=True, help="Wait for a capture that is still growing.")
@click.option(
    "--with-calibration",
    is_flag=True,
    help="Pack the session's captures of calibration tapes, though an earlier package holds them.",
)
@click.option("--resume", is_flag=True, help="Go on with a close of this job that was cut off.")
@click.option(
    "--discard", "discards", is_flag=True, help="Clear away what a close that was cut off left."
)
@click.option(
    "--jobs",
    "at_once",
    type=Whole(1, MOST_AT_ONCE),
    default=1,
    show_default=True,
    metavar="N",
    help="Close N jobs at once.",
)
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(
    jobs: tuple[str, ...],
    parent: Path,
    *,
    at_once: int,
    only_plan: bool,
    wait: bool,
    with_calibration: bool,
    resume: bool,
    discards: bool,
    strict: bool,
) -> int:
    """Close out the transfers in folders JOB: measure, check, pack, prove, and write a receipt.

    The captures are only read. Nothing stands under the package's name before it is complete,
    synced to disk, read back and judged. After a power cut or on a full disk what is finished stays
    beside that name: --resume goes on with it, to the same octets; --discard clears it away.

    Of several jobs one that cannot be closed never stops the rest; a table tells of all at the end,
    the worst first. --resume then goes on with those that were begun, begins the others, and passes
    over packages that stand with their receipts.
    """
    from tailsout.work.close_out import close  # noqa: PLC0415  help must not wait for it

    if discards:
        if resume or only_plan:
            raise UsageError("--discard clears away and does nothing else.", "Give it alone.")
        if len(jobs) > 1:
            raise UsageError("--discard clears away what one job left.", "Name one job.")
        return _discard(Path(jobs[0]), parent)
    if resume and only_plan:
        raise UsageError("--plan writes nothing, so it resumes nothing.", "Give one of the two.")
    if len(jobs) > 1:
        from tailsout.work.batch import Wish  # noqa: PLC0415

        wish = Wish(
            wait=wait, only_plan=only_plan, with_calibration=with_calibration, resume=resume
        )
        return _close_many(jobs, parent, wish, at_once=at_once, strict=strict)
    job = Path(jobs[0])
    with progress() as shown:
        outcome = close(
            job,
            parent,
            surroundings(shown),
            wait=wait,
            only_plan=only_plan,
            with_calibration=with_calibration,
            resume=resume,
        )
    printing.say(printing.judgement_text(printable(str(job)), outcome.judgement))
    report(outcome, parent, only_plan=only_plan)
    return printing.exit_code(outcome.judgement.verdict, strict=strict)


def _close_many(
    jobs: tuple[str, ...], parent: Path, wish: "Wish", *, at_once: int, strict: bool
) -> int:
    from tailsout.work.batch import close_all  # noqa: PLC0415  help must not wait for it

    told = Together("jobs", strict=strict)
    with progress_of_many(len(jobs)) as shown:
        around = surroundings(Silent())
        done = close_all(jobs, parent, around, wish, jobs=at_once, progress_of=shown.of)
        with told.counting(len(jobs), shown), closing(done):
            for one in done:
                shown.done(one.name)
                if one.came is None:
                    told.failed(one)
                elif one.came.outcome is None:
                    told.stands(one.name, one.came.finished)
                else:
                    outcome = one.came.outcome
                    told.judged(one.name, outcome.judgement, _done(outcome))
                    report(outcome, parent, only_plan=wish.only_plan)
    return told.end()


def _done(outcome: "Outcome") -> str:
    if outcome.built is not None:
        return "committed"
    return "nothing was written" if outcome.plan is None else "would be written"


def _discard(job: Path, parent: Path) -> int:
    from tailsout.work.close_out import discard  # noqa: PLC0415  help must not wait for it

    with progress() as shown:
        final, was_left = discard(job, parent, surroundings(shown))
    told = "What was left of a close that was cut off is cleared away"
    printing.say(
        f"{told if was_left else 'There was nothing to clear away'}: {printable(str(final))}"
    )
    return 0


def surroundings(shown: Progress) -> "Surroundings":
    """Make what the work is handed: this run's one instant, the disk, the clock on the wall."""
    from tailsout.bag.disk import Disk  # noqa: PLC0415
    from tailsout.work.surroundings import Surroundings  # noqa: PLC0415

    return Surroundings(
        instant=clock.now(),
        software=f"tailsout {__version__}",
        seconds_now=time.time,
        disk=Disk(),
        progress=shown,
    )


def report(outcome: "Outcome", parent: Path, *, only_plan: bool) -> None:
    """Print what was, or would be, written."""
    printing.say()
    if outcome.plan is None:
        printing.say("Nothing was written. Mend what is listed above, then close again.")
    elif outcome.built is None or only_plan:
        _print_plan(outcome.plan, parent, outcome.made_of)
    else:
        _print_built(outcome.built, outcome.receipt, outcome.label)
        is_open = [one.severity is Severity.QUERY for one in outcome.judgement.findings]
        if any(is_open):
            printing.say(
                f"  Open in it: {counted(sum(is_open), 'question')}. "
                "`tailsout amend` answers them, or puts right what is wrong, in a new version."
            )


def _print_plan(plan: "Plan", parent: Path, made_of: Mapping[str, tuple[str, ...]]) -> None:
    printing.say(f"Would be written below {printable(str(parent / plan.name))}:")
    present = {item.path for item in plan.payload}
    for item in (*plan.payload, *plan.tags):
        octets = getattr(item, "octets", None)
        told = f"  {size(octets)}" if octets is not None else ""
        # How large a FLAC file becomes is known only when it has been made.
        is_master = naming.sidecar_path(item.path) in present
        told += " as a wave file" if is_master and naming.is_flac(item.path) else ""
        printing.say(f"  {item.path}{told}{_renamed(item.path, made_of.get(item.path, ()))}")
    names = [f"{kind}-{one}.txt" for one in plan.algorithms for kind in ("manifest", "tagmanifest")]
    for name in ("bagit.txt", "bag-info.txt", *names):
        printing.say(f"  {name}")
    beside = f"{plan.name}{naming.RECEIPT_BESIDE} and {plan.name}{naming.LABEL_BESIDE}"
    printing.say(f"and beside it {beside}. Nothing was written.")


def _renamed(path: str, sources: tuple[str, ...]) -> str:
    """Say what a master is made of, and how long its name is, where it is not the recorder's."""
    if not sources or naming.master_stem(path) == naming.master_stem(sources[0]):
        return ""
    return f"  from {' + '.join(sources)}, {len(path.rpartition('/')[2])} characters"


def _print_built(built: "Built", receipt: Path | None, label: Path | None) -> None:
    reached = printing.DURABLE[built.durability]
    printing.say(f"Committed: {printable(str(built.path))}")
    printing.say(
        f"  {built.files} files, {size(built.octets)}; {reached}, read back, every digest agreed."
    )
    for sentence in built.not_promised:
        printing.say(f"  Of the file system: {sentence}")
    printing.say(f"  Receipt: {printable(str(receipt))}")
    if label is not None:
        printing.say(f"  Label: {printable(str(label))}")
