"""Records whose every text is a stranger's, and a small honest dossier."""

import dataclasses
import types
from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest

from tailsout.records.dossier import Dossier

HOSTILE = "\x1b[2J\u202e\x9b\u2028\udc80\x00<b>"
ESCAPED = "\\x1b[2J\\u202e\\x9b\\u2028\\udc80\\x00<b>"


def filled(record: Any, text: str = HOSTILE) -> Any:
    """An instance with something in every field, and `text` wherever text may stand."""
    return record(**{name: _value(one, text) for name, one in get_type_hints(record).items()})


def _value(hint: Any, text: str) -> Any:
    origin, inside = get_origin(hint), get_args(hint)
    made: Any = {str: text, int: 48_000, bool: True, object: text}.get(hint)
    if dataclasses.is_dataclass(hint) or hasattr(hint, "_fields"):
        made = filled(hint, text)
    elif hint is Decimal:
        made = Decimal("7.5")
    elif isinstance(hint, type) and issubclass(hint, StrEnum):
        made = next(iter(hint))
    elif origin in {Union, types.UnionType}:
        made = _value(next(one for one in inside if one is not type(None)), text)
    elif origin is Literal:
        made = inside[0]
    elif origin is tuple:
        many = inside[:1] if inside[-1] is Ellipsis else inside
        made = tuple(_value(one, text) for one in many)
    elif origin is Mapping:
        made = {text: _value(inside[1], text)}
    elif origin is frozenset:
        made = frozenset()
    if made is None:
        raise TypeError(f"nothing is drawn for {hint}")
    return made


@pytest.fixture(scope="session")
def hostile() -> Dossier:
    dossier: Dossier = filled(Dossier)
    return dossier


@pytest.fixture(scope="session")
def stranger() -> tuple[str, str]:
    """The hostile text, and as it may be shown."""
    return HOSTILE, ESCAPED
