"""What `check` asks of the system while it reads hostile bags, as strace tells it.

Nothing outside the bag is opened, nothing is opened to write, and no socket is made. The files of
the program itself are loaded by a first check of a good bag.
"""

import re
import runpy
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

pytestmark = pytest.mark.apt

table = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("bag_cases.py"))))
TEMPTING = ("bag-path-unsafe", "bag-link", "bag-special-file", "bag-fetch-txt")
CASES = [case for case in table.HOSTILE if not case.codes.isdisjoint(TEMPTING)]

CALLS = (
    "open,openat,openat2,creat,socket,connect,execve,mkdir,mkdirat,unlink,unlinkat,rename,renameat2"
)
OPENED = re.compile(r"open.*\) += \d+<(?P<path>.*)>$")
OF_THE_SYSTEM = {"/proc/sys/vm/overcommit_memory"}
"""What the C library's allocator may look at when it gives memory back."""
BEGINS = "from here on nothing but bags"

CHILD = f"""
import os, sys
from tailsout.doors.cli import run
good, *bags = sys.argv[1:]
run(["check", good, "--json"])
sys.stdout.flush()
try:
    open({BEGINS!r})
except OSError:
    pass
for bag in bags:
    run(["check", bag, "--json"])
"""


@pytest.fixture(scope="module")
def traced(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[str]]:
    """Return the folder of all bags, and a line for every call made after the start."""
    folder = tmp_path_factory.mktemp("bags").resolve()
    bases = []
    for number, case in enumerate((table.CLAUSES[0], *CASES)):
        (folder / f"{number:03}").mkdir()
        bases.append(str(table.build(case, folder / f"{number:03}")))
    log = folder / "calls"
    command = ["strace", "-f", "-y", "-qq", "-e", f"trace={CALLS}", "-o", str(log)]
    done = subprocess.run(
        [*command, sys.executable, "-c", CHILD, *bases], capture_output=True, check=False
    )
    assert done.stdout.count(b"\n") == len(bases), done.stderr
    lines = log.read_text("utf-8", "backslashreplace").splitlines()
    begins = next(number for number, line in enumerate(lines) if BEGINS in line)
    assert begins > 100
    return folder, lines[begins + 1 :]


def test_nothing_but_the_bag_is_opened(traced: tuple[Path, list[str]]) -> None:
    folder, lines = traced
    opened = [match["path"] for line in lines if (match := OPENED.search(line))]
    inside = re.compile(rf"{re.escape(str(folder))}/\d\d\d/{table.NAME}(/.*)?")
    assert len(opened) > 10 * len(CASES)
    assert [
        path for path in opened if not inside.fullmatch(path) and path not in OF_THE_SYSTEM
    ] == []
    assert [path for path in opened if "/pipe" in path or path.endswith("/l")] == []


def test_nothing_is_opened_to_write_and_no_other_program_is_run(
    traced: tuple[Path, list[str]],
) -> None:
    changing = re.compile(r"O_WRONLY|O_RDWR|O_CREAT|O_TRUNC|\b(creat|execve|mkdir|unlink|rename)")
    assert [line for line in traced[1] if changing.search(line)] == []


def test_no_connection_is_made(traced: tuple[Path, list[str]]) -> None:
    assert [line for line in traced[1] if re.search(r"\b(socket|connect)\(", line)] == []
