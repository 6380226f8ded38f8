"""Begins a job: a folder with a commented form, and a studio folder if there is none yet."""

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tailsout.bag.disk import Disk
from tailsout.ground.errors import RefusedError, UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.mapping.forms.blank import blank
from tailsout.mapping.forms.form import read_form
from tailsout.mapping.forms.job_forms import studio_above
from tailsout.mapping.forms.reels import refuse_faulty
from tailsout.mapping.history import ascii_reduced
from tailsout.records.vocab import JobKind
from tailsout.work import recipients

JOB_FOLDERS = ("captures", "images", "documents")
STUDIO_FOLDERS = ("machines", "recipients", "converters", "calibration_tapes", "sessions")


KEPT_OF_ANOTHER = ("kind", "recipient", "commission", "chain", "people")
"""What a job like another one takes over; what is told of one reel alone is never copied."""
KEPT_OF_ITS_WORK = ("id", "title", "parts")
KEPT_OF_ITS_REEL = ("width_mm", "diameter_in")
KEPT_OF_ITS_PASSES = ("id", "machine", "session", "sides", "set_up", "decoder", "channels")
KEPT_OF_ITS_CAPTURES = ("id", "pass_id", "program", "clock", "rate_converted", "normalised")

_TIMED = re.compile(r"/regions/|^/signal_notes/")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What a new job is to be."""

    studio: Path | None = None
    identifier: str | None = None
    """The reel's first one; the package is named after it, else after the folder."""
    like: Path | None = None
    """Job whose machine, session, set-up and chain are taken over."""
    session: str | None = None
    recipient: str | None = None
    """Its id; a form of it that comes with the program is written into the studio."""
    kind: JobKind = "transfer"
    short: bool = False
    told: Mapping[str, Any] = field(default_factory=dict)
    """What is known of this reel beforehand, nested as the form is; it goes before all else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What was written."""

    job: Path
    package_id: str
    studio: Path
    new_studio: bool
    new_session: bool
    new_recipient: bool


def begin(job: Path, wish: Wish, *, job_id: str, disk: Disk) -> Begun:
    """Write the forms of a new job.

    Raises RefusedError if there is a job already, UsageError if no studio is named or found, or
    neither it nor the program has the recipient, or the job to be like cannot be read,
    MaterialError if what is told beforehand is not what the form takes, SurroundingsError if the
    disk refuses.
    """
    job = Path(os.path.abspath(job))  # noqa: PTH100  `resolve` would follow a link the user chose
    try:
        if disk.is_there(job / "job.toml"):
            raise RefusedError(
                f"{printable(str(job))} holds a job.toml already.", "Choose another folder."
            )
        _check_session(wish.session)
        place = _studio_of(job, wish)
        recipients.check_named(wish.recipient, place, disk)
        package_id = wish.told.get("package_id") or proposed_id(first_identifier(wish) or job.name)
        new_studio = not disk.is_there(place / "studio.toml")
        filled = {
            **_filled(wish),
            "job_id": job_id,
            "package_id": package_id,
            "studio": Path(os.path.relpath(place, job)).as_posix(),
        }
        text = blank("job-0.1", filled, short=wish.short)
        if wish.told:
            refuse_faulty(text)
        if new_studio:
            _studio(place, disk)
        new_session = _session(place, wish.session, disk)
        new_recipient = recipients.put(wish.recipient, place, disk)
        _folders(job, JOB_FOLDERS, disk)
        disk.write_beside(job / "job.toml", text.encode("utf-8"))
    except OSError as error:
        raise from_os_error(error, f"Writing the forms of {printable(job.name)}") from error
    return Begun(
        job=job,
        package_id=package_id,
        studio=place,
        new_studio=new_studio,
        new_session=new_session,
        new_recipient=new_recipient,
    )


def _studio_of(job: Path, wish: Wish) -> Path:
    if wish.studio is not None:
        if wish.studio.is_file():
            shown = printable(str(wish.studio))
            raise UsageError(f"{shown} is a file.", "Name the studio's folder.")
        return Path(os.path.abspath(wish.studio))  # noqa: PTH100  as for the job itself
    found = studio_above(job)
    if found is None:
        found = _studio_like(wish.like) if wish.like is not None else _studio_beside(job)
    if found is None:
        raise UsageError(
            "No studio folder is named, and none lies above the job or is called studio there.",
            "Add --studio DIR; if there is none yet, it is made there.",
        )
    return found


def _studio_beside(job: Path) -> Path | None:
    """Return the nearest folder called studio that lies in a folder above the job."""
    every = (up / "studio" for up in job.parents)
    return next((one for one in every if (one / "studio.toml").is_file()), None)


def _studio_like(other: Path) -> Path | None:
    """Return the studio of a job to be like, if it is still there."""
    stated = _read(other).get("studio")
    # `Path.resolve` raises RuntimeError for a link that leads to itself.
    found = Path(os.path.realpath(other / stated)) if stated else studio_above(other)
    return found if found is not None and (found / "studio.toml").is_file() else None


def _filled(wish: Wish) -> dict[str, Any]:
    """Gather what the new form holds already, nested as the form is."""
    filled = _like(_read(wish.like)) if wish.like is not None else {}
    if wish.kind != "transfer":
        filled["kind"] = wish.kind
    if wish.recipient is not None:
        filled["recipient"] = wish.recipient
    if filled.get("kind") == "record only":
        # This reel is not played, however the other one was.
        filled = {key: filled[key] for key in filled if key not in ("passes", "captures")}
    if wish.identifier is not None:
        filled.setdefault("reel", {})["identifiers"] = [{"value": wish.identifier}]
    if wish.session is not None:
        first = [{"id": "p1", "sides": ["A"]}]
        filled["passes"] = [{**one, "session": wish.session} for one in filled.get("passes", first)]
        if wish.kind != "record only":
            capture = {"id": "side-a", "file": "captures/side-a.wav", "pass_id": "p1"}
            filled.setdefault("captures", [capture])
    whole: dict[str, Any] = _over(filled, wish.told)
    return whole


def first_identifier(wish: Wish) -> str | None:
    """Return the reel's first identifier, where one is known."""
    told = wish.told.get("reel", {}).get("identifiers") or [{}]
    value = told[0].get("value")
    return wish.identifier or (value if isinstance(value, str) else None)


def _over(under: Any, over: Any) -> Any:  # noqa: ANN401  what a form holds
    """Lay what is told of this reel over what is known of it from elsewhere, entry by entry."""
    if isinstance(under, dict) and isinstance(over, Mapping):
        both = {key: _over(under[key], over[key]) for key in under if key in over}
        return {**under, **over, **both}
    if isinstance(under, list) and isinstance(over, list) and isinstance((over or [0])[0], Mapping):
        longer = max(len(under), len(over))
        pairs = zip([*under, *[{}] * longer], [*over, *[{}] * longer], strict=False)
        return [_over(one, other) for one, other in pairs][:longer]
    return over


def _like(other: dict[str, Any]) -> dict[str, Any]:
    filled = {key: other[key] for key in KEPT_OF_ANOTHER if key in other}
    if filled.get("kind") == "record only":
        # Why a reel was not played is told of that reel alone.
        del filled["kind"]
    work = other.get("work", {})
    filled["work"] = {key: work[key] for key in KEPT_OF_ITS_WORK if key in work}
    reel = other.get("reel", {})
    kept = {key: reel[key] for key in KEPT_OF_ITS_REEL if key in reel}
    kept["sides"] = [{"id": side["id"]} for side in reel.get("sides", ())]
    filled["reel"] = {key: value for key, value in kept.items() if value}
    filled["passes"] = [
        {key: one[key] for key in KEPT_OF_ITS_PASSES if key in one}
        for one in other.get("passes", ())
    ]
    filled["captures"] = [
        {
            **{key: one[key] for key in KEPT_OF_ITS_CAPTURES if key in one},
            "file": f"captures/{one['id']}.wav",
        }
        for one in other.get("captures", ())
    ]
    return {key: value for key, value in filled.items() if value}


def _read(other: Path) -> dict[str, Any]:
    """Read the form of a job to be like. Raises UsageError if it cannot be."""
    if not (other / "job.toml").is_file():
        raise UsageError(f"There is no job.toml in {printable(str(other))}.", "Name a job folder.")
    forms, findings = read_form(other / "job.toml")
    faults = schemas.faults(forms, "job-0.1") if forms is not None else ()
    # Times of regions and notes are text in a form; they are not taken over, nor counted here.
    told = [str(f.text) for f in findings]
    told += [str(f) for f in faults if not _TIMED.search(f.pointer)]
    if forms is None or told:
        raise UsageError(
            f"The job {printable(str(other))} cannot be followed: {told[0]}",
            "Put its form right first, or begin without --like.",
        )
    written: dict[str, Any] = as_written(forms)
    return written


def as_written(value: Any) -> Any:  # noqa: ANN401  what a form holds
    """Put the absence words back where their writer had put them."""
    if isinstance(value, list):
        return [as_written(inside) for inside in value]
    if not isinstance(value, dict):
        return value
    kept = {key: as_written(inside) for key, inside in value.items() if key != "absent"}
    return {**kept, **value.get("absent", {})}


def proposed_id(text: str) -> str:
    """Make a package id of an identifier: what may not stand in one becomes a hyphen."""
    joined = re.sub(r"[^A-Za-z0-9_.]+", "-", ascii_reduced(text)).strip("-.")[:64].rstrip("-.")
    return joined or "reel"


def _studio(place: Path, disk: Disk) -> None:
    _folders(place, STUDIO_FOLDERS, disk)
    for name, schema, given in (
        ("people.toml", "people-0.1", {}),
        ("machines/first-machine.toml", "machine-0.1", {"id": "first-machine"}),
        ("recipients/first-recipient.toml", "recipient-0.1", {"id": "first-recipient"}),
        ("converters/first-converter.toml", "converter-0.1", {"id": "first-converter"}),
        ("calibration_tapes/first-tape.toml", "calibration-tape-0.1", {"id": "first-tape"}),
        # Last, because it is what makes the folder a studio.
        ("studio.toml", "studio-0.1", {}),
    ):
        if not disk.is_there(place / name):
            disk.write_beside(place / name, blank(schema, given).encode("utf-8"))


def _check_session(session: str | None) -> None:
    """Refuse a name that the form of a session cannot have, before anything is written."""
    if session is not None and schemas.faults({"id": session}, "session-0.1"):
        raise UsageError(
            f"{printable(session)!r} is not a name for a session.",
            "Take letters, digits, - _ and . only, as 2026-03-14-mk3.",
        )


def _session(studio: Path, session: str | None, disk: Disk) -> bool:
    """Write the form of a session that the studio does not have yet."""
    if session is None:
        return False
    path = studio / "sessions" / f"{session}.toml"
    if disk.is_there(path):
        return False
    _folders(studio, ("sessions",), disk)
    disk.write_beside(path, blank("session-0.1", {"id": session}).encode("utf-8"))
    return True


def _folders(place: Path, names: tuple[str, ...], disk: Disk) -> None:
    for folder in (place, *(place / name for name in names)):
        for missing in reversed([folder, *folder.parents]):
            if not disk.is_there(missing):
                disk.make_directory(missing)
