"""Receives a drive: a receipt at once, then the judgement, worst first, and what follows from it.

The drive is only read; everything is written to a folder elsewhere.
"""

import os
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.drive import Found, place_of
from tailsout.bag.place import make_parents, refuse_if_there
from tailsout.ground import clock
from tailsout.ground.errors import MaterialError, RefusedError, UsageError, from_os_error
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import csv_rows, receptions
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.arrival import (
    Arrival,
    Happening,
    Judging,
)
from tailsout.views import receipt_page, reception
from tailsout.work.check_many import Wish, check_all
from tailsout.work.explain import kinds
from tailsout.work.receiving import journal
from tailsout.work.receiving.receipt import Earlier, receipt, without_version
from tailsout.work.receiving.tally import Listening, Outcome, Tally

_NAMES = ("receipt.json", "receipt.txt", "receipt.csv")
_LAST = "judgement.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """A drive for which a receipt was written."""

    instant: datetime
    """Of the receipt."""
    drive: Path
    into: Path
    arrival: Arrival
    found: Found


def take_in(
    drive: Path,
    into: Path,
    *,
    instant: datetime,
    software: str,
    disk: Disk,
    manifest: Path | None = None,
    earlier: Path | None = None,
    happenings: Sequence[Happening] = (),
    within_days: int | None = None,
    resume: bool = False,
) -> Received:
    """Write the receipt of a drive into a folder, which is made if it is not there.

    `resume` goes on with a reception that was cut off: the receipt stays. Raises UsageError if
    there is no drive, no earlier receipt where one is said to be, or nothing to resume,
    RefusedError if the folder lies on the drive, holds a receipt, or holds that of another drive
    than is resumed, MaterialError for a list that cannot be used, SurroundingsError for the disks.
    """
    if not drive.is_dir():
        raise UsageError(f"There is no drive at {printable(str(drive))}.", "Mount it first.")
    if _is_within(into, drive):
        raise RefusedError(
            f"{printable(str(into))} lies on the drive, which is never written to.",
            "Choose a folder elsewhere.",
        )
    if resume:
        instant = _begun(into, disk)
    else:
        if disk.is_there(into / _NAMES[0]) and not disk.is_there(into / _LAST):
            raise RefusedError(
                f"{printable(str(into))} holds a reception that was cut off; nothing was written.",
                "Give the same command with --resume, or receive the drive into another folder.",
            )
        for name in (*_NAMES, journal.NAME):
            refuse_if_there(into / name, disk)
    arrival, found = receipt(
        drive,
        instant=instant,
        software=software,
        manifest=manifest,
        earlier=_earlier(earlier) if earlier is not None else None,
        happenings=happenings,
        within_days=within_days,
    )
    _write_receipt(arrival, into, disk)
    return Received(instant=instant, drive=drive, into=into, arrival=arrival, found=found)


def _write_receipt(arrival: Arrival, into: Path, disk: Disk) -> None:
    """Write the receipt; one that stands already must be the same. Raises as `take_in`."""
    try:
        make_parents(into, disk)
    except OSError as error:
        raise from_os_error(error, f"Making {printable(str(into))}") from error
    contents = (
        receptions.arrival_page(arrival),
        _octets(receipt_page.receipt(arrival)),
        receptions.arrived(arrival),
    )
    for name, content in zip(_NAMES, contents, strict=True):
        if not disk.is_there(into / name):
            disk.write_beside(into / name, content)
        elif _read(into / name, MAX_JSON_OCTETS) != content:
            raise RefusedError(
                f"{printable(str(into / name))} is not the receipt of what is there now.",
                "Give the command as it was given, or receive the drive into another folder.",
            )


def _begun(into: Path, disk: Disk) -> datetime:
    """Return the instant of a receipt whose packages are not all judged yet."""
    if not disk.is_there(into / _NAMES[0]) or disk.is_there(into / _LAST):
        raise UsageError(
            f"In {printable(str(into))} there is nothing to go on with.",
            "Leave out --resume; a drive that was judged to its end is received anew elsewhere.",
        )
    told = receptions.read_arrival(_read(into / _NAMES[0], MAX_JSON_OCTETS))
    return datetime.fromisoformat(told["received"])


def judge_all(
    received: Received,
    wish: Wish,
    listening: Listening,
    *,
    instant: datetime,
    software: str,
    disk: Disk,
    jobs: int | None,
    progress_of: Callable[[str], Progress],
    done: Callable[[str], None],
    say: Callable[[str], None],
) -> Outcome:
    """Judge every package of a drive and write the lists that follow from it.

    `done` is told of each package as soon as it is judged, and the judgement is kept at once; what
    an earlier run kept is taken over where nobody wrote to the package since. Raises
    SurroundingsError if the lists cannot be written.
    """
    how = Judging(
        judged=clock.stamp(instant),
        software=software,
        depth=wish.depth.value,
        bagit_only=wish.bagit_only,
    )
    names = {
        str(place_of(received.drive, one.path)): printable(one.path) or "."
        for one in received.found.packages
    }
    tally = Tally()
    log = journal.Journal(received.into / journal.NAME, wish, software, instant, disk)
    told = check_all(
        tuple(names),
        wish,
        jobs=jobs,
        progress_of=progress_of,
        say=say,
        earlier=journal.earlier(log.place, wish, software),
    )
    with closing(told):
        for each in told:
            one, mark = log.settled(each)
            done(one.package)
            tally.add(one, names[one.package], mark)
    outcome = tally.outcome(listening)
    for name, content in _lists(received.arrival, outcome, how).items():
        # One of a run that was cut off before the last list was written was of no use yet.
        if disk.is_there(received.into / name):
            disk.remove(received.into / name)
        disk.write_beside(received.into / name, content)
    return outcome


def _lists(arrival: Arrival, outcome: Outcome, how: Judging) -> Mapping[str, bytes]:
    """Return the lists by their names; the last one is written when the others stand."""
    rows = [*(row for one in outcome.packages for row in one.findings), *outcome.across]
    to_do = [row for row in rows if row.rework is not None]
    return {
        "judgement.txt": _octets(
            f"{reception.heading('Judgement', arrival, how)}\n"
            f"{reception.judgement(outcome.packages, outcome.systematic, outcome.across)}"
        ),
        "judgement.csv": receptions.judged(outcome.packages),
        "findings.csv": receptions.findings(rows),
        "rework.txt": _octets(
            f"{reception.heading('Rework list', arrival, how)}\n"
            f"{reception.rework(outcome.packages, outcome.systematic, outcome.across, kinds())}"
        ),
        "rework.csv": receptions.findings(to_do),
        "listening-sample.txt": _octets(
            f"{reception.heading('Listening sample', arrival, how)}\n"
            f"{reception.listening(outcome.sample)}"
        ),
        "listening-sample.csv": receptions.sample(outcome.sample),
        _LAST: receptions.reception_page(
            outcome.packages, outcome.across, outcome.systematic, outcome.sample, how
        ),
    }


def _earlier(folder: Path) -> Earlier:
    """Read what an earlier receipt and its rework list say."""
    told = receptions.read_arrival(_read(folder / "receipt.json", MAX_JSON_OCTETS))
    names = (one["package"].rpartition("/")[2] for one in told["packages"])
    rework = receptions.read_rework(_read(folder / "rework.csv", csv_rows.MOST_OCTETS))
    to_come = (one.rpartition("/")[2] for one in rework)
    return Earlier(
        number=told["number"],
        first_received=told.get("first_received") or told["received"],
        packages=frozenset(map(without_version, names)),
        to_come=frozenset(map(without_version, to_come)),
    )


def _read(path: Path, most: int) -> bytes:
    try:
        with path.open("rb") as stream:
            content = stream.read(most + 1)
    except FileNotFoundError as error:
        raise UsageError(
            f"There is no {printable(str(path))}.", "Name the folder of an earlier receipt."
        ) from error
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(path))}") from error
    if len(content) > most:
        raise MaterialError(f"{printable(str(path))} is larger than {most} octets.")
    return content


def _is_within(inner: Path, outer: Path) -> bool:
    # `Path.resolve` raises RuntimeError for a link that leads to itself.
    inside, outside = Path(os.path.realpath(inner)), Path(os.path.realpath(outer))
    return outside == inside or outside in inside.parents


def _octets(text: str) -> bytes:
    return text.encode("utf-8", "backslashreplace")
