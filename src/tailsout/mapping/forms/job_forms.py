"""The forms of a job: its own, and those of the studio folder that it inherits from.

What their tables say is checked where they become a transfer.
"""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from errno import ENAMETOOLONG
from pathlib import Path, PurePosixPath

from tailsout.ground.errors import UsageError, from_os_error
from tailsout.ground.findings import Finding, Place
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.mapping.forms.form import FORM_REFERENCE, Form, form_at, place_in, read_through

_SHELVES = {
    "machines": "machine-0.1",
    "sessions": "session-0.1",
    "calibration_tapes": "calibration-tape-0.1",
    "converters": "converter-0.1",
}
"""Folders of the studio that hold one form a thing, and the schema of each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobForms:
    """All forms of one job."""

    job: Form
    studio: Form | None = None
    people: Form | None = None
    recipient: Form | None = None
    machines: Mapping[str, Form] = field(default_factory=dict)
    """By id; so the other shelves of the studio."""
    sessions: Mapping[str, Form] = field(default_factory=dict)
    calibration_tapes: Mapping[str, Form] = field(default_factory=dict)
    converters: Mapping[str, Form] = field(default_factory=dict)
    studio_folder: Path | None = None


def read_job(folder: Path) -> tuple[JobForms | None, tuple[Finding, ...]]:
    """Read all forms of a job folder. None and findings if one of them cannot be read as TOML.

    Raises UsageError if there is no job.toml, SurroundingsError if a form cannot be opened.
    """
    path = folder / "job.toml"
    if not path.is_file():
        raise UsageError(
            f"There is no job.toml in {printable(str(folder))}.",
            "Name a job folder, or make one with `tailsout begin`.",
        )
    job, found = read_through(path, "job.toml")
    if job is None:
        return None, found
    studio_folder = _studio_folder(folder, job.data.get("studio"))
    if studio_folder is None:
        return None, (*found, _without_studio(job))
    findings = list(found)

    def read(name: str) -> Form | None:
        at = studio_folder / name
        if not _is_there(at):
            return None
        form, trouble = form_at(at, f"{studio_folder.name}/{name}")
        findings.extend(trouble)
        return form

    def shelf(name: str) -> dict[str, Form]:
        forms, twins = _shelf(studio_folder, name, read)
        findings.extend(twins)
        return forms

    recipient_id = job.data.get("recipient")
    named = isinstance(recipient_id, str) and PurePosixPath(recipient_id).name == recipient_id
    forms = JobForms(
        job=job,
        studio=read("studio.toml"),
        people=read("people.toml"),
        recipient=read(f"recipients/{recipient_id}.toml") if named else None,
        machines=shelf("machines"),
        sessions=shelf("sessions"),
        calibration_tapes=shelf("calibration_tapes"),
        converters=shelf("converters"),
        studio_folder=studio_folder,
    )
    return (forms if not findings else None), tuple(findings)


def forms_on(studio: Path, shelf: str) -> tuple[Mapping[str, Form], tuple[Finding, ...]]:
    """Read the forms of one folder of a studio, by their ids, and tell what cannot be read.

    Raises SurroundingsError if one cannot be opened.
    """
    findings: list[Finding] = []

    def read(name: str) -> Form | None:
        form, trouble = form_at(studio / name, f"{studio.name}/{name}")
        findings.extend(trouble)
        return form

    forms, twins = _shelf(studio, shelf, read)
    return forms, (*findings, *twins)


def _is_there(path: Path) -> bool:
    """Tell whether a form is there; a name that no file system takes is not there."""
    try:
        return path.is_file()
    except OSError as error:
        if error.errno == ENAMETOOLONG:
            return False
        raise from_os_error(error, f"Looking for {printable(path.name)}") from error


def _studio_folder(folder: Path, stated: object) -> Path | None:
    if isinstance(stated, str):
        # `Path.resolve` raises RuntimeError for a link that leads to itself.
        return Path(os.path.realpath(folder / stated))
    return studio_above(folder)


def studio_above(folder: Path) -> Path | None:
    """Return the nearest folder above a job that holds a studio.toml."""
    above = Path(os.path.realpath(folder)).parents
    return next((up for up in above if _is_there(up / "studio.toml")), None)


def _without_studio(job: Form) -> Finding:
    text = (
        "no studio folder was found: there is no `studio` key and no folder above holds a "
        "studio.toml; add the key, or make a studio with `tailsout begin`."
    )
    return FORM_REFERENCE.at(Place(file=job.name, line=1), text)


def _shelf(
    studio: Path, shelf: str, read: Callable[[str], Form | None]
) -> tuple[dict[str, Form], list[Finding]]:
    """Read the forms of one folder of the studio, by their ids."""
    forms: dict[str, Form] = {}
    findings: list[Finding] = []
    there = _is_there(studio / "studio.toml")
    for path in sorted((studio / shelf).glob("*.toml")) if there else ():
        form = read(f"{shelf}/{path.name}")
        if form is None:
            continue
        key = form.data.get("id")
        # One that can be no id hides no form: it is asked for by its file, and its fault is told.
        name = path.stem if schemas.faults({"id": key}, _SHELVES[shelf]) else str(key)
        if name in forms:
            text = f"the id {printable(name)!r} stands in {forms[name].name} too."
            findings.append(FORM_REFERENCE.at(place_in(form, "/id"), text))
        forms[name] = form
    return forms, findings
