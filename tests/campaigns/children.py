"""Builds in child processes that can be killed: forked, so that no interpreter has to start."""

import os
import select
import signal
import time
import warnings
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from tailsout.bag.second_opinion import disagreement
from tailsout.ground.errors import TailsoutError

_ATTACHED_S = 30.0
_PATIENCE_S = 120.0
_BUG = 1
STOPPED = 2
"""Exit code of a child that an error of this package stopped."""


class Child:
    """A child process that does one thing once it is let go, and says when it is done."""

    def __init__(self, work: Callable[[], object]) -> None:
        gate, self._gate = os.pipe()
        self.done, done = os.pipe()
        with warnings.catch_warnings():
            # A newer Python warns of threads in the parent; none of theirs is wanted here.
            warnings.simplefilter("ignore", DeprecationWarning)
            self.pid = os.fork()
        if self.pid == 0:
            _run(work, gate, done)
        os.close(gate)
        os.close(done)
        self._status: int | None = None

    def go(self) -> None:
        """Let it begin."""
        with suppress(BrokenPipeError):
            os.write(self._gate, b"g")

    def finished_within(self, seconds: float) -> bool:
        """Wait until it says that it is done, at most so long."""
        ready, _, _ = select.select([self.done], [], [], max(seconds, 0))
        return bool(ready)

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)

    def end(self) -> tuple[int, bytes]:
        """Wait for its end; return its exit code, negative for a signal, and what it said."""
        said = b""
        while block := os.read(self.done, 1000):
            said += block
        code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        os.close(self.done)
        os.close(self._gate)
        return code, said


def _run(work: Callable[[], object], gate: int, done: int) -> None:
    code = _BUG
    try:
        os.read(gate, 1)
        work()
        code, word = 0, b"C"
    except TailsoutError as error:
        code, word = STOPPED, repr(error).encode()
    except BaseException as error:  # noqa: BLE001  whatever it is, the parent is told
        word = repr(error).encode()
    # Where writing is what fails, the code must do.
    with suppress(OSError):
        os.write(done, word[:900])
    os._exit(code)


def warm_up(place: Path) -> None:
    """Have everything imported before the first child is forked."""
    disagreement(place)


def seconds_of(work: Callable[[], object]) -> float:
    """How long one child takes for it, its own start not counted."""
    child = Child(work)
    begun = time.perf_counter()
    child.go()
    ready = child.finished_within(_PATIENCE_S)
    taken = time.perf_counter() - begun
    code, said = child.end()
    if not ready or code != 0:
        raise RuntimeError(f"an undisturbed build failed: {said.decode()}")
    return taken


def wait_traced(pid: int) -> None:
    """Wait until a tracer holds the process, or has killed it. Raises TimeoutError."""
    until = time.monotonic() + _ATTACHED_S
    while time.monotonic() < until:
        status = Path(f"/proc/{pid}/status").read_text(encoding="ascii", errors="replace")
        told = dict(line.split(":", 1) for line in status.splitlines())
        if told["TracerPid"].strip() != "0" or told["State"].strip().startswith("Z"):
            return
        time.sleep(0.001)
    raise TimeoutError("no tracer came")
