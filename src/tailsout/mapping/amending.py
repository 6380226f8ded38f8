"""Changes the statements of a transfer, as plain data, at the places that a person names.

Nothing moves: an entry of a list keeps its number, so that every place that was ever printed or
answered stays what it was. What is withheld leaves the word behind.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Any, get_args

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable, samples_at
from tailsout.mapping import key_paths, schemas
from tailsout.mapping.key_paths import dotted
from tailsout.mapping.plain import json_line
from tailsout.records.amendment import StatementChange
from tailsout.records.vocab import Absence, StatementAct

WITHHELD = "withheld"
MOST_TEXT = 65_536
"""Characters of one value that are told as it was, or as it is now."""

_ABSENCES = frozenset(get_args(Absence))
_DOTTED = re.compile(r"[A-Za-z_0-9]+(\[[1-9][0-9]{0,5}\])*(\.[A-Za-z_0-9]+(\[[1-9][0-9]{0,5}\])*)*")
_STEP = re.compile(r"[A-Za-z_0-9]+|\[[0-9]+\]")
_IDENTITY = frozenset({"/job_id", "/package_id"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One statement that is to be changed."""

    at: str
    """As a person writes it: `reel.sides[1].id`, or a JSON pointer into the side-car."""
    change: StatementAct
    now: Any = None
    """None where it is withheld."""


def pointer_of(at: str) -> str:
    """Return a place as a JSON pointer into the transfer (RFC 6901).

    Raises MaterialError if it is neither a key nor a pointer to a statement.
    """
    if at.startswith("/"):
        start, pointer = at[: len("/transfer")], at[len("/transfer") :]
        if start != "/transfer" or not pointer.startswith("/"):
            raise MaterialError(
                "only what is stated can be changed, which stands below /transfer; what was "
                "measured is a fact of the file."
            )
        return pointer
    if not _DOTTED.fullmatch(at):
        raise MaterialError("it is not a key as check prints it, such as reel.sides[1].id.")
    steps = _STEP.findall(at)
    return "".join(f"/{int(s[1:-1]) - 1}" if s.startswith("[") else f"/{s}" for s in steps)


def change(transfer: dict[str, Any], wish: Wish) -> tuple[StatementChange, tuple[str, ...]]:
    """Change one statement in place; return what is told of it, and the texts that are withheld.

    Raises MaterialError if the place leads nowhere or there is nothing to be changed so.
    """
    pointer = pointer_of(wish.at)
    if pointer in _IDENTITY:
        raise MaterialError("it names the package and the job for ever.")
    wish = replace(wish, now=without_empties(wish.now))
    holder, key = _holder(transfer, pointer, adds=wish.change == "added")
    if wish.change != "added":
        _check_key(pointer)
    was = _value(holder, key)
    _check(wish, holder, key, was)
    told = StatementChange(
        at=f"/transfer{pointer}",
        change=wish.change,
        was=None if wish.change == "withheld" else _text(was),
        now=None if wish.change == "withheld" else _text(wish.now),
    )
    if wish.change == "withheld":
        _withhold(transfer, holder, key)
        return told, tuple(texts_of(was))
    _put(holder, key, wish.now)
    return told, ()


def _check_key(pointer: str) -> None:
    """Raise MaterialError for a key that no side-car has, with the nearest one."""
    steps = pointer.split("/")[1:]
    key = "".join("[]" if step.isdecimal() else f".{step}" for step in steps).removeprefix(".")
    if steps[0] == "extensions" or key_paths.is_known(key):
        return
    near = _numbered(key_paths.nearest(key), [step for step in steps if step.isdecimal()])
    hint = f"; did you mean {near!r}?" if near else "."
    raise MaterialError(f"a side-car has no key {printable(key, 200)!r}{hint}")


def _numbered(key: str, indices: list[str]) -> str:
    """Put the numbers of entries, counted from 1, where a key has the sign for each of them."""
    parts = key.split("[]")
    numbers = [f"[{int(one) + 1}]" for one in indices] if len(indices) == len(parts) - 1 else []
    return "".join(part + mark for part, mark in zip_longest(parts, numbers, fillvalue=""))


def at_rate(wish: Wish, transfer: Mapping[str, Any], rates: Mapping[str, int]) -> Wish:
    """Put sample positions where a wish has times, of a region or signal note or in one.

    `rates` has the sample rate of each capture by its id. Raises MaterialError as `pointer_of`.
    """
    above, _, key = pointer_of(wish.at).rpartition("/")
    if key in _TIMES and isinstance(wish.now, str):
        here: Any = transfer
        for part in above.split("/")[1:]:
            inside = here.get(part) if isinstance(here, Mapping) else None
            entries = here if isinstance(here, list | tuple) and part.isdecimal() else ()
            here = entries[int(part)] if entries and int(part) < len(entries) else inside
        capture = here.get("capture") if isinstance(here, Mapping) else None
        return replace(wish, now=_position(wish.now, rates.get(str(capture))))
    if isinstance(wish.now, Mapping) and "capture" in wish.now:
        rate = rates.get(str(wish.now["capture"]))
        timed = {k: _position(wish.now[k], rate) for k in _TIMES if k in wish.now}
        return replace(wish, now={**wish.now, **timed})
    return wish


_TIMES = ("start", "end")


def _position(value: object, rate: int | None) -> object:
    if rate is None or not isinstance(value, str):
        return value
    try:
        return samples_at(value, rate)
    except MaterialError:
        return value  # no time; the schema says what is wanted


def without_empties(value: Any) -> Any:  # noqa: ANN401  any JSON value
    """Leave out of tables what a side-car leaves out: empty lists and tables."""
    if isinstance(value, list):
        return [without_empties(inside) for inside in value]
    if not isinstance(value, dict):
        return value
    kept = {key: without_empties(inside) for key, inside in value.items()}
    return {key: inside for key, inside in kept.items() if inside not in ([], {})}


def texts_of(value: object) -> Iterator[str]:
    """Yield every text within a value, keys aside."""
    waiting = [value]
    while waiting:
        one = waiting.pop()
        if isinstance(one, str):
            yield one
        elif isinstance(one, Mapping):
            waiting.extend(inside for key, inside in one.items() if key != "absent")
        elif isinstance(one, list | tuple):
            waiting.extend(one)


def _holder(transfer: dict[str, Any], pointer: str, *, adds: bool) -> tuple[Any, str | int]:
    """Walk to the table or list that holds a place; return it, and the key or number in it.

    A list without entries is left out of a side-car: the first entry that is added makes it.
    """
    parts = [p.replace("~1", "/").replace("~0", "~") for p in pointer.split("/")[1:]]
    here: Any = transfer
    for count, part in enumerate(parts):
        key = _key(here, part)
        if count == len(parts) - 1:
            return here, key
        inside = _value(here, key)
        if adds and parts[count + 1 :] == ["0"] and isinstance(key, str) and key not in here:
            _put_value(here, key, [])
            inside = here[key]
        if inside is None:
            _check_key(pointer)
        if not isinstance(inside, dict | list):
            place = dotted("".join(f"/{one}" for one in parts[: count + 1]))
            raise MaterialError(
                f"there is no {place} to go into; add it as a whole."
                if inside is None
                else f"{place} is a single value, which holds nothing further."
            )
        here = inside
    raise MaterialError("it leads nowhere.")


def _key(holder: object, part: str) -> str | int:
    if not isinstance(holder, list):
        return part
    if not re.fullmatch(r"0|[1-9][0-9]{0,5}", part, re.ASCII):
        raise MaterialError(f"{part!r} is not a number of an entry; the list has {len(holder)}.")
    return int(part)


def _value(holder: Any, key: str | int) -> Any:  # noqa: ANN401  any JSON value
    """Return what stands at a place: a value, the word why there is none, or None."""
    if isinstance(key, int):
        return holder[key] if key < len(holder) else None
    value = holder.get(key)
    return holder.get("absent", {}).get(key) if value is None else value


def _check(wish: Wish, holder: Any, key: str | int, was: object) -> None:  # noqa: ANN401  JSON
    there = key < len(holder) if isinstance(key, int) else key in holder
    if wish.change == "added" and there:
        raise MaterialError("something stands there; it can be corrected or withheld.")
    nothing = was is None if wish.change == "corrected" else not there
    if wish.change != "added" and nothing:
        raise MaterialError(f"nothing stands there that could be {wish.change}.")
    if wish.change == "added" and isinstance(key, int) and key != len(holder):
        raise MaterialError(f"the list has {len(holder)}; the next one is {len(holder) + 1}.")
    if wish.change == "withheld":
        if wish.now is not None:
            raise MaterialError("what is withheld has no `now`.")
        if isinstance(key, int) and isinstance(was, dict | list):
            raise MaterialError("withhold a value in it, or the whole list: entries stay.")
        return
    _check_now(wish, was)


def _check_now(wish: Wish, was: object) -> None:
    if wish.now is None:
        raise MaterialError(f"what is {wish.change} needs a `now`.")
    if wish.now == was:
        raise MaterialError("that stands there already.")
    if wish.now in ([], {}):
        raise MaterialError("it is empty; say why there is nothing with an absence word.")
    if any(len(_text(one) or "") > MOST_TEXT for one in (was, wish.now)):
        raise MaterialError(f"it has more than {MOST_TEXT} characters; name a part of it.")


def _put(holder: Any, key: str | int, now: object) -> None:  # noqa: ANN401  JSON
    if isinstance(key, int):
        holder[key : key + 1] = [now]
    elif isinstance(now, str) and now in _ABSENCES and not _is_verbatim(key):
        _leave_word(holder, key, now)
    else:
        _put_value(holder, key, now)


def _put_value(holder: dict[str, Any], key: str, value: object) -> None:
    holder[key] = value
    words = {name: word for name, word in holder.get("absent", {}).items() if name != key}
    holder.pop("absent", None)
    if words:
        holder["absent"] = words


def _is_verbatim(key: str) -> bool:
    """Tell whether a key holds text to the letter, in which an absence word is a word."""
    definitions = schemas.schema("sidecar-0.1")["$defs"].values()
    return any(d.get("properties", {}).get(key, {}).get("verbatim") for d in definitions)


def _leave_word(holder: dict[str, Any], key: str, word: str) -> None:
    holder.pop(key, None)
    holder["absent"] = {**holder.get("absent", {}), key: word}


def _withhold(transfer: dict[str, Any], holder: Any, key: str | int) -> None:  # noqa: ANN401  JSON
    if isinstance(key, int):
        holder[key] = WITHHELD
        return
    before = set(schemas.faults(transfer, "sidecar-0.1", "transfer"))
    _leave_word(holder, key, WITHHELD)
    if set(schemas.faults(transfer, "sidecar-0.1", "transfer")) - before:
        # What is needed there cannot be absent: the word takes its place.
        _put_value(holder, key, WITHHELD)


def _text(value: object) -> str | None:
    return value if value is None or isinstance(value, str) else json_line(value)
