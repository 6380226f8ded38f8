from datetime import UTC, datetime

import pytest

from tailsout.mapping import jottings
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
