"""The README says what is so: its commands, its words and its excerpts."""

import re
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tailsout.bag.disk import Disk
from tailsout.doors.cli import run, tailsout
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def excerpt(title: str) -> str:
    """The block that stands below a line that says what shows it."""
    match = re.search(rf"<!-- shown by: {title} -->\n```[a-z]*\n(.*?)```\n", README, re.DOTALL)
    assert match is not None, title
    return match[1]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from tailsout.work.close_out import Surroundings  # noqa: PLC0415  it loads the meters
    from tailsout.work.demo.run import run as show  # noqa: PLC0415

    folder = tmp_path_factory.mktemp("readme")
    around = Surroundings(
        instant=datetime(2026, 3, 15, tzinfo=UTC),
        software="tailsout test",
        seconds_now=time.time,
        disk=Disk(),
        progress=Silent(),
    )
    show(folder / "out", around)
    return folder


def test_the_first_two_blocks_are_the_two_commands() -> None:
    one, two = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)[:2]
    assert one.rstrip().endswith("tailsout demo out")
    assert "-m pytest" in two
    assert all(command.startswith("python3 -m venv .venv && ") for command in (one, two))


def test_every_command_and_every_verdict_is_told() -> None:
    for name in tailsout.list_commands(tailsout.make_context("tailsout", ["explain"])):
        assert f"`{name}`" in README or f"tailsout {name}" in README, name
    for verdict in Verdict:
        assert f"| {verdict.value} |" in README


def test_the_check_is_what_the_program_prints(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    master = demo / "out/packages/SKL-0007/data/audio/skl7-side-b.wav"
    content = bytearray(master.read_bytes())
    content[len(content) // 2] ^= 1
    master.write_bytes(content)
    monkeypatch.chdir(demo)
    assert run(["check", "out/packages/SKL-0007"]) == 1
    assert excerpt("check of a package with one bit flipped") == capsys.readouterr().out


def test_the_side_car_is_what_lies_in_the_package(demo: Path) -> None:
    beside = demo / "out/packages/SKL-0007/data/audio/skl7-side-a.json"
    assert excerpt("side-car of the demonstration") in beside.read_text("utf-8")


def test_the_page_of_a_file_is_what_the_program_prints(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(demo)
    assert run(["show", "out/job/captures/skl7-side-b.wav"]) == 0
    assert excerpt("show of a capture of the demonstration") == capsys.readouterr().out


def test_the_sum_is_what_the_program_prints(capsys: pytest.CaptureFixture[str]) -> None:
    (typed,) = (line for line in README.splitlines() if line.startswith("    tailsout reckon "))
    assert run(typed.split()[1:]) == 0
    assert excerpt("reckon mismatch") == capsys.readouterr().out
