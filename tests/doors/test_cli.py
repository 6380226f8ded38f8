"""The `tailsout` command: what it prints, what it exits with, what it loads."""

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout import __version__
from tailsout.mapping import schemas
from tailsout.mapping.strict_json import load

Cli = Callable[..., Any]
EVIL = "x\x1b]0;owned\x07\u202etxt"
"""A name that sets a terminal's title and turns the direction of writing."""
EVIL_SHOWN = "x\\x1b]0;owned\\x07\\u202etxt"


def lines(text: str) -> list[Any]:
    return [load(line.encode()) for line in text.splitlines()]


def flip(path: Path, at: int = -1) -> None:
    content = bytearray(path.read_bytes())
    content[at] ^= 1
    path.write_bytes(content)


# Help and light loading


def test_help_names_every_command(cli: Cli) -> None:
    ran = cli("--help")
    assert ran.code == 0
    for name in ("begin", "close", "check", "measure", "show", "explain", "demo"):
        assert f"  {name} " in ran.out


@pytest.mark.parametrize(
    "command", ["begin", "close", "check", "measure", "show", "explain", "demo"]
)
def test_every_command_has_help(cli: Cli, command: str) -> None:
    ran = cli(command, "-h")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(f"Usage: tailsout {command} ")


def test_version(cli: Cli) -> None:
    assert cli("--version").out == f"tailsout, version {__version__}\n"


@pytest.mark.parametrize(
    "arguments", [[], ["no-such"], ["check"], ["close", "job"], ["show", "a", "b"], ["--no-such"]]
)
def test_a_command_line_that_is_off(cli: Cli, arguments: list[str]) -> None:
    ran = cli(*arguments)
    assert ran.code == 2
    assert "Usage: tailsout" in ran.err
    assert ran.out == ""


LOADED = """
import sys
from tailsout.doors.cli import run
code = run(sys.argv[2:])
print(sorted(set(sys.argv[1].split(",")) & set(sys.modules)), file=sys.stderr)
sys.exit(code)
"""


def test_help_loads_nothing_heavy(process: Cli) -> None:
    heavy = "numpy,numba,scipy,jsonschema,rich,msgspec,tomlkit,matplotlib"
    ran = process(heavy, "--help", code=LOADED)
    assert (ran.code, ran.err) == (0, "[]\n")


def test_check_loads_no_numbers(process: Cli, closed: Path) -> None:
    ran = process("numpy,scipy,numba,matplotlib,rich", "check", closed, code=LOADED)
    assert (ran.code, ran.err) == (0, "[]\n")


def test_measure_does_load_them(process: Cli, bench: Any) -> None:
    """So that the two tests above can fail."""
    ran = process("numpy,numba", "measure", bench.fill(), code=LOADED)
    assert (ran.code, ran.err) == (0, "['numba', 'numpy']\n")


# Each command


def test_begin(cli: Cli, tmp_path: Path) -> None:
    ran = cli("begin", tmp_path / "job", "--studio", tmp_path / "studio", "--identifier", "HA/7")
    assert (ran.code, ran.err) == (0, "")
    assert f"Studio: {tmp_path / 'studio'} (new" in ran.out
    assert "Its package will be called HA-7;" in ran.out
    again = cli("begin", tmp_path / "job", "--studio", tmp_path / "studio")
    assert again.code == 3
    assert cli("begin", tmp_path / "other").code == 2


def test_two_jobs_begun_have_ids_of_their_own(cli: Cli, tmp_path: Path) -> None:
    for name in ("one", "two"):
        cli("begin", tmp_path / name, "--studio", tmp_path / "studio")
    ids = [
        line
        for name in ("one", "two")
        for line in (tmp_path / name / "job.toml").read_text().splitlines()
        if line.startswith("job_id")
    ]
    assert len(set(ids)) == 2


def test_close(cli: Cli, bench: Any) -> None:
    bench.fill(bench.wave(own=bench.own_bext()))
    before = bench.sources()
    ran = cli("close", bench.job, "-o", bench.out)
    assert (ran.code, ran.err) == (0, "")
    assert bench.sources() == before
    assert f"{bench.job}: pass" in ran.out
    assert f"Committed: {bench.package}" in ran.out
    assert f"Receipt: {bench.receipt}" in ran.out
    assert "synced to disk, read back, every digest agreed" in ran.out
    assert sorted(p.name for p in bench.out.iterdir()) == ["TT-1", "TT-1.receipt.json"]
    receipt = load(bench.receipt.read_bytes())
    assert receipt["software"] == f"tailsout {__version__}"


def test_close_lays_out_its_plan_and_writes_nothing(cli: Cli, bench: Any) -> None:
    bench.fill(bench.wave(own=bench.own_bext()))
    before = bench.tree(bench.root, times=True)
    ran = cli("close", bench.job, "-o", bench.out, "--plan")
    assert (ran.code, ran.err) == (0, "")
    assert bench.tree(bench.root, times=True) == before
    assert f"Would be written below {bench.package}:" in ran.out
    assert "Nothing was written." in ran.out
    planned = {line.split()[0] for line in ran.out.splitlines() if line.startswith("  ")}
    cli("close", bench.job, "-o", bench.out)
    files = {
        p.relative_to(bench.package).as_posix() for p in bench.package.rglob("*") if p.is_file()
    }
    assert files <= planned


def test_close_and_check_may_be_strict(cli: Cli, bench: Any) -> None:
    bench.fill(more='end_out_on_leaving = "heads"\nlast_motion = "head to tail"')
    ran = cli("close", bench.job, "-o", bench.out, "--strict")
    assert ran.code == 1
    assert "open questions (1 to decide)" in ran.out
    assert "end-out-contradicts  [the reel is needed]" in ran.out
    assert bench.package.is_dir()
    assert cli("check", bench.package).code == 0
    assert cli("check", bench.package, "--strict").code == 1


def test_check(cli: Cli, closed: Path) -> None:
    ran = cli("check", closed)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(f"{closed}: pass\n")
    flip(closed / "data/audio/a.wav")
    ran = cli("check", closed)
    assert ran.code == 1
    assert ran.out.startswith(f"{closed}: fail (2 to mend)\n")
    assert "at data/audio/a.wav" in ran.out


@pytest.mark.parametrize(
    ("name", "at"),
    [
        ("data/audio/a.wav", -1),
        ("data/audio/a.wav", 30),
        ("data/audio/a.json", 40),
        ("manifest-sha256.txt", 3),
        ("bag-info.txt", 3),
    ],
    ids=["audio", "bext", "side-car", "manifest", "bag-info"],
)
def test_check_names_the_file_of_one_flipped_bit(
    cli: Cli, closed: Path, name: str, at: int
) -> None:
    flip(closed / name, at)
    ran = cli("check", "--json", closed)
    assert ran.code == 1
    (told,) = lines(ran.out)
    assert name in {f["place"] for f in told["findings"] if f["code"] == "digest-differs"}


def test_check_of_several_exits_with_the_most_serious(cli: Cli, closed: Path, bench: Any) -> None:
    bad = bench.root / "bad"
    refused = bench.root / "refused"
    for place in (bad, refused):
        bench.form({"a": "captures/a.wav"})
        place.mkdir()
        for path in sorted(closed.rglob("*")):
            target = place / path.relative_to(closed)
            target.mkdir() if path.is_dir() else target.write_bytes(path.read_bytes())
    flip(bad / "data/audio/a.wav")
    (refused / "data/link").symlink_to("/etc/passwd")
    codes = {
        (closed,): 0,
        (bad,): 1,
        (refused,): 3,
        (closed, bad): 1,
        (refused, bad, closed): 3,
        (bad, refused, bench.root / "nothing"): 2,
    }
    assert {places: cli("check", *places).code for places in codes} == codes


def test_check_tells_programs_one_line_a_package(cli: Cli, closed: Path) -> None:
    flip(closed / "data/audio/a.wav")
    ran = cli("check", "--json", closed, closed.parent / "nothing", closed)
    told = lines(ran.out)
    assert [schemas.faults(one, "check-0.1") for one in told] == [(), (), ()]
    assert [one.get("verdict") for one in told] == ["fail", None, "fail"]
    assert told[1]["exit_code"] == ran.code == 2
    assert told[0]["software"] == f"tailsout {__version__}"


def test_measure(cli: Cli, bench: Any) -> None:
    ran = cli("measure", bench.fill())
    assert (ran.code, ran.err) == (0, "")
    assert "48000 Hz, 24-bit PCM, 1 channel" in ran.out
    assert "0:00.200 (9600 samples a channel)" in ran.out
    assert "nothing to measure integrated" in ran.out


def test_measure_tells_programs_one_line_a_file(cli: Cli, bench: Any) -> None:
    good = bench.put("good.wav", bench.wave(frames=48_000))
    zero = bench.put("zero.wav", bench.wave(frames=0))
    text = bench.put("text.wav", b"Dear archive,\n")
    ran = cli("measure", "--json", good, zero, text, bench.root / "nothing")
    told = lines(ran.out)
    assert [schemas.faults(one, "measure-0.1") for one in told] == [()] * 4
    assert [one.get("frames") for one in told] == [48_000, 0, None, None]
    assert [one.get("exit_code") for one in told] == [None, None, 1, 2]
    assert "integrated_lufs" in told[0]
    assert ran.code == 2
    assert cli("measure", good, text).code == 1


def test_lines_that_a_schema_does_not_allow_would_be_seen() -> None:
    for name in ("check-0.1", "measure-0.1"):
        empty = {"schema": schemas.urn(name), "path": "x"}
        assert schemas.faults(empty, name) != ()


def test_measure_notes_a_cut_file(cli: Cli, bench: Any) -> None:
    ran = cli("measure", bench.fill(bench.wave()[:-300]))
    assert ran.code == 0
    assert "note: The data chunk declares 28800 octets" in ran.err


def test_show(cli: Cli, closed: Path, bench: Any) -> None:
    for path in (closed, bench.job, bench.job / "captures/a.wav"):
        ran = cli("show", path)
        assert (ran.code, ran.err) == (0, "")
        assert "a.wav" in ran.out
    assert cli("show", closed / "bagit.txt").code == 1
    assert cli("show", closed / "nothing").code == 2


def test_explain(cli: Cli) -> None:
    every = cli("explain")
    assert every.code == 0
    assert "digest-differs" in every.out
    one = cli("explain", "digest-differs")
    assert "basis     RFC 8493 §3" in one.out
    assert cli("explain", "nothing").code == 2


def test_every_listed_code_can_be_explained(cli: Cli) -> None:
    codes = [line.split()[0] for line in cli("explain").out.splitlines()]
    assert len(codes) > 50
    for code in codes:
        assert cli("explain", code).out.startswith(f"{code}: ")


@pytest.mark.usefixtures("short_demo")
def test_demo_prints_a_check_command_that_works(cli: Cli, tmp_path: Path) -> None:
    ran = cli("demo", tmp_path / "de mo")
    assert ran.code == 0
    (command,) = (line for line in ran.out.splitlines() if "tailsout check " in line)
    program, *arguments = shlex.split(command)
    assert program == "tailsout"
    assert arguments == ["check", str(tmp_path / "de mo/packages/SKL-0007")]
    again = cli(*arguments)
    assert (again.code, again.err) == (0, "")
    assert cli("demo", tmp_path / "de mo").code == 3


# The outermost door


def test_a_fault_of_our_own_shows_its_traceback(
    cli: Cli, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def fails(*_: object) -> None:
        raise ZeroDivisionError(EVIL)

    monkeypatch.setattr("tailsout.work.show.show", fails)
    ran = cli("show", tmp_path)
    assert ran.code == 70
    assert "fault of the program" in ran.err
    assert f"ZeroDivisionError: {EVIL_SHOWN}" in ran.err


@pytest.mark.parametrize("kind", [KeyboardInterrupt, SystemError])
def test_an_interrupt_is_no_fault(
    cli: Cli, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, kind: type[BaseException]
) -> None:
    def stops(*_: object) -> None:
        raise kind

    monkeypatch.setattr("tailsout.work.show.show", stops)
    assert cli("show", tmp_path).code == (130 if kind is KeyboardInterrupt else 70)


def test_a_reader_who_leaves_has_heard_no_verdict(process: Cli) -> None:
    """Neither pass nor fail; and no traceback."""
    code = (
        "import subprocess, sys\n"
        "first = subprocess.Popen([sys.executable, '-m', 'tailsout', 'explain'],"
        " stdout=subprocess.PIPE, stderr=subprocess.PIPE)\n"
        "first.stdout.close()\n"
        "print(first.stderr.read().decode(), first.wait())\n"
    )
    assert process(code=code).out == " 4\n"


@pytest.mark.parametrize(
    ("encoding", "shown"), [("latin-1", "Hof \\u2013 7\\xbd"), ("utf-8", "Hof – 7½")]
)
def test_a_terminal_that_lacks_a_character_gets_its_number(
    process: Cli, bench: Any, encoding: str, shown: str
) -> None:
    (bench.studio / "studio.toml").write_text('name = "Hof – 7½"\n')
    bench.fill()
    ran = process("show", bench.job, PYTHONIOENCODING=encoding)
    assert (ran.code, ran.err) == (0, "")
    assert shown in ran.out


def test_the_module_is_the_same_door(process: Cli) -> None:
    assert process("--version").out == f"tailsout, version {__version__}\n"


# Names from strangers


def test_no_name_reaches_the_terminal_raw(cli: Cli, bench: Any, closed: Path) -> None:
    evil = bench.root / EVIL
    evil.mkdir()
    (evil / f"{EVIL}.wav").write_bytes(bench.wave())
    (evil / "bagit.txt").write_text(f"{EVIL}\n")
    (evil / "bag-info.txt").write_text(f"{EVIL}: {EVIL}\n")
    (evil / f"manifest-{EVIL}.txt").write_text(f"{EVIL}  data/{EVIL}\n")
    bench.put(f"captures/{EVIL}.wav", bench.wave())
    (bench.studio / "machines" / f"{EVIL}.toml").write_text("id = 3\n")
    bench.form({"a": f"captures/{EVIL}.wav", "b": f"captures/{EVIL}b.wav"})
    wave = evil / f"{EVIL}.wav"
    for arguments in (
        ["check", evil],
        ["check", wave],
        ["check", "--json", evil, wave],
        ["measure", wave],
        ["measure", "--json", wave, evil],
        ["measure", evil],
        ["show", evil],
        ["show", wave],
        ["show", bench.job],
        ["show", evil / "nothing"],
        ["close", bench.job, "-o", bench.out / EVIL],
        ["close", evil, "-o", bench.out],
        ["begin", evil / "job"],
        ["begin", evil / "job", "--studio", evil / "studio"],
        ["demo", evil],
        ["explain", EVIL],
        ["show", "one", EVIL],
        [EVIL],
        [f"--{EVIL}"],
    ):
        ran = cli(*arguments)
        assert ran.code != 70, ran.err
        for text in (ran.out, ran.err):
            assert "\x1b" not in text, arguments
            assert "\u202e" not in text, arguments
            assert "\x07" not in text, arguments


def test_escaped_names_can_still_be_read(cli: Cli, bench: Any) -> None:
    path = bench.put(f"captures/{EVIL}.wav", bench.wave())
    assert EVIL_SHOWN in cli("measure", path).out
    assert EVIL_SHOWN in cli("show", path).out
    assert EVIL_SHOWN in cli("check", path).err
    (told,) = lines(cli("measure", "--json", path).out)
    assert EVIL_SHOWN in told["path"]
