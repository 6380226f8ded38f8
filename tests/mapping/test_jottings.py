from datetime import UTC, datetime

import pytest

from tailsout.mapping import jottings, schemas
from tailsout.records.statements import Jotting

INSTANT = datetime(2026, 3, 14, 10, 33, 20, tzinfo=UTC)


@pytest.mark.parametrize("pass_id", ["p1", None])
def test_what_is_written_is_read_the_same(pass_id: str | None) -> None:
    line = jottings.write("splice opened,\n stopped", INSTANT, pass_id)
    assert line.count(b"\n") == 1
    (found,), others = jottings.read(line)
    assert found == Jotting(
        at="2026-03-14T10:33:20Z", text="splice opened, stopped", pass_id=pass_id
    )
    assert others == ()


def test_a_line_that_is_none_is_told_with_its_number() -> None:
    content = jottings.write("one", INSTANT, "p1") + b"torn by a crash\n\n\xff\n"
    found, others = jottings.read(content)
    assert [one.text for one in found] == ["one"]
    assert [(f.code, f.place.file, f.place.line) for f in others] == [
        ("jotting-unread", "jottings.txt", 2),
        ("jotting-unread", "jottings.txt", 4),
    ]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("  two\tblanks  ", "two blanks"),
        ("a\r\nb\x0bc\u2028d\x85e", "a b c d e"),
        ("[p2] not the running pass", "[p2] not the running pass"),
        ("2026-03-14T00:00:00Z of the label", "2026-03-14T00:00:00Z of the label"),
        ("Zoë – 7½", "Zoë – 7½"),
        ("x" * 3000, "x" * 3000),
    ],
)
def test_whatever_is_typed_stays_on_one_line(text: str, shown: str) -> None:
    line = jottings.write(text, INSTANT, "p1")
    assert line.count(b"\n") == 1
    ((found,), others) = jottings.read(line)
    assert (found.text, found.pass_id, others) == (shown, "p1", ())


def test_a_jotting_without_a_pass_may_begin_like_one() -> None:
    """What stands in brackets first is read as the pass: a name is all that can stand there."""
    ((found,), _) = jottings.read(jottings.write("[splice, dry] opened", INSTANT, None))
    assert (found.text, found.pass_id) == ("[splice, dry] opened", None)


def test_what_a_terminal_handed_over_comes_back_as_it_came() -> None:
    line = jottings.write("Zo\udceb", INSTANT, None)
    assert line == b"2026-03-14T10:33:20Z Zo\xeb\n"
    ((found,), _) = jottings.read(line)
    assert found.text == "Zo\ufffd"


def test_what_no_side_car_can_hold_is_replaced() -> None:
    content = "2026-03-14T10:33:20Z a\x00b\ufffec\n".encode()
    ((found,), others) = jottings.read(content)
    assert (found.text, others) == ("a\ufffdb\ufffdc", ())


@pytest.mark.parametrize(
    "line",
    [
        "2026-03-14T10:33:20 no zone",
        "2026-03-14T10:33:20Z",
        "2026-03-14T10:33:20Z ",
        "2026-02-30T10:33:20Z no such day",
        "2026-03-14T25:33:20Z no such hour",
        "2026-03-14 10:33:20Z a blank for the T",
        "2026-03-14T10:33:20Z[p1] no blank",
        "\u0662\u0660\u0662\u0666-03-14T10:33:20Z other digits",
        "2026-03-14T10:33:20Z " + "x" * 10_000,
        "typed by hand, without a time",
    ],
)
def test_a_line_that_is_no_jotting_is_shown_and_kept_out(line: str) -> None:
    found, (told,) = jottings.read(f"{line}\n".encode())
    assert found == ()
    assert (told.code, told.place.line) == ("jotting-unread", 1)
    assert told.text.startswith(line.strip()[:100])
    assert len(told.text) < 2100


def test_a_pass_of_a_name_that_none_has_belongs_to_the_text() -> None:
    content = b"2026-03-14T10:33:20Z [no pass] x\n2026-03-14T10:33:20Z [" + b"p" * 65 + b"] x\n"
    found, others = jottings.read(content)
    assert [one.pass_id for one in found] == [None, None]
    assert others == ()


def test_line_ends_of_another_system_and_a_half_typed_last_line() -> None:
    content = b"2026-03-14T10:33:20Z one\r\n2026-03-14T10:33:21Z two\r\n2026-03-14T10:3"
    found, (told,) = jottings.read(content)
    assert [one.text for one in found] == ["one", "two"]
    assert (told.place.line, told.text) == (3, "2026-03-14T10:3")


def test_more_jottings_than_a_side_car_holds_are_told() -> None:
    content = jottings.write("x", INSTANT, None) * 5002
    found, others = jottings.read(content)
    assert len(found) == 5000
    assert [one.place.line for one in others] == [5001, 5002]
    assert schemas.schema("sidecar-0.1")["$defs"]["transfer"]["properties"]["jottings"][
        "maxItems"
    ] == len(found)
