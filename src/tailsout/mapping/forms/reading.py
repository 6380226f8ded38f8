"""Studio and job folders → tables in the side-car's own keys.

Two things happen to a table on the way: dates become text, and the absence words move out of the
values into `absent`. What the tables say is checked in `stating`.
"""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from functools import cache
from pathlib import Path, PurePosixPath
from typing import Any, get_args

from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.mapping.toml_lines import lines_of
from tailsout.records.vocab import Absence

MAX_FORM_OCTETS = 4 << 20

FORM_SYNTAX = Kind(
    code="form-syntax",
    severity=Severity.MEND,
    title="A form cannot be read as TOML",
    basis="TOML 1.0.0",
    remedy="Put the line right in a text editor; nothing was packed.",
)
FORM_VALUE = Kind(
    code="form-value",
    severity=Severity.MEND,
    title="A form holds a key or value that its schema does not allow",
    basis="JSON Schema of the form, in the schemas folder",
    remedy="Put the value right, or say why it is not known with one of the absence words.",
)
FORM_REFERENCE = Kind(
    code="form-reference",
    severity=Severity.MEND,
    title="A form points to something that is not there",
    basis="own rule: what a form names must exist",
    remedy="Correct the name, or add what it names.",
)
KINDS = (FORM_SYNTAX, FORM_VALUE, FORM_REFERENCE)

_ABSENCES = frozenset(get_args(Absence))


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One form as read: its data in side-car shape, and its text for finding lines."""

    name: str
    """Path as shown to people."""
    text: str
    data: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobForms:
    """All forms of one job."""

    job: Form
    studio: Form | None = None
    people: Form | None = None
    recipient: Form | None = None
    machines: Mapping[str, Form] = field(default_factory=dict)
    """By machine id."""
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
    job, found = _read(path, "job.toml")
    if job is None:
        return None, found
    studio_folder = _studio_folder(folder, job.data.get("studio"))
    if studio_folder is None:
        return _without_studio(job)
    findings = list(found)

    def read(name: str) -> Form | None:
        at = studio_folder / name
        if not at.is_file():
            return None
        form, trouble = _read(at, f"{studio_folder.name}/{name}")
        findings.extend(trouble)
        return form

    machines, twins = _machines(studio_folder, read)
    findings.extend(twins)
    recipient_id = job.data.get("recipient")
    named = isinstance(recipient_id, str) and PurePosixPath(recipient_id).name == recipient_id
    forms = JobForms(
        job=job,
        studio=read("studio.toml"),
        people=read("people.toml"),
        recipient=read(f"recipients/{recipient_id}.toml") if named else None,
        machines=machines,
        studio_folder=studio_folder,
    )
    return (forms if not findings else None), tuple(findings)


def place_in(form: Form, pointer: str) -> Place:
    """Return the place of a JSON pointer in a form, with its line."""
    line = lines_of(form.text, [(pointer, "")]).get((pointer, ""))
    return Place(file=form.name, line=line, part=dotted(pointer))


def dotted(pointer: str, key: str = "") -> str:
    """Write a JSON pointer as a form's reader would: `reel.sides[2].id`, counted from 1."""
    parts = [*pointer.split("/")[1:], *([key] if key else [])]
    shown = ""
    for part in parts:
        shown += f"[{int(part) + 1}]" if part.isdigit() else f".{part}"
    return printable(shown.removeprefix("."), 200)


def _read(path: Path, name: str) -> tuple[Form | None, tuple[Finding, ...]]:
    try:
        octets = path.read_bytes()
    except OSError as error:
        raise from_os_error(error, f"Reading {name}") from error
    if len(octets) > MAX_FORM_OCTETS:
        raise MaterialError(f"{name} holds more than {MAX_FORM_OCTETS >> 20} MiB.", "Split it.")
    try:
        text = octets.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = octets[: error.start].count(b"\n") + 1
        what = f"octet {octets[error.start]:#04x} is not UTF-8; save the file as UTF-8."
        return None, (FORM_SYNTAX.at(Place(file=name, line=line), what),)
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        what, _, at = str(error).rpartition(" (at line ")
        number = at.partition(",")[0]
        line = int(number) if number.isdigit() else text.count("\n") + 1
        shown = printable(what or str(error), 200)
        return None, (FORM_SYNTAX.at(Place(file=name, line=line), f"{shown}."),)
    except RecursionError:
        return None, (FORM_SYNTAX.at(Place(file=name, line=1), "It nests too deeply."),)
    _settle(data)
    return Form(name=name, text=text, data=data), ()


@cache
def _verbatim_keys() -> frozenset[str]:
    definitions = schemas.schema("sidecar-0.1")["$defs"].values()
    return frozenset(
        key
        for definition in definitions
        for key, value in definition.get("properties", {}).items()
        if value.get("verbatim")
    )


def _settle(table: dict[str, Any]) -> None:
    """Turn dates into text and move absence words out of the values, all the way down."""
    verbatim = _verbatim_keys()
    stack: list[Any] = [table]
    while stack:
        one = stack.pop()
        if isinstance(one, list):
            one[:] = [_plain(value) for value in one]
            stack.extend(value for value in one if isinstance(value, dict | list))
            continue
        for key, value in list(one.items()):
            one[key] = _plain(value)
            if isinstance(value, dict | list):
                stack.append(value)
            elif isinstance(value, str) and value in _ABSENCES and key not in verbatim:
                del one[key]
                one.setdefault("absent", {})[key] = value


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds").replace("+00:00", "Z")
    if isinstance(value, date | time):
        return value.isoformat()
    return value


def _studio_folder(folder: Path, stated: object) -> Path | None:
    if isinstance(stated, str):
        return (folder / stated).resolve()
    return studio_above(folder)


def studio_above(folder: Path) -> Path | None:
    """Return the nearest folder above a job that holds a studio.toml."""
    above = folder.resolve().parents
    return next((up for up in above if (up / "studio.toml").is_file()), None)


def _without_studio(job: Form) -> tuple[None, tuple[Finding, ...]]:
    text = (
        "no studio folder was found: there is no `studio` key and no folder above holds a "
        "studio.toml; add the key, or make a studio with `tailsout begin`."
    )
    return None, (FORM_REFERENCE.at(Place(file=job.name, line=1), text),)


def _machines(
    studio: Path, read: Callable[[str], Form | None]
) -> tuple[dict[str, Form], list[Finding]]:
    machines: dict[str, Form] = {}
    findings: list[Finding] = []
    for path in sorted((studio / "machines").glob("*.toml")):
        form = read(f"machines/{path.name}")
        if form is None:
            continue
        key = form.data.get("id")
        name = key if isinstance(key, str) else path.stem
        if name in machines:
            text = f"the machine id {name!r} stands in {machines[name].name} too."
            findings.append(FORM_REFERENCE.at(place_in(form, "/id"), text))
        machines[name] = form
    return machines, findings
