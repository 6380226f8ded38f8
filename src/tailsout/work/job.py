"""Reads what a job states: forms, jottings, logbooks, the headers of its captures."""

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from tailsout.bag.names import from_disk
from tailsout.ground.errors import from_os_error
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import jottings, naming, schemas
from tailsout.mapping.forms.job_forms import JobForms
from tailsout.mapping.forms.references import sessions_of
from tailsout.mapping.forms.transfer import transfer_of
from tailsout.mapping.logbook import hours_since
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.records.machine import CareEvent, Machine
from tailsout.records.transfer import Transfer
from tailsout.work import logbook

HIDDEN_LEFT_OUT = Kind(
    code="hidden-file-left-out",
    severity=Severity.NOTE,
    title="A hidden file or folder beside photographs and documents is not packed",
    basis="own rule: what a desktop leaves behind is not part of a transfer",
    remedy="Nothing to do; if it matters, give it a name that shows.",
)
KINDS = (HIDDEN_LEFT_OUT,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """What a job states, or why it cannot be said."""

    dossier: Dossier
    """Its transfer is None if the forms have faults."""
    findings: tuple[Finding, ...]
    """Of the forms."""
    kept: Mapping[str, Path] = field(default_factory=dict)
    """Photographs and documents that are packed as they are, by their path in the job."""


def state(
    folder: Path, forms: JobForms, records: tuple[FileRecord, ...], progress: Progress
) -> Stated:
    """Make the Dossier of a job from its forms and the surveyed headers of its captures.

    Raises SurroundingsError if the folder, the jottings or a logbook cannot be read.
    """
    rates = {r.capture: r.pcm.sample_rate_hz for r in records if r.pcm and r.capture}
    files = _files_of(folder)
    beside = _session_files(forms)
    transfer, found, places = transfer_of(forms, rates, frozenset(files), beside)
    if transfer is not None:
        transfer, unread = _with_jottings(folder, transfer)
        found += (*unread, *_left_out(files))
        transfer = _with_hours(forms, transfer, progress)
    dossier = Dossier(
        origin="closing",
        transfer=transfer,
        files=records,
        reading=tuple(found) if transfer is not None else (),
        examined=frozenset[Examined]({"statements", "headers"}),
        places={**places, "/jottings": Place(file=jottings.FILE_NAME)},
    )
    return Stated(
        dossier=dossier,
        findings=found if transfer is None else (),
        kept={name: path for name, path in files.items() if naming.is_kept(name)},
    )


def session_folder(studio: Path, session: str) -> Path:
    """Return where the captures of a session lie. Its id is checked by its form's schema."""
    return studio / "sessions" / session


def _session_files(forms: JobForms) -> dict[str, frozenset[str]]:
    """Return the files beside the form of each session of the job."""
    if forms.studio_folder is None:
        return {}
    found: dict[str, frozenset[str]] = {}
    for form in sessions_of(forms):
        name = str(form.data.get("id"))
        folder = session_folder(forms.studio_folder, name)
        found[name] = frozenset(_files_of(folder)) if folder.is_dir() else frozenset()
    return found


def _files_of(folder: Path) -> dict[str, Path]:
    """Return every regular file of a folder by its path within, sorted; follow no link."""

    def refuse(error: OSError) -> None:
        raise error

    try:
        walked = [
            Path(place, name)
            for place, _, names in os.walk(folder, onerror=refuse)
            for name in names
        ]
        files = [path for path in walked if path.is_file() and not path.is_symlink()]
    except OSError as error:
        raise from_os_error(error, f"Looking through {printable(folder.name)}") from error
    return dict(sorted((from_disk(path.relative_to(folder).as_posix()), path) for path in files))


def _left_out(names: Iterable[str]) -> Iterator[Finding]:
    """Say once what is hidden, be it a file or a folder of many."""
    hidden = {
        naming.hidden_part(name): None
        for name in names
        if name.partition("/")[0] in naming.PACKED_FOLDERS and naming.hidden_part(name)
    }
    for name in hidden:
        text = "it is hidden, or a system's own, so it is not packed."
        yield HIDDEN_LEFT_OUT.at(Place(file=printable(name)), text)


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
        hours = hours_since(with_sessions(machine, forms), transfer, lines)
        if hours is not None:
            machines.append(replace(machine, hours_since=hours))
        else:
            absent = {**machine.absent, "hours_since": "not examined"}
            machines.append(replace(machine, absent=absent))
    return replace(transfer, machines=tuple(machines))


def with_sessions(machine: Machine, forms: JobForms) -> Machine:
    """Add to the care of a machine the days on which a session of the studio calibrated it.

    A session that holds the machine against calibration tapes is a calibration: nobody writes the
    same into the maintenance log besides.
    """
    days = (
        form.data.get("on")
        for form in forms.sessions.values()
        if form.data.get("machine") == machine.id and form.data.get("settings")
    )
    # The form of another job's session is unchecked.
    known = (on for on in days if on and not schemas.faults({"id": "x", "on": on}, "session-0.1"))
    held = (CareEvent(kind="calibrated", on=on) for on in sorted(known))
    return replace(machine, care=(*machine.care, *held))
