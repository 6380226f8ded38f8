"""Commented forms, written from the schemas: one line says what a key is, the next one offers it.

A line that offers a key begins with `#` and no blank: take the `#` away and it counts. The lines
that explain begin with `# `. The schema is the only source of both.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from textwrap import wrap
from typing import Any

import tomlkit

from tailsout.mapping import schemas

_WIDTH = 96
_PREFACE = (
    "Every key is optional unless it stands here without a # before it or is called needed. Take "
    "away the # of the lines you fill in, and of the [table] they stand under; repeat a [[table]] "
    "as often as you like. What is not known is said, never left empty: unknown, not applicable, "
    "not examined, none found, not recorded, withheld."
)
_NOT_OFFERED = frozenset({"absent", "inherited_from", "hours_since", "jottings"})
_MOST_INLINE = 3
"""Keys that a table of plain values may have to be written on one line."""

_Schema = Mapping[str, Any]


def blank(name: str, filled: Mapping[str, Any], *, short: bool = False) -> str:
    """Return a form of one schema, as `job-0.1`, with what is `filled` standing without its `#`.

    `filled` is nested as the form is. The short form offers only what changes from reel to reel.
    """
    schema = schemas.schema(name)
    top = [*_commented(str(schema["description"])), *_commented(_PREFACE)]
    body = "\n".join(_Writer(short=short).table(schema, (), filled)).strip("\n")
    return "\n".join([*top, "", body, ""])


def example_line(name: str, pointer: str) -> str:
    """Return the line by which the form of a schema offers the key at a JSON pointer.

    Empty where it has no such key, or where the key is a table of its own or stands in a list.
    """
    node, key = schemas.schema(name), ""
    for key in pointer.split("/")[1:]:
        if key in _NOT_OFFERED:
            return ""
        inside = node.get("properties", {key: node.get("items")}).get(key)
        if inside is None:
            return ""
        node = resolved(inside)
    is_offered = node.get("type") == "object" or "examples" in node
    if not key or key.isdecimal() or not is_offered or _is_table(node):
        return ""
    return f"{key} = {_example(node)}"


def _commented(text: str) -> Iterator[str]:
    yield from (f"# {line}" for line in wrap(text, _WIDTH - 2, break_on_hyphens=False))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Writer:
    short: bool

    def table(
        self, schema: _Schema, path: tuple[str, ...], filled: Mapping[str, Any]
    ) -> Iterator[str]:
        """Yield plain keys first: in TOML what follows a table's header belongs to that table."""
        entries = [(key, resolved(value)) for key, value in schema["properties"].items()]
        entries = [(k, v) for k, v in entries if k in filled or self._offers(k, v)]
        for key, value in entries:
            if not _is_table(value):
                needed = bool(path) and key in schema.get("required", ())
                yield from _key(key, value, filled, needed=needed)
        for key, value in entries:
            if _is_table(value):
                yield from self._inner(value, (*path, key), filled.get(key))

    def _offers(self, key: str, value: _Schema) -> bool:
        if key in _NOT_OFFERED:
            return False
        if not self.short:
            return True
        if _is_table(value):
            inside = resolved(value["items"]) if value.get("type") == "array" else value
            return any(self._offers(k, resolved(v)) for k, v in inside["properties"].items())
        return bool(value.get("short"))

    def _inner(self, schema: _Schema, path: tuple[str, ...], filled: Any) -> Iterator[str]:  # noqa: ANN401  what a form holds
        name = ".".join(path)
        many = schema.get("type") == "array"
        inside = resolved(schema["items"]) if many else schema
        header = f"[[{name}]]" if many else f"[{name}]"
        entries = filled if many else [filled] if filled is not None else []
        for one in entries or [None]:
            yield ""
            yield from _explained(str(schema["description"]), inside)
            yield header if one is not None else f"#{header}"
            yield from self.table(inside, path, one or {})


def _key(key: str, schema: _Schema, filled: Mapping[str, Any], *, needed: bool) -> Iterator[str]:
    text = str(schema["description"])
    yield from _explained(f"{text} Needed in this table." if needed else text, schema)
    if key in filled:
        yield f"{key} = {_literal(filled[key])}"
    else:
        yield f"#{key} = {_example(schema)}"


def _explained(text: str, schema: _Schema) -> Iterator[str]:
    words = schema.get("enum") or schema.get("items", {}).get("enum")
    told = f"{text} One of: {', '.join(words)}." if words else text
    yield from _commented(told)


def _example(schema: _Schema) -> str:
    if schema.get("type") == "object":
        pairs = ((k, resolved(v)) for k, v in schema["properties"].items() if k != "absent")
        return f"{{ {', '.join(f'{k} = {_example(v)}' for k, v in pairs)} }}"
    return _literal(schema["examples"][0])


def _literal(value: object) -> str:
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {_literal(inside)}' for key, inside in value.items())} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_literal(inside) for inside in value)}]"
    if isinstance(value, Decimal):
        return format(value, "f")
    return tomlkit.item(value).as_string()


def _is_table(schema: _Schema) -> bool:
    """Tell whether a value gets a header of its own; small tables of plain values are inline."""
    if schema.get("type") == "array":
        return "properties" in resolved(schema["items"])
    if schema.get("type") != "object":
        return False
    inside = [resolved(value) for key, value in schema["properties"].items() if key != "absent"]
    return len(inside) > _MOST_INLINE or any("examples" not in value for value in inside)


def resolved(schema: _Schema) -> _Schema:
    """Follow a reference; what stands beside it, such as a description, goes before."""
    reference = schema.get("$ref")
    if reference is None:
        return schema
    pointer = str(reference).partition("#")[2]
    target: Any = schemas.schema("sidecar-0.1")
    for part in pointer.split("/")[1:]:
        target = target[part]
    return resolved({**target, **{k: v for k, v in schema.items() if k != "$ref"}})
