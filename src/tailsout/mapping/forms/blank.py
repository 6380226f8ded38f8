"""Commented forms, written from the schemas: one line says what a key is, the next one offers it.

A line that offers a key begins with `#` and no blank: take the `#` away and it counts. The lines
that explain begin with `# `. The schema is the only source of both.
"""

from collections.abc import Iterator, Mapping
from textwrap import wrap
from typing import Any

import tomlkit

from tailsout.mapping import schemas

_WIDTH = 96
_MOST_INLINE = 3
"""Keys that a table of plain values may have to be written on one line."""

_Schema = Mapping[str, Any]


def blank(name: str, given: Mapping[str, str]) -> str:
    """Return an empty form of one schema, as `job-0.1`, with the `given` values filled in.

    A key of `given` is a path with full stops, as `reel.identifiers.value`.
    """
    schema = schemas.schema(name)
    top = [f"# {schema['description']}", *_preface()]
    body = "\n".join(_table(schema, (), given)).strip("\n")
    return "\n".join([*top, "", body, ""])


def _preface() -> list[str]:
    text = (
        "Every key is optional unless it stands here without a # before it or is called needed. "
        "Take away the # of the lines you fill in, and of the [table] they stand under; repeat a "
        "[[table]] as often as you like. What is not known is said, never left empty: unknown, "
        "not applicable, not examined, none found, not recorded, withheld."
    )
    return [f"# {line}" for line in wrap(text, _WIDTH - 2)]


def _table(schema: _Schema, path: tuple[str, ...], given: Mapping[str, str]) -> Iterator[str]:
    """Yield plain keys first: in TOML what follows a table's header belongs to that table."""
    entries = [(key, _resolved(value)) for key, value in schema["properties"].items()]
    entries = [(key, value) for key, value in entries if key != "absent"]
    for key, value in entries:
        if not _is_table(value):
            needed = bool(path) and key in schema.get("required", ())
            yield from _key(".".join((*path, key)), value, given, needed=needed)
    for key, value in entries:
        if _is_table(value):
            yield from _inner(value, (*path, key), given)


def _inner(schema: _Schema, path: tuple[str, ...], given: Mapping[str, str]) -> Iterator[str]:
    name = ".".join(path)
    many = schema.get("type") == "array"
    inside = _resolved(schema["items"]) if many else schema
    yield ""
    yield from _explained(str(schema["description"]), inside)
    mark = "" if any(filled.startswith(f"{name}.") for filled in given) else "#"
    yield f"{mark}[[{name}]]" if many else f"{mark}[{name}]"
    yield from _table(inside, path, given)


def _key(name: str, schema: _Schema, given: Mapping[str, str], *, needed: bool) -> Iterator[str]:
    key = name.rpartition(".")[2]
    text = str(schema["description"])
    yield from _explained(f"{text} Needed in this table." if needed else text, schema)
    if name in given:
        yield f"{key} = {_literal(given[name])}"
    else:
        yield f"#{key} = {_example(schema)}"


def _explained(text: str, schema: _Schema) -> Iterator[str]:
    words = schema.get("enum") or schema.get("items", {}).get("enum")
    told = f"{text} One of: {', '.join(words)}." if words else text
    yield from (f"# {line}" for line in wrap(told, _WIDTH - 2))


def _example(schema: _Schema) -> str:
    if schema.get("type") == "object":
        pairs = ((k, _resolved(v)) for k, v in schema["properties"].items() if k != "absent")
        return f"{{ {', '.join(f'{k} = {_example(v)}' for k, v in pairs)} }}"
    return _literal(schema["examples"][0])


def _literal(value: object) -> str:
    return tomlkit.item(value).as_string()


def _is_table(schema: _Schema) -> bool:
    """Tell whether a value gets a header of its own; small tables of plain values are inline."""
    if schema.get("type") == "array":
        return "properties" in _resolved(schema["items"])
    if schema.get("type") != "object":
        return False
    inside = [_resolved(value) for key, value in schema["properties"].items() if key != "absent"]
    return len(inside) > _MOST_INLINE or any("examples" not in value for value in inside)


def _resolved(schema: _Schema) -> _Schema:
    """Follow a reference; what stands beside it, such as a description, goes before."""
    reference = schema.get("$ref")
    if reference is None:
        return schema
    pointer = str(reference).partition("#")[2]
    target: Any = schemas.schema("sidecar-0.1")
    for part in pointer.split("/")[1:]:
        target = target[part]
    return _resolved({**target, **{k: v for k, v in schema.items() if k != "$ref"}})
