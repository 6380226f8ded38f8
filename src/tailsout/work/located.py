"""The captures a job states, and where the files of each lie."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Literal

from tailsout.bag.names import from_disk, to_disk
from tailsout.ground.errors import from_os_error
from tailsout.ground.findings import Finding
from tailsout.ground.portable import most_like
from tailsout.ground.units import printable
from tailsout.mapping.forms.form import FORM_REFERENCE, places_in
from tailsout.mapping.forms.job_forms import JobForms

Way = Literal["one file", "parts", "mono files"]

_FILES: dict[Way, tuple[str, str]] = {
    "parts": ("parts", "the first of the parts must be the capture's own file"),
    "mono files": ("mono_files", "the first of the mono files must be the capture's own file"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    """One stated capture and the files that it is."""

    way: Way
    files: tuple[Path, ...]
    """In order: one, or all parts, or all tracks."""


def wants_interleaved(forms: JobForms) -> bool:
    """Tell whether the recipient wants mono files made into one."""
    return forms.recipient is not None and forms.recipient.data.get("interleave") is True


@dataclass(frozen=True, slots=True, kw_only=True)
class SoFar:
    """The captures of a job of which some may be still to come."""

    found: dict[str, Located]
    """By id; every file of them is there."""
    awaited: dict[str, tuple[str, ...]]
    """By id: the files that are not there, as paths in the job."""
    findings: tuple[Finding, ...]
    """What is wrong with what the form says of them."""


def find(folder: Path, forms: JobForms) -> tuple[dict[str, Located], tuple[Finding, ...]]:
    """Return the files of each stated capture by its id, and what is wrong with the rest."""
    found, faults, missing = _look_for(folder, forms)
    wrong = [*faults, *((at, _not_there(folder, name)) for at, name, _ in missing)]
    return found, _told(forms, wrong)


def so_far(folder: Path, forms: JobForms) -> SoFar:
    """Return the same of a job under way: a capture that is not there yet is no fault."""
    found, faults, missing = _look_for(folder, forms)
    awaited: dict[str, tuple[str, ...]] = {}
    for _, name, one_id in missing:
        awaited[one_id] = (*awaited.get(one_id, ()), name)
    return SoFar(found=found, awaited=awaited, findings=_told(forms, faults))


def _told(forms: JobForms, faults: list[tuple[str, str]]) -> tuple[Finding, ...]:
    places = places_in(forms.job, (pointer for pointer, _ in faults))
    return tuple(FORM_REFERENCE.at(places[pointer], why) for pointer, why in faults)


def _look_for(
    folder: Path, forms: JobForms
) -> tuple[dict[str, Located], list[tuple[str, str]], list[tuple[str, str, str]]]:
    """Return what is there, what is wrong by its pointer, and pointer, name and id of the rest."""
    found: dict[str, Located] = {}
    faults: list[tuple[str, str]] = []
    missing: list[tuple[str, str, str]] = []
    stems: dict[str, str] = {}
    for index, capture in _stated(forms.job.data):
        way, named = _named(capture)
        at = f"/captures/{index}"
        wrong = list(_misnamed(capture, way, named, at))
        lacking: list[tuple[str, str, str]] = []
        for pointer, name in named:
            why = _outside(name)
            if not why and not _is_file(folder / to_disk(name)):
                lacking.append((at + pointer, name, capture["id"]))
                continue
            why = why or _twin(stems, name)
            if why:
                wrong.append((at + pointer, why))
        faults += wrong
        missing += lacking
        if not wrong and not lacking:
            files = tuple(folder / to_disk(name) for _, name in named)
            found[capture["id"]] = Located(way=way, files=files)
    return found, faults, missing


def _stated(job: dict[str, Any]) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield what can be understood of the captures; the schema tells the rest."""
    captures = job.get("captures")
    for index, capture in enumerate(captures if isinstance(captures, list) else ()):
        if isinstance(capture, dict):
            one_id, name = capture.get("id"), capture.get("file")
            if isinstance(one_id, str) and isinstance(name, str) and name:
                yield index, capture


def _named(capture: dict[str, Any]) -> tuple[Way, list[tuple[str, str]]]:
    """Return how a capture is kept, and its files with the pointer to each."""
    for way, (key, _) in _FILES.items():
        entries = capture.get(key)
        named = [
            (f"/{key}/{n}/file" if isinstance(one, dict) else f"/{key}/{n}", name)
            for n, one in enumerate(entries if isinstance(entries, list) else ())
            if isinstance(name := one.get("file") if isinstance(one, dict) else one, str) and name
        ]
        if named:
            return way, named
    return "one file", [("/file", capture["file"])]


def _misnamed(
    capture: dict[str, Any], way: Way, named: list[tuple[str, str]], at: str
) -> Iterator[tuple[str, str]]:
    if way == "one file":
        return
    if capture.get("parts") and capture.get("mono_files"):
        yield at, "a capture is either split into parts or into mono files; name one of the two."
    if named[0][1] != capture["file"]:
        yield at + "/file", f"{_FILES[way][1]}, {printable(named[0][1])!r}."


def _outside(name: str) -> str:
    path = PurePosixPath(name)
    if "\\" in name:
        return f"between the folders of a capture's path stands /, no backslash: {printable(name)}."
    if path.is_absolute() or ".." in path.parts or "\0" in name:
        return f"the capture {printable(name)!r} must lie in the job folder."
    return ""


def _not_there(folder: Path, name: str) -> str:
    return f"there is no capture {printable(name)!r} in the job folder{_hint(folder, name)}"


def _hint(folder: Path, name: str) -> str:
    """Say what was most likely meant: its like in the folder it names, or beside the others."""
    places = dict.fromkeys((PurePosixPath(name).parent, PurePosixPath("captures")))
    return most_like(
        name, (str(at / one) for at in places for one in _beside(folder / to_disk(str(at))))
    )


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
