"""Reads what a job states: forms, jottings, logbooks, the headers of its captures."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.ground.errors import from_os_error
from tailsout.ground.findings import Finding, Place
from tailsout.ground.progress import Progress
from tailsout.mapping import jottings
from tailsout.mapping.forms.reading import JobForms
from tailsout.mapping.forms.stating import transfer_of
from tailsout.mapping.logbook import hours_since
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.records.machine import Machine
from tailsout.records.transfer import Transfer
from tailsout.work import logbook

PACKED_FOLDERS = ("images", "documents")
"""Folders of a job whose files are packed as they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """What a job states, or why it cannot be said."""

    dossier: Dossier
    """Its transfer is None if the forms have faults."""
    findings: tuple[Finding, ...]
    """Of the forms."""


def state(
    folder: Path, forms: JobForms, records: tuple[FileRecord, ...], progress: Progress
) -> Stated:
    """Make the Dossier of a job from its forms and the surveyed headers of its captures.

    Raises SurroundingsError if the folder, the jottings or a logbook cannot be read.
    """
    rates = {r.capture: r.pcm.sample_rate_hz for r in records if r.pcm and r.capture}
    present = frozenset(name for name, _ in files_of(folder))
    transfer, found, places = transfer_of(forms, rates, present)
    if transfer is not None:
        transfer, unread = _with_jottings(folder, transfer)
        found += unread
        transfer = _with_hours(forms, transfer, progress)
    dossier = Dossier(
        origin="closing",
        transfer=transfer,
        files=records,
        reading=tuple(found) if transfer is not None else (),
        examined=frozenset[Examined]({"statements", "headers"}),
        places={**places, "/jottings": Place(file=jottings.FILE_NAME)},
    )
    return Stated(dossier=dossier, findings=found if transfer is None else ())


def files_of(folder: Path) -> Iterator[tuple[str, Path]]:
    """Yield every regular file of a job folder by its path within, sorted; no link is followed."""
    try:
        for path in sorted(folder.rglob("*")):
            if path.is_file() and not path.is_symlink():
                yield path.relative_to(folder).as_posix(), path
    except OSError as error:
        raise from_os_error(error, "Looking through the job folder") from error


def _with_jottings(folder: Path, transfer: Transfer) -> tuple[Transfer, tuple[Finding, ...]]:
    path = folder / jottings.FILE_NAME
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return transfer, ()
    except OSError as error:
        raise from_os_error(error, f"Reading {jottings.FILE_NAME}") from error
    found, unread = jottings.read(content)
    return replace(transfer, jottings=found), unread


def _with_hours(forms: JobForms, transfer: Transfer, progress: Progress) -> Transfer:
    """Freeze into each machine the hours since care; say so where its logbook is not there."""
    if forms.studio_folder is None:
        return transfer
    machines = []
    for machine in transfer.machines:
        lines = logbook.read(forms.studio_folder, machine.id, progress)
        if lines is not None:
            hours = hours_since(machine, transfer, lines)
            machines.append(replace(machine, hours_since=hours))
        else:
            machines.append(_without_logbook(machine))
    return replace(transfer, machines=tuple(machines))


def _without_logbook(machine: Machine) -> Machine:
    if not machine.care:
        return machine
    return replace(machine, absent={**machine.absent, "hours_since": "not examined"})
