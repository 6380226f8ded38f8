"""A close that is cut off leaves the captures as they were and nothing under the final name."""

import random
from collections.abc import Callable
from typing import Any

import pytest

Cli = Callable[..., Any]

SCRIPT = """
import os, random, shutil, signal, sys
from dataclasses import replace
from pathlib import Path
from tailsout.bag.disk import Disk
from tailsout.doors.cli import close as door
from tailsout.doors.cli import run

job, out, how, seed = sys.argv[1:]

class Counting:
    '''Counts every call to the disk and every block that passes; strikes at one of them.'''
    def __init__(self, strike_at, strike):
        self.count, self.strike_at, self.strike, self.on = 0, strike_at, strike, True
        self.said = []
    def tick(self):
        if self.on:
            self.count += 1
            if self.count == self.strike_at:
                self.strike()
    def begin(self, doing, octets): self.tick()
    def advance(self, octets): self.tick()
    def say(self, line): self.said.append(line)

def disk_of(counting):
    class Watched(Disk):
        pass
    def watch(name):
        plain = getattr(Disk, name)
        def call(self, *given):
            counting.tick()
            done = plain(self, *given)
            if name == 'rename_no_replace':
                counting.on = False  # the package stands: what follows is no building
            return done
        setattr(Watched, name, call)
    for name in ('create', 'write', 'sync_file', 'close', 'make_directory', 'set_mode',
                 'sync_directory', 'lock', 'rename_no_replace'):
        watch(name)
    return Watched()

def close(to=out, strike_at=0, strike=None, more=()):
    counting = Counting(strike_at, strike)
    plain = door.surroundings
    door.surroundings = lambda shown: replace(
        plain(shown), disk=disk_of(counting), progress=counting
    )
    try:
        code = run(['close', job, '-o', to, *more])
    finally:
        door.surroundings = plain
    return code, counting

def die(): os.kill(os.getpid(), signal.SIGKILL)
def interrupt(): os.kill(os.getpid(), signal.SIGINT)

def told(*words): print('told', *words, flush=True)

# Both are there, so that making them adds no moment to the one alone.
for place in (out, out + '-undisturbed'):
    os.mkdir(place)
code, undisturbed = close(out + '-undisturbed')
told(code)
receipt = Path(out + '-undisturbed', 'TT-1.receipt.json').read_bytes()
moments = random.Random(int(seed)).sample(range(1, undisturbed.count + 1), 10)
for moment in moments:
    if how == 'interrupt':
        told(close(strike_at=moment, strike=interrupt)[0])
        continue
    child = os.fork()
    if child == 0:
        close(strike_at=moment, strike=die)
        os._exit(7)
    _, status = os.waitpid(child, 0)
    told(os.WTERMSIG(status), *(name for name in os.listdir(out) if '.part' not in name))
    code, last = close(more=['--resume'])
    if code == 2:  # nothing stood finished yet
        code, last = close()
    told(code, Path(out, 'TT-1.receipt.json').read_bytes() == receipt)
    for name in os.listdir(out):
        path = Path(out, name)
        shutil.rmtree(path) if path.is_dir() else path.unlink()
if how == 'kill':
    told(close()[0])
"""


def ran(process: Cli, bench: Any, how: str) -> tuple[list[str], str]:
    """What the script told after its undisturbed close, and its standard error."""
    bench.fill(bench.wave(own=bench.own_bext()))
    before = bench.sources()
    seed = random.randrange(1 << 32)
    print("seed", seed)
    # One instant, so that two packages can be compared.
    done = process(bench.job, bench.out, how, seed, code=SCRIPT, SOURCE_DATE_EPOCH="1773561600")
    assert bench.sources() == before
    lines = [line for line in done.out.splitlines() if line.startswith("told ")]
    told = [line.removeprefix("told ") for line in lines]
    assert told[0] == "0", (done.out, done.err)
    return told[1:], done.err


def test_killed_at_ten_random_moments(process: Cli, bench: Any) -> None:
    """SIGKILL, which nobody can catch; then resumed, to the same octets."""
    told, _ = ran(process, bench, "kill")
    assert told[:20] == ["9", "0 True"] * 10
    assert told[20] == "0"
    assert sorted(p.name for p in bench.out.iterdir()) == [
        "TT-1",
        "TT-1.label.svg",
        "TT-1.receipt.json",
    ]
    undisturbed = bench.out.with_name("out-undisturbed")
    assert bench.tree(bench.out) == bench.tree(undisturbed)


def test_interrupted_at_ten_random_moments(process: Cli, bench: Any) -> None:
    """SIGINT, as Ctrl-C sends it, in every pass."""
    told, err = ran(process, bench, "interrupt")
    assert told == ["130"] * 10
    assert err.split("\n") == ["", "tailsout: interrupted; nothing half-made was left."] * 10 + [""]
    assert bench.left() == []


ENDED = """
import os, signal, sys
from tailsout.bag.disk import Disk
from tailsout.doors import cli

job, out, name = sys.argv[1:]
plain = Disk.create

def create(self, path):
    if path.name == 'bagit.txt':
        os.kill(os.getpid(), getattr(signal, name))
    return plain(self, path)

Disk.create = create
sys.argv[1:] = ['close', job, '-o', out]
cli.main()
"""


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_shutdown_ends_in_order(process: Cli, bench: Any, name: str) -> None:
    """J07: a fixed exit code, no traceback, and what is finished can be taken up."""
    bench.fill()
    before = bench.sources()
    done = process(bench.job, bench.out, name, code=ENDED)
    assert (done.code, "Traceback" in done.err) == (130, False)
    assert done.err.endswith("told to end; nothing half-made stands under a package's name.\n")
    assert "go on with it by --resume" in done.err
    assert bench.sources() == before
    assert sorted(p.name for p in bench.out.iterdir()) == [".TT-1.part", ".TT-1.part.journal"]
