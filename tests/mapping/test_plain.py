import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import pytest

from tailsout.mapping.plain import json_line, json_page, plain


@dataclass(frozen=True, slots=True, kw_only=True)
class Inner:
    size: int | None = None
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outer:
    title: str
    inner: Inner
    needed: tuple[str, ...]
    many: tuple[Inner, ...] = ()
    maybe: Inner | None = None
    speed: Decimal | None = None
    kept: bool | None = None
    notes: Mapping[str, object] = field(default_factory=dict)


def outer(**more: Any) -> Outer:
    return Outer(**{"title": "x", "inner": Inner(), "needed": (), **more})


def test_what_is_not_there_is_left_out_unless_it_is_needed() -> None:
    assert plain(outer()) == {"title": "x", "inner": {}, "needed": []}
    assert plain(outer(maybe=Inner())) == plain(outer())
    assert plain(Inner()) == {}


def test_naughts_and_falsehoods_are_there() -> None:
    record = outer(title="", inner=Inner(size=0), kept=False, speed=Decimal(0))
    assert plain(record) == {
        "title": "",
        "inner": {"size": 0},
        "needed": [],
        "kept": False,
        "speed": Decimal(0),
    }


def test_records_inside_records_and_lists() -> None:
    record = outer(inner=Inner(size=1), many=(Inner(names=("a", "b")), Inner()), notes={"k": [1]})
    assert plain(record) == {
        "title": "x",
        "inner": {"size": 1},
        "needed": [],
        "many": [{"names": ["a", "b"]}, {}],
        "notes": {"k": [1]},
    }


def test_an_open_table_keeps_what_is_empty() -> None:
    notes: dict[str, object] = {"none": None, "list": [], "table": {}, "text": ""}
    assert plain(outer(notes=notes))["notes"] == notes


@pytest.mark.parametrize("value", [1.5, b"octets", {1, 2}, object()])
def test_what_has_no_place_in_json_is_refused(value: object) -> None:
    with pytest.raises(TypeError, match="has no place in JSON"):
        plain(outer(notes={"k": value}))


def test_a_page_is_sorted_indented_utf8_with_lf() -> None:
    value = {"b": ["½", "ä\u2028"], "a": {"z": Decimal("7.50"), "y": True}}
    lines = ["{", '  "a": {', '    "y": true,', '    "z": 7.50', "  },", '  "b": [']
    lines += ['    "½",', '    "ä\u2028"', "  ]", "}", ""]
    assert json_page(value) == "\n".join(lines).encode()


@pytest.mark.parametrize("typed", ["7.50", "7.5", "3180", "0.10", "1E+2", "-0.0", "3.75"])
def test_decimals_are_written_as_typed(typed: str) -> None:
    assert json_line({"speed": Decimal(typed)}) == f'{{"speed":{typed}}}'


def test_a_line_has_no_line_end() -> None:
    line = json_line({"b": "a\nb", "a": [1, None]})
    assert line == '{"a":[1,null],"b":"a\\nb"}'
    assert json.loads(line) == {"a": [1, None], "b": "a\nb"}


def test_order_of_keys_given_does_not_show() -> None:
    assert json_page({"a": 1, "b": {"d": 1, "c": 2}}) == json_page({"b": {"c": 2, "d": 1}, "a": 1})
