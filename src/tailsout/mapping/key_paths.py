"""Keys of the side-car as a recipient's form writes them: `reel.sides[].regions[].speed_ips`.

Full stops part the steps, `[]` stands behind a list whose entries are meant. The first step is a
key of the transfer, or `this_file`, of which there is one for each master.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import Any

from tailsout.ground.units import printable
from tailsout.mapping import schemas

THIS_FILE = "this_file"
_EACH = "[]"
_UNASKED_OF = frozenset({"leader", "scrap tape", "silence", "speed change", "blank"})
"""Regions that hold no recording: how it was made is not asked of them."""
_OF_EVERY_REGION = frozenset({"id", "kind", "capture", "start", "end"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """What stands at one place that a key means."""

    pointer: str
    """JSON pointer (RFC 6901) from the root that was looked into."""
    value: Any
    """None where nothing stands."""
    absence: str = ""
    """The word that says why nothing stands there, or in what holds it."""


def dotted(pointer: str, key: str = "") -> str:
    """Write a JSON pointer as a form's reader would: `reel.sides[2].id`, counted from 1."""
    shown = ""
    for part in pointer.split("/")[1:]:
        shown += f"[{int(part) + 1}]" if part.isdecimal() else f".{part}"
    if key:
        shown += f".{key}"
    return printable(shown.removeprefix("."), 200)


def is_known(key: str) -> bool:
    """Tell whether the vocabulary has a key."""
    return key in _every()


def nearest(key: str) -> str:
    """Return the known key that is nearest to one that is not; empty if none is near."""
    near = get_close_matches(key[:200], _every(), n=1, cutoff=0.6)
    return near[0] if near else ""


def words_of(key: str) -> tuple[str, ...]:
    """Return the closed list of words of a key; empty if it takes any text, or is no text."""
    node = _every()[key][0]
    inside = _resolved(node.get("items", {}))
    return tuple(node.get("enum", inside.get("enum", ())))


def may_be_left_out(key: str) -> bool:
    """Tell whether a key can be absent, in every table that it stands in."""
    return _every()[key][1]


def is_plain(key: str) -> bool:
    """Tell whether single values stand at a key, or lists of such: no tables."""
    node = _every()[key][0]
    inside = _resolved(node.get("items", {})) if node.get("type") == "array" else node
    return "properties" not in inside


def met(root: Mapping[str, Any], key: str) -> Iterator[Met]:
    """Yield what stands at every place that a key means, in plain data of a transfer.

    Of a list that has no entries nothing is yielded for what each of them should say; of regions
    without a recording, nothing that only a recording has.
    """
    yield from _met(root, key.split("."), "", "")


def _met(holder: Any, steps: list[str], pointer: str, absence: str) -> Iterator[Met]:  # noqa: ANN401  JSON
    step, rest = steps[0], steps[1:]
    name = step.removesuffix(_EACH)
    table = holder if isinstance(holder, Mapping) else {}
    value = table.get(name)
    here = f"{pointer}/{name}"
    word = table.get("absent", {}).get(name, "") or absence
    if not step.endswith(_EACH) or not rest:
        entries = value if value not in (None, [], {}) else None
        if not rest:
            yield Met(pointer=here, value=entries, absence="" if entries is not None else word)
        else:
            yield from _met(value, rest, here, word)
        return
    for index, one in enumerate(value if isinstance(value, list) else ()):
        if not _is_silent(name, one, rest[0]):
            yield from _met(one, rest, f"{here}/{index}", word)


def _is_silent(name: str, one: object, key: str) -> bool:
    kind = one.get("kind") if isinstance(one, Mapping) and name == "regions" else None
    return kind in _UNASKED_OF and key not in _OF_EVERY_REGION


@cache
def _every() -> Mapping[str, tuple[Mapping[str, Any], bool]]:
    """Return every key with its schema, and whether it may be left out."""
    definitions = schemas.schema("sidecar-0.1")["$defs"]
    found: dict[str, tuple[Mapping[str, Any], bool]] = {}
    waiting = [("", definitions["transfer"]), (f"{THIS_FILE}.", definitions[THIS_FILE])]
    found[THIS_FILE] = (definitions[THIS_FILE], False)
    while waiting:
        start, table = waiting.pop(0)
        absent = table["properties"].get("absent", {}).get("propertyNames", {}).get("enum", ())
        for name, value in table["properties"].items():
            if name == "absent":
                continue
            node = _resolved(value)
            key, optional = f"{start}{name}", name in absent
            found[key] = (node, optional)
            inside = node
            if node.get("type") == "array":
                key += _EACH
                found[key] = (node, optional)
                inside = _resolved(node["items"])
            if "properties" in inside:
                waiting.append((f"{key}.", inside))
    return found


def _resolved(node: Mapping[str, Any]) -> Mapping[str, Any]:
    while "$ref" in node:
        name = str(node["$ref"]).rpartition("/")[2]
        rest = {key: value for key, value in node.items() if key != "$ref"}
        node = {**schemas.schema("sidecar-0.1")["$defs"][name], **rest}
    return node
