"""The one door through which JSON and form tables are checked against a schema.

JSON Schema 2020-12; the schemas are ours, found in the installed package or in a checkout. Nothing
is ever fetched: a reference that is not among them is an error. A schema that lies in a stranger's
package is never run.
"""

import difflib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One place where a document departs from its schema."""

    pointer: str
    """JSON pointer (RFC 6901) to the value, or to the table that lacks a key."""
    key: str
    """The key concerned, where it is not the last part of the pointer."""
    found: str
    allowed: str
    nearest: str = ""
    """The nearest allowed word, where one is near."""
    is_strange_key: bool = False
    """True if the key is none that the schema knows."""
    wants_example: bool = False
    """True if an example of the value tells more than the name of its type."""
    given: object = field(default=None, compare=False)
    """The value itself, where it is of another type or form than wanted."""
    wanted: str = ""
    """The type that is wanted, in the schema's word; `date` is a day or a time, `tables` a list."""

    def __str__(self) -> str:
        text = f"{self.found}; {self.allowed}" if self.allowed else self.found
        return f"{text}; did you mean {self.nearest!r}?" if self.nearest else f"{text}."


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
        for fault in _told(error)
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


def _pointer(parts: Iterator[object]) -> str:
    return "".join("/" + str(p).replace("~", "~0").replace("/", "~1") for p in parts)


def _told(error: ValidationError) -> Iterator[Fault]:
    pointer = _pointer(iter(error.absolute_path))
    if error.validator == "additionalProperties":
        yield from _strange_keys(error, pointer)
    elif "propertyNames" in error.schema_path:
        yield _not_absent(error, pointer)
    else:
        yield _DESCRIBERS.get(str(error.validator), _other)(error, pointer)


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        cut = value if len(value) <= 60 else value[:60] + "…"
        return repr(cut)
    return str(value)


_TYPES = {
    "string": "text in quotes",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "object": "a table",
    "array": "a list",
}


def _type(error: ValidationError, pointer: str) -> Fault:
    type_ = str(error.validator_value)
    wanted = _TYPES.get(type_, type_)
    return Fault(
        pointer=pointer,
        key="",
        found=f"found {_shown(error.instance)}",
        allowed=f"allowed is {wanted}",
        wants_example=error.validator_value not in ("string", "boolean"),
        given=error.instance,
        wanted="tables" if wanted == "a list" and "examples" not in error.schema else type_,
    )


def _near(text: str, words: list[str]) -> str:
    """Return the word that a text most likely means, however it is spelled; empty if none is."""
    if len(text) > _LONGEST:
        return ""
    plainly = _plainly(text)
    known = {_plainly(word) or word: word for word in words}
    meant = known.get(plainly) or known.get(_ALSO.get(plainly, ""))
    if meant or len(plainly) < _SHORTEST:
        return meant or next(iter(difflib.get_close_matches(text, words, n=1)), "")
    beginning = [word for known_as, word in known.items() if known_as.startswith(plainly)]
    holding = [word for known_as, word in known.items() if plainly in known_as]
    held = [word for known_as, word in known.items() if len(known_as) > 2 and known_as in plainly]
    longest = max(held, key=len, default="")
    held = [longest] if longest and all(word in longest for word in held) else held
    for some in (beginning, holding, held):
        if some:  # where several would do, the wrong one is no help
            return some[0] if len(some) == 1 else ""
    close = difflib.get_close_matches(plainly, known, n=1, cutoff=0.6)
    return known[close[0]] if close else ""


_SHORTEST, _LONGEST = 3, 60
"""Characters of what is guessed at; no word is nearly so long, and comparing takes its time."""
_ALSO = {"music": "programme", "speech": "programme", "talk": "programme", "pet": "polyester"}
"""Words of the trade that stand for one of ours."""


def _plainly(word: str) -> str:
    """Return a word without what people spell now so, now otherwise."""
    word = word.casefold()
    for sign, said in (("1/4", "quarter"), ("¼", "quarter"), ("1/2", "half"), ("½", "half")):
        word = word.replace(sign, said)
    return "".join(c for c in word if c not in " _-")


_NOTHING = {
    **dict.fromkeys(("no", "none", "nothing", "nil"), "none found"),
    **dict.fromkeys(("", "?", "-"), "unknown"),
    "n/a": "not applicable",
}
"""What people write where there is nothing, and the absence word that says so."""


def _enum(error: ValidationError, pointer: str) -> Fault:
    words = [str(word) for word in error.validator_value]
    listed = ", ".join(words)
    found = f"found {_shown(error.instance)}"
    near = ""
    if isinstance(error.instance, str):
        near = _near(error.instance, words)
        # In a list stands what there is; for the whole of it an absence word may stand.
        is_in_list = isinstance(error.absolute_path[-1] if error.absolute_path else 0, int)
        near = near or ("" if is_in_list else _NOTHING.get(error.instance.strip().casefold(), ""))
    return Fault(pointer=pointer, key="", found=found, allowed=f"allowed: {listed}", nearest=near)


def _strange_keys(error: ValidationError, pointer: str) -> Iterator[Fault]:
    known = sorted(key for key in error.schema.get("properties", {}) if key != "absent")
    for strange in sorted(set(error.instance) - set(error.schema.get("properties", {}))):
        near = _near(strange, known)
        found = f"there is no key {_shown(strange)} here"
        allowed = "" if near else f"known keys: {', '.join(known)}"
        if strange == "absent":  # its writer wrote an absence word, which was moved there
            found, allowed, near = "an absence word stands here", "none may in this table", ""
        yield Fault(
            pointer=pointer,
            key=strange,
            found=found,
            allowed=allowed,
            nearest=near,
            is_strange_key=True,
        )


def _not_absent(error: ValidationError, pointer: str) -> Fault:
    return Fault(
        pointer=pointer.removesuffix("/absent"),
        key=error.instance,
        found=f"an absence word stands for {_shown(error.instance)}",
        allowed=f"one may stand for: {', '.join(error.validator_value)}",
    )


def _required(error: ValidationError, pointer: str) -> Fault:
    missing = [key for key in error.validator_value if key not in error.instance]
    # The library reports each missing key by itself; its message alone tells which.
    key = next((k for k in missing if repr(k) in error.message), missing[0])
    return Fault(pointer=pointer, key=key, found=f"{key!r} is missing", allowed="it is needed here")


def _length(error: ValidationError, pointer: str) -> Fault:
    if error.validator == "minLength":
        found, allowed = "found an empty text", "leave the key out, or say why it is not known"
    elif error.validator == "minItems":
        found, allowed = "found an empty list", "leave the key out"
    else:
        unit = "characters" if error.validator == "maxLength" else "entries"
        found = f"found {len(error.instance)} {unit}"
        allowed = f"allowed are at most {error.validator_value}"
    return Fault(pointer=pointer, key="", found=found, allowed=allowed)


def _form(error: ValidationError, pointer: str) -> Fault:
    about = str(error.schema.get("description", "another form")).rstrip(".")
    if error.validator_value == _ID:
        about = f"{about}; it has letters without accents, digits, - _ and . only"
    return Fault(
        pointer=pointer,
        key="",
        found=f"found {_shown(error.instance)}",
        allowed=f"wanted: {about}",
        wants_example=True,
        given=error.instance,
        wanted="date" if error.schema.get("format") == "date-or-time" else "",
    )


_ID = r"^[A-Za-z0-9_][A-Za-z0-9_.-]*$(?!\n)"
"""Pattern of the short names by which one part of a form points to another."""


def _bound(error: ValidationError, pointer: str) -> Fault:
    relation = {
        "minimum": "at least",
        "maximum": "at most",
        "exclusiveMinimum": "more than",
    }[str(error.validator)]
    return Fault(
        pointer=pointer,
        key="",
        found=f"found {_shown(error.instance)}",
        allowed=f"allowed is {relation} {error.validator_value}",
    )


def _const(error: ValidationError, pointer: str) -> Fault:
    return Fault(
        pointer=pointer,
        key="",
        found=f"found {_shown(error.instance)}",
        allowed=f"allowed is {error.validator_value}",
    )


def _other(error: ValidationError, pointer: str) -> Fault:
    return Fault(
        pointer=pointer,
        key="",
        found=f"found {_shown(error.instance)}",
        allowed=f"the schema's rule {error.validator!r} is not met",
    )


_DESCRIBERS = {
    "type": _type,
    "enum": _enum,
    "required": _required,
    "minLength": _length,
    "maxLength": _length,
    "minItems": _length,
    "maxItems": _length,
    "pattern": _form,
    "format": _form,
    "minimum": _bound,
    "maximum": _bound,
    "exclusiveMinimum": _bound,
    "const": _const,
}
