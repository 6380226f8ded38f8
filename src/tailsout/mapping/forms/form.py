"""One form, written in TOML by people → a table in the side-car's own keys.

Two things happen to a table on the way: dates become text, and the absence words move out of the
values into `absent`.
"""

import re
import tomllib
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal, InvalidOperation
from functools import cache
from pathlib import Path
from typing import Any, get_args

from tailsout.ground.errors import MaterialError, from_os_error
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.mapping.forms import blank, meant, syntax
from tailsout.mapping.key_paths import dotted
from tailsout.mapping.strict_json import MAX_DEPTH, MAX_DIGITS
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
    remedy="Put the value right, or say why there is none: unknown, not applicable, not examined, "
    "none found, not recorded or withheld.",
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


def read_form(path: Path) -> tuple[dict[str, Any] | None, tuple[Finding, ...]]:
    """Read one form by itself, as its writer left it, unchecked but for its grammar.

    Raises SurroundingsError if it cannot be opened.
    """
    form, findings = form_at(path)
    return (form.data if form is not None else None), findings


def form_at(path: Path, name: str = "") -> tuple[Form | None, tuple[Finding, ...]]:
    """Read one form, with its text; `name` is shown to people, else that of its file.

    Raises SurroundingsError if it cannot be opened, MaterialError if it is too large.
    """
    form, findings = read_through(path, name or path.name)
    return (None if findings else form), findings


def read_through(path: Path, name: str) -> tuple[Form | None, tuple[Finding, ...]]:
    """Read a form; one with slips too, as far as it can be read. Raises as `form_at`."""
    try:
        octets = path.read_bytes()
    except OSError as error:
        raise from_os_error(error, f"Reading {name}") from error
    if len(octets) > MAX_FORM_OCTETS:
        raise MaterialError(f"{name} holds more than {MAX_FORM_OCTETS >> 20} MiB.", "Split it.")
    return _through(octets, name)


def form_of(octets: bytes, name: str) -> tuple[Form | None, tuple[Finding, ...]]:
    """Read a form from its octets, or say why it is none; `name` is shown to people."""
    form, findings = _through(octets, name)
    return (None if findings else form), findings


def _through(octets: bytes, name: str) -> tuple[Form | None, tuple[Finding, ...]]:
    text, findings = _text_of(octets, name)
    try:
        data, slips = syntax.read(text, lambda form: tomllib.loads(form, parse_float=_number))
    except RecursionError:
        return None, (*findings, FORM_SYNTAX.at(Place(file=name), _TOO_DEEP))
    except ValueError:  # the standard library's own limit, beyond which it reads no whole number
        return None, (*findings, FORM_SYNTAX.at(Place(file=name), _TOO_LONG))
    told = {one.place.line for one in findings}
    findings += tuple(
        FORM_SYNTAX.at(Place(file=name, line=line), said)
        for line, said in slips
        if line not in told
    )
    trouble = _unusable(data) if data is not None else ""
    if trouble:
        return None, (*findings, FORM_SYNTAX.at(_place_of(trouble, name, text), trouble))
    if data is None:
        return None, findings
    _settle(data)
    return Form(name=name, text=text, data=data), findings


def _text_of(octets: bytes, name: str) -> tuple[str, tuple[Finding, ...]]:
    """Return the text of a form; where it is not UTF-8, as an old editor most likely meant it."""
    try:
        return octets.decode("utf-8").removeprefix("\ufeff"), ()
    except UnicodeDecodeError as error:
        start = error.start
    line = octets[:start].count(b"\n") + 1
    wide = octets.startswith((BOM_UTF16_LE, BOM_UTF16_BE))
    text = octets.removeprefix(BOM_UTF8).decode("utf-16" if wide else "cp1252", errors="replace")
    shown = printable(text.split("\n")[line - 1].strip(), 100)
    what = f"in `{shown}`: octet {octets[start]:#04x} is not UTF-8; save the file as UTF-8."
    return text, (FORM_SYNTAX.at(Place(file=name, line=line), what),)


_TOO_DEEP = f"it nests deeper than {MAX_DEPTH} levels."
_TOO_LONG = f"a whole number has more than {MAX_DIGITS} digits."
_HOLDS_NUL = "a text holds the character NUL, which no side-car can."
_HOLDS_FFFE = "a text holds U+FFFE, which is not a character and which no side-car can hold."
_SPELLED = {
    _HOLDS_NUL: re.compile(r"\\u0000|\\U00000000"),
    _HOLDS_FFFE: re.compile("\ufffe" r"|\\ufffe|\\U0000fffe", re.IGNORECASE),
}


def _place_of(trouble: str, name: str, text: str) -> Place:
    """Tell the line where it can be told: NUL stands in TOML by its escape only."""
    spelled = _SPELLED[trouble].search(text) if trouble in _SPELLED else None
    return Place(file=name, line=text.count("\n", 0, spelled.start()) + 1 if spelled else None)


def _number(digits: str) -> Decimal:
    try:
        return Decimal(digits)
    except InvalidOperation:  # an exponent that even this type cannot hold; no schema allows it
        return Decimal("Infinity")


@cache
def _verbatim_keys() -> frozenset[str]:
    definitions = schemas.schema("sidecar-0.1")["$defs"].values()
    return frozenset(
        key
        for definition in definitions
        for key, value in definition.get("properties", {}).items()
        if value.get("verbatim")
    )


def _unusable(table: dict[str, Any]) -> str:
    """Return why a form cannot be used although it is TOML; empty if it can."""
    stack: list[tuple[Any, int]] = [(table, 1)]
    while stack:
        one, depth = stack.pop()
        if isinstance(one, dict | list):
            if depth > MAX_DEPTH:
                return _TOO_DEEP
            inside = one.values() if isinstance(one, dict) else one
            stack.extend((value, depth + 1) for value in inside)
        elif isinstance(one, str) and "\0" in one:
            return _HOLDS_NUL
        elif isinstance(one, str) and "\ufffe" in one:
            return _HOLDS_FFFE
        elif isinstance(one, int) and abs(one) >= 10**MAX_DIGITS:
            return _TOO_LONG
    return ""


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
        said = {}
        for key, value in one.items():
            one[key] = _plain(value)
            if isinstance(value, dict | list):
                # What stands in `absent` already is where it belongs.
                stack += [value] if key != "absent" else []
            elif isinstance(value, str) and value in _ABSENCES and key not in verbatim:
                said[key] = value
        _move(one, said)


def _move(table: dict[str, Any], said: dict[str, Any]) -> None:
    absent = table.get("absent", {})
    if said and isinstance(absent, dict):
        table["absent"] = {**absent, **said}
        for key in said:
            del table[key]


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds").replace("+00:00", "Z")
    if isinstance(value, date | time):
        return value.isoformat()
    return value


def place_in(form: Form, pointer: str) -> Place:
    """Return the place of a JSON pointer in a form, with its line."""
    return places_in(form, (pointer,))[pointer]


def places_in(form: Form, pointers: Iterable[str]) -> Mapping[str, Place]:
    """Return the places of some JSON pointers in a form: the form is taken apart only once."""
    asked = tuple(pointers)
    lines = lines_of(form.text, [(pointer, "") for pointer in asked])
    return {
        pointer: Place(file=form.name, line=lines.get((pointer, "")), part=dotted(pointer))
        for pointer in asked
    }


def schema_findings(form: Form, name: str) -> Iterator[Finding]:
    """Yield every fault of a form against the schema called `name`, each with its line."""
    faults = schemas.faults(form.data, name)
    lines = lines_of(form.text, [(f.pointer, f.key) for f in faults])
    for fault in faults:
        place = Place(
            file=form.name,
            line=lines.get((fault.pointer, fault.key)),
            part=dotted(fault.pointer, fault.key),
        )
        # A key that is known here and holds another type most likely belongs here.
        is_foreign = place.line is not None and fault.given is None
        header = meant.header_left_out(form.text, place.line or 0) if is_foreign else ""
        example = blank.example_line(name, fault.pointer) if fault.wants_example else ""
        told = meant.told(fault, example=example)
        yield FORM_VALUE.at(place, f"{fault.found}; {meant.below(header)}." if header else told)
