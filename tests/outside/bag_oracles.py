"""Asks ourselves, the library `bagit` and coreutils of every bag in `bag_cases.py`.

python tests/outside/bag_oracles.py           every disagreement, as a table, with its reason
python tests/outside/bag_oracles.py --all     every case, and what the three say now
"""

import argparse
import logging
import os
import runpy
import subprocess
import tempfile
import threading
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from tailsout.ground.progress import Silent
from tailsout.work.check import Checked, check

table = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("bag_cases.py"))))
STRONGEST_FIRST = ("sha512", "sha256", "sha1", "md5")


def ours(base: Path) -> Checked:
    return check(base, Silent(), bagit_only=True)


def library(base: Path) -> str:
    """Return what bagit says: `valid`, `invalid`, `hangs` at a pipe, or `breaks`."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*pkg_resources", category=UserWarning)
        warnings.filterwarnings("ignore", message=".*pkg_resources", category=DeprecationWarning)
        import bagit  # noqa: PLC0415  only here, so that the filter stays around it
    logging.getLogger("bagit").setLevel(logging.CRITICAL)

    def say() -> str:
        try:
            bagit.Bag(str(base)).validate(processes=1)
        except bagit.BagError:
            return "invalid"
        except Exception:  # noqa: BLE001  it breaks by whatever comes to hand
            return "breaks"
        return "valid"

    return _asked(base, say)


def sums(base: Path) -> str:
    """Return what coreutils say of the strongest payload manifest; `-` if they know none."""
    for algorithm in STRONGEST_FIRST:
        manifest = f"manifest-{algorithm}.txt"
        if (base / manifest).is_file():
            command = [f"{algorithm}sum", "--check", "--strict", manifest]

            def say(command: list[str] = command) -> str:
                done = subprocess.run(command, cwd=base, capture_output=True, check=False)
                return "ok" if done.returncode == 0 else "differs"

            return _asked(base, say)
    return "-"


def _asked(base: Path, say: Callable[[], str]) -> str:
    with _writing_into_pipes(base) as was_opened:
        said = say()
    return "hangs" if was_opened.is_set() else said


@contextmanager
def _writing_into_pipes(base: Path) -> Iterator[threading.Event]:
    """Let go whoever opened a pipe of the bag's to read, and tell that somebody did."""
    was_opened, done = threading.Event(), threading.Event()
    pipes = [one for one in base.glob("data/*") if one.is_fifo()]

    def write() -> None:
        while not done.wait(0.005):
            for one in pipes:
                # Without a reader there is no opening it to write.
                with suppress(OSError):
                    os.close(os.open(one, os.O_WRONLY | os.O_NONBLOCK))
                    was_opened.set()

    thread = threading.Thread(target=write)
    if pipes:
        thread.start()
    try:
        yield was_opened
    finally:
        done.set()
        if pipes:
            thread.join()


def differs(case: Any, said: str) -> bool:
    """Tell whether another program's word is not ours: valid or not is all that it can say."""
    return (said != "-" and (said in {"valid", "ok"}) != (case.state == "valid")) or said == "hangs"


def disagreements() -> list[tuple[str, str, list[str]]]:
    """Return who says otherwise than we do, why, and of which bags, as the table has it."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for case in table.CASES:
        for name, said, why in (
            ("bagit", case.library, case.why),
            ("coreutils", case.sums, case.sums_why),
        ):
            if differs(case, said):
                found[name, why].append(case.id)
    return [(*key, cases) for key, cases in sorted(found.items())]


def page() -> str:
    """Write that as a Markdown table; of many bags the first three are named."""
    lines = ["| who | says otherwise because | of which bags |", "|---|---|---|"]
    for name, why, cases in disagreements():
        shown = "; ".join(cases[:3]) + (f"; and {len(cases) - 3} more" if len(cases) > 3 else "")
        lines.append(f"| {name} | {why} | {shown.replace('|', chr(92) + '|')} |")
    return "\n".join(lines) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description="What others say of odd bags.")
    parser.add_argument("--all", action="store_true", help="ask again, and print every case")
    if not parser.parse_args().all:
        print(page(), end="")
        return
    for case in table.CASES:
        with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
            base = table.build(case, Path(folder))
            checked = ours(base)
            said = [
                "-" if expected == "-" else ask(base)
                for ask, expected in ((library, case.library), (sums, case.sums))
            ]
        state = checked.bag.word if checked.bag else ""
        codes = {one.code for one in checked.judgement.findings}
        found = (state, checked.judgement.verdict.value, codes, *said)
        wanted = (case.state, case.verdict, set(case.codes), case.library, case.sums)
        print(f"{case.id} ({case.clause}): {found}")
        if found != wanted:
            print(f"    NOT {wanted}")


if __name__ == "__main__":
    main()
