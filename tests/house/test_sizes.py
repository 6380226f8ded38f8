"""Modules stay small enough to be read in one go."""

from collections.abc import Mapping

WANTED, MOST = 300, 500

LONGER = {
    "bag/disk.py": "all that writes, in one place",
    "wave/bext.py": "the layout table, the reading and the writing of one chunk",
    "wave/walk.py": "one walk, and what is told wherever it goes on or stops",
    "work/demo/scenario.py": "forms as they would be written, not code",
}
"""Modules that may pass what is wanted, each with its reason."""


def too_long(lines: Mapping[str, int]) -> list[str]:
    return [p for p, n in lines.items() if n > MOST or (n > WANTED and p not in LONGER)]


def test_no_module_is_too_long(sources: Mapping[str, str]) -> None:
    assert too_long({path: text.count("\n") for path, text in sources.items()}) == []


def test_modules_named_as_longer_exist(sources: Mapping[str, str]) -> None:
    assert set(LONGER) <= set(sources)


def test_what_is_too_long() -> None:
    lines = {"a.py": 300, "b.py": 301, "bag/disk.py": 500, "wave/bext.py": 501}
    assert too_long(lines) == ["b.py", "wave/bext.py"]
