"""No file tells of the machine it was written on, and none leaves work for later."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

NOT_OURS = frozenset({".git", ".venv", "__pycache__", "build", "dist", "out"})
NOT_TEXT = (".wav", ".bext", ".png")

# Put together here, so that this file does not hold what it looks for.
PATHS = ("/home" + "/", "/root" + "/", "/Users" + "/")
HOSTS = ("pypi" + ".org", "python" + "hosted.org", "npmjs" + ".", "proxy" + ".golang")
UNDONE = ("TO" + "DO", "FIX" + "ME", "XX" + "X:")


def unwanted(text: str, root: Path) -> list[str]:
    words = [*PATHS, *HOSTS, f"{root}{os.sep}"]
    found = [word for word in words if word in text]
    return found + [word for word in UNDONE if re.search(rf"\b{word}", text)]


def texts(root: Path) -> Iterator[Path]:
    for place, folders, names in os.walk(root):
        # Tools leave their caches behind in hidden folders; .ci is ours.
        folders[:] = sorted(
            f for f in folders if f not in NOT_OURS and (f == ".ci" or not f.startswith("."))
        )
        for name in sorted(names):
            if name != "LICENSE" and not name.endswith(NOT_TEXT):
                yield Path(place, name)


def test_no_file_holds_a_word_that_is_not_wanted(root: Path) -> None:
    found = {}
    for path in texts(root):
        words = unwanted(path.read_text(encoding="utf-8"), root)
        if words:
            found[path.relative_to(root).as_posix()] = words
    assert found == {}


def test_all_of_the_repository_is_looked_at(root: Path) -> None:
    found = {path.relative_to(root).as_posix() for path in texts(root)}
    assert {
        "README.md",
        "pyproject.toml",
        "src/tailsout/__init__.py",
        "schemas/sidecar-0.1.schema.json",
        "sample_packages/good/skerrow-light/package/bagit.txt",
        "tests/house/test_words.py",
    } <= found
    assert not any(name.startswith((".git/", ".venv/")) for name in found)


@pytest.mark.parametrize("word", [*PATHS, *HOSTS, *UNDONE])
def test_each_word_is_found(root: Path, word: str) -> None:
    assert unwanted(f"see {word}x here", root) == [word]
    assert unwanted("nothing to see", root) == []


def test_the_place_of_the_checkout_is_found(root: Path) -> None:
    assert unwanted(f"in {root}{os.sep}src", root) == [f"{root}{os.sep}"]
