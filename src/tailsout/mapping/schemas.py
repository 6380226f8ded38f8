"""The one door through which JSON and form tables are checked against a schema.

JSON Schema 2020-12; the schemas are ours, found in the installed package or in a checkout. Nothing
is ever fetched: a reference that is not among them is an error. A schema that lies in a stranger's
package is never run.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import cache
from importlib import resources
from itertools import islice
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend
from referencing import Registry
from referencing.jsonschema import DRAFT202012

from tailsout.mapping import text_formats
from tailsout.mapping.schema_faults import Fault, faults_of
from tailsout.mapping.strict_json import MAX_DIGITS

URN = "urn:tailsout:schema:"
MAX_FAULTS = 1000

formats = FormatChecker(formats=())
formats.checks("date-time")(text_formats.is_date_time)
formats.checks("edtf", raises=ValueError)(text_formats.is_extended_date)
formats.checks("uri")(text_formats.is_uri)
formats.checks("country")(text_formats.is_country)
formats.checks("language")(text_formats.is_language)
formats.checks("date-or-time", raises=ValueError)(text_formats.is_date_or_time)


def _is_number(_checker: object, value: object) -> bool:
    """Tell whether a value is a number that strict JSON would read again; NaN is none."""
    if isinstance(value, Decimal):
        bounded = value.is_finite() and abs(value.adjusted()) <= MAX_DIGITS
        return bounded and len(str(value)) <= MAX_DIGITS
    return isinstance(value, int | float) and not isinstance(value, bool)


def _where_length_is_right(keyword: str) -> Callable[..., Iterator[ValidationError]]:
    """Ask for pattern or format only where the length is met: else that alone is told.

    Danger: some formats take a millisecond a character, and a stranger's text may be long.
    """
    judge = Draft202012Validator.VALIDATORS[keyword]

    def judged(
        validator: Any,  # noqa: ANN401  the library's own, untyped
        wanted: str,
        text: object,
        schema: Mapping[str, Any],
    ) -> Iterator[ValidationError]:
        length = len(text) if isinstance(text, str) else 0
        if schema.get("minLength", 0) <= length <= schema.get("maxLength", length):
            yield from judge(validator, wanted, text, schema)

    return judged


def _properties(
    validator: Any,  # noqa: ANN401  the library's own, untyped
    properties: Mapping[str, Any],
    table: object,
    schema: Mapping[str, Any],
) -> Iterator[ValidationError]:
    del schema
    if isinstance(table, dict):
        for key, wanted in properties.items():
            if key in table:
                yield from _inside(validator, wanted, table[key], at=key, part=(key,))


def _items(
    validator: Any,  # noqa: ANN401  the library's own, untyped
    wanted: Mapping[str, Any],
    entries: object,
    schema: Mapping[str, Any],
) -> Iterator[ValidationError]:
    """Look at as many entries as the schema allows: a stranger's list may be endless."""
    within = entries[: schema.get("maxItems")] if isinstance(entries, list) else []
    if "prefixItems" in schema:
        yield from Draft202012Validator.VALIDATORS["items"](validator, wanted, within, schema)
        return
    for index, entry in enumerate(within):
        yield from _inside(validator, wanted, entry, at=index)


_made: dict[int, Any] = {}
"""Validators by the identity of the part of a schema that each was made for, and holds."""


def _inside(
    validator: Any,  # noqa: ANN401  the library's own, untyped
    wanted: Mapping[str, Any],
    value: object,
    *,
    at: str | int,
    part: tuple[str, ...] = (),
) -> Iterator[ValidationError]:
    """Check what stands in a table or list, as the library's `descend` does.

    That makes a validator for each value anew, which takes longer than all the rest.
    """
    own = _made.get(id(wanted))
    if own is None:
        own = _made[id(wanted)] = validator.evolve(schema=wanted)
    for error in own.iter_errors(value):
        error.path.appendleft(at)
        error.schema_path.extendleft(part)
        yield error


_Validator = extend(
    Draft202012Validator,
    {
        "pattern": _where_length_is_right("pattern"),
        "format": _where_length_is_right("format"),
        "items": _items,
        "properties": _properties,
    },
    type_checker=Draft202012Validator.TYPE_CHECKER.redefine("number", _is_number),
)


def schema_text(name: str) -> bytes:
    """Return the octets of one schema file, by name and version, as `sidecar-0.1`.

    Raises FileNotFoundError if there is none of that name.
    """
    content: bytes = (_folder() / f"{name}.schema.json").read_bytes()
    return content


def schema_names() -> tuple[str, ...]:
    """Return the names of all schemas, sorted."""
    ending = ".schema.json"
    names = (entry.name for entry in _folder().iterdir() if entry.name.endswith(ending))
    return tuple(sorted(name.removesuffix(ending) for name in names))


def urn(name: str) -> str:
    """Return the `$id` of a schema, as `urn:tailsout:schema:sidecar:0.1`."""
    stem, _, version = name.rpartition("-")
    return f"{URN}{stem}:{version}"


@cache
def schema(name: str) -> Mapping[str, Any]:
    """Return one schema as plain data."""
    loaded: Mapping[str, Any] = json.loads(schema_text(name))
    return loaded


def faults(document: object, name: str, definition: str = "") -> tuple[Fault, ...]:
    """Return the faults of a document against one schema, MAX_FAULTS at most, in order of place.

    `definition` names one of its `$defs` to check against instead of the whole.
    """
    errors = tuple(islice(_validator(name, definition).iter_errors(document), MAX_FAULTS))
    # A number that should be whole, and is too small besides, has one fault: it is no such value.
    of_other_type = {tuple(error.absolute_path) for error in errors if error.validator == "type"}
    found = (
        fault
        for error in errors
        if error.validator == "type" or tuple(error.absolute_path) not in of_other_type
        for fault in faults_of(error)
    )
    # A pattern and a format missed by one value are one fault.
    once = dict.fromkeys(islice(found, MAX_FAULTS))
    return tuple(sorted(once, key=lambda f: (f.pointer, f.key, f.found, f.allowed)))


def _folder() -> Any:  # noqa: ANN401  a Traversable or a Path, which share no public type
    packed = resources.files("tailsout") / "schemas"
    if packed.is_dir():
        return packed
    return Path(__file__).resolve().parents[3] / "schemas"


@cache
def _registry() -> Registry[Any]:
    # Without `$schema`, which would bring back the library's own idea of a number.
    every = {
        urn(name): {key: value for key, value in schema(name).items() if key != "$schema"}
        for name in schema_names()
    }
    resources = ((one, DRAFT202012.create_resource(contents)) for one, contents in every.items())
    registry: Registry[Any] = Registry().with_resources(resources)
    return registry


@cache
def _validator(name: str, definition: str) -> Draft202012Validator:
    start = f"{urn(name)}#/$defs/{definition}" if definition else urn(name)
    return _Validator({"$ref": start}, registry=_registry(), format_checker=formats)
