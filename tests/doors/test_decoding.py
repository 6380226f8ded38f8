"""What the child answers of a FLAC file, and that it takes no more than it was given."""

import hashlib
import io
import json
from collections.abc import Callable
from typing import Any

import pytest

from tailsout.doors import decoding, limits
from tailsout.doors.decoding import decoded

Cli = Callable[..., Any]
MD5 = 26
"""Where it lies in a file of ours (RFC 9639 §8.2, from memory)."""
UNSTATED = {21: b"\x70", 22: bytes(4)}
"""24 bits, and no number of samples."""

LIMITED = """
import sys
from tailsout.doors import decoding, limits
limits.limit(256 << 20, 5)
try:
    {attempt}
except (MemoryError, OSError) as error:
    print(type(error).__name__, getattr(error, "errno", ""))
"""


def answer(content: bytes) -> tuple[Any, Any, list[str]]:
    told: Any = decoded(io.BytesIO(content))
    return told["frames"], told["sha256"], [kind for kind, _, _ in told["damage"]]


def essence(bench: Any) -> str:
    return hashlib.sha256(bench.samples(bench.pcm, bench.frames)).hexdigest()


def test_a_whole_file(bench: Any) -> None:
    assert answer(bench.flac(bench.wave())) == (bench.frames, essence(bench), [])


def test_one_that_does_not_state_its_length(bench: Any) -> None:
    content = bench.flac(bench.wave(), changed=UNSTATED)
    assert answer(content) == (bench.frames, essence(bench), [])


def test_one_whose_samples_are_others(bench: Any) -> None:
    content = bench.flac(bench.wave(), changed={MD5: b"sixteen octets.."})
    assert answer(content) == (bench.frames, essence(bench), ["flac-md5-differs"])


def test_one_that_breaks_off(bench: Any) -> None:
    content = bench.flac(bench.wave(), changed={-1: b"\0"})
    assert answer(content) == (bench.frames, "", ["flac-frame"])


@pytest.mark.parametrize("content", [b"", b"fLaC", b"RIFF", b"fLaC\0\0\0\x22" + bytes(34)])
def test_one_that_holds_nothing(content: bytes) -> None:
    assert answer(content) == (0, "", [])


def test_progress_is_told_now_and_then(
    bench: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(decoding, "STRIDE_OCTETS", 10_000)
    decoded(io.BytesIO(bench.flac(bench.wave())), decoding._Counting())
    told = [int(line) for line in capsys.readouterr().out.splitlines()]
    assert len(told) == 2  # blocks of the encoder have 4096 samples of three octets
    assert all(octets >= 10_000 for octets in told)
    assert sum(told) <= bench.frames * 3


def test_the_answer_is_one_line_of_json(process: Cli, bench: Any) -> None:
    code = "import sys; from tailsout.doors.decoding import main; main(sys.argv[1:])"
    ran = process(512 << 20, 60, code=code, given=bench.flac(bench.wave()))
    # Standard input is a pipe here, which is not a file that can be sought in.
    assert ran.code != 0

    path = bench.put("a.flac", bench.flac(bench.wave()))
    redirected = f"import os; os.dup2(os.open({str(path)!r}, os.O_RDONLY), 0); {code}"
    ran = process(512 << 20, 60, code=redirected)
    assert (ran.code, ran.err) == (0, "")
    assert json.loads(ran.out)["sha256"] == essence(bench)


@pytest.mark.parametrize(
    ("attempt", "told"),
    [
        ("bytearray(300 << 20)", "MemoryError"),
        ("open(sys.argv[1], 'wb', buffering=0).write(b'x')", "OSError 27"),
        ("[open('/dev/null') for _ in range(40)]", "OSError 24"),
        ("bytearray(10 << 20)", ""),
    ],
)
def test_limits_hold(process: Cli, bench: Any, attempt: str, told: str) -> None:
    code = LIMITED.format(attempt=attempt)
    ran = process(bench.root / "x", code=code, OPENBLAS_NUM_THREADS="1")
    assert (ran.code, ran.out.strip()) == (0, told)


def test_a_system_without_limits_decodes_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "resource", None)
    limits.limit(1, 1)
