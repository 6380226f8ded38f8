"""`tailsout amend`: put right what stands in a package, in a new version of it."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.close import report, surroundings
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.records.amendment import Amendment
    from tailsout.work.amend import Amended

_MOST = 100
"""Changes of one sort that are printed."""


@click.command("amend")
@click.argument("package", type=click.Path(path_type=Path))
@click.option(
    "--begin",
    "new_form",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write a commented form to fill in, and do nothing else.",
)
@click.option(
    "--with",
    "form",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The form that says what is to be put right.",
)
@click.option(
    "-o",
    "--output",
    "parent",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Where the new version and its receipt are written; left out: beside PACKAGE.",
)
@click.option(
    "--plan", "only_plan", is_flag=True, help="Show what would be written; write nothing."
)
@click.option("--resume", is_flag=True, help="Go on with an amendment that was cut off.")
@click.option(
    "--discard",
    "discards",
    is_flag=True,
    help="Clear away what an amendment that was cut off left, and do nothing else.",
)
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(
    package: Path,
    *,
    new_form: Path | None,
    form: Path | None,
    parent: Path | None,
    only_plan: bool,
    resume: bool,
    discards: bool,
    strict: bool,
) -> int:
    """Make corrections to PACKAGE, in a new version beside it.

    PACKAGE itself is only read. The new version says who changed what and why, names the one it
    supersedes, keeps its manifests, and is proved as any package is.
    """
    from tailsout.work.amend import amend  # noqa: PLC0415  help must not wait for it

    if [new_form is None, form is None, not discards].count(False) != 1:
        raise UsageError(
            "A form is begun, or a package is amended with one, or what was left is discarded.",
            "Give one of --begin FILE, --with FILE and --discard.",
        )
    if resume and (form is None or only_plan):
        raise UsageError("Only what is written can be resumed.", "Give --with FILE --resume.")
    parent = parent or package.absolute().parent
    if new_form is not None:
        return _begin(package, new_form)
    if discards:
        return _discard(package, parent)
    if form is None or not form.is_file():
        raise UsageError(f"There is no form {printable(str(form))}.", "Write one with --begin.")
    with progress() as shown:
        around = surroundings(shown)
        amended = amend(package, form, parent, around, only_plan=only_plan, resume=resume)
    outcome = amended.outcome
    printing.say(printing.judgement_text(printable(str(package)), outcome.judgement))
    if outcome.plan is None:
        printing.say()
        printing.say("Nothing was written. Mend what is listed above, then amend again.")
        return printing.exit_code(outcome.judgement.verdict, strict=strict)
    if amended.amendment is not None:
        _print_changes(amended.amendment)
    report(outcome, parent, only_plan=only_plan)
    _print_holders(amended)
    return printing.exit_code(outcome.judgement.verdict, strict=strict)


def _begin(package: Path, new_form: Path) -> int:
    from tailsout.bag.disk import Disk  # noqa: PLC0415
    from tailsout.work.amend import begin  # noqa: PLC0415

    begin(new_form, Disk())
    printing.say(f"Form: {printable(str(new_form))}")
    printing.say(f"Fill it in, then: tailsout amend {package} --with {new_form} --plan")
    return 0


def _discard(package: Path, parent: Path) -> int:
    from tailsout.work.amend import discard  # noqa: PLC0415

    with progress() as shown:
        final, was_left = discard(package, parent, surroundings(shown))
    told = "What was left of an amendment that was cut off is cleared away"
    printing.say(
        f"{told if was_left else 'There was nothing to clear away'}: {printable(str(final))}"
    )
    return 0


def _print_changes(one: "Amendment") -> None:
    printing.say()
    printing.say(f"Version {one.version} supersedes {printable(one.supersedes)}.")
    printing.say(f"  by {printable(one.by)} on {printable(one.on)}: {printable(one.why)}")
    for said in one.statements[:_MOST]:
        was = "nothing" if said.was is None else repr(printable(said.was, 60))
        now = "" if said.now is None else repr(printable(said.now, 60))
        told = "" if said.change == "withheld" else f": {was} → {now}"
        printing.say(f"  {said.change} {printable(said.at, 100)}{told}")
    for file in one.files[:_MOST]:
        now = f", now {printable(file.now)}" if file.now else ""
        printing.say(f"  {file.change} {printable(file.path)}{now}")
    if one.algorithms:
        printing.say(f"  added digests: {', '.join(one.algorithms)}")


def _print_holders(amended: "Amended") -> None:
    """Say where what is taken back can still be read: nothing is taken back from a copy."""
    if not amended.still_held_by:
        return
    printing.say()
    printing.say("What was withheld or withdrawn is gone from the new version. Of the older ones")
    names = ", ".join(printable(name) for name in amended.still_held_by)
    printing.say(f"these may hold it: {names}; so may every copy of them and their receipts.")
    printing.say("Photographs and compressed documents were not searched for withheld text.")
