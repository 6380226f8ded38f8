"""Delivers packages on a drive: copied, read back there, and listed at its root.

One package after the other is copied, so that a drive that is pulled or full holds whole packages
and at most one stage. The lists are written last, the list of digests last of all: where it stands,
the delivery is complete.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tailsout.bag.carry import Carried, Proof, carry
from tailsout.bag.disk import Disk
from tailsout.bag.names import to_disk
from tailsout.bag.open import open_bag
from tailsout.bag.place import check_room
from tailsout.bag.stage import Stage
from tailsout.ground import clock
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import (
    MaterialError,
    RefusedError,
    SurroundingsError,
    UsageError,
    from_os_error,
)
from tailsout.ground.findings import Judgement
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import deliveries
from tailsout.records.delivery import Delivery, LeftOut, PackageRow
from tailsout.views import covering_note
from tailsout.work.check import Checked, check
from tailsout.work.delivering import candidates, inventory
from tailsout.work.delivering.candidates import Candidate
from tailsout.work.delivering.refusals import refusals


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What is to be delivered."""

    packages: tuple[Path, ...]
    not_played: tuple[Path, ...] = ()
    """Job folders of reels that were inspected only and have no package."""
    listed: Path | None = None
    """A CSV list of what the owner sent."""
    number: int = 1
    volume: str = ""
    """Name of the drive; empty: that of its folder."""
    resume: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a delivery."""

    refusals: tuple[str, ...] = ()
    """Why nothing was written."""
    delivery: Delivery | None = None
    carried: tuple[Carried, ...] = ()
    judgements: tuple[tuple[str, Judgement], ...] = ()
    """Of the packages that do not pass and were left out."""
    lists: tuple[Path, ...] = ()


def deliver(
    wish: Wish, drive: Path, *, instant: datetime, software: str, disk: Disk, progress: Progress
) -> Outcome:
    """Deliver packages on a drive that is there already.

    What does not pass is left out and told. Raises UsageError if there is no such drive or
    package, RefusedError if the drive lies in a package, MaterialError for a list or job that
    cannot be used or a package that reads back otherwise, SurroundingsError for the drive, or a
    package that changed while it was read.
    """
    if not drive.is_dir():
        raise UsageError(
            f"There is no drive at {printable(str(drive))}.",
            "Connect and mount it first; a folder for it is never made.",
        )
    for path in wish.packages:
        if path.resolve() in (drive.resolve(), *drive.resolve().parents):
            raise RefusedError(
                f"{printable(str(drive))} lies in the package {printable(str(path))}.",
                "A package is never written to; name the drive.",
            )
    found = [candidates.look(path) for path in wish.packages]
    reels = [candidates.job_not_played(folder, progress) for folder in wish.not_played]
    fit = [one for one in found if one.passes]
    volume = wish.volume or drive.resolve().name
    refused = refusals(fit, drive, volume=volume, number=wish.number, disk=disk, resume=wish.resume)
    came = {printable(one.name): candidates.names(one.dossier) for one in found}
    came |= {left.name: called for left, called in reels}
    told = inventory.compared(wish.listed, came) if wish.listed is not None else None
    if refused:
        return Outcome(refusals=refused)
    work = _Work(drive, software, disk, progress, resume=wish.resume)
    work.check_room(fit)
    for one in found:
        work.take(one)
    for left, _ in reels:
        work.left_out.append(left)
    delivery = Delivery(
        number=wish.number,
        volume=volume,
        made=clock.stamp(instant),
        software=software,
        sender=_sender(found),
        packages=tuple(work.rows),
        left_out=tuple(work.left_out),
        discrepancies=told[0] if told is not None else None,
        list_told=told[1] if told is not None else (),
        durability=disk.durability if work.carried else None,
        not_promised=work.carried[-1].not_promised if work.carried else (),
    )
    return Outcome(
        delivery=delivery,
        carried=tuple(work.carried),
        judgements=tuple(work.judgements),
        lists=work.write_lists(delivery),
    )


def discard(packages: Sequence[Path], drive: Path, *, disk: Disk, progress: Progress) -> list[str]:
    """Clear away what a delivery that was cut off left under way; return the names it was of.

    What has its name is never touched. Raises SurroundingsError if another delivery is at it.
    """
    names = [path.resolve().name for path in packages]
    return [name for name in names if Stage(drive / name, disk, progress).discard()]


class _Work:
    """The carrying of all packages of one delivery, and what came of it."""

    def __init__(
        self, drive: Path, software: str, disk: Disk, progress: Progress, *, resume: bool
    ) -> None:
        self._drive, self._disk, self._progress = drive, disk, progress
        self._software, self._resume = software, resume
        self._device = drive.stat().st_dev
        self.rows: list[PackageRow] = []
        self.carried: list[Carried] = []
        self.left_out: list[LeftOut] = []
        self.judgements: list[tuple[str, Judgement]] = []

    def check_room(self, fit: Sequence[Candidate]) -> None:
        """Raise SurroundingsError if the drive has no room for what does not stand there yet."""
        octets = sum(
            o.octets for o in fit if not self._disk.is_there(self._drive / to_disk(o.name))
        )
        try:
            check_room(octets, self._drive, self._disk)
        except OSError as error:
            raise from_os_error(error, f"Looking at {printable(str(self._drive))}") from error

    def take(self, one: Candidate) -> None:
        """Carry one package if it passes, here and there."""
        if not one.passes:
            self._leave_out(one, one.judgement)
            return
        self._refuse_another_drive()
        proofs: list[Checked] = []

        def judge(place: Path) -> Proof:
            proofs.append(check(place, self._progress, just_built=True))
            package = proofs[-1].dossier.package
            return Proof(
                verdict=proofs[-1].judgement.verdict,
                digests={f.path: f.digests for f in package.files} if package else {},
            )

        try:
            with open_bag(one.path) as bag:
                carried = carry(
                    bag,
                    self._drive,
                    disk=self._disk,
                    judge=judge,
                    software=self._software,
                    progress=self._progress,
                    resume=self._resume,
                )
        except MaterialError:
            if not proofs or proofs[-1].judgement.verdict in candidates.LETS_PASS:
                raise
            self._leave_out(one, proofs[-1].judgement)
            return
        verdict = proofs[-1].judgement.verdict.value
        self.rows.append(candidates.row(one, carried.path, verdict))
        self.carried.append(carried)
        left = candidates.not_played(one.dossier, printable(one.name))
        if left is not None:
            self.left_out.append(left)

    def write_lists(self, delivery: Delivery) -> tuple[Path, ...]:
        """Write the lists to the root of the drive; return them in the order of reading."""
        self._refuse_another_drive()
        stem = deliveries.stem(delivery.number)
        files = [
            (f"{one.path.name}/{file.path}", file) for one in self.carried for file in one.files
        ]
        lists = {
            f"{stem}.txt": covering_note.render(delivery, stem),
            f"{stem}.csv": deliveries.manifest(delivery.packages),
            f"{stem}.json": deliveries.page(delivery),
            f"{stem}-not-transferred.csv": deliveries.left_out(delivery.left_out),
            f"{stem}-digests.csv": deliveries.digests(
                (path, file.octets, file.here, file.there) for path, file in files
            ),
        }
        if delivery.discrepancies is not None:
            found = deliveries.discrepancies(delivery.discrepancies)
            lists[f"{stem}-discrepancies.csv"] = found
        sums = [
            *((path, file.there) for path, file in files),
            *((name, digests_of(one, ("sha512",))["sha512"]) for name, one in lists.items()),
        ]
        # Last: where it stands, all that it lists does.
        lists[f"{stem}.sha512"] = deliveries.sums(sums)
        for name, content in lists.items():
            self._write(self._drive / name, content)
        return tuple(self._drive / name for name in lists)

    def _write(self, path: Path, content: bytes) -> None:
        try:
            if self._resume and self._disk.is_there(path):
                # What a run that was cut off left of the lists tells of another moment.
                self._disk.remove(path)
        except OSError as error:
            raise from_os_error(error, f"Removing {printable(str(path))}") from error
        self._disk.write_beside(path, content)

    def _leave_out(self, one: Candidate, judgement: Judgement) -> None:
        self.judgements.append((printable(one.name), judgement))
        self.left_out.append(candidates.not_fit(one.name, one.dossier, judgement))

    def _refuse_another_drive(self) -> None:
        """Stop where the drive went: its folder may still be there, on the system's own disk."""
        shown = printable(str(self._drive))
        try:
            is_same = self._drive.stat().st_dev == self._device
        except OSError as error:
            raise from_os_error(error, f"Looking at {shown}") from error
        if not is_same:
            raise SurroundingsError(
                f"The drive at {shown} is gone, and something else stands in its place.",
                "Connect it again, then run the same command with --resume.",
            )


def _sender(found: Sequence[Candidate]) -> tuple[str, ...]:
    """Return who sends the packages, each studio once."""
    told: dict[str, None] = {}
    for one in found:
        if one.dossier.transfer is not None:
            studio = one.dossier.transfer.studio
            parts = (studio.name, studio.place, studio.contact_name, studio.contact_email)
            told[", ".join(part for part in parts if part)] = None
    return tuple(line for line in told if line)
