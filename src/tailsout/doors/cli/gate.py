"""`tailsout gate`: what to know before a reel is threaded, unloaded, boxed."""

import os
import sys
import time
from collections import deque
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.close import surroundings
from tailsout.doors.cli.showing import progress, progress_of_many
from tailsout.doors.cli.together import MOST_AT_ONCE, Together
from tailsout.doors.cli.typed import Whole
from tailsout.ground.errors import UsageError
from tailsout.ground.progress import Progress, Silent
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.records.gate import Gate, Stage
    from tailsout.work.surroundings import Surroundings

_NICE = 15


@click.command("gate")
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=click.Path())
@click.option(
    "--at",
    "stage",
    type=click.Choice(["threading", "unloading", "boxing"]),
    help="Which gate. Left out: told from what is there.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON an answer.")
@click.option(
    "--watch",
    "watches",
    is_flag=True,
    help="Follow captures as they arrive, until all are there and judged.",
)
@click.option("--all", "every", is_flag=True, help="Show every finding of a long list.")
@click.option(
    "--sheet",
    "sheet_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write the set-up sheet into a new file, for the printer.",
)
@click.option(
    "--jobs",
    "at_once",
    type=Whole(1, MOST_AT_ONCE),
    default=1,
    show_default=True,
    metavar="N",
    help="Look at N jobs at once.",
)
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(
    jobs: tuple[str, ...],
    *,
    at_once: int,
    stage: str | None,
    as_json: bool,
    watches: bool,
    every: bool,
    sheet_file: Path | None,
    strict: bool,
) -> int:
    """Show what to know about the job in folder JOB before its reel is threaded, unloaded or boxed.

    Before threading: a set-up sheet to print, stop signs first. Before unloading: whether the reel
    will be needed again, and what its recipient would say; first at once, from forms and headers,
    then with the samples read. Before boxing: what is still unsaid. Captures are only read, one
    that is still growing is not opened, and nothing is packed. --watch stays at the gate before
    unloading, with a bell when a capture has been read or the answer changes. Of several jobs one
    that cannot be read never stops the rest; a table tells of all at the end, the worst first.
    """
    if len(jobs) > 1:
        if watches or sheet_file is not None:
            raise UsageError("--watch and --sheet are for one job.", "Name one job.")
        return _gate_many(
            jobs,
            cast("Stage | None", stage),
            at_once=at_once,
            as_json=as_json,
            every=every,
            strict=strict,
        )
    job = Path(jobs[0])
    if watches:
        if stage in {"threading", "boxing"} or sheet_file is not None:
            raise UsageError(
                "--watch follows captures, before unloading.", "Leave out --at and --sheet."
            )
        return _watch(job, as_json=as_json, every=every, strict=strict)
    from tailsout.work.gate import gates, verdict  # noqa: PLC0415  help must not wait for it

    with progress() as shown:
        around = surroundings(shown)
        last: Gate | None = None
        for gate in gates(job, cast("Stage | None", stage), around):
            last = gate
            if not as_json:
                _page(gate, every=every)
    if last is None:
        raise UsageError("There is nothing to tell.", "Name a job folder.")
    if as_json:
        _line(job, last)
    if sheet_file is not None:
        _write(last, sheet_file, around)
    return printing.exit_code(verdict(last), strict=strict)


def _gate_many(
    jobs: tuple[str, ...],
    stage: "Stage | None",
    *,
    at_once: int,
    as_json: bool,
    every: bool,
    strict: bool,
) -> int:
    from tailsout.work.gate import gates, verdict  # noqa: PLC0415
    from tailsout.work.parallel import run_each  # noqa: PLC0415  help must not wait for it

    told = Together("jobs", strict=strict)
    with progress_of_many(len(jobs)) as shown:
        around = surroundings(Silent())

        def last(job: str, own: Progress) -> "Gate | None":
            return deque(gates(Path(job), stage, replace(around, progress=own)), maxlen=1).pop()

        done = run_each(jobs, last, jobs=at_once, progress_of=shown.of)
        with told.counting(len(jobs), shown), closing(done):
            for one in done:
                shown.done(one.name)
                if one.came is None:
                    told.failed(one)
                    continue
                if as_json:
                    _line(Path(one.name), one.came)
                else:
                    printing.say(f"{printable(one.name)}:")
                    _page(one.came, every=every)
                    printing.say()
                told.weighed(one.name, verdict(one.came), one.came.word)
    return told.end(silent=as_json)


def _watch(job: Path, *, as_json: bool, every: bool, strict: bool) -> int:
    from tailsout.work.gate import verdict  # noqa: PLC0415
    from tailsout.work.watch import watch  # noqa: PLC0415

    step_back()
    last: Gate | None = None
    with progress() as shown:
        around = surroundings(shown)
        for told in watch(job, around, steady=time.monotonic, sleep=time.sleep):
            last = told.gate or last
            if told.rings:
                click.echo("\a", nl=False, err=True)
            if told.gate is None:
                shown.say(told.line)
            elif as_json:
                _line(job, told.gate)
            else:
                _page(told.gate, every=every)
            sys.stdout.flush()
    return printing.exit_code(verdict(last), strict=strict) if last is not None else 0


def step_back() -> None:
    """Let the recorder go first; the system gives the disk by the same order."""
    with suppress(OSError, AttributeError):
        os.nice(_NICE)


def _line(job: Path, gate: "Gate") -> None:
    from tailsout.mapping import json_output  # noqa: PLC0415
    from tailsout.mapping.plain import json_line  # noqa: PLC0415
    from tailsout.work.gate import verdict  # noqa: PLC0415

    printing.say(json_line(json_output.gated(str(job), gate, verdict(gate))))


def _page(gate: "Gate", *, every: bool) -> None:
    from tailsout.views import gate_page  # noqa: PLC0415

    page = gate_page.render(gate, None if every else gate_page.SHOWN)
    printing.say(page.decode("utf-8").rstrip("\n"))


def _write(gate: "Gate", path: Path, around: "Surroundings") -> None:
    from tailsout.views import set_up_sheet  # noqa: PLC0415

    if gate.sheet is None:
        raise UsageError("There is a set-up sheet at threading alone.", "Add --at threading.")
    around.disk.write_beside(path, set_up_sheet.render(gate.sheet))
    printing.say()
    printing.say(f"Set-up sheet: {printable(str(path))}")
