"""The command line, called in this process or in one of its own."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """What a command line came to."""

    code: int
    out: str
    err: str


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """Run a command line in this process."""
    from tailsout.doors.cli import run  # noqa: PLC0415  after the capture of the streams

    def call(*arguments: object) -> Ran:
        capsys.readouterr()
        code = run([str(one) for one in arguments])
        told = capsys.readouterr()
        return Ran(code=code, out=told.out, err=told.err)

    return call


def _heed_signals() -> None:
    """Heed what a shell that runs us in the background, or nohup, has its children ignore."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)


@pytest.fixture
def process() -> Callable[..., Ran]:
    """Run `tailsout`, or other Python code, in a process of its own."""

    def call(
        *arguments: object,
        code: str = "",
        cwd: Path | None = None,
        given: bytes | None = None,
        **env: str,
    ) -> Ran:
        start = ["-c", code] if code else ["-m", "tailsout"]
        done = subprocess.run(
            [sys.executable, *start, *(str(one) for one in arguments)],
            capture_output=True,
            check=False,
            cwd=cwd,
            input=given,
            env={**os.environ, **env},
            timeout=60,
            preexec_fn=_heed_signals,
        )
        out, err = (text.decode(errors="backslashreplace") for text in (done.stdout, done.stderr))
        return Ran(code=done.returncode, out=out, err=err)

    return call


@pytest.fixture
def closed(bench: Any, cli: Callable[..., Ran]) -> Path:
    """A package of a whole job."""
    bench.fill(bench.wave(own=bench.own_bext()))
    assert cli("close", bench.job, "-o", bench.out).code == 0
    place: Path = bench.package
    return place
