"""The `tailsout` command: what it prints, what it exits with, what it loads."""

import errno
import os
import re
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout import __version__
from tailsout.bag.disk import Disk
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

COMMANDS = ("begin", "note", "close", "check", "measure", "show", "recount", "explain", "demo")


def test_help_names_every_command(cli: Cli) -> None:
    ran = cli("--help")
    assert ran.code == 0
    for name in COMMANDS:
        assert f"  {name} " in ran.out


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(cli: Cli, command: str) -> None:
    ran = cli(command, "-h")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(f"Usage: tailsout {command} ")


def test_version(cli: Cli) -> None:
    assert cli("--version").out == f"tailsout, version {__version__}\n"


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["no-such"],
        ["check"],
        ["close", "job"],
        ["show"],
        ["show", "--raw", "fmt", "a", "b"],
        ["show", "--raw", "fmt", "--json", "a"],
        ["note"],
        ["recount"],
        ["recount", "."],
        ["--no-such"],
    ],
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


def test_check_loads_a_reader_of_xml_only_where_there_is_some(
    process: Cli, closed: Path, reseal: Callable[[Path], None]
) -> None:
    for path in closed.glob("metadata/*.xml"):
        path.unlink()
    reseal(closed)
    ran = process("numpy,scipy,numba,matplotlib,rich,lxml", "check", closed, code=LOADED)
    assert (ran.code, ran.err) == (0, "[]\n")


def test_check_decodes_flac_elsewhere(
    process: Cli, closed: Path, bench: Any, reseal: Callable[[Path], None]
) -> None:
    (closed / "data" / "audio" / "b.flac").write_bytes(bench.flac(bench.wave()))
    reseal(closed)
    ran = process("soundfile", "check", "--json", "--deep", closed, code=LOADED)
    assert ran.err == "[]\n"
    assert "b.flac" in ran.out


def test_measure_does_load_them(process: Cli, bench: Any) -> None:
    """So that the two tests above can fail."""
    ran = process("numpy,numba", "measure", bench.fill(), code=LOADED)
    assert (ran.code, ran.err) == (0, "['numba', 'numpy']\n")


# Each command


def test_begin(cli: Cli, tmp_path: Path) -> None:
    assert cli("begin", tmp_path / "other").code == 2
    ran = cli("begin", tmp_path / "job", "--studio", tmp_path / "studio", "--identifier", "HA/7")
    assert (ran.code, ran.err) == (0, "")
    assert f"Studio: {tmp_path / 'studio'} (new" in ran.out
    assert "Its package will be called HA-7;" in ran.out
    again = cli("begin", tmp_path / "job", "--studio", tmp_path / "studio")
    assert again.code == 3
    assert cli("begin", tmp_path / "other").code == 0


def test_begin_with_every_option(cli: Cli, bench: Any) -> None:
    bench.form({}, more='[[passes]]\nid = "p1"\nmachine = "left"')
    ran = cli(
        *("begin", bench.root / "next", "--studio", bench.studio, "--like", bench.job),
        *("--session", "s1", "--identifier", "HA/8", "--retrospective", "--short"),
    )
    assert (ran.code, ran.err) == (0, "")
    assert "Studio:" not in ran.out
    assert f"Session: {bench.studio / 'sessions/s1.toml'} (new" in ran.out
    assert "Its package will be called HA-8;" in ran.out
    job = tomllib.loads((bench.root / "next/job.toml").read_text("utf-8"))
    assert (job["kind"], job["passes"][0]["machine"]) == ("retrospective", "left")
    again = cli("begin", bench.root / "third", "--like", bench.root / "next", "--session", "s1")
    assert again.code == 0
    assert "Session:" not in again.out


def test_begin_for_a_reel_that_is_not_played(cli: Cli, bench: Any) -> None:
    ran = cli("begin", bench.root / "next", "--studio", bench.studio, "--record-only")
    assert ran.code == 0
    assert "captures" not in ran.out
    both = cli("begin", bench.root / "x", "--record-only", "--retrospective")
    assert both.code == 2
    assert both.err.startswith("tailsout: A job is either told afterwards or not played.")
    assert not (bench.root / "x").exists()


def test_begin_like_a_job_that_is_broken(cli: Cli, bench: Any) -> None:
    (bench.job / "job.toml").write_text("note = \n")
    ran = cli("begin", bench.root / "next", "--studio", bench.studio, "--like", bench.job)
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert "cannot be followed" in ran.err


NOTED = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:]{8}Z \[(\w+)\] (.*)")


def noted(text: str) -> list[tuple[str, ...]]:
    matches = [NOTED.fullmatch(line) for line in text.splitlines()]
    assert None not in matches, text
    return [match.groups() for match in matches if match]


def test_note(cli: Cli, bench: Any) -> None:
    bench.form({}, more='[[passes]]\nid = "p1"')
    ran = cli("note", bench.job, "splice opened,", "stopped")
    assert (ran.code, ran.err) == (0, "")
    assert noted(ran.out) == [("p1", "splice opened, stopped")]
    assert cli("note", bench.job, "--pass", "p0", "leader broke").code == 0
    assert cli("note", bench.job, "--", "-3 dB at the left").code == 0
    kept = (bench.job / "jottings.txt").read_text("utf-8")
    assert noted(kept) == [
        ("p1", "splice opened, stopped"),
        ("p0", "leader broke"),
        ("p1", "-3 dB at the left"),
    ]


def test_note_of_an_instant_that_was_given(
    cli: Cli, bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1773484400")
    assert cli("note", bench.job, "x").out == "2026-03-14T10:33:20Z x\n"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (b"one\ntwo\n", [b"one", b"two"]),
        (b"one\ntw", [b"one", b"tw"]),  # the end of the input ends the line
        (b"one\r\n\r\n  \n two \r\n", [b"one", b"two"]),
        (b"caf\xe9\n", [b"caf\xe9"]),
    ],
)
def test_note_takes_what_is_typed_line_by_line(
    process: Cli, bench: Any, typed: bytes, kept: list[bytes]
) -> None:
    ran = process("note", bench.job, "--pass", "p1", given=typed)
    assert (ran.code, ran.err) == (0, "")
    written = (bench.job / "jottings.txt").read_bytes()
    assert written.endswith(b"\n")
    assert [line.partition(b"] ")[2] for line in written.splitlines()] == kept
    assert len(ran.out.splitlines()) == len(kept)


def test_note_keeps_each_line_before_the_next_is_read(bench: Any) -> None:
    """Whatever becomes of the terminal, what was typed in whole is on the disk."""
    with subprocess.Popen(
        [sys.executable, "-m", "tailsout", "note", str(bench.job)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    ) as running:
        assert running.stdin is not None
        assert running.stdout is not None
        running.stdin.write(b"splice opened\n")
        running.stdin.flush()
        assert running.stdout.readline().endswith(b" splice opened\n")
        assert (bench.job / "jottings.txt").read_bytes().endswith(b" splice opened\n")
        running.kill()


@pytest.mark.parametrize("typed", [b"", b"\n \n"])
def test_note_of_nothing(process: Cli, bench: Any, typed: bytes) -> None:
    ran = process("note", bench.job, given=typed)
    assert (ran.code, ran.out) == (2, "")
    assert "There was nothing to note." in ran.err
    assert not (bench.job / "jottings.txt").exists()


def test_note_on_a_full_disk_is_one_sentence(
    cli: Cli, bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_given: object) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Disk, "write", full)
    ran = cli("note", bench.job, "x")
    assert (ran.code, ran.out, ran.err.count("\n")) == (4, "", 1)
    assert "jottings.txt failed: No space left on device" in ran.err


def test_note_where_there_is_no_job(cli: Cli, bench: Any) -> None:
    ran = cli("note", bench.root / "none", "x")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("tailsout: There is no job folder ")


def test_note_loads_nothing_heavy(process: Cli, bench: Any) -> None:
    """The prompt must be back before the next splice."""
    heavy = "numpy,numba,scipy,rich,tomlkit,matplotlib"
    ran = process(heavy, "note", bench.job, "x", code=LOADED)
    assert (ran.code, ran.err) == (0, "[]\n")


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
    assert sorted(p.name for p in bench.out.iterdir()) == [
        "TT-1",
        "TT-1.label.svg",
        "TT-1.receipt.json",
    ]
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


def test_a_plan_does_not_claim_to_know_how_large_flac_becomes(cli: Cli, bench: Any) -> None:
    (bench.studio / "recipients/archive.toml").write_text(
        'id = "archive"\nmaster_format = "FLAC"\n'
    )
    bench.fill(top='recipient = "archive"')
    bench.put("documents/b.flac", b"fLaC, a paper that is called so")
    lines = cli("close", bench.job, "-o", bench.out, "--plan").out.splitlines()
    (master,) = [line for line in lines if "data/audio/a.flac" in line]
    (kept,) = [line for line in lines if "documents/b.flac" in line]
    assert master.endswith(" as a wave file")
    assert kept.endswith("31 octets")


def test_close_and_check_may_be_strict(cli: Cli, bench: Any) -> None:
    bench.fill(more='end_out_on_leaving = "heads"\nlast_motion = "head to tail"')
    ran = cli("close", bench.job, "-o", bench.out, "--strict")
    assert ran.code == 1
    assert "open questions (1 to decide)" in ran.out
    assert "Open in it: 1 question. `tailsout amend` answers them" in ran.out
    assert "end-out-contradicts  [the reel is needed]" in ran.out
    assert bench.package.is_dir()
    assert cli("check", bench.package).code == 0
    assert cli("check", bench.package, "--strict").code == 1


ANSWER = (
    '\n[[answers]]\ncode = "end-out-contradicts"\nplace = "reel.end_out_on_leaving"\n'
    'decision = "accepted as is"\nreason = "house rule"\nby = "isolde"\non = 2026-03-15\n'
)


def test_a_question_that_was_answered_is_none_any_more(cli: Cli, bench: Any) -> None:
    bench.fill(more=f'end_out_on_leaving = "heads"\nlast_motion = "head to tail"{ANSWER}')
    ran = cli("close", bench.job, "-o", bench.out, "--strict")
    assert (ran.code, ran.err) == (0, "")
    assert f"{bench.job}: pass (1 to note)" in ran.out
    assert "answered: accepted as is by isolde on 2026-03-15: house rule" in ran.out
    checked = cli("check", "--strict", "--json", bench.package)
    assert checked.code == 0
    (told,) = lines(checked.out)
    (finding,) = told["findings"]
    assert (told["verdict"], finding["severity"]) == ("pass", "note")
    assert finding["answered"].endswith("house rule")
    assert finding["answer_at"] == "reel.end_out_on_leaving"


def test_a_question_says_how_it_is_answered(cli: Cli, bench: Any) -> None:
    bench.fill(more='end_out_on_leaving = "heads"\nlast_motion = "head to tail"')
    ran = cli("close", bench.job, "-o", bench.out)
    where = 'code = "end-out-contradicts", place = "reel.end_out_on_leaving"'
    assert f"to answer it: {where}" in ran.out


def test_recount(cli: Cli, bench: Any) -> None:
    bench.fill(more='[[passes]]\nid = "p1"\nmachine = "left"\non = 2026-03-14')
    assert cli("close", bench.job, "-o", bench.out).code == 0
    book = bench.studio / "logbook/left.jsonl"
    written = book.read_bytes()
    book.unlink()
    ran = cli("recount", bench.out, "--studio", bench.studio)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == (
        "Packages looked into: 1; with a side-car of ours: 1; lines added to the logbooks: 1.\n"
    )
    assert book.read_bytes() == written
    assert cli("recount", bench.out / "none", "--studio", bench.studio).code == 2
    assert cli("recount", bench.out, "--studio", bench.job).code == 2


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
    # Each is told of when it is done, whichever was named first.
    told = sorted(lines(ran.out), key=lambda one: str(one["path"]))
    assert [schemas.faults(one, "check-0.1") for one in told] == [(), (), ()]
    assert [one.get("verdict") for one in told] == ["fail", "fail", None]
    assert told[2]["exit_code"] == ran.code == 2
    assert told[0]["software"] == f"tailsout {__version__}"


def test_measure(cli: Cli, bench: Any) -> None:
    ran = cli("measure", bench.fill())
    assert (ran.code, ran.err) == (0, "")
    assert "48000 Hz, 24-bit PCM, 1 channel" in ran.out
    assert "0:00.200 (9600 samples a channel)" in ran.out
    assert "  loudness    integrated: nothing to measure, range nothing to measure\n" in ran.out


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


def test_measure_tells_damage_and_fails(cli: Cli, bench: Any) -> None:
    path = bench.fill(bench.wave()[:-300])
    ran = cli("measure", path)
    assert ran.code == 1
    assert "damage: The data chunk declares 28800 octets" in ran.err
    assert "0:00.197 (9500 samples a channel)" in ran.out
    ran = cli("measure", "--json", path)
    assert (ran.code, ran.err) == (1, "")
    (told,) = lines(ran.out)
    assert schemas.faults(told, "measure-0.1") == ()
    assert told["frames"] == 9500
    ((kind, offset, text),) = [tuple(one.values()) for one in told["damage"]]
    assert (kind, offset) == ("truncated", 36)
    assert text.startswith("The data chunk declares 28800 octets")


def test_measure_notes_what_does_no_harm(cli: Cli, bench: Any) -> None:
    path = bench.fill(bench.wave() + b"\0\0\0")
    ran = cli("measure", path)
    assert ran.code == 0
    assert ran.err.startswith("  note: ")
    (told,) = lines(cli("measure", "--json", path).out)
    assert [one["kind"] for one in told["damage"]] == ["trailing-octets"]
    (sound,) = lines(cli("measure", "--json", bench.fill()).out)
    assert "damage" not in sound


def test_measure_of_several_is_as_bad_as_the_worst(cli: Cli, bench: Any) -> None:
    good = bench.put("good.wav", bench.wave())
    cut = bench.put("cut.wav", bench.wave()[:-300])
    assert cli("measure", good, cut).code == 1


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
    assert "check     fixity; it needs fixity, manifests" in one.out
    assert "It cannot be answered." in one.out
    asked = cli("explain", "region-overlap").out
    assert 'code = "region-overlap"' in asked
    assert "group     regions" in asked
    assert cli("explain", "nothing").code == 2


def test_every_listed_code_can_be_explained(cli: Cli) -> None:
    lines = cli("explain").out.splitlines()
    codes = [line.split()[0] for line in lines if line.startswith("  ")]
    assert lines[-1].startswith(f"{len(codes)} findings; ")
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


def test_an_interrupt_when_the_package_stands_already_says_so(
    cli: Cli, bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stops(*_: object) -> None:
        raise KeyboardInterrupt

    bench.fill()
    monkeypatch.setattr(Disk, "write_beside", stops)
    ran = cli("close", bench.job, "-o", bench.out)
    assert (ran.code, ran.out) == (130, "")
    assert ran.err == (
        f"tailsout: Interrupted; {bench.package} stands complete and proved, but without its "
        "receipt. The same command with --resume proves it once more and writes the receipt.\n"
    )
    assert cli("check", bench.package).code == 0
    monkeypatch.undo()
    assert cli("close", bench.job, "-o", bench.out, "--resume").code == 0
    assert sorted(p.name for p in bench.out.iterdir()) == [
        "TT-1",
        "TT-1.label.svg",
        "TT-1.receipt.json",
    ]


def test_what_a_full_disk_cut_off_is_resumed_or_discarded(
    cli: Cli, bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_disk: Disk, path: Path) -> int:
        if path.name.startswith("manifest-"):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return plain(_disk, path)

    bench.fill()
    plain = Disk.create
    monkeypatch.setattr(Disk, "create", full)
    ran = cli("close", bench.job, "-o", bench.out)
    assert ran.code == 4
    assert "The disk is full" in ran.err
    assert "go on with it by --resume, or clear it away by --discard" in ran.err
    monkeypatch.undo()
    again = cli("close", bench.job, "-o", bench.out)
    assert (again.code, "1 file stands finished there" in again.err) == (4, True)
    assert cli("close", bench.job, "-o", bench.out, "--discard").code == 0
    assert list(bench.out.iterdir()) == []
    nothing = cli("close", bench.job, "-o", bench.out, "--discard")
    assert (nothing.code, nothing.out) == (
        0,
        f"There was nothing to clear away: {bench.package}\n",
    )
    monkeypatch.setattr(Disk, "create", full)
    cli("close", bench.job, "-o", bench.out)
    monkeypatch.undo()
    resumed = cli("close", bench.job, "-o", bench.out, "--resume")
    assert resumed.code == 0
    assert "Read back and kept: 1 of 1 large file." in resumed.err
    assert cli("close", bench.job, "-o", bench.out, "--resume").code == 2


@pytest.mark.parametrize("more", [["--resume"], ["--plan"]])
def test_discard_stands_alone(cli: Cli, bench: Any, more: list[str]) -> None:
    bench.fill()
    ran = cli("close", bench.job, "-o", bench.out, "--discard", *more)
    assert (ran.code, "does nothing else" in ran.err) == (2, True)


def test_a_plan_resumes_nothing(cli: Cli, bench: Any) -> None:
    bench.fill()
    ran = cli("close", bench.job, "-o", bench.out, "--resume", "--plan")
    assert (ran.code, "resumes nothing" in ran.err) == (2, True)


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
        ["begin", evil / "other", "--like", evil, "--session", EVIL],
        ["begin", evil / "third", "--studio", evil, "--session", EVIL],
        ["note", bench.job, EVIL],
        ["note", bench.job, "--pass", EVIL, EVIL],
        ["note", evil / "nothing", EVIL],
        ["recount", evil, "--studio", bench.studio],
        ["recount", evil / "nothing", "--studio", bench.studio],
        ["recount", evil, "--studio", evil / EVIL],
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


@pytest.mark.parametrize(("group", "least"), [((), 24), (("reckon",), 15)])
def test_the_list_of_commands_cuts_no_sentence_off(
    cli: Cli, group: tuple[str, ...], least: int
) -> None:
    listed = cli(*group, "--help").out.partition("Commands:\n")[2]
    assert "..." not in listed
    entries = re.split(r"\n  (?=[a-z])", listed.strip())
    assert len(entries) >= least
    assert [one for one in entries if not one.rstrip().endswith(".")] == []


@pytest.mark.parametrize(
    ("typed", "meant"),
    [(["chek"], "check"), (["recieve"], "receive"), (["reckon", "mismach"], "mismatch")],
)
def test_a_command_that_is_nearly_one(cli: Cli, typed: list[str], meant: str) -> None:
    ran = cli(*typed, "x")
    assert ran.code == 2
    assert f"No such command {typed[-1]!r}. Did you mean {meant!r}?" in ran.err


def test_a_command_that_is_like_none(cli: Cli) -> None:
    assert cli("x" * 5000).err.endswith("x'.\n")


def test_a_finding_that_is_nearly_one(cli: Cli) -> None:
    assert "Did you mean 'asked-not-told'?" in cli("explain", "asked-not-tld").err
