"""The README says what is so: its commands, its words and its excerpts."""

import contextlib
import io
import re
import shlex
import shutil
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
    from tailsout.work.demo.run import run as show  # noqa: PLC0415
    from tailsout.work.surroundings import Surroundings  # noqa: PLC0415  it loads the meters

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


def test_what_is_explained_is_what_the_program_prints(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["explain", "channel-map-differs"]) == 0
    assert excerpt("explain of a finding") == capsys.readouterr().out


def test_the_side_car_is_what_lies_in_the_package(demo: Path) -> None:
    beside = demo / "out/packages/SKL-0007/data/audio/skl7-side-a.json"
    assert excerpt("side-car of the demonstration") in beside.read_text("utf-8")


def test_the_names_are_what_the_program_prints(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (typed,) = (line for line in README.splitlines() if line.startswith("    tailsout names job "))
    monkeypatch.chdir(demo / "out")
    assert run(shlex.split(typed)[1:]) == 0
    assert excerpt("names of the demonstration") == capsys.readouterr().out


LATER = (
    ("[[reel.sides.regions]]", ""),
    ("[[reel.events]]", 'kind = "winding"'),
    ("[[reel.events]]", 'kind = "free end held down"'),
    ("[[signal_notes]]", ""),
    ("[[listening]]", ""),
)
"""Tables of the demonstration's form that nobody can have written before the tape ran."""


def as_in_the_morning(job: Path) -> str:
    """Take out of the form what was written after the tape ran; return the whole form."""
    form = job / "job.toml"
    whole = form.read_text("utf-8")
    tables = whole.split("\n\n")
    kept = [t for t in tables if not any(t.startswith(a) and b in t for a, b in LATER)]
    morning = "\n\n".join(kept).replace('end_out_on_leaving = "tails"\n', "")
    form.write_text(morning.replace('last_motion = "head to tail"\n', ""), "utf-8")
    return whole


@pytest.fixture
def day(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """What the gates print on the demonstration's day, by the title of the excerpt."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1773478800")
    monkeypatch.setattr(Disk, "free_octets", lambda _disk, _path: 412_000_000_000)
    shutil.copytree(demo / "out", tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    job = Path("job")
    later = job / "captures" / "skl7-side-b.wav"
    whole = as_in_the_morning(job)
    shutil.move(job / "captures", "elsewhere")
    gate("--sheet", "sheet.txt")
    told = {"sheet": Path("sheet.txt").read_text("utf-8")}
    shutil.move("elsewhere", job / "captures")
    shutil.move(later, "later.wav")
    gate()
    told["keep"] = gate()
    shutil.move("later.wav", later)
    gate()
    told["off"] = gate()
    (job / "job.toml").write_text(whole, "utf-8")
    told["box"] = gate()
    return told


def gate(*more: str) -> str:
    """Run the gate of the job at hand and return what it prints."""
    with contextlib.redirect_stdout(io.StringIO()) as out:
        assert run(["gate", "job", *more]) == 0
    return out.getvalue()


def test_the_engineers_day_is_what_the_gates_print(day: dict[str, str]) -> None:
    for which in ("sheet", "keep", "off", "box"):
        assert excerpt(f"gate of the demonstration, {which}") in day[which], which


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
