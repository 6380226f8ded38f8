"""What is wrong where a document departs from its schema, in words for whoever wrote it."""

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol


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


class ValidatorError(Protocol):
    """One error as the validator tells it; of its library nothing else is used here."""

    absolute_path: Sequence[Any]
    """Keys and indices that lead to the value."""
    schema_path: Sequence[Any]
    """Those that lead to the rule."""
    schema: Mapping[str, Any]
    """The part of the schema that holds the rule."""
    validator: Any
    """The rule's keyword."""
    validator_value: Any
    instance: Any
    """The value itself."""
    message: str


def _pointer(parts: Iterator[object]) -> str:
    return "".join("/" + str(p).replace("~", "~0").replace("/", "~1") for p in parts)


def faults_of(error: ValidatorError) -> Iterator[Fault]:
    """Say in words what one error of the validator comes to."""
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


def _type(error: ValidatorError, pointer: str) -> Fault:
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
    # Whoever writes "not adjusted" did not mean "adjusted".
    words = [word for word in words if _denies(word) == _denies(text)]
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


def _denies(words: str) -> bool:
    return re.match(r"(?:not?|never|without|non)\b|un", words.strip().casefold()) is not None


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


def _enum(error: ValidatorError, pointer: str) -> Fault:
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


def _strange_keys(error: ValidatorError, pointer: str) -> Iterator[Fault]:
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


def _not_absent(error: ValidatorError, pointer: str) -> Fault:
    return Fault(
        pointer=pointer.removesuffix("/absent"),
        key=error.instance,
        found=f"an absence word stands for {_shown(error.instance)}",
        allowed=f"one may stand for: {', '.join(error.validator_value)}",
    )


def _required(error: ValidatorError, pointer: str) -> Fault:
    missing = [key for key in error.validator_value if key not in error.instance]
    # The library reports each missing key by itself; its message alone tells which.
    key = next((k for k in missing if repr(k) in error.message), missing[0])
    return Fault(pointer=pointer, key=key, found=f"{key!r} is missing", allowed="it is needed here")


def _length(error: ValidatorError, pointer: str) -> Fault:
    if error.validator == "minLength":
        found, allowed = "found an empty text", "leave the key out, or say why it is not known"
    elif error.validator == "minItems":
        found, allowed = "found an empty list", "leave the key out"
    else:
        unit = "characters" if error.validator == "maxLength" else "entries"
        found = f"found {len(error.instance)} {unit}"
        allowed = f"allowed are at most {error.validator_value}"
    return Fault(pointer=pointer, key="", found=found, allowed=allowed)


def _form(error: ValidatorError, pointer: str) -> Fault:
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


def _bound(error: ValidatorError, pointer: str) -> Fault:
    relation = {
        "minimum": "at least",
        "maximum": "at most",
        "exclusiveMinimum": "more than",
    }[str(error.validator)]
    return _unmet(error, pointer, f"allowed is {relation} {error.validator_value}")


def _const(error: ValidatorError, pointer: str) -> Fault:
    return _unmet(error, pointer, f"allowed is {error.validator_value}")


def _other(error: ValidatorError, pointer: str) -> Fault:
    return _unmet(error, pointer, f"the schema's rule {error.validator!r} is not met")


def _unmet(error: ValidatorError, pointer: str, allowed: str) -> Fault:
    """Tell of a value that is not allowed where it stands."""
    return Fault(pointer=pointer, key="", found=f"found {_shown(error.instance)}", allowed=allowed)


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
