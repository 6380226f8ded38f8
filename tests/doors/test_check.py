"""`tailsout check` of many packages, at each depth, on from where an earlier run was cut off."""

import json
import os
import pty
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.mapping import schemas
from tailsout.mapping.strict_json import load

Cli = Callable[..., Any]


@pytest.fixture
def three(closed: Path) -> list[Path]:
    """A good package, one with a bit off, one that holds a link."""
    places = [closed.with_name(name) for name in ("good", "bitten", "linked")]
    for place in places:
        shutil.copytree(closed, place)
    flip(places[1])
    (places[2] / "data/link").symlink_to("audio")
    return places


def flip(package: Path) -> None:
    audio = package / "data/audio/a.wav"
    content = bytearray(audio.read_bytes())
    content[-1] ^= 1
    audio.write_bytes(content)


def told(text: str) -> dict[str, dict[str, Any]]:
    """Lines of JSON by the name of the package, each by the schema."""
    lines = [load(line.encode()) for line in text.splitlines()]
    for line in lines:
        assert schemas.faults(line, "check-0.1") == ()
    return {Path(line["path"]).name: line for line in lines}


# Depths


def test_structure_alone_says_in_every_line_that_it_proves_nothing(
    cli: Cli, three: list[Path]
) -> None:
    ran = cli("check", "--structure", three[0], three[1])
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert all(line.startswith("[no fixity check]") for line in lines)
    assert f"[no fixity check] {three[1]}: pass" in lines
    assert any("as a bag (RFC 8493): complete, not verified" in line for line in lines)
    assert any("not examined, because it was not asked for: " in line for line in lines)


def test_structure_alone_says_so_in_json(cli: Cli, three: list[Path]) -> None:
    lines = told(cli("check", "--structure", "--json", *three[:2]).out)
    assert len(lines) == 2
    for line in lines.values():
        assert (line["depth"], line["fixity"], line["verdict"]) == (
            "structure",
            "not checked",
            "pass",
        )
        assert line["bag"]["state"] == "complete, not verified"


@pytest.mark.parametrize("as_json", [[], ["--json"]])
def test_structure_alone_opens_no_payload(cli: Cli, closed: Path, as_json: list[str]) -> None:
    for path in (closed / "data").rglob("*"):
        if path.is_file():
            octets = path.stat().st_size
            path.write_bytes(bytes(octets))
    assert cli("check", "--structure", *as_json, closed).code == 0
    assert cli("check", *as_json, closed).code == 1


def test_structure_alone_still_finds_what_lacks_and_what_is_unsafe(
    cli: Cli, three: list[Path]
) -> None:
    assert cli("check", "--structure", three[2]).code == 3
    (three[0] / "data/audio/a.wav").unlink()
    assert cli("check", "--structure", three[0]).code == 1


def test_rfc_8493_alone(cli: Cli, closed: Path, reseal: Callable[[Path], None]) -> None:
    (closed / "data/audio/a.json").write_bytes(b"{}")
    (closed / "data/audio/a.wav").write_bytes(b"RIFF")
    info = (closed / "bag-info.txt").read_text().splitlines(keepends=True)
    kept = [line for line in info if not line.startswith("Payload-Oxum")]
    (closed / "bag-info.txt").write_text("".join(kept))
    reseal(closed)
    assert cli("check", closed).code == 1
    ran = cli("check", "--bagit-only", closed)
    assert ran.code == 0
    assert "because it was not asked for: " in ran.out
    [line] = told(cli("check", "--bagit-only", "--json", closed).out).values()
    assert (line["depth"], line["bagit_only"], line["bag"]["state"]) == ("full", True, "valid")
    outcomes = {check["name"]: check["outcome"] for check in line["checks"]}
    assert (outcomes["fixity"], outcomes["containers"]) == ("passed", "not examined")
    flip(closed)
    assert cli("check", "--bagit-only", closed).code == 1


@pytest.mark.parametrize("other", ["--structure", "--bagit-only"])
def test_deep_goes_with_nothing_shallower(cli: Cli, closed: Path, other: str) -> None:
    ran = cli("check", "--deep", other, closed)
    assert (ran.code, ran.out) == (2, "")


@pytest.mark.parametrize("jobs", ["0", "65", "-1", "two"])
def test_jobs_that_make_no_sense(cli: Cli, closed: Path, jobs: str) -> None:
    assert cli("check", "--jobs", jobs, closed).code == 2


# Many


def test_a_table_at_the_end_the_worst_first(cli: Cli, three: list[Path]) -> None:
    none = three[0].with_name("none")
    ran = cli("check", "--jobs", "2", *three[:2], none, three[2])
    assert ran.code == 2
    table = ran.out.splitlines()[-6:]
    assert [line.split()[0] for line in table[:3]] == ["refused", "fail", "not"]
    assert table[0].endswith(f"  {three[2]}")
    assert table[1].split() == ["fail", "invalid", str(three[1])]
    assert table[2].split() == ["not", "judged", str(none)]
    assert table[3].split() == ["pass", "valid", str(three[0])]
    assert table[4:] == ["", "4 packages: 1 refused, 1 fail, 1 not judged, 1 pass"]
    assert "none is neither" in ran.err or "none is no" in ran.err


def test_packages_that_are_begun_at_once_in_a_fresh_process(
    process: Cli, three: list[Path]
) -> None:
    """The library that makes records of JSON broke down when two threads taught it one shape."""
    ran = process("check", "--jobs", "3", three[0], three[1], three[0])
    assert (ran.code, ran.err) == (1, "")


def test_one_package_needs_no_table(cli: Cli, closed: Path) -> None:
    assert "packages:" not in cli("check", closed).out
    assert "2 packages: 2 pass" in cli("check", closed, closed).out


def test_what_lies_beside_packages_is_no_package(cli: Cli, closed: Path) -> None:
    receipt = closed.with_name("TT-1.receipt.json")
    assert receipt.is_file()
    closed.with_name("TT-1.tar.sha512").write_text("00  TT-1.tar\n")
    ran = cli("check", *sorted(closed.parent.iterdir()))
    assert ran.code == 0
    assert closed.with_name("TT-1.label.svg").is_file()
    assert ran.err == "Receipts and digests are read with the packages beside them: 2.\n"
    alone = cli("check", receipt)
    assert (alone.code, alone.out) == (2, "")
    assert "lies beside a package and is not one" in alone.err


def test_a_package_may_be_called_like_a_receipt(cli: Cli, closed: Path) -> None:
    place = closed.rename(closed.with_name("odd.receipt.json"))
    assert "odd.receipt.json: " in cli("check", place).out


# From where an earlier run was cut off


@pytest.fixture
def report(cli: Cli, three: list[Path], tmp_path: Path) -> Path:
    place = tmp_path / "report.jsonl"
    place.write_text(cli("check", "--json", *three).out)
    return place


def test_what_nobody_wrote_to_is_told_again_with_its_day(
    cli: Cli, three: list[Path], report: Path
) -> None:
    before = told(report.read_text())
    ran = cli("check", "--json", "--since", report, *three)
    after = told(ran.out)
    assert (ran.code, ran.err) == (3, "")
    for name, line in after.items():
        assert line == {**before[name], "taken_over": str(report)}
        assert line["judged"].endswith("Z")
    text = cli("check", "--since", report, *three).out
    assert f"{three[1]}: fail, judged {before['bitten']['judged']}, not read again" in text
    assert text.count("not read again") == 2 * len(three)


def test_what_was_written_to_is_read_again(cli: Cli, three: list[Path], report: Path) -> None:
    flip(three[1])
    flip(three[0])
    after = told(cli("check", "--json", "--since", report, *three).out)
    assert [after[name]["verdict"] for name in ("good", "bitten")] == ["fail", "pass"]
    assert [name for name, line in after.items() if "taken_over" in line] == ["linked"]


def test_a_report_that_was_cut_off_serves_as_far_as_it_goes(
    cli: Cli, three: list[Path], report: Path
) -> None:
    lines = report.read_bytes().splitlines(keepends=True)
    names = [Path(load(line)["path"]).name for line in lines]
    report.write_bytes(lines[0] + lines[1][:-20])
    ran = cli("check", "--json", "--since", report, *three)
    taken = [name for name, line in told(ran.out).items() if "taken_over" in line]
    assert taken == names[:1]
    assert "lines cut off or no line of a report: 1; those" in ran.err


def test_a_report_of_another_depth_proves_nothing_here(
    cli: Cli, three: list[Path], tmp_path: Path
) -> None:
    shallow = tmp_path / "shallow.jsonl"
    shallow.write_text(cli("check", "--json", "--structure", *three).out)
    ran = cli("check", "--json", "--since", shallow, *three)
    assert "taken_over" not in ran.out
    assert "lines made otherwise than is asked now, or not examined: 3; those" in ran.err


def test_a_report_made_under_another_bagit_profile_proves_nothing_here(
    cli: Cli, closed: Path, tmp_path: Path
) -> None:
    profile, report = tmp_path / "profile.json", tmp_path / "report.jsonl"
    asked = {
        "BagIt-Profile-Info": {
            "BagIt-Profile-Identifier": "https://harbour.example/profile.json",
            "Source-Organization": "Harbour Archive",
            "External-Description": "What the harbour takes in",
            "Version": "1",
        },
        "Serialization": "optional",
        "Accept-Serialization": ["application/x-tar"],
        "Accept-BagIt-Version": ["1.0"],
    }
    profile.write_text(json.dumps(asked))
    report.write_text(cli("check", "--json", "--profile", profile, closed).out)
    [line] = told(report.read_text()).values()
    assert line["bagit_profile"]["identifier"] == "https://harbour.example/profile.json"
    again = ("check", "--json", "--since", report, closed)
    assert "taken_over" not in cli(*again).out
    assert "taken_over" in cli(*again, "--profile", profile).out
    profile.write_text(json.dumps(asked | {"Accept-BagIt-Version": ["0.97"]}))
    assert "taken_over" not in cli(*again, "--profile", profile).out


def test_a_report_that_is_not_there(cli: Cli, closed: Path) -> None:
    ran = cli("check", "--since", closed / "none", closed)
    assert (ran.code, ran.out) == (2, "")
    assert "There is no file" in ran.err


INTERRUPTED = """
import os, signal, sys
from tailsout.doors.cli import run
from tailsout.work import check_many
plain = check_many.check
count = 0
def check(path, *given, **named):
    global count
    count += 1
    if count == 2:
        os.kill(os.getpid(), signal.SIGINT)
    return plain(path, *given, **named)
check_many.check = check
sys.exit(run(sys.argv[1:]))
"""


def test_an_interrupt_leaves_what_was_judged(
    process: Cli, cli: Cli, three: list[Path], tmp_path: Path
) -> None:
    ran = process("check", "--json", "--jobs", "1", *three, code=INTERRUPTED)
    assert ran.code == 130
    assert "interrupted" in ran.err
    assert f"Judged were {len(told(ran.out))} of 3 packages." in ran.err
    assert set(told(ran.out)) <= {"good", "bitten"}
    report = tmp_path / "report.jsonl"
    report.write_text(ran.out)
    after = told(cli("check", "--json", "--since", report, *three).out)
    assert {name for name, line in after.items() if "taken_over" in line} == set(told(ran.out))


def test_progress_on_a_terminal_and_only_there(three: list[Path]) -> None:
    """A pipe for what is printed, a terminal for the rest."""
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "tailsout", "check", *map(str, three)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs) as child:
        os.close(theirs)
        shown = b""
        try:
            while more := os.read(ours, 4096):
                shown += more
        except OSError:  # what Linux says when the other side is gone
            pass
        assert child.stdout is not None
        out = child.stdout.read()
    os.close(ours)
    assert child.returncode == 3
    assert b"of 3 packages" in shown
    assert b"3 packages: " in out
    assert b"\x1b" not in out


# What several packages have in common and ought not to


@pytest.fixture
def alike(closed: Path) -> list[Path]:
    """A package, a copy of it, and the same samples under the name of another reel."""
    places = [closed.with_name(name) for name in ("copy", "first", "other")]
    for place in places:
        shutil.copytree(closed, place)
    for path in (places[2] / "data").rglob("*.json"):
        text = path.read_text("utf-8")
        told = json.loads(text)["transfer"]["package_id"]
        path.write_text(text.replace(f'"package_id": "{told}"', '"package_id": "ANOTHER"'), "utf-8")
    return places


@pytest.mark.parametrize("jobs", ["1", "3"])
def test_samples_in_two_packages_are_told_once_and_last(
    cli: Cli, alike: list[Path], jobs: str
) -> None:
    ran = cli("check", "--jobs", jobs, *alike)
    # A side-car that was edited fails by itself.
    assert ran.code == 1
    together = ran.out.partition("3 of 3 packages together: open questions (2 to decide)\n")[2]
    assert together.count("  query  essence-in-two-packages\n") == 1
    assert together.count("  query  job-in-two-packages\n") == 1
    assert f"{alike[0]}#data/audio/a.wav\n" in together
    assert "3 packages: " in together
    assert cli("check", "--jobs", jobs, *alike[:2]).out.count("together") == 0


def test_in_json_all_packages_together_have_a_line_of_their_own(
    cli: Cli, alike: list[Path], tmp_path: Path
) -> None:
    lines = cli("check", "--json", *alike).out.splitlines()
    *each, last = (load(line.encode()) for line in lines)
    assert schemas.faults(last, "batch-0.1") == ()
    assert (len(each), last["packages"], last["compared"]) == (3, 3, 3)
    assert [one["code"] for one in last["findings"]] == [
        "job-in-two-packages",
        "essence-in-two-packages",
    ]
    # What is taken over from a report is held against the others too, by what stands there.
    report = tmp_path / "monday.jsonl"
    report.write_text("\n".join(lines) + "\n", "utf-8")
    again = cli("check", "--since", report, *alike)
    assert "not read again" in again.out
    assert "3 of 3 packages together: open questions (2 to decide)" in again.out
    assert "cut off" not in again.err


def test_without_headers_nothing_is_compared(cli: Cli, alike: list[Path]) -> None:
    assert "together" not in cli("check", "--structure", *alike).out
