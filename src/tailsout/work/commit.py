"""Writes a package that was laid out, proves it, names it, lays receipt and label beside it."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO

from tailsout.bag.build import Built, build
from tailsout.bag.disk import Disk
from tailsout.bag.plan import Plan
from tailsout.ground.errors import CutOffError, SurroundingsError, TailsoutError, from_os_error
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import json_output
from tailsout.mapping.plain import json_page
from tailsout.records.bagit_profile import BagItProfile
from tailsout.rules.rule import package_of
from tailsout.work.check import Checked, check
from tailsout.work.destination import Destination
from tailsout.work.label import lay
from tailsout.work.surroundings import ScratchFiles

_BY_RESUME = "The same command with --resume proves it once more and writes the receipt."


@dataclass(frozen=True, slots=True, kw_only=True)
class Committed:
    """A package that stands, and its judgement by the code that judges strangers."""

    built: Built
    proof: Judgement
    label: Path | None
    """None if none could be laid beside it."""


@contextmanager
def scratch_files(disk: Disk, parent: Path) -> Iterator[ScratchFiles]:
    """Give what makes empty files beside the package, which vanish at the end of the block.

    What is given raises SurroundingsError if the disk refuses.
    """
    with ExitStack() as stack:
        yield lambda: stack.enter_context(_scratch(disk, parent))


@contextmanager
def _scratch(disk: Disk, parent: Path) -> Iterator[BinaryIO]:
    try:
        stream = disk.scratch(parent)
    except OSError as error:
        raise from_os_error(error, "Making a scratch file") from error
    try:
        yield stream
    finally:
        # What a full disk did not take is written once more here; that failure was told already.
        with suppress(OSError):
            stream.close()


@contextmanager
def telling_of_interruption(place: Destination, disk: Disk) -> Iterator[None]:
    """Raise CutOffError for an interruption that comes when the package stands already."""
    try:
        yield
    except KeyboardInterrupt as error:
        if not disk.is_there(place.package):
            raise
        has_receipt = disk.is_there(place.receipt)
        lacking = "with its receipt" if has_receipt else "but without its receipt"
        raise CutOffError(
            f"Interrupted; {printable(str(place.package))} stands complete and proved, {lacking}.",
            "`tailsout recount` adds its line to the logbook." if has_receipt else _BY_RESUME,
        ) from error


def commit(
    plan: Plan,
    place: Destination,
    *,
    disk: Disk,
    progress: Progress,
    resume: bool = False,
    bagit_profile: BagItProfile | None = None,
) -> Committed:
    """Build the package at its place, and write its receipt once it stands.

    `resume` goes on with a build that was cut off, be it that only the receipt is wanting;
    `bagit_profile` is one that the bag must keep before it is named. Raises
    SurroundingsError if the disk refuses, and what `bag.build` raises.
    """
    proofs: list[Checked] = []
    labels: list[Path | None] = []

    def prove(stage: Path) -> Verdict:
        proofs.append(check(stage, progress, just_built=True, bagit_profile=bagit_profile))
        verdict = proofs[-1].judgement.verdict
        if verdict not in {Verdict.PASS, Verdict.OPEN}:
            for finding in proofs[-1].judgement.findings:
                progress.say(f"{finding.code}: {finding.place}: {finding.text}")
        return verdict

    def record(built: Built) -> None:
        page, receipt = json_page(_receipt(plan, built, proofs[-1])), place.receipt
        try:
            if not (resume and disk.is_there(receipt) and receipt.read_bytes() == page):
                disk.write_beside(receipt, page)
        except TailsoutError as error:
            raise SurroundingsError(
                f"{printable(str(built.path))} stands complete and proved, but without its "
                f"receipt: {error.sentence}",
                _BY_RESUME,
            ) from error
        # What was judged may have stood under the name of its stage.
        package = replace(package_of(proofs[-1].dossier), name=plan.name)
        dossier = replace(proofs[-1].dossier, package=package)
        labels.append(lay(dossier, built, disk=disk, progress=progress))

    built = build(
        plan,
        place.parent,
        disk=disk,
        judge=prove,
        progress=progress,
        record=record,
        resume=resume,
    )
    return Committed(built=built, proof=proofs[-1].judgement, label=labels[-1])


def _receipt(plan: Plan, built: Built, proof: Checked) -> dict[str, object]:
    package = proof.dossier.package
    digests = {file.path: file.digests for file in package.files} if package else {}
    return json_output.receipt(
        package_id=plan.name,
        committed=plan.instant,
        software=plan.software,
        durability=built.durability,
        not_promised=built.not_promised,
        files=built.files,
        octets=built.octets,
        tag_manifests=built.tag_manifests,
        masters=[
            {
                "path": file.path,
                "sha256": digests[file.path]["sha256"],
                "essence_sha256": file.essence_sha256,
            }
            for file in proof.dossier.files
            if file.sidecar is not None
        ],
        judgement=proof.judgement,
    )
