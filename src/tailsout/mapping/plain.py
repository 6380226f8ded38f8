"""Records → plain data and JSON octets, the same way everywhere; and back, after a schema.

Keys are the records' own field names. What is optional and not there is left out: None, and empty
lists and tables. Written sorted, UTF-8, LF; decimals as typed, so that 7.50 stays 7.50.
"""

import dataclasses
import threading
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar

import msgspec
import rfc8785

_Record = TypeVar("_Record")

# The library learns a record's shape when it first makes one, and two threads that teach it the
# same shape at once bring the interpreter down.
_making = threading.Lock()
_encoder = msgspec.json.Encoder(decimal_format="number", order="sorted")


def plain(value: object) -> Any:  # noqa: ANN401  any JSON value, with Decimal for numbers
    """Turn a record, or a collection of them, into dicts, lists and scalars."""
    if value is None or isinstance(value, str | int | Decimal):
        return value
    if isinstance(value, tuple | list):
        return [plain(inside) for inside in value]
    if isinstance(value, Mapping):
        return {str(key): plain(inside) for key, inside in value.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        pairs = ((name, needed, plain(getattr(value, name))) for name, needed in _keys(type(value)))
        return {name: inside for name, needed, inside in pairs if needed or not _is_empty(inside)}
    raise TypeError(f"a record holds {type(value).__name__}, which has no place in JSON")


def record(data: object, kind: type[_Record], *, strict: bool = True) -> _Record:
    """Make a record of plain data that its schema has passed; not `strict` takes a form's words."""
    with _making:
        return msgspec.convert(data, kind, strict=strict)


def json_page(value: object) -> bytes:
    """Write plain data as an indented JSON document, ending in LF."""
    return msgspec.json.format(_encoder.encode(value), indent=2) + b"\n"


def json_line(value: object) -> str:
    """Write plain data as one line of JSON, without the line end."""
    return _encoder.encode(value).decode("utf-8")


def canonical(value: object) -> bytes:
    """Write a record in the canonical form of RFC 8785, for comparing by digest."""
    return rfc8785.dumps(_with_floats(plain(value)))


def _with_floats(value: Any) -> Any:  # noqa: ANN401  any JSON value
    """Turn decimals into the doubles that RFC 8785 knows (§3.2.2.3)."""
    if isinstance(value, dict):
        return {key: _with_floats(inside) for key, inside in value.items()}
    if isinstance(value, list):
        return [_with_floats(inside) for inside in value]
    return float(value) if isinstance(value, Decimal) else value


@cache
def _keys(kind: type) -> tuple[tuple[str, bool], ...]:
    """Return the fields of a kind of record, and whether each stands there even if empty.

    The schema requires what has no default.
    """
    nothing = dataclasses.MISSING
    return tuple(
        (one.name, one.default is nothing and one.default_factory is nothing)
        for one in dataclasses.fields(kind)
    )


def _is_empty(value: object) -> bool:
    return value is None or (isinstance(value, list | dict) and not value)
