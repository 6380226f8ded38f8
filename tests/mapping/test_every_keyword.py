"""Every keyword of the schemas that judge what people or strangers wrote refuses something.

For each one the smallest document that reaches it is made to break it. The schemas as they are
refuse that document; without the keyword they take it. So no keyword stands there for nothing.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pytest
from referencing import Registry
from referencing.jsonschema import DRAFT202012

from tailsout.mapping import schemas

JUDGING = (
    "amendment-0.1",
    "amendments-0.1",
    "bagit-profile-0.1",
    "calibration-tape-0.1",
    "converter-0.1",
    "job-0.1",
    "logbook-0.1",
    "machine-0.1",
    "people-0.1",
    "recipient-0.1",
    "session-0.1",
    "sidecar-0.1",
    "studio-0.1",
)
NO_CONSTRAINTS = frozenset(
    {"$defs", "$id", "$schema", "description", "examples", "properties", "short", "title"}
    | {"verbatim"}
)
"""`properties` alone refuses nothing; what stands in it is looked at by itself."""

ALSO_CAUGHT = {
    # keyword, one beside it: why both stand there
    ("minLength", "pattern"): "an empty text is told as one, not as a text of another form",
    ("minLength", "format"): "the same",
    ("maxLength", "date-or-time"): "bounds what a stranger's text costs before its pattern is run",
    ("pattern", "country"): "the list of countries may be asked for two letters only",
    ("pattern", "language"): "the list of languages may be asked for three letters only",
}
"""Keywords whose every breach another one catches too: without them it is told otherwise."""

TEXTS = {
    "^[0-9a-f]{64}$(?!\\n)": "5a" * 32,
    "^[0-9a-f]{128}$(?!\\n)": "5a" * 64,
    "^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$(?!\\n)": (
        "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"
    ),
    "date-time": "2026-03-14T10:20:00Z",
    "date-or-time": "2026-03-14",
    "language": "eng",
}
"""A good text by pattern or format, where the schema gives no example."""
NOT_OF_THE_FORMAT = {
    "date-time": "2026-02-30T10:20:00Z",
    "date-or-time": "2026-02-30",
    "edtf": "tuesday",
    "uri": "no uri",
    "country": "ZZ",
    "language": "zzz",
}
"""What only the format refuses: every pattern beside it is met."""
TOO_LONG = {
    "date-time": "2026-03-14T10:20:00." + "0" * 20 + "Z",
    "edtf": "[" + ",".join(["1667"] * 13) + "]",
    "uri": "http://example.org/" + "a" * 1000,
    "^-?[0-9]{1,5}( -?[0-9]{1,5})*$(?!\\n)": "0" + " 0" * 3000,
    "^[0-9]{1,5}( [0-9]{1,5})*$(?!\\n)": "0" + " 0" * 3000,
    "^[0-9]{1,6}( [0-9]{1,6})*$(?!\\n)": "0" + " 0" * 3000,
    "^[0-9]{1,3}( [0-9]{1,3})*$(?!\\n)": "0" + " 0" * 3000,
}
"""Texts without end that the format or the pattern takes."""
OF_NO_PATTERN = {"date-or-time": "2026-03-14T10:20:00.5Z", "country": "ie", "language": "ENG"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One node of a schema, and how to put a value where it applies."""

    name: str
    """Schema and JSON pointer of the node."""
    node: dict[str, Any]
    holder: Callable[[Any], Any]
    """Value → the smallest whole document that has it there."""


def _with_short_lists(node: dict[str, Any]) -> dict[str, Any]:
    """Bound lists at a hundred entries: a list over 65535 takes long and asks the same."""
    longest = node.get("maxItems")
    return {**node, "maxItems": min(longest, 100)} if isinstance(longest, int) else node


class Schemas:
    """Schemas of one's own, from which keywords can be taken."""

    def __init__(self) -> None:
        self.by_urn: dict[str, Any] = {}
        for name in schemas.schema_names():
            loaded = json.loads(schemas.schema_text(name), object_hook=_with_short_lists)
            loaded.pop("$schema")  # as the validator's own door does
            self.by_urn[schemas.urn(name)] = loaded
        resources = (
            (urn, DRAFT202012.create_resource(contents)) for urn, contents in self.by_urn.items()
        )
        self.registry: Registry[Any] = Registry().with_resources(resources)
        self.validators = {
            name: schemas._Validator(
                {"$ref": schemas.urn(name)},
                registry=self.registry,
                format_checker=schemas.formats,
            )
            for name in JUDGING
        }

    def refused(self, document: object, name: str) -> list[tuple[str, str]]:
        """Place and keyword of everything the schema has against a document."""
        schemas._made.clear()  # a keyword may have been taken away since
        errors = self.validators[name].iter_errors(document)
        return sorted((error.json_path, str(error.validator)) for error in errors)

    def target(self, reference: str, at: str) -> tuple[str, Any]:
        """Where a reference leads: schema and pointer, and the node."""
        urn, _, pointer = reference.partition("#")
        urn = urn or at.partition("#")[0]
        node = self.by_urn[urn]
        for part in pointer.split("/")[1:]:
            node = node[part]
        return f"{urn}#{pointer}", node

    def smallest(self, node: Mapping[str, Any], at: str) -> Any:
        """The smallest value that a node allows."""
        if "$ref" in node:
            inner, target = self.target(node["$ref"], at)
            return self.smallest(target, inner)
        if "const" in node or "enum" in node:
            return node.get("const", node.get("enum", [None])[0])
        kind = node["type"]
        if kind == "object":
            inside = node.get("properties", {})
            return {
                key: self.smallest(inside[key], f"{at}/properties/{key}")
                for key in node.get("required", ())
            }
        if kind == "string":
            known = TEXTS.get(node.get("pattern", "")) or TEXTS.get(node.get("format", ""))
            return known or node.get("examples", ["a"])[0]
        least = node.get("minimum", node.get("exclusiveMinimum", -1) + 1)
        return {"array": [], "boolean": True, "integer": least, "number": least}[kind]

    def spots(self, name: str) -> list[Spot]:
        """Every node of one schema that a document of it reaches, once."""
        found: dict[str, Spot] = {}
        start = f"{schemas.urn(name)}#"
        self._walk(self.by_urn[schemas.urn(name)], start, lambda value: value, found)
        return [spot for spot in found.values() if spot.name.startswith(start)]

    def _walk(
        self,
        node: dict[str, Any],
        at: str,
        holder: Callable[[Any], Any],
        found: dict[str, Spot],
    ) -> None:
        if at in found:
            return
        found[at] = Spot(name=at, node=node, holder=holder)
        if "$ref" in node:
            inner, target = self.target(node["$ref"], at)
            self._walk(target, inner, holder, found)
        for key, inside in node.get("properties", {}).items():
            self._walk(inside, f"{at}/properties/{key}", self._in(node, at, key, holder), found)
        if "items" in node:
            self._walk(node["items"], f"{at}/items", lambda value: holder([value]), found)
        if "propertyNames" in node:
            within = f"{at}/propertyNames"
            inside = self._of_any_key(node, at)
            self._walk(node["propertyNames"], within, lambda k: holder({k: inside}), found)
        more = node.get("additionalProperties")
        if isinstance(more, dict):
            key = node.get("propertyNames", {}).get("enum", ["x"])[0]
            within = f"{at}/additionalProperties"
            self._walk(more, within, lambda value: holder({key: value}), found)

    def _of_any_key(self, node: dict[str, Any], at: str) -> Any:
        """A value that a table takes under any key it allows."""
        return self.smallest(node["additionalProperties"], f"{at}/additionalProperties")

    def _in(
        self, node: dict[str, Any], at: str, key: str, holder: Callable[[Any], Any]
    ) -> Callable[[Any], Any]:
        return lambda value: holder({**self.smallest(node, at), key: value})

    def breaches(self, spot: Spot) -> Iterator[tuple[str, Any, Callable[[], Callable[[], None]]]]:
        """Keyword, a value that breaks it, and how to take it away and put it back."""
        for keyword in sorted(set(spot.node) - NO_CONSTRAINTS):
            if keyword == "required":
                for key in spot.node["required"]:
                    whole = self.smallest(spot.node, spot.name)
                    lacking = {k: v for k, v in whole.items() if k != key}
                    yield f"required {key}", lacking, self._without_key(spot.node, key)
            else:
                yield keyword, self._broken(keyword, spot), self._without(spot.node, keyword)

    def _without(self, node: dict[str, Any], keyword: str) -> Callable[[], Callable[[], None]]:
        def take() -> Callable[[], None]:
            kept = node.pop(keyword)
            return lambda: node.__setitem__(keyword, kept)

        return take

    def _without_key(self, node: dict[str, Any], key: str) -> Callable[[], Callable[[], None]]:
        def take() -> Callable[[], None]:
            kept = node["required"]
            node["required"] = [one for one in kept if one != key]
            return lambda: node.__setitem__("required", kept)

        return take

    def _broken(self, keyword: str, spot: Spot) -> Any:
        node, value = spot.node, spot.node[keyword]
        style = node.get("format", "")
        if keyword == "maxItems":
            one = self.smallest(node["items"], f"{spot.name}/items")
            return [one] * (value + 1)
        if keyword == "additionalProperties":
            key = node.get("propertyNames", {}).get("enum", ["x"])[0]
            extra: dict[str, Any] = {key: []} if isinstance(value, dict) else {"zzz": 1}
            return {**self.smallest(node, spot.name), **extra}
        made: dict[str, Callable[[], Any]] = {
            "$ref": lambda: None,
            "items": lambda: [None],
            "type": lambda: {"string": 7, "object": "x", "array": {}}.get(value, "x"),
            "enum": lambda: "no such word",
            "const": lambda: "another",
            "propertyNames": lambda: {"zzz": self._of_any_key(node, spot.name)},
            "minLength": lambda: "",
            "maxLength": lambda: TOO_LONG.get(style or node.get("pattern", ""), "a" * (value + 1)),
            "maxProperties": lambda: {f"k{n}": "a" for n in range(value + 1)},
            "minimum": lambda: value - node.get("multipleOf", 1),
            "exclusiveMinimum": lambda: value,
            "maximum": lambda: value + node.get("multipleOf", 1),
            "multipleOf": lambda: node["minimum"] + 1,
            "format": lambda: NOT_OF_THE_FORMAT[style],
            "pattern": lambda: OF_NO_PATTERN.get(style, "!"),
        }
        return made[keyword]()


@pytest.fixture(scope="module")
def own() -> Schemas:
    return Schemas()


def also_caught(keyword: str, node: Mapping[str, Any]) -> bool:
    beside = {*node, node.get("format")}
    return any(keyword == one and other in beside for one, other in ALSO_CAUGHT)


def room_of(spot: Spot) -> str:
    """The definition a node stands in; empty at the top."""
    pointer = spot.name.partition("#")[2]
    return pointer.split("/")[2] if pointer.startswith("/$defs/") else ""


def idle(own: Schemas, name: str, room: str) -> tuple[int, list[tuple[str, str]]]:
    """How many keywords were taken away, and those that nothing depended on."""
    count = 0
    found = []
    for spot in own.spots(name):
        if room_of(spot) != room:
            continue
        for keyword, value, take in own.breaches(spot):
            count += 1
            document = spot.holder(value)
            refused = own.refused(document, name)
            put_back = take()
            without = own.refused(document, name)
            put_back()
            told = without != refused if also_caught(keyword, spot.node) else not without
            if not refused or not told:
                found.append((spot.name, keyword))
    return count, found


ROOMS = [
    pytest.param(name, room, id=f"{name}:{room}".rstrip(":"))
    for name in JUDGING
    for room in ("", *schemas.schema(name).get("$defs", {}))
]


@pytest.mark.parametrize(("name", "room"), ROOMS)
def test_each_keyword_taken_away_lets_something_through(own: Schemas, name: str, room: str) -> None:
    count, found = idle(own, name, room)
    assert found == []
    assert count > 0


def test_a_keyword_that_refuses_nothing_is_found() -> None:
    changed = Schemas()
    urn = schemas.urn("sidecar-0.1")
    at = changed.by_urn[urn]["$defs"]["stop"]["properties"]["at"]
    at["pattern"] = "^"
    found = [(f"{urn}#/$defs/stop/properties/at", "pattern")]
    assert idle(changed, "sidecar-0.1", "stop")[1] == found


def test_what_also_catches_is_still_needed(own: Schemas) -> None:
    """A pair that no schema holds any more would excuse a keyword for nothing."""
    nodes = [spot.node for name in JUDGING for spot in own.spots(name)]
    for keyword, other in ALSO_CAUGHT:
        assert any(keyword in node and other in {*node, node.get("format")} for node in nodes)


def test_every_node_is_reached(own: Schemas) -> None:
    """Nothing of the side-car's schema lies where no side-car leads."""
    reached = {room_of(spot) for spot in own.spots("sidecar-0.1")}
    assert reached == {"", *schemas.schema("sidecar-0.1")["$defs"]}
