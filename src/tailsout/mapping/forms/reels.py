"""A table of reels, a row each, in the keys of a job's form: `reel.title`, `reel.stock[2].base`.

A column is a key as it is printed, entries of a list counted from 1; without a number it is the
first. A cell is read by the key's own schema. Several words of one key stand with semicolons
between.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from functools import cache
from itertools import pairwise
from typing import Any, get_args

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.mapping.forms.blank import resolved
from tailsout.mapping.forms.form import form_of
from tailsout.mapping.key_paths import dotted
from tailsout.records.vocab import Absence

SCHEMA_NAME = "job-0.1"
FOLDER = "folder"
"""The one column that is not a key: what the folder of the job is called."""
_GIVEN = frozenset({"job_id", "studio", "absent"})
"""Keys that `begin` itself fills in."""
_PART = re.compile(r"([a-z][a-z0-9_]*)(?:\[([1-9][0-9]?)\])?")
_ABSENCES = frozenset(get_args(Absence))
_TRUTHS = {"true": True, "yes": True, "false": False, "no": False}
_TIMED = re.compile(r"/regions/|^/signal_notes/")
_Schema = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column that is a key."""

    name: str
    path: tuple[str | int, ...]
    """Keys, and numbers of entries counted from 0."""
    schema: _Schema


def columns_of(names: tuple[str, ...]) -> tuple[Column, ...]:
    """Return the columns of a table but that of the folder.

    Raises MaterialError for those that are not keys, all in one sentence.
    """
    found = {name: _column(name) for name in names if name != FOLDER}
    wrong = [name for name, column in found.items() if column is None]
    if wrong:
        told = "; ".join(f"{printable(name, 100)!r}{_nearest(name)}" for name in wrong[:10])
        more = f" and {len(wrong) - 10} more" if len(wrong) > 10 else ""
        raise MaterialError(
            f"The table has columns that are not keys of a job's form: {told}{more}.",
            "Call each by its key, as in the form that `tailsout begin` writes.",
        )
    return tuple(column for column in found.values() if column is not None)


def told_in(columns: tuple[Column, ...], cells: Mapping[str, str]) -> dict[str, Any]:
    """Return what a row says, nested as the form is; an empty cell says nothing.

    Raises MaterialError for a cell that cannot be what its key wants.
    """
    told: dict[str, Any] = {}
    for column in columns:
        cell = cells[column.name].strip()
        if cell:
            _put(told, column.path, _value(column, cell))
    return told


def refuse_faulty(text: str) -> None:
    """Hold a form against its schema before it is written. Raises MaterialError with its faults."""
    form, findings = form_of(text.encode("utf-8"), "job.toml")
    told = [finding.text for finding in findings]
    if form is not None:
        # Times of regions and notes are text in a form; they are checked when it is read.
        told += [
            f"{dotted(fault.pointer, fault.key)}: {fault}"
            for fault in schemas.faults(form.data, SCHEMA_NAME)
            if not _TIMED.search(f"{fault.pointer}/")
        ]
    if told:
        more = f" ({len(told)} faults)" if len(told) > 1 else ""
        raise MaterialError(f"{told[0]}{more}", "Put the row right, then run it again.")


def _column(name: str) -> Column | None:
    node: _Schema = schemas.schema(SCHEMA_NAME)
    path: list[str | int] = []
    for part in name.split("."):
        match = _PART.fullmatch(part)
        inside = node.get("properties", {})
        if match is None or match[1] not in inside or (not path and match[1] in _GIVEN):
            return None
        path.append(match[1])
        node = resolved(inside[match[1]])
        items = resolved(node["items"]) if node.get("type") == "array" else None
        if items is not None and "properties" in items:
            path.append(int(match[2] or 1) - 1)
            node = items
        elif match[2]:
            return None
    return None if "properties" in node else Column(name=name, path=tuple(path), schema=node)


@cache
def _every() -> tuple[str, ...]:
    return (FOLDER, *_below(schemas.schema(SCHEMA_NAME), ""))


def _below(node: _Schema, start: str) -> Iterator[str]:
    for key, value in node["properties"].items():
        if key == "absent" or (not start and key in _GIVEN):
            continue
        inside = resolved(value)
        if inside.get("type") == "array":
            inside = resolved(inside["items"])
        if "properties" in inside:
            yield from _below(inside, f"{start}{key}.")
        else:
            yield f"{start}{key}"


def _nearest(name: str) -> str:
    plain = re.sub(r"\[[0-9]*\]", "", name)[:200].strip().lower().replace(" ", "_")
    same = [one for one in _every() if one.rpartition(".")[2] == plain]
    # Of several keys of that name the reel's own is meant, else the one that lies highest.
    same.sort(key=lambda one: (not one.startswith("reel."), one.count(".")))
    found = same or get_close_matches(plain, _every(), n=1, cutoff=0.5)
    return f" (did you mean {found[0]!r}?)" if found else ""


def _value(column: Column, cell: str) -> Any:  # noqa: ANN401  what a form holds
    if cell in _ABSENCES and not column.schema.get("verbatim"):
        return cell
    if column.schema.get("type") == "array":
        items = resolved(column.schema["items"])
        return [_single(column, items, part.strip()) for part in cell.split(";") if part.strip()]
    return _single(column, column.schema, cell)


def _single(column: Column, schema: _Schema, cell: str) -> Any:  # noqa: ANN401  as above
    kind = schema.get("type")
    try:
        if kind == "number":
            return _number(cell)
        if kind == "boolean":
            return _TRUTHS[cell.lower()]
        if kind == "integer":
            # A time, where positions are told, stays text.
            return cell if ":" in cell else int(cell)
    except (InvalidOperation, KeyError, ValueError):
        shown = printable(cell, 60)
        wanted = {"number": "a number", "boolean": "true or false"}.get(str(kind), "a whole number")
        raise MaterialError(
            f"{column.name}: {shown!r} is not {wanted}.",
            "Numbers have a full stop before their decimals and no unit.",
        ) from None
    return cell


def _number(cell: str) -> Decimal:
    number = Decimal(cell)
    if not number.is_finite() or len(cell) > 40:
        raise ValueError(cell)
    return number


def _put(told: dict[str, Any], path: tuple[str | int, ...], value: object) -> None:
    here: Any = told
    for part, after in pairwise(path):
        empty: Any = [] if isinstance(after, int) else {}
        if isinstance(part, int):
            here += [{} for _ in range(part + 1 - len(here))]
            here = here[part]
        else:
            here = here.setdefault(part, empty)
    here[path[-1]] = value
