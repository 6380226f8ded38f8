"""Two versions of a recipient's form → their differences, in plain words."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from tailsout.ground.units import plain as number
from tailsout.ground.units import printable
from tailsout.mapping.plain import plain
from tailsout.records.recipient import KeyAsked, Recipient, RoleAsked, TermList
from tailsout.records.recipient_changes import Asks, Change

_BY_ENTRY = frozenset({"asked", "terms", "roles", "embedded", "info", "copies"})
_LISTS: Mapping[str, tuple[str, str]] = {
    "extra_algorithms": ("a {} manifest is wanted now", "no {} manifest is wanted any more"),
    "marks": ("marks are wanted as {} now", "marks are no longer wanted as {}"),
    "images": ("a photograph of the {} is wanted now", "no photograph of the {} is wanted now"),
    "views": ("{} is wanted in the package now", "{} is no longer wanted in the package"),
    "withheld": ("{} must not travel any more", "{} may travel again"),
}
"""Lists of words, and what it means that one was added or removed."""


def changes(old: Recipient, new: Recipient) -> tuple[Change, ...]:
    """Return the differences between two forms, in the order of the form's keys.

    The name of the form's version, its source and the recipient's name ask nothing and are told
    only if they change.
    """
    found: list[Change] = []
    was, now = plain(old), plain(new)
    keys = [key for key in Recipient.__dataclass_fields__ if key != "absent"]
    for key in keys:
        if key in _BY_ENTRY:
            found += _ENTRIES[key](old, new)
        elif key in _LISTS:
            found += _list(key, was.get(key, ()), now.get(key, ()))
        else:
            found += _values(key, was.get(key), now.get(key))
    return tuple(found)


def _list(key: str, was: Sequence[str], now: Sequence[str]) -> Iterator[Change]:
    added, removed = _LISTS[key]
    for one in (word for word in now if word not in was):
        yield Change(part=key, asks="more", text=f"{added.format(printable(one, 200))}.")
    for one in (word for word in was if word not in now):
        yield Change(part=key, asks="less", text=f"{removed.format(printable(one, 200))}.")


def _values(part: str, was: Any, now: Any) -> Iterator[Change]:  # noqa: ANN401  any JSON value
    """Tell single values apart, and tables key by key."""
    if was == now:
        return
    if isinstance(was, dict) or isinstance(now, dict):
        one, other = was or {}, now or {}
        for key in dict.fromkeys((*one, *other)):
            yield from _values(f"{part}.{key}", one.get(key), other.get(key))
        return
    asks: Asks = "less" if now is None else "more" if was is None else "otherwise"
    if part in {"name", "version", "source"}:
        asks = "otherwise"
    if now is None:
        text = f"it was {_shown(was)}, and is asked no longer."
    elif was is None:
        text = f"it is {_shown(now)} now; nothing was asked."
    else:
        text = f"it is {_shown(now)} now, and was {_shown(was)}."
    yield Change(part=part, asks=asks, text=text)


def _shown(value: Any) -> str:  # noqa: ANN401  any JSON value
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return repr(printable(value, 200))
    if isinstance(value, list):
        return ", ".join(map(_shown, value)) or "empty"
    return number(value) if not isinstance(value, int) else str(value)


# Tables of which each is about something


def _asked(old: Recipient, new: Recipient) -> Iterator[Change]:
    was, now = ({one.key: one for one in form.asked} for form in (old, new))
    for key in dict.fromkeys((*was, *now)):
        part = f"asked {printable(key, 200)}"
        if key not in was:
            word = "wished for" if now[key].level == "recommended" else "required"
            text = f"it is {word} now; they take {_taken(now[key])}."
            yield Change(part=part, asks="more", text=text)
        elif key not in now:
            yield Change(part=part, asks="less", text="it is asked no longer.")
        else:
            yield from _asked_otherwise(part, was[key], now[key])


def _asked_otherwise(part: str, was: KeyAsked, now: KeyAsked) -> Iterator[Change]:
    if was.level != now.level:
        asks: Asks = "more" if now.level == "required" else "less"
        yield Change(part=part, asks=asks, text=f"it is {now.level} now, and was {was.level}.")
    for word in (one for one in was.absences if one not in now.absences):
        yield Change(part=part, asks="more", text=f"{word!r} will no longer do.")
    for word in (one for one in now.absences if one not in was.absences):
        yield Change(part=part, asks="less", text=f"{word!r} will do now.")


def _taken(one: KeyAsked) -> str:
    return f"a value or {' or '.join(map(repr, one.absences))}" if one.absences else "a value only"


def _terms(old: Recipient, new: Recipient) -> Iterator[Change]:
    was, now = ({one.key: one for one in form.terms} for form in (old, new))
    for key in dict.fromkeys((*was, *now)):
        part = f"terms {printable(key, 200)}"
        if key not in was:
            words = ", ".join(printable(word) for word in now[key].words)
            yield Change(part=part, asks="more", text=f"only these words are taken now: {words}.")
        elif key not in now:
            yield Change(part=part, asks="less", text="any word is taken now.")
        else:
            yield from _words(part, was[key], now[key])


def _words(part: str, was: TermList, now: TermList) -> Iterator[Change]:
    gone = [printable(word) for word in was.words if word not in now.words]
    new = [printable(word) for word in now.words if word not in was.words]
    if gone:
        yield Change(part=part, asks="more", text=f"taken no longer: {', '.join(gone)}.")
    if new:
        yield Change(part=part, asks="less", text=f"taken now, too: {', '.join(new)}.")


def _roles(old: Recipient, new: Recipient) -> Iterator[Change]:
    was, now = ({one.role: one for one in form.roles} for form in (old, new))
    for role in dict.fromkeys((*was, *now)):
        one, other = was.get(role, RoleAsked(role=role)), now.get(role, RoleAsked(role=role))
        part = f"roles {role}"
        if bool(one.required) != bool(other.required):
            asks: Asks = "more" if other.required else "less"
            text = f"{role} files are {'' if other.required else 'no longer '}required."
            yield Change(part=part, asks=asks, text=text)
        for key in ("folder", "suffix"):
            yield from _values(f"{part} {key}", getattr(one, key), getattr(other, key))


def _embedded(old: Recipient, new: Recipient) -> Iterator[Change]:
    was, now = ({f"{o.chunk} {o.field}": o.text for o in form.embedded} for form in (old, new))
    for key in dict.fromkeys((*was, *now)):
        yield from _values(f"embedded {printable(key)}", was.get(key), now.get(key))


def _info(old: Recipient, new: Recipient) -> Iterator[Change]:
    was, now = ({one.id: one for one in form.info} for form in (old, new))
    for key in dict.fromkeys((*was, *now)):
        for name in ("says", "text"):
            one, other = (getattr(form.get(key), name, None) for form in (was, now))
            yield from _values(f"info {key} {name}", one, other)


def _copies(old: Recipient, new: Recipient) -> Iterator[Change]:
    was, now = (
        {f"{one.format} for each {one.per or 'file'}": plain(one) for one in form.copies}
        for form in (old, new)
    )
    for key in dict.fromkeys((*was, *now)):
        part = f"copies {key}"
        if key not in was:
            yield Change(part=part, asks="more", text="such an access copy is wanted now.")
        elif key not in now:
            yield Change(part=part, asks="less", text="no such access copy is wanted any more.")
        elif was[key] != now[key]:
            fields = [
                name for name in now[key] | was[key] if was[key].get(name) != now[key].get(name)
            ]
            text = f"another one is wanted: {', '.join(fields)} differ."
            yield Change(part=part, asks="otherwise", text=text)


_ENTRIES: Mapping[str, Callable[[Recipient, Recipient], Iterator[Change]]] = {
    "asked": _asked,
    "terms": _terms,
    "roles": _roles,
    "embedded": _embedded,
    "info": _info,
    "copies": _copies,
}
