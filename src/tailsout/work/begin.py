"""Begins a job: a folder with a commented form, and a studio folder if there is none yet."""

import os
import re
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import RefusedError, UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.mapping.forms.blank import blank
from tailsout.mapping.forms.reading import studio_above

JOB_FOLDERS = ("captures", "images", "documents")
STUDIO_FOLDERS = ("machines", "recipients")


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What was written."""

    job: Path
    package_id: str
    studio: Path
    new_studio: bool


def begin(
    job: Path, *, studio: Path | None, identifier: str | None, job_id: str, disk: Disk
) -> Begun:
    """Write the forms of a new job.

    `identifier` is the reel's first one; the package is named after it, else after the folder.
    Raises RefusedError if there is a job already, UsageError if no studio is named or found.
    """
    job = Path(os.path.abspath(job))  # noqa: PTH100  `resolve` would follow a link the user chose
    try:
        if disk.is_there(job / "job.toml"):
            raise RefusedError(
                f"{printable(str(job))} holds a job.toml already.", "Choose another folder."
            )
        place = Path(os.path.abspath(studio)) if studio else studio_above(job)  # noqa: PTH100
        if place is None:
            raise UsageError(
                "No studio folder is named, and no folder above the job holds a studio.toml.",
                "Add --studio DIR; if there is none yet, it is made there.",
            )
        package_id = proposed_id(identifier or job.name)
        new_studio = not disk.is_there(place / "studio.toml")
        if new_studio:
            _studio(place, disk)
        _folders(job, JOB_FOLDERS, disk)
        text = blank("job-0.1", _given(job_id, package_id, os.path.relpath(place, job), identifier))
        disk.write_beside(job / "job.toml", text.encode("utf-8"))
    except OSError as error:
        raise from_os_error(error, f"Writing the forms of {printable(job.name)}") from error
    return Begun(job=job, package_id=package_id, studio=place, new_studio=new_studio)


def proposed_id(text: str) -> str:
    """Make a package id of an identifier: what may not stand in one becomes a hyphen."""
    joined = re.sub(r"[^A-Za-z0-9_.]+", "-", text).strip("-.")[:64].rstrip("-.")
    return joined or "reel"


def _given(job_id: str, package_id: str, studio: str, identifier: str | None) -> dict[str, str]:
    given = {"job_id": job_id, "package_id": package_id, "studio": studio}
    return given if identifier is None else {**given, "reel.identifiers.value": identifier}


def _studio(place: Path, disk: Disk) -> None:
    _folders(place, STUDIO_FOLDERS, disk)
    for name, schema, given in (
        ("people.toml", "people-0.1", {}),
        ("machines/first-machine.toml", "machine-0.1", {"id": "first-machine"}),
        ("recipients/first-recipient.toml", "recipient-0.1", {"id": "first-recipient"}),
        # Last, because it is what makes the folder a studio.
        ("studio.toml", "studio-0.1", {}),
    ):
        if not disk.is_there(place / name):
            disk.write_beside(place / name, blank(schema, given).encode("utf-8"))


def _folders(place: Path, names: tuple[str, ...], disk: Disk) -> None:
    for folder in (place, *(place / name for name in names)):
        for missing in reversed([folder, *folder.parents]):
            if not disk.is_there(missing):
                disk.make_directory(missing)
