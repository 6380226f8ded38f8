"""JSON from strangers: RFC 8259, and nothing that a later reader could take otherwise.

Duplicate names, NaN, byte-order marks, half characters, U+FFFE, deep nesting and endless numbers
are refused; the standard library's reader would pass them or break on them.
"""

import json
import re
from decimal import Decimal, InvalidOperation
from typing import Any

MAX_JSON_OCTETS = 4 << 20
MAX_DEPTH = 64
MAX_DIGITS = 32


class StrictJsonError(ValueError):
    """The octets are not JSON that we accept."""


def load(content: bytes) -> Any:  # noqa: ANN401  any JSON value
    """Read JSON from a stranger: UTF-8, no duplicate names, no NaN, bounded depth and numbers.

    Numbers with a point or exponent become Decimal. Raises StrictJsonError in one sentence.
    """
    if len(content) > MAX_JSON_OCTETS:
        raise StrictJsonError(f"it holds more than {MAX_JSON_OCTETS >> 20} MiB")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise StrictJsonError(f"it is not UTF-8 at octet {error.start}") from None
    if text.startswith("\ufeff"):
        raise StrictJsonError("it begins with a byte-order mark")
    _check_depth(text)
    try:
        value = json.loads(
            text,
            object_pairs_hook=_no_duplicates,
            parse_constant=_no_constant,
            parse_int=_bounded_int,
            parse_float=_bounded_decimal,
        )
    except json.JSONDecodeError as error:
        raise StrictJsonError(
            f"it is not JSON at line {error.lineno}, column {error.colno}: {error.msg}"
        ) from None
    _check_text(value)
    return value


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) != len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]  # `add` returns None on purpose here
        raise StrictJsonError(f"the name {twice[:60]!r} stands twice in one object")
    return table


def _no_constant(word: str) -> None:
    raise StrictJsonError(f"{word} is not a JSON number")


def _bounded_int(digits: str) -> int:
    if len(digits) > MAX_DIGITS:
        raise StrictJsonError(f"a number has more than {MAX_DIGITS} digits")
    return int(digits)


def _bounded_decimal(digits: str) -> Decimal:
    if len(digits) > MAX_DIGITS:
        raise StrictJsonError(f"a number has more than {MAX_DIGITS} digits")
    try:
        value = Decimal(digits)
    except InvalidOperation:  # an exponent that even this type cannot hold
        value = Decimal("Infinity")
    if not value.is_finite() or abs(value.adjusted()) > MAX_DIGITS:
        raise StrictJsonError(f"the number {digits} is out of all bounds")
    return value


_NUL_OR_HALF = re.compile("[\x00\ud800-\udfff]")
# A string without an end runs to the end of the text, and nothing is tried twice: else a hostile
# text makes this take the square of its length.
_STRING_OR_BRACKET = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+(?:"|\\?\Z)|[\[{\]}]', re.DOTALL)


def _check_depth(text: str) -> None:
    """Refuse deep nesting before the parser recurses into it."""
    depth = 0
    for match in _STRING_OR_BRACKET.finditer(text):
        mark = match.group()
        if mark in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                raise StrictJsonError(f"it nests deeper than {MAX_DEPTH} levels")
        elif mark in "]}":
            depth -= 1


def _check_text(value: object) -> None:
    """Refuse lone surrogates and NUL, which cannot be written again or shown, and U+FFFE.

    That is not a character (Unicode §23.7): in the other order of octets it is a byte-order mark.
    """
    stack = [value]
    while stack:
        one = stack.pop()
        if isinstance(one, str):
            if _NUL_OR_HALF.search(one):
                raise StrictJsonError(f"the text {one[:40]!a} holds NUL or half a character")
            if "\ufffe" in one:
                raise StrictJsonError(
                    f"the text {one[:40]!a} holds U+FFFE, which is not a character"
                )
        elif isinstance(one, dict):
            stack.extend(one.keys())
            stack.extend(one.values())
        elif isinstance(one, list):
            stack.extend(one)
