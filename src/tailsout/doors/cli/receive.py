"""`tailsout receive`: a receipt for a drive, then its judgement."""

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress_of_many
from tailsout.doors.cli.typed import Number, Whole
from tailsout.ground import clock
from tailsout.ground.findings import Verdict

if TYPE_CHECKING:
    from tailsout.records.arrival import Arrival
    from tailsout.work.receiving.tally import Outcome

_SOFTWARE = f"tailsout {__version__}"
_MOST_JOBS = 64
_MOST_LINES = 12
"""Packages and differences told on the screen; all are in the lists."""
_DAYS = Whole(1, 3650)


@click.command("receive")
@click.argument("drive", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    "into",
    required=True,
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Where receipt and lists are written; not on the drive.",
)
@click.option("--structure", is_flag=True, help="Read no payload: no fixity check.")
@click.option("--bagit-only", is_flag=True, help="Judge nothing but RFC 8493.")
@click.option("--deep", is_flag=True, help="Measure the samples again and decode FLAC, too.")
@click.option(
    "--manifest",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The sender's manifest, where none lies at the root of the drive.",
)
@click.option(
    "--earlier",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Folder of the receipt that this delivery continues.",
)
@click.option("--within", "within_days", type=_DAYS, metavar="DAYS", help="To be answered within.")
@click.option("--virus-scan", default="", metavar="TEXT", help="Record what a virus scan came to.")
@click.option("--agreement", default="", metavar="TEXT", help="Record the agreement it came under.")
@click.option("--seed", default="", metavar="TEXT", help="Draw this listening sample again.")
@click.option(
    "--share", default="10", type=Number(), metavar="PERCENT", help="Of the files to listen to."
)
@click.option("--seconds", default=30, type=Whole(1, 3600), metavar="N", help="At each position.")
@click.option("--jobs", type=Whole(1, _MOST_JOBS), metavar="N", help="As for check.")
@click.option("--resume", is_flag=True, help="Go on with a reception that was cut off.")
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(
    drive: Path,
    *,
    into: Path,
    structure: bool,
    bagit_only: bool,
    deep: bool,
    manifest: Path | None,
    earlier: Path | None,
    within_days: int | None,
    virus_scan: str,
    agreement: str,
    seed: str,
    share: float,
    seconds: int,
    jobs: int | None,
    resume: bool,
    strict: bool,
) -> int:
    """Write a receipt for a drive at once, then judge every package on it, worst first.

    The drive is only read. Into DIR go receipt, judgement, findings, the producer's rework list and
    a listening sample that can be drawn again, as text, CSV and JSON. A receipt is not an
    acceptance: that is `tailsout accept`. The same command with --resume goes on with one that was
    cut off, and does not read again what was judged and nobody wrote to since.
    """
    if deep and (structure or bagit_only):
        raise click.UsageError("--deep goes with neither --structure nor --bagit-only.")
    if not 0 <= share <= 100:
        raise click.UsageError("--share is a percentage, from 0 to 100.")
    from tailsout.bag.disk import Disk  # noqa: PLC0415  help must not wait for it
    from tailsout.records.arrival import Happening  # noqa: PLC0415
    from tailsout.records.dossier import Depth  # noqa: PLC0415
    from tailsout.work.check_many import Wish  # noqa: PLC0415
    from tailsout.work.receive import judge_all, take_in  # noqa: PLC0415
    from tailsout.work.receiving.tally import Listening  # noqa: PLC0415

    disk, instant = Disk(), clock.now()
    told = (("virus scan", virus_scan), ("agreement", agreement))
    received = take_in(
        drive,
        into,
        instant=instant,
        software=_SOFTWARE,
        disk=disk,
        manifest=manifest,
        earlier=earlier,
        happenings=[Happening(what=what, told=text) for what, text in told if text],
        within_days=within_days,
        resume=resume,
    )
    _receipt(received.arrival)
    depth = Depth.STRUCTURE if structure else Depth.DEEP if deep else Depth.FULL
    with progress_of_many(len(received.found.packages)) as shown:
        try:
            outcome = judge_all(
                received,
                Wish(depth=depth, bagit_only=bagit_only),
                # Nobody can know beforehand what will be heard, and everybody can draw it again.
                Listening(
                    seed=seed or clock.stamp(received.instant),
                    share_percent=Decimal(str(share)),
                    seconds=seconds,
                ),
                instant=instant,
                software=_SOFTWARE,
                disk=disk,
                jobs=jobs,
                progress_of=shown.of,
                done=shown.done,
                say=shown.say,
            )
        except KeyboardInterrupt:
            shown.say("What was judged is kept; the same command with --resume goes on with it.")
            raise
    _judgement(outcome, into, structure=structure)
    return _code(received.arrival, outcome, strict=strict)


def _receipt(arrival: "Arrival") -> None:
    from tailsout.views import receipt_page  # noqa: PLC0415  help must not wait for it

    printing.say(f"Receipt {arrival.number}; the drive is called {arrival.drive}")
    printing.say("\n".join(receipt_page.summary(arrival)))
    for one in arrival.differences[:_MOST_LINES]:
        printing.say("\n".join(receipt_page.difference(one, "")))
    if len(arrival.differences) > _MOST_LINES:
        printing.say(f"… and {len(arrival.differences) - _MOST_LINES} more in receipt.txt")
    printing.say(receipt_page.NOT_ACCEPTANCE)
    printing.say()


def _judgement(outcome: "Outcome", into: Path, *, structure: bool) -> None:
    from tailsout.views import reception  # noqa: PLC0415  help must not wait for it

    if structure:
        printing.say("[no fixity check]")
    text = reception.judgement(
        outcome.packages, outcome.systematic, outcome.across, most=_MOST_LINES
    )
    printing.say(text.rstrip("\n"))
    sample = outcome.sample
    heard = len({(one.package, one.path) for one in sample.stretches})
    printing.say()
    printing.say(f"To listen to: {heard} of {sample.files} files, seed {sample.seed}")
    printing.say(f"Receipt, judgement, findings, rework list and listening sample: {into}")


def _code(arrival: "Arrival", outcome: "Outcome", *, strict: bool) -> int:
    codes = {
        4
        if one.verdict == printing.NOT_JUDGED
        else printing.exit_code(Verdict(one.verdict), strict=strict)
        for one in outcome.packages
    }
    kinds = {one.kind for one in arrival.differences}
    if kinds & {"listed and not received", "not as listed"}:
        codes.add(1)
    if "not to be read" in kinds:
        codes.add(4)
    return printing.most_serious(codes)
