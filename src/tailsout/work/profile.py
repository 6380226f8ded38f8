"""Compares two versions of a recipient's form, and judges finished packages by the new one.

Nothing is written, and no file is read through: what changed is what people state and what the
package is called, not its digests.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.ground.errors import UsageError, from_os_error
from tailsout.ground.findings import Finding, Verdict, worst
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping.forms.form import MAX_FORM_OCTETS, form_of
from tailsout.mapping.forms.recipients import recipient_of
from tailsout.mapping.recipient_changes import changes
from tailsout.records.dossier import Dossier
from tailsout.records.recipient import Recipient
from tailsout.records.recipient_changes import Change
from tailsout.records.transfer import SideCar
from tailsout.rules import judge
from tailsout.work.opened import open_package
from tailsout.work.package import read_package


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Two versions of a form."""

    old: Recipient | None
    """None if it has faults."""
    new: Recipient | None
    changes: tuple[Change, ...] = ()
    findings: tuple[Finding, ...] = ()
    """What is wrong with either form."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedAnew:
    """A finished package under the old form and under the new one."""

    package: str
    passed_over: str = ""
    """Why it was not judged; empty if it was."""
    made_by: str = ""
    """Version of the form that it was made by, where that is not the old one."""
    appear: tuple[Finding, ...] = ()
    disappear: tuple[Finding, ...] = ()
    verdict: Verdict = Verdict.PASS
    """Of all that is found under the new form; digests and samples were not looked at."""


def compare(old: Path, new: Path) -> Compared:
    """Read two versions of a form and tell what changed.

    Raises UsageError if one is not there or they are of two recipients, MaterialError if one is too
    large, SurroundingsError if it cannot be read.
    """
    (was, faults), (now, more) = _load(old), _load(new)
    if was is None or now is None:
        return Compared(old=was, new=now, findings=(*faults, *more))
    if was.id != now.id:
        raise UsageError(
            f"{printable(str(old))} is of {printable(was.id)!r}, {printable(str(new))} of "
            f"{printable(now.id)!r}.",
            "Name two versions of one recipient's form.",
        )
    return Compared(old=was, new=now, changes=changes(was, now))


def judge_anew(package: Path, old: Recipient, new: Recipient, progress: Progress) -> JudgedAnew:
    """Judge a finished package by both forms and tell what differs. Raises as `check`."""
    name = str(package)
    with open_package(package, progress) as bag:
        dossier = read_package(bag)
    stated = dossier.transfer.recipient if dossier.transfer is not None else None
    if stated is None or stated.id != new.id:
        why = f"it is for {printable(stated.id)!r}" if stated is not None else _FOR_NOBODY
        return JudgedAnew(package=name, passed_over=why)
    was, now = (judge(_under(dossier, form)).findings for form in (old, new))
    known, kept = ({_same(one) for one in found} for found in (was, now))
    made_by = stated.version or "a version without a name"
    return JudgedAnew(
        package=name,
        made_by="" if stated.version == old.version else made_by,
        appear=tuple(one for one in now if _same(one) not in known),
        disappear=tuple(one for one in was if _same(one) not in kept),
        verdict=worst(one.verdict for one in now),
    )


_FOR_NOBODY = "its side-cars name no recipient, or it has none of ours"


def systematic(judged: Iterable[JudgedAnew]) -> dict[str, int]:
    """Count in how many packages each code appears, the most frequent first."""
    counts: dict[str, int] = {}
    for one in judged:
        for code in {finding.code for finding in one.appear}:
            counts[code] = counts.get(code, 0) + 1
    return dict(sorted(counts.items(), key=lambda pair: (-pair[1], pair[0])))


def _load(path: Path) -> tuple[Recipient | None, tuple[Finding, ...]]:
    shown = printable(str(path))
    try:
        if not path.is_file():
            raise UsageError(f"There is no file {shown}.", "Name a recipient's form.")
        with path.open("rb") as stream:
            content = stream.read(MAX_FORM_OCTETS)
    except OSError as error:
        raise from_os_error(error, f"Reading {shown}") from error
    form, faults = form_of(content, shown)
    return recipient_of(form) if form is not None else (None, faults)


def _under(dossier: Dossier, recipient: Recipient) -> Dossier:
    """Return the package as if its transfer had been made by another form."""

    def told(car: SideCar | None) -> SideCar | None:
        if car is None:
            return None
        return replace(car, transfer=replace(car.transfer, recipient=recipient))

    transfer = dossier.transfer
    return replace(
        dossier,
        transfer=replace(transfer, recipient=recipient) if transfer is not None else None,
        files=tuple(replace(file, sidecar=told(file.sidecar)) for file in dossier.files),
        record_only=told(dossier.record_only),
        # The copy in the package is that of the form it was made by, which is no fault here.
        recipient_form=None,
    )


def _same(one: Finding) -> tuple[str, str, str]:
    return one.code, str(one.place), one.text
