"""The captures of a job: found, seen to be finished, looked into; opened for reading only."""

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path, PurePosixPath
from typing import Any, BinaryIO

from tailsout.bag.names import from_disk, to_disk
from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.findings import Finding
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping.forms.reading import FORM_REFERENCE, JobForms, places_in
from tailsout.wave import bext
from tailsout.work.survey import Survey, survey

SETTLING_SECONDS = 5
"""A capture whose size or time changed within this many seconds counts as growing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One capture of the job."""

    id: str
    path: Path
    mark: tuple[int, int, int]
    """Octets, modification time in ns, inode: what shows that it was changed."""
    survey: Survey


def find(folder: Path, forms: JobForms) -> tuple[dict[str, Path], tuple[Finding, ...]]:
    """Return the path of each stated capture by its id, and what is wrong with the rest."""
    found: dict[str, Path] = {}
    faults: list[tuple[str, str]] = []
    stems: dict[str, str] = {}
    for index, one_id, name in _stated(forms.job.data):
        why = _unfit(folder, name) or _twin(stems, name)
        if why:
            faults.append((f"/captures/{index}/file", why))
        else:
            found[one_id] = folder / to_disk(name)
    places = places_in(forms.job, (pointer for pointer, _ in faults))
    return found, tuple(FORM_REFERENCE.at(places[pointer], why) for pointer, why in faults)


def _stated(job: dict[str, Any]) -> Iterator[tuple[int, str, str]]:
    """Yield what can be understood of the captures; the schema tells the rest."""
    captures = job.get("captures")
    for index, capture in enumerate(captures if isinstance(captures, list) else ()):
        if isinstance(capture, dict):
            one_id, name = capture.get("id"), capture.get("file")
            if isinstance(one_id, str) and isinstance(name, str) and name:
                yield index, one_id, name


def _unfit(folder: Path, name: str) -> str:
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\\" in name or "\0" in name:
        return f"the capture {printable(name)!r} must lie in the job folder."
    if not _is_file(folder / to_disk(name)):
        near = get_close_matches(path.name, _beside(folder / to_disk(str(path.parent))), n=1)
        hint = f"; did you mean {printable(str(path.parent / near[0]))!r}?" if near else "."
        return f"there is no capture {printable(name)!r} in the job folder{hint}"
    return ""


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError as error:
        raise from_os_error(error, "Looking for a capture") from error


def _beside(folder: Path) -> list[str]:
    return sorted(from_disk(entry.name) for entry in folder.iterdir()) if folder.is_dir() else []


def _twin(stems: dict[str, str], name: str) -> str:
    """Two captures that differ only in folder, case or ending would become one master."""
    key = PurePosixPath(name).stem.casefold()
    if key not in stems:
        stems[key] = name
        return ""
    return (
        f"{printable(stems[key])!r} and {printable(name)!r} would have one name in the package; "
        "rename one of the captures."
    )


def look(
    found: dict[str, Path],
    folder: Path,
    *,
    seconds_now: Callable[[], float],
    wait: bool,
    progress: Progress,
) -> tuple[Taken, ...]:
    """Look into every capture that has finished growing.

    Raises SurroundingsError for one that is still growing, unless `wait` is set, or unreadable.
    """
    for path in found.values():
        _settled(path, folder, seconds_now=seconds_now, wait=wait, progress=progress)
    return tuple(_look_into(one_id, path, folder) for one_id, path in found.items())


def _settled(
    path: Path,
    folder: Path,
    *,
    seconds_now: Callable[[], float],
    wait: bool,
    progress: Progress,
) -> None:
    name = printable(from_disk(path.relative_to(folder).as_posix()))
    while True:
        try:
            age = seconds_now() - path.stat().st_mtime
        except OSError as error:
            raise from_os_error(error, f"Looking at {name}") from error
        if abs(age) >= SETTLING_SECONDS:
            return
        if not wait:
            raise SurroundingsError(
                f"The capture {name} changed within the last {SETTLING_SECONDS} seconds.",
                "Let the recorder finish, or add --wait.",
            )
        progress.say(f"Waiting for {name} to stop changing.")
        time.sleep(1)


def _look_into(one_id: str, path: Path, folder: Path) -> Taken:
    name = from_disk(path.relative_to(folder).as_posix())
    with opened(path, name) as stream:
        seen = survey(stream, printable(name))
        mark = _mark(os.fstat(stream.fileno()))
    if len(seen.raw_bext) == bext.MAX_OCTETS:
        raise MaterialError(
            f"The bext chunk of {printable(name)} has {bext.MAX_OCTETS} octets or more and could "
            "not be kept beside the master.",
            "Look into that chunk with a wave editor; no recorder writes so much history.",
        )
    record = replace(seen.record, capture=one_id)
    return Taken(id=one_id, path=path, mark=mark, survey=replace(seen, record=record))


def opened(path: Path, name: str) -> BinaryIO:
    """Open a capture for reading. Raises SurroundingsError if the system refuses."""
    try:
        return path.open("rb")
    except OSError as error:
        raise from_os_error(error, f"Opening the capture {printable(name)}") from error


def unchanged(taken: Taken, stream: BinaryIO) -> None:
    """Raise SurroundingsError if an open capture is not as it was when it was looked into."""
    if _mark(os.fstat(stream.fileno())) != taken.mark:
        raise SurroundingsError(
            f"The capture {taken.survey.record.path} was changed while it was being read.",
            "Close the program that writes to it, then start again; nothing was packed.",
        )


def _mark(status: os.stat_result) -> tuple[int, int, int]:
    return (status.st_size, status.st_mtime_ns, status.st_ino)
