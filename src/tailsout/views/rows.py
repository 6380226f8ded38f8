"""Rows of a page of plain text: a label and what is said of it.

Any record can be written, so that no field is left out for want of a line of its own.
"""

import dataclasses
from collections.abc import Iterable, Iterator
from decimal import Decimal
from functools import cache
from textwrap import wrap

from tailsout.ground.units import plain, printable, speed
from tailsout.mapping.history import equalisation_text
from tailsout.records.reel import Equalisation

_WIDTH = 92
_LABEL = 22
_PAGE_WIDTH = 96
MOST_ROWS = 200
"""Most lines of one table; programs are told all of them."""
_UNITS = {
    "percent": "%",
    "minutes": "min",
    "hours": "h",
    "seconds": "s",
    "months": "months",
    "octets": "octets",
    "dbfs": "dBFS",
    "dbtp": "dBTP",
    "lufs": "LUFS",
    "lu": "LU",
    "ips": "ips",
    "deg": "°",
    "nwb_m": "nWb/m",
    "hz": "Hz",
    "db": "dB",
    "us": "µs",
    "um": "µm",
    "mm": "mm",
    "in": "inches",
    "c": "°C",
    "m": "m",
}
"""What the last part of a key says of its number."""

_Lines = Iterator[str]


def heading(text: str) -> _Lines:
    """Yield a title of its own."""
    shown = printable(text)
    yield ""
    yield shown
    yield "-" * len(shown)


def row(label: str, value: str | None) -> _Lines:
    """Yield one labelled value, wrapped; nothing if there is no value."""
    if not value:
        return
    width = _WIDTH - _LABEL
    first, *rest = wrap(printable(value), width, break_on_hyphens=False) or [""]
    yield f"{printable(label):<{_LABEL - 1}} {first}"
    yield from (f"{'':<{_LABEL}}{line}" for line in rest)


def hung(label: str, text: str) -> _Lines:
    """Yield text beside a label of its own width, further lines of it below its first."""
    shown = printable(label, len(label))
    width = max(_PAGE_WIDTH - len(shown), 20)
    first, *rest = wrap(printable(text), width, break_on_hyphens=False) or [""]
    yield f"{shown}{first}".rstrip()
    yield from (f"{'':<{len(shown)}}{line}" for line in rest)


def table(titles: tuple[str, ...], cells: Iterable[tuple[str, ...]]) -> _Lines:
    """Yield columns: the first and the last run from the left, figures between from the right."""
    cells = list(cells)
    every = [titles, *cells[:MOST_ROWS]]
    widths = [max(len(line[n]) for line in every) for n in range(len(titles) - 1)]
    for first, *figures, last in every:
        shown = (f"{one:>{width}}" for one, width in zip(figures, widths[1:], strict=True))
        yield from hung("  ".join([f"{first:<{widths[0]}}", *shown, ""]), last)
    if len(cells) > MOST_ROWS:
        yield f"… and {len(cells) - MOST_ROWS} more"


def rows(record: object, *, but: Iterable[str] = ()) -> _Lines:
    """Yield every field of a record that is set, one row each; of a list, one row an entry."""
    for label, text in pairs(record, but=but):
        yield from row(label, text)


def pairs(record: object, *, but: Iterable[str] = ()) -> Iterator[tuple[str, str]]:
    """Yield the same as labels and texts."""
    left_out = {"absent", *but}
    for field in _fields(record):
        value = getattr(record, field)
        if field in left_out or value is None or value == ():
            continue
        label = _label(field)
        entries = value if isinstance(value, tuple) else (value,)
        if all(isinstance(one, str | int | Decimal) for one in entries):
            yield label, ", ".join(_value(field, one) for one in entries)
        else:
            yield from ((label, inline(one)) for one in entries)
    missing = "; ".join(absent(record))
    if missing:
        yield "not stated", missing


def inline(record: object, *, but: Iterable[str] = ()) -> str:
    """Write a record within a row: its values in order, named where that is needed."""
    if isinstance(record, Equalisation):
        curve = equalisation_text(record).replace(" us", " µs")
        return "; ".join(part for part in (curve, *absent(record)) if part)
    parts = []
    for field in _fields(record):
        value = getattr(record, field)
        if field in {"absent", *but} or value is None or value == ():
            continue
        entries = value if isinstance(value, tuple) else (value,)
        shown = ", ".join(
            f"({inline(one)})" if dataclasses.is_dataclass(one) else _value(field, one)
            for one in entries
        )
        named = isinstance(value, bool | int | Decimal) or field in _NAMED
        parts.append(f"{_label(field)}: {shown}" if named else shown)
    return "; ".join([*parts, *absent(record)])


_NAMED = frozenset(
    {
        "agent", "approved_by", "as_found", "as_left", "azimuth", "by", "colour", "converter",
        "converter_input", "decoder", "direction", "edges", "expected", "found", "from_date",
        "head_core", "held_with", "helper_reel", "inherited_from", "is_so", "kept_where",
        "lifters", "machine", "meter_switch", "mould", "new_text", "noise_reduction", "odour",
        "old_text", "opens_how", "original_name", "outcome", "output", "pass_id", "purity",
        "reading_point", "recorded_equalisation", "reel_size_supply", "reel_size_take_up",
        "rivals", "said", "said_by", "serial", "session", "set_up", "shedding", "started", "tape",
        "tape_ran", "to_date", "track", "why",
    }
)  # fmt: skip
"""Fields whose text says little without the name of the field."""


def _fields(record: object) -> list[str]:
    return [f.name for f in dataclasses.fields(record)] if dataclasses.is_dataclass(record) else []


@cache
def _parted(field: str) -> tuple[str, str]:
    """Return a field's label and the unit of its number; there are a few hundred fields."""
    for key, unit in _UNITS.items():
        if field.endswith(f"_{key}"):
            return field.removesuffix(f"_{key}").replace("_", " "), f" {unit}"
    return field.replace("_", " "), ""


def _label(field: str) -> str:
    return _parted(field)[0]


def _value(field: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.endswith("speed_ips") and isinstance(value, Decimal):
        return speed(value)
    unit = _parted(field)[1]
    if isinstance(value, Decimal):
        return f"{plain(value)}{unit}"
    return f"{value}{unit}" if isinstance(value, int) else str(value)


def absent(record: object) -> list[str]:
    """Say what is not there, and why: `number unknown`."""
    absent = getattr(record, "absent", {})
    return [f"{key.replace('_', ' ')} {absent[key]}" for key in sorted(absent)]


def without(record: object, field: str) -> str:
    """Write a record within a row, one field of it left out because it labels the row."""
    return inline(record, but=(field,))
