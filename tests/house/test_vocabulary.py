"""Schema is master for shape, records for meaning: nothing stands in one that the other lacks."""

import dataclasses
import re
import types
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.findings import Severity, Verdict
from tailsout.mapping import schemas
from tailsout.records import vocab
from tailsout.records.transfer import SideCar
from tailsout.records.vocab import Absence

SIDECAR = schemas.schema("sidecar-0.1")
DEFINITIONS: Mapping[str, Any] = {
    name: one for name, one in SIDECAR["$defs"].items() if one.get("type") == "object"
}
WORDS = {name: get_args(one) for name, one in vars(vocab).items() if get_origin(one) is Literal}


def snake(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", "_", name).lower()


def parts(hint: Any) -> Iterator[Any]:
    """A type and every type inside it."""
    yield hint
    for inside in get_args(hint):
        yield from parts(inside)


def reachable(record: type) -> dict[str, type]:
    found: dict[str, type] = {}
    waiting = [record]
    while waiting:
        one = waiting.pop()
        if snake(one.__name__) not in found:
            found[snake(one.__name__)] = one
            waiting += [
                part
                for hint in get_type_hints(one).values()
                for part in parts(hint)
                if isinstance(part, type) and dataclasses.is_dataclass(part)
            ]
    return found


RECORDS = reachable(SideCar)


def schema_of(name: str) -> Mapping[str, Any]:
    return SIDECAR if name == "side_car" else DEFINITIONS[name]


def is_needed(field: dataclasses.Field[Any]) -> bool:
    """A count is needed too: left out of a file, it would read as none."""
    nothing = dataclasses.MISSING
    is_count = isinstance(field.default, int) and not isinstance(field.default, bool)
    return (field.default is nothing and field.default_factory is nothing) or is_count


def without_none(hint: Any) -> Any:
    if get_origin(hint) in {Union, types.UnionType}:
        (hint,) = (one for one in get_args(hint) if one is not type(None))
    return hint


def shape(hint: Any) -> tuple[str, Any]:
    """What a schema must say of a field's type."""
    hint = without_none(hint)
    origin, inside = get_origin(hint), get_args(hint)
    if origin is Literal:
        return "enum", list(inside)
    if origin is tuple:
        return "array", shape(inside[0])
    if origin is Mapping or hint is object:
        return "object", None
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return "record", snake(hint.__name__)
    return {str: "string", int: "integer", bool: "boolean", Decimal: "number"}[hint], None


def said(node: Mapping[str, Any]) -> tuple[str, Any]:
    """The same of a schema's node."""
    if "$ref" in node:
        name = node["$ref"].rpartition("/")[2]
        return ("string", None) if name == "when" else ("record", name)
    if "enum" in node:
        return "enum", node["enum"]
    if node.get("type") == "array":
        return "array", said(node["items"])
    return ("string" if "const" in node else node["type"]), None


def test_every_record_has_its_definition_and_every_definition_its_record() -> None:
    assert set(RECORDS) - {"side_car"} == set(DEFINITIONS)


@pytest.mark.parametrize("name", RECORDS)
def test_properties_are_the_fields(name: str) -> None:
    fields = {field.name for field in dataclasses.fields(RECORDS[name])}
    assert set(schema_of(name)["properties"]) == fields


@pytest.mark.parametrize("name", RECORDS)
def test_what_is_required_is_what_has_no_default(name: str) -> None:
    needed = {field.name for field in dataclasses.fields(RECORDS[name]) if is_needed(field)}
    assert set(schema_of(name)["required"]) == needed


@pytest.mark.parametrize("name", RECORDS)
def test_types_and_words_agree(name: str) -> None:
    hints = get_type_hints(RECORDS[name])
    for key, node in schema_of(name)["properties"].items():
        if key == "extra_algorithms":
            # Algorithms are named by RFC 8493 and the digests room, not by the vocabulary.
            assert set(node["items"]["enum"]) < set(ALGORITHMS)
            continue
        assert said(node) == shape(hints[key]), key


@pytest.mark.parametrize("name", RECORDS)
def test_only_what_is_optional_can_be_absent(name: str) -> None:
    node = schema_of(name)
    absent = node["properties"].get("absent")
    if absent is None:
        return
    optional = set(node["properties"]) - set(node["required"]) - {"absent"}
    assert set(absent["propertyNames"]["enum"]) == optional
    assert absent["additionalProperties"] == {"$ref": "#/$defs/absence"}


def test_what_people_state_can_be_absent_and_what_was_measured_or_is_asked_cannot() -> None:
    without = {name for name in RECORDS if "absent" not in schema_of(name)["properties"]}
    assert without == {
        "access_copy",
        "amendment",
        "answer",
        "at_rest",
        "audio_facts",
        "bag_asked",
        "calibration_facts",
        "care_intervals",
        "channel_facts",
        "channel_scale",
        "clipped_run",
        "copy_asked",
        "copy_step",
        "drive_rules",
        "dropout",
        "echo_side",
        "embedded_text",
        "file_change",
        "flutter_facts",
        "flutter_line",
        "found_tone",
        "gap",
        "hour_meter",
        "hours_since",
        "hum",
        "hum_level",
        "jotting",
        "kept_course",
        "kept_overview",
        "kept_spectrogram",
        "key_asked",
        "listening_sample",
        "names_asked",
        "overlap_asked",
        "pair_facts",
        "pcm",
        "possible_echo",
        "print_through",
        "region_channel",
        "region_facts",
        "region_sound",
        "response_fit",
        "role_asked",
        "scale",
        "side_car",
        "source_file",
        "spectral_line",
        "statement_change",
        "stop",
        "tag_asked",
        "term_list",
        "this_file",
        "tone_azimuth",
        "tone_channel",
        "tone_facts",
        "tone_level",
    }


def test_the_absence_words() -> None:
    assert tuple(SIDECAR["$defs"]["absence"]["enum"]) == get_args(Absence)


def test_every_list_of_words_is_used_and_no_other_is() -> None:
    used = {
        get_args(part)
        for record in RECORDS.values()
        for hint in get_type_hints(record).values()
        for part in parts(hint)
        if get_origin(part) is Literal
    }
    assert used == set(WORDS.values())
    assert len(set(WORDS.values())) == len(WORDS)


def test_no_word_stands_twice_in_a_list() -> None:
    for name, words in WORDS.items():
        assert len({word.casefold() for word in words}) == len(words), name


@pytest.mark.parametrize("name", ["job", "machine", "people", "recipient", "studio"])
def test_a_form_uses_the_side_cars_keys(name: str) -> None:
    form = schemas.schema(f"{name}-0.1")
    definition = {"job": "transfer", "people": "transfer"}.get(name, name)
    for key, node in form["properties"].items():
        if key == "absent":
            optional = set(form["properties"]) - set(form["required"]) - {"absent"}
            allowed = set(
                SIDECAR["$defs"][definition]["properties"]["absent"]["propertyNames"]["enum"]
            )
            assert set(node["propertyNames"]["enum"]) == optional & allowed
        elif "$ref" in node:
            wanted = f"urn:tailsout:schema:sidecar:0.1#/$defs/{definition}/properties/{key}"
            assert node["$ref"] == wanted
        else:
            # A job names its studio by a path and its recipient by an id.
            assert (name, key) in {("job", "studio"), ("job", "recipient")}


def test_each_form_holds_all_that_is_typed_into_it() -> None:
    def keys(name: str) -> set[str]:
        return set(schemas.schema(f"{name}-0.1")["properties"])

    computed = {"inherited_from", "hours_since"}
    for form, definition in (
        ("machine", "machine"),
        ("session", "session"),
        ("converter", "converter"),
        ("calibration-tape", "calibration_tape"),
    ):
        assert keys(form) == set(DEFINITIONS[definition]["properties"]) - computed, form
    assert keys("studio") == set(DEFINITIONS["studio"]["properties"])
    assert keys("recipient") == set(DEFINITIONS["recipient"]["properties"])
    inherited = {"machines", "sessions", "converters", "calibration_tapes", "jottings"}
    assert keys("job") == set(DEFINITIONS["transfer"]["properties"]) - inherited


FORMS = (
    "amendment-0.1",
    "calibration-tape-0.1",
    "converter-0.1",
    "job-0.1",
    "machine-0.1",
    "people-0.1",
    "recipient-0.1",
    "session-0.1",
    "studio-0.1",
)


def resolved(node: Mapping[str, Any]) -> Mapping[str, Any]:
    while "$ref" in node:
        target: Any = SIDECAR
        for part in node["$ref"].partition("#")[2].split("/")[1:]:
            target = target[part]
        node = {**target, **{key: one for key, one in node.items() if key != "$ref"}}
    return node


def keys_of(node: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every key of a form, at every depth; what only the program writes stands in no form."""
    for key, value in node["properties"].items():
        if key in {"absent", "inherited_from", "hours_since"}:
            continue
        one = resolved(value)
        inside = resolved(one["items"]) if one.get("type") == "array" else one
        yield f"{path}{key}", one
        if "properties" in inside:
            yield from keys_of(inside, f"{path}{key}.")


@pytest.mark.parametrize("name", FORMS)
def test_every_key_of_every_form_has_a_description_and_an_example(name: str) -> None:
    keys = dict(keys_of(schemas.schema(name)))
    assert keys
    for path, one in keys.items():
        assert re.fullmatch(r"[A-Z].*[.]", one["description"]), path
        is_table = "properties" in resolved(one.get("items", one))
        # The UUID of a job is never typed: `begin` writes it.
        assert is_table or path == "job_id" or one["examples"], path


@pytest.mark.parametrize("name", FORMS)
def test_every_example_is_allowed(name: str) -> None:
    """Only where a region or a note begins and ends does a form say more than a side-car."""
    for path, one in keys_of(schemas.schema(name)):
        times = {"start", "end"} if "regions" in path or "signal_notes" in path else set()
        for example in one.get("examples", ()) if path.rpartition(".")[2] not in times else ():
            validator = schemas._Validator(
                {key: value for key, value in one.items() if key != "properties"},
                registry=schemas._registry(),
                format_checker=schemas.formats,
            )
            assert list(validator.iter_errors(example)) == [], path


@pytest.mark.parametrize("name", ["check-0.1", "receipt-0.1"])
def test_verdicts_and_severities_of_what_is_told(name: str) -> None:
    properties = schemas.schema(name)["properties"]
    assert properties["verdict"]["enum"] == [verdict.value for verdict in Verdict]
    if "findings" in properties:
        severities = properties["findings"]["items"]["properties"]["severity"]["enum"]
        assert severities == [severity.value for severity in Severity]
