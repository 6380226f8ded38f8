"""FLAC decoded in a child: what it tells, and what is made of a child that breaks down."""

import hashlib
import os
import sys
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.progress import Silent
from tailsout.work import limited
from tailsout.work.limited import Decoded, decode

ANSWER = '{"frames": 1, "sha256": "aa", "damage": [["flac-frame", 3, "It breaks off."]]}'


class Counting(Silent):
    """Adds up what is told."""

    def __init__(self) -> None:
        self.octets = 0

    def advance(self, octets: int) -> None:
        self.octets += octets


def told(path: Path, progress: Any = None) -> Decoded | str:
    with path.open("rb") as stream:
        return decode(stream, path.stat().st_size, progress or Silent())


@pytest.fixture
def child(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Any:
    """Run other code in the place of the child's own."""

    def run(code: str, progress: Any = None) -> Decoded | str:
        monkeypatch.setattr(limited, "_START", code)
        path = tmp_path / "a.flac"
        path.write_bytes(b"fLaC")
        return told(path, progress)

    return run


def test_a_file_is_decoded_elsewhere(bench: Any) -> None:
    audio = bench.samples(bench.pcm, bench.frames)
    assert told(bench.put("a.flac", bench.flac(bench.wave()))) == Decoded(
        frames=bench.frames, essence_sha256=hashlib.sha256(audio).hexdigest(), damage=()
    )


def test_damage_comes_back_as_it_was_met(bench: Any) -> None:
    path = bench.put("a.flac", bench.flac(bench.wave(), changed={-1: b"\0"}))
    found = told(path)
    assert isinstance(found, Decoded)
    assert [fault.kind for fault in found.damage] == ["flac-frame"]
    assert found.essence_sha256 == ""


def test_the_child_inherits_nothing(child: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SECRET", "word")
    found = child(
        "import os, sys, json; print(json.dumps({'frames': 0, 'sha256': "
        "'|'.join(sorted(set(os.environ) - {'LC_CTYPE'})) + os.getcwd(), 'damage': []}))"
    )
    assert isinstance(found, Decoded)
    kept = [name for name in ("LD_LIBRARY_PATH", "SYSTEMROOT") if name in os.environ]
    assert found.essence_sha256 == "|".join(sorted([*kept, "OPENBLAS_NUM_THREADS"])) + os.sep


def test_progress_is_passed_on(child: Any) -> None:
    progress = Counting()
    found = child(f"print(5); print(7); print({ANSWER!r})", progress)
    assert isinstance(found, Decoded)
    assert progress.octets == 12


BROKEN_DOWN = "the process that decodes it broke down (exit {})."
NONSENSE = "what the process that decodes it answered makes no sense."
OUTCOMES = {
    "aborted": ("import os; os.abort()", BROKEN_DOWN.format(-6)),
    "failed": ("raise SystemExit(3)", BROKEN_DOWN.format(3)),
    "silent": ("pass", NONSENSE),
    "no JSON": ("print('hello')", NONSENSE),
    "half a line": (f"print({ANSWER!r}, end='')", NONSENSE),
    "other JSON": ("print('[]')", NONSENSE),
    "keys that lack": ("print('{\"frames\": 1}')", NONSENSE),
    "another type": (f"print({ANSWER.replace('1', 'null')!r})", NONSENSE),
    "less than nothing": (f"print({ANSWER.replace('1', '-1')!r})", NONSENSE),
    "a word of its own": (f"print({ANSWER.replace('flac-frame', 'odd')!r})", NONSENSE),
    "no offset": (f"print({ANSWER.replace('3', 'null')!r})", NONSENSE),
    "progress without end": ("print(5)", NONSENSE),
}


@pytest.mark.parametrize("name", OUTCOMES)
def test_a_child_is_trusted_no_more_than_the_file(child: Any, name: str) -> None:
    code, outcome = OUTCOMES[name]
    assert child(code) == outcome


def test_a_line_without_end_is_cut_off(child: Any) -> None:
    found = child("import sys\nwhile True: sys.stdout.write('x' * 9999)")
    assert isinstance(found, str)
    assert found.startswith("the process that decodes it broke down")


def test_a_child_that_computes_for_ever_is_ended(child: Any) -> None:
    found = child(
        "import json, sys; sys.path[:] = json.loads(sys.argv[1])\n"
        "from tailsout.doors.limits import limit; limit(int(sys.argv[2]), 1)\n"
        "while True: pass"
    )
    assert isinstance(found, str)
    # The hard limit is the same, so that either signal may come first.
    assert found.startswith(("decoding it took more than 60 s", BROKEN_DOWN.format(-9)[:20]))


def test_a_child_that_cannot_be_started(child: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    assert child("") == (
        "the process that decodes it could not be started: No such file or directory."
    )


def test_an_interruption_ends_the_child(child: Any) -> None:
    class Impatient(Silent):
        def advance(self, octets: int) -> None:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        child("import time; print(5, flush=True); time.sleep(60)", Impatient())
