"""J07: streams that are closed or full lose words, never work, and never end in a traceback."""

import os
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Shell = Callable[..., tuple[int, str, str]]


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    def call(redirected: str, *arguments: object) -> tuple[int, str, str]:
        words = [sys.executable, "-m", "tailsout", *map(str, arguments)]
        line = f"{' '.join(map(shlex.quote, words))} {redirected}"
        path = os.pathsep.join(p for p in sys.path if p)
        done = subprocess.run(
            ["/bin/sh", "-c", line],
            env={**os.environ, "PYTHONPATH": path},
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        return done.returncode, done.stdout, done.stderr

    return call


needs_full = pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-", "<&- >&- 2>&-"])
def test_a_close_with_streams_closed(shell: Shell, bench: Any, closed: str) -> None:
    """What is opened next must not get the number of the screen."""
    bench.fill()
    code, _, err = shell(closed, "close", bench.job, "-o", bench.out)
    assert (code, err) == (0, "")
    assert sorted(p.name for p in bench.out.iterdir()) == [
        "TT-1",
        "TT-1.label.svg",
        "TT-1.receipt.json",
    ]
    assert shell("", "check", "--json", bench.package)[0] == 0


@needs_full
def test_output_that_is_full_is_told(shell: Shell) -> None:
    code, _, err = shell("> /dev/full", "explain")
    assert (code, "Traceback" in err) == (4, False)
    assert "what was found could not be written out: No space left on device." in err


@needs_full
def test_a_full_log_stops_nothing(shell: Shell, bench: Any) -> None:
    bench.fill()
    assert shell("2> /dev/full", "check", bench.root / "none")[0] == 2
    assert shell("2> /dev/full", "close", bench.job, "-o", bench.out)[0] == 0
