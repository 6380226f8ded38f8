"""Nothing that a transfer states is left out of the page that `tailsout show` prints.

Descriptions in the words of others leave out no more than they say.
"""

import dataclasses
import itertools
import types
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest

from tailsout.records import transfer as transfer_records
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Studio, Transfer
from tailsout.views import page
from tailsout.work.exports import VIEWS, View

NOT_FOR_PEOPLE = {
    ("Transfer", "job_id"): "a UUID that only programs compare",
    ("Region", "id"): "nothing points to it; a region is told by its place in a capture",
}


class Marks:
    """Values of which none stands twice, so that each can be looked for."""

    def __init__(self) -> None:
        self.numbers = itertools.count(1000001)

    def of(self, hint: Any) -> Any:
        if get_origin(hint) in {Union, types.UnionType}:
            (hint,) = (one for one in get_args(hint) if one is not type(None))
        origin, inside = get_origin(hint), get_args(hint)
        if dataclasses.is_dataclass(hint) and isinstance(hint, type):
            hints = get_type_hints(hint)
            return hint(**{f.name: self.of(hints[f.name]) for f in dataclasses.fields(hint)})
        if origin is tuple:
            return (self.of(inside[0]), self.of(inside[0]))
        if origin is Literal:
            return inside[0]
        if origin is Mapping:
            return {f"key{next(self.numbers)}": self.of(inside[1])}
        made: dict[Any, Callable[[], Any]] = {
            str: lambda: f"m{next(self.numbers)}",
            int: lambda: next(self.numbers),
            Decimal: lambda: Decimal(next(self.numbers)) / 10,
            bool: lambda: True,
        }
        return made[hint]()


def leaves(record: Any, build: Callable[[Any], Transfer]) -> Iterator[Any]:
    """Where each value stands, the value, and the whole transfer with another one there."""
    hints = get_type_hints(type(record))
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)

        def whole(changed: Any, name: str = field.name) -> Transfer:
            return build(dataclasses.replace(record, **{name: changed}))

        yield from _inside((type(record).__name__, field.name), hints[field.name], value, whole)


def _inside(
    at: tuple[str, str], hint: Any, value: Any, build: Callable[[Any], Transfer]
) -> Iterator[Any]:
    if dataclasses.is_dataclass(value):
        yield from leaves(value, build)
    elif isinstance(value, tuple):
        for index, one in enumerate(value):

            def whole(changed: Any, index: int = index) -> Transfer:
                return build((*value[:index], changed, *value[index + 1 :]))

            yield from _inside(at, hint, one, whole)
    else:
        yield at, hint, value, build


def words(hint: Any) -> tuple[str, ...]:
    """The words of a closed list, wherever it stands in a type."""
    if get_origin(hint) is Literal:
        return get_args(hint)
    return tuple(word for inside in get_args(hint) for word in words(inside))


def shown(transfer: Transfer, render: Any = page.render) -> str:
    text = render(Dossier(origin="received", transfer=transfer), (), {}).decode("utf-8")
    return " ".join(text.split())


FULL: Transfer = Marks().of(Transfer)
LEAVES = list(leaves(FULL, lambda transfer: transfer))


def left_out(render: Any = page.render, leaves: Any = LEAVES) -> set[tuple[str, str]]:
    """Record and field of every value that a page does not show."""
    text = shown(FULL, render)
    missing = set()
    for at, hint, value, build in leaves:
        if isinstance(value, bool):
            seen = shown(build(not value), render) != text
        elif words(hint) and isinstance(value, str):
            # A word may stand elsewhere too: another one must make another page.
            seen = shown(build(words(hint)[1]), render) != text
        elif isinstance(value, Mapping):
            seen = all(key in text for key in value)
        else:
            seen = str(value).removesuffix(".0") in text
        if not seen:
            missing.add(at)
    return missing


def test_every_field_of_every_record_is_on_the_page() -> None:
    assert left_out() == set(NOT_FOR_PEOPLE)


def test_all_records_and_fields_are_looked_for() -> None:
    looked_for = {at for at, *_ in LEAVES}
    assert len(looked_for) > 300
    assert {("Part", "frames"), ("Reading", "phase_deg"), ("Stop", "at")} <= looked_for


def test_a_field_that_is_left_out_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page, "_people", lambda _transfer: iter(()))
    missing = left_out()
    assert {one for one in missing if one[0] == "Studio"} == {
        ("Studio", field.name) for field in dataclasses.fields(Studio)
    }
    assert ("Session", "note") not in missing


def fields_within(record: Any) -> set[tuple[str, str]]:
    """Record and field of everything that lies in a record."""
    found = set()
    for name, hint in get_type_hints(record).items():
        found.add((record.__name__, name))
        for inside in _records(hint):
            found |= fields_within(inside)
    return found


def _records(hint: Any) -> Iterator[Any]:
    if dataclasses.is_dataclass(hint):
        yield hint
    for inside in get_args(hint):
        yield from _records(inside)


@pytest.mark.parametrize("view", [one for one in VIEWS if one.not_held], ids=lambda view: view.name)
def test_a_description_says_what_it_leaves_out(view: View) -> None:
    known = {record.__name__: record for record in _records_of_transfer()}
    once = {leaf[0]: leaf for leaf in LEAVES}
    missing = left_out(view.render, once.values())
    allowed = set(NOT_FOR_PEOPLE)
    for name in view.not_held:
        record, _, field = name.partition(".")
        within = {(record, field)} if field else fields_within(known[record])
        if field:
            for inside in _records(get_type_hints(known[record])[field]):
                within |= fields_within(inside)
        assert within & missing, f"{name} is held"
        allowed |= within
    assert missing <= allowed


def _records_of_transfer() -> set[Any]:
    found, waiting = set(), [transfer_records.Transfer]
    while waiting:
        record = waiting.pop()
        found.add(record)
        new = {one for hint in get_type_hints(record).values() for one in _records(hint)}
        waiting += new - found
    return found
