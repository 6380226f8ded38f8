import contextlib
import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.mapping.strict_json import MAX_DEPTH, MAX_JSON_OCTETS, StrictJsonError, load

REFUSED = {
    # RFC 8259 §4: names within an object should be unique
    "duplicate name": (b'{"a":1,"a":2}', "'a' stands twice"),
    "duplicate name, nested": (b'[{"x":{"a":1,"b":1,"a":1}}]', "'a' stands twice"),
    "duplicate name, escaped": (b'{"a":1,"\\u0061":2}', "'a' stands twice"),
    # RFC 8259 §6: numbers
    "NaN": (b"[NaN]", "NaN is not a JSON number"),
    "Infinity": (b"[Infinity]", "Infinity is not a JSON number"),
    "minus Infinity": (b"[-Infinity]", "-Infinity is not a JSON number"),
    "1e999": (b"[1e999]", "out of all bounds"),
    "1e-400": (b"[1e-400]", "out of all bounds"),
    "0e999": (b"[0e999]", "out of all bounds"),
    "exponent beyond decimal": (b"[1e9999999999999999999]", "out of all bounds"),
    "exponent far beyond": (b"[-1e-9999999999999999999999999]", "out of all bounds"),
    "5,000 digits": (b"[" + b"1" * 5000 + b"]", "more than 32 digits"),
    "5,000 digits behind the point": (b"[0." + b"1" * 5000 + b"]", "more than 32 digits"),
    "exponent of 5,000 digits": (b"[1e" + b"1" * 5000 + b"]", "more than 32 digits"),
    "plus": (b"[+1]", "not JSON"),
    "leading zero": (b"[01]", "not JSON"),
    "underscore": (b"[1_000]", "not JSON"),
    "Arabic digits": ("[٣٨]".encode(), "not JSON"),
    "hexadecimal": (b"[0x1]", "not JSON"),
    # RFC 8259 §9: a parser may limit the depth
    "depth 65": (b"[" * 65 + b"]" * 65, "nests deeper than 64"),
    "depth 1,000": (b"[" * 1000 + b"]" * 1000, "nests deeper than 64"),
    "depth 100,000": (b"[" * 100_000 + b"]" * 100_000, "nests deeper than 64"),
    "depth 100,000 of objects": (b'{"a":' * 100_000, "nests deeper than 64"),
    "depth behind a text": (b'["]\\"]",' + b"[" * 100_000, "nests deeper than 64"),
    "too large": (b" " * (MAX_JSON_OCTETS + 1), "more than 4 MiB"),
    # RFC 8259 §7, §8.2: what cannot be encoded again
    "lone high surrogate": (b'["\\ud800"]', "half a character"),
    "lone low surrogate": (b'["a\\udfffb"]', "half a character"),
    "surrogates turned round": (b'["\\udc00\\ud800"]', "half a character"),
    "lone surrogate as a name": (b'{"\\ud800":1}', "half a character"),
    "NUL": (b'["a\\u0000"]', "holds NUL"),
    "NUL as a name": (b'{"\\u0000":1}', "holds NUL"),
    "raw NUL": (b'["\x00"]', "not JSON"),
    "raw control character": (b'["\x1b"]', "not JSON"),
    # RFC 8259 §8.1: UTF-8, no byte-order mark
    "UTF-8 BOM": (b"\xef\xbb\xbf{}", "byte-order mark"),
    "UTF-16": ('{"a":1}'.encode("utf-16"), "not UTF-8"),
    "UTF-16 without BOM": ('{"ä":1}'.encode("utf-16-le"), "not UTF-8"),
    "UTF-32": ('{"a":1}'.encode("utf-32-le"), "not JSON"),
    "Latin-1": ('{"ä":1}'.encode("latin-1"), "not UTF-8 at octet 2"),
    "surrogate in UTF-8": (b'["\xed\xa0\x80"]', "not UTF-8"),
    "overlong": (b'["\xc0\xaf"]', "not UTF-8"),
    # RFC 8259 §2, §5: grammar
    "block comment": (b"/* x */ {}", "not JSON"),
    "line comment": (b"{} // x", "not JSON"),
    "trailing comma": (b"[1,]", "not JSON"),
    "trailing comma in an object": (b'{"a":1,}', "not JSON"),
    "single quotes": (b"{'a':1}", "not JSON"),
    "bare name": (b"{a:1}", "not JSON"),
    "trailing garbage": (b"{} x", "not JSON"),
    "two documents": (b"{}\n{}", "not JSON"),
    "empty": (b"", "not JSON"),
    "blanks only": (b" \n ", "not JSON"),
    "unclosed": (b'{"a":[1', "not JSON"),
    "text without an end": (b'["abc', "not JSON"),
    "text ending in a backslash": (b'["abc\\', "not JSON"),
    "upper-case literal": (b"[True]", "not JSON"),
    "no-break space": ("\u00a0{}".encode(), "not JSON"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_a_later_reader_could_take_otherwise_is_refused(case: str) -> None:
    content, why = REFUSED[case]
    with pytest.raises(StrictJsonError) as raised:
        load(content)
    assert why in str(raised.value)
    assert str(raised.value).isprintable()
    assert len(str(raised.value)) < 200


@pytest.mark.parametrize(
    ("content", "value"),
    [
        (b"null", None),
        (b"[]", []),
        (b'"text"', "text"),
        (b" {} \n", {}),
        (b"[true, false]", [True, False]),
        (b"[-0, 12]", [0, 12]),
        (b"[" + b"9" * 32 + b"]", [10**32 - 1]),
        (b'{"":1}', {"": 1}),
        (b'{"a":{"a":1}, "b":[{"a":1},{"a":2}]}', {"a": {"a": 1}, "b": [{"a": 1}, {"a": 2}]}),
        (b'["\\ud834\\udd1e", "\\u00e4", "\\/"]', ["\U0001d11e", "ä", "/"]),
        ('["7½ – ä"]'.encode(), ["7½ – ä"]),
        (b'["]}[{\\\\", "\\"[", "["]', ["]}[{\\", '"[', "["]),
    ],
)
def test_good_json_is_read(content: bytes, value: object) -> None:
    assert load(content) == value


def test_numbers_with_a_point_or_an_exponent_stay_as_typed() -> None:
    read = load(b"[7.50, 1e2, -0.0]")
    assert [str(one) for one in read] == ["7.50", "1E+2", "-0.0"]
    assert all(isinstance(one, Decimal) for one in read)


def test_the_deepest_that_is_allowed() -> None:
    value = load(b"[" * MAX_DEPTH + b"]" * MAX_DEPTH)
    for _ in range(MAX_DEPTH - 1):
        value = value[0]
    assert value == []


def test_many_tables_beside_each_other_are_not_deep() -> None:
    assert len(load(b"[" + b"{}," * 1000 + b"{}]")) == 1001


def test_the_largest_that_is_allowed() -> None:
    text = b'"' + b"a" * (MAX_JSON_OCTETS - 2) + b'"'
    assert len(load(text)) == MAX_JSON_OCTETS - 2


def test_quotes_without_end_cost_no_more_than_their_length() -> None:
    # With the square of the length, this would not come back within the day.
    with pytest.raises(StrictJsonError):
        load(b'"' + b'\\"' * (MAX_JSON_OCTETS // 2 - 1))


@given(st.binary(max_size=200))
def test_octets_bring_out_no_other_error(content: bytes) -> None:
    with contextlib.suppress(StrictJsonError):
        load(content)


@given(
    st.text(alphabet='[]{}",:\\u0123456789dDeE+-.ntfalse \n\ufeff\x00/*', max_size=100),
)
def test_text_like_json_brings_out_no_other_error(text: str) -> None:
    with contextlib.suppress(StrictJsonError):
        load(text.encode())


_TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\x00\ufffe"), max_size=20)
_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**30), 10**30) | _TEXT,
    lambda inside: st.lists(inside, max_size=4) | st.dictionaries(_TEXT, inside, max_size=4),
    max_leaves=20,
)


@given(_VALUES, st.booleans())
def test_what_the_standard_library_writes_is_read_the_same(value: object, ascii_only: bool) -> None:
    assert load(json.dumps(value, ensure_ascii=ascii_only).encode()) == value
