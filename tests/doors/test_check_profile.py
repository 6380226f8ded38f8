"""`tailsout check --profile`: one BagIt Profile for the run, from a file and from nowhere else."""

import json
import socket
import tarfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Cli = Callable[..., Any]
URI = "https://saltpan.example/profiles/reel-1.2.json"
PROFILE = {
    "BagIt-Profile-Info": {
        "BagIt-Profile-Identifier": URI,
        "BagIt-Profile-Version": "1.4.0",
        "Source-Organization": "Saltpan Row",
        "External-Description": "Transfers of reels",
        "Version": "1.2",
    },
    "Bag-Info": {"Reel-Number": {"required": True, "values": ["7"]}},
    "Accept-BagIt-Version": ["1.0"],
    "Payload-Files-Allowed": ["notes/*"],
}


@pytest.fixture
def bag(tmp_path: Path, reseal: Callable[[Path], None]) -> Callable[..., Path]:
    def make(name: str, *lines: str) -> Path:
        base = tmp_path / name
        (base / "data" / "notes").mkdir(parents=True)
        (base / "data" / "notes" / "a.txt").write_text("tails out\n")
        declared = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
        (base / "bagit.txt").write_text(declared)
        (base / "bag-info.txt").write_text("".join(f"{line}\n" for line in lines))
        for kind in ("manifest", "tagmanifest"):
            (base / f"{kind}-sha512.txt").touch()
        reseal(base)
        return base

    return make


@pytest.fixture
def profile(tmp_path: Path) -> Callable[..., Path]:
    def write(content: object = PROFILE, **keys: Any) -> Path:
        path = tmp_path / "reel.json"
        data = {**content, **keys} if isinstance(content, dict) else content
        path.write_bytes(data if isinstance(data, bytes) else json.dumps(data).encode())
        return path

    return write


NAMED = f"BagIt-Profile-Identifier: {URI}"


def test_one_profile_is_held_against_every_package(
    cli: Cli, bag: Callable[..., Path], profile: Callable[..., Path]
) -> None:
    kept = bag("kept", NAMED, "Reel-Number: 7")
    broken = bag("broken", NAMED, "Reel-Number: 8")
    ran = cli("check", "--profile", profile(), kept, broken)
    assert (ran.code, ran.err) == (1, "")
    assert f"{kept}: pass" in ran.out
    assert f"{broken}: fail (1 to mend)" in ran.out
    assert "mend   bagit-profile-value-not-allowed\n         at bag-info.txt:2" in ran.out
    assert cli("check", "--profile", profile(), kept).code == 0


@pytest.mark.parametrize("more", [["--structure"], ["--bagit-only"], ["--deep"], []])
def test_it_is_held_against_them_at_any_depth(
    cli: Cli, bag: Callable[..., Path], profile: Callable[..., Path], more: list[str]
) -> None:
    ran = cli("check", "--json", *more, "--profile", profile(), bag("b", NAMED))
    told = json.loads(ran.out)
    assert ran.code == 1
    assert [one["code"] for one in told["findings"]] == ["bagit-profile-label-missing"]
    assert {"name": "BagIt Profile", "outcome": "failed"} in told["checks"]


def test_what_was_given_tells_whether_it_comes_in_an_archive(
    cli: Cli, bag: Callable[..., Path], profile: Callable[..., Path], tmp_path: Path
) -> None:
    base = bag("reel", NAMED, "Reel-Number: 7")
    with tarfile.open(tmp_path / "reel.tar", "w") as tar:
        tar.add(base, "reel")
    wanted = {"Serialization": "required", "Accept-Serialization": ["application/x-tar"]}
    for form, ok in ((base, False), (tmp_path / "reel.tar", True)):
        ran = cli("check", "--profile", profile(**wanted), form)
        assert ("bagit-profile-serialization" not in ran.out, ran.code == 0) == (ok, ok)
        ran = cli("check", "--profile", profile(Serialization="forbidden"), form)
        assert ("bagit-profile-serialization" in ran.out, ran.code == 1) == (ok, ok)


def test_without_it_a_profile_that_is_named_is_told_as_not_examined(
    cli: Cli, bag: Callable[..., Path]
) -> None:
    told = json.loads(cli("check", "--json", bag("b", NAMED)).out)
    assert told["verdict"] == "pass"
    assert [one["code"] for one in told["findings"]] == ["bagit-profile-not-given"]
    [check] = [one for one in told["checks"] if one["name"] == "BagIt Profile"]
    assert check == {
        "name": "BagIt Profile",
        "outcome": "not examined",
        "why": "no BagIt Profile was given",
    }


def test_what_is_wrong_with_the_profile_is_told_with_each_package(
    cli: Cli, bag: Callable[..., Path], profile: Callable[..., Path]
) -> None:
    path = profile(**{"Manifest-Required": ["md5"], "Fetch.txt-Required": False})
    ran = cli("check", "--json", "--profile", path, bag("b", NAMED, "Reel-Number: 7"))
    told = json.loads(ran.out)
    assert (ran.code, told["verdict"]) == (0, "open questions")
    assert [(one["code"], one["place"]) for one in told["findings"]] == [
        ("bagit-profile-key-unknown", f"{path}#/Manifest-Required")
    ]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"{", "it is not JSON at line 1"),
        ({"Serialization": "maybe"}, "/Serialization found 'maybe'"),
        (b" " * (5 << 20), "it holds more than 4 MiB."),
    ],
)
def test_what_is_no_profile_stops_the_run(
    cli: Cli,
    bag: Callable[..., Path],
    profile: Callable[..., Path],
    content: object,
    words: str,
) -> None:
    ran = cli("check", "--profile", profile(content), bag("b", NAMED))
    assert (ran.code, ran.out) == (1, "")
    assert "reel.json cannot be used. " in ran.err
    assert words in ran.err
    assert ran.err.endswith("for one that its specification allows.\n")


def test_ten_faults_of_a_profile_are_told_and_the_rest_counted(
    cli: Cli, bag: Callable[..., Path], profile: Callable[..., Path]
) -> None:
    labels = {f"L{n:02}": {"required": n} for n in range(25)}
    ran = cli("check", "--profile", profile(**{"Bag-Info": labels}), bag("b"))
    assert ran.err.count("/required found ") == 10
    assert "and 15 more. Ask" in ran.err


@pytest.mark.parametrize("name", ["nowhere.json", ".", URI, "file:///etc/hostname"])
def test_a_profile_that_is_no_file_is_never_looked_for_elsewhere(
    cli: Cli,
    bag: Callable[..., Path],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    name: str,
) -> None:
    def refuse(*_arguments: object) -> None:
        raise AssertionError

    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.chdir(tmp_path)
    ran = cli("check", "--profile", name, bag("b", NAMED))
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("tailsout: There is no BagIt Profile ")
    assert ran.err.endswith(". Name its file: it is a file of JSON, and nothing is fetched.\n")


def test_a_name_that_deceives_is_safe_to_print(cli: Cli, bag: Callable[..., Path]) -> None:
    ran = cli("check", "--profile", "x\x1b]0;owned\x07.json", bag("b"))
    assert "\x1b" not in ran.err
    assert ran.code == 2


def test_a_name_no_system_holds_is_the_systems_fault(cli: Cli, bag: Callable[..., Path]) -> None:
    ran = cli("check", "--profile", "n" * 300, bag("b"))
    assert (ran.code, ran.out) == (4, "")
