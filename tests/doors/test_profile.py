"""`tailsout profile` on the command line."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.mapping import schemas
from tailsout.work.close_out import close

OLD = 'id = "archive"\nversion = "1"\n'
NEW = (
    'id = "archive"\nname = "Harbour Archive"\nversion = "2"\nwithheld = ["note"]\n'
    '[[asked]]\nkey = "reel.hub"\nlevel = "required"\n'
)


@pytest.fixture
def made(bench: Any, around: Callable[..., Any]) -> tuple[str, str, str]:
    """Two forms and a package that was closed for the first."""
    (bench.studio / "recipients/archive.toml").write_text(OLD)
    bench.fill(bench.wave(own=bench.own_bext()), top='recipient = "archive"')
    assert close(bench.job, bench.out, around()).built is not None
    new = bench.root / "new.toml"
    new.write_text(NEW)
    return str(bench.package / "metadata/recipient.toml"), str(new), str(bench.package)


def test_what_changed_and_what_it_means_for_a_package(cli: Any, made: tuple[str, str, str]) -> None:
    ran = cli("profile", *made)
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert lines[:2] == [
        "Harbour Archive, 1 → 2: 4 changes",
        "  (+ asks more of packages, - asks less, ~ asks otherwise)",
    ]
    assert "  +  withheld: note must not travel any more." in lines
    assert "  +  asked reel.hub: it is required now; they take a value only." in lines
    assert f"{made[2]}: open questions under the new form" in lines
    assert any("query asked-of-reel-not-told [the reel is needed]" in line for line in lines)
    assert cli("profile", *made, "--strict").code == 1


def test_forms_alone(cli: Any, made: tuple[str, str, str]) -> None:
    assert cli("profile", made[0], made[0]).out == "archive, 1 → 1: 0 changes\n"


def test_several_packages_come_to_a_table_and_counts(
    cli: Any, made: tuple[str, str, str], tmp_path: Path
) -> None:
    ran = cli("profile", *made, made[2], tmp_path / "nothing")
    assert ran.code == 2
    assert "3 packages: 1 not judged, 2 open questions" in ran.out
    assert "  asked-of-reel-not-told appears in 2 of 2" in ran.out
    assert "nothing" in ran.err


def test_lines_of_json_are_by_their_schema(
    cli: Any, made: tuple[str, str, str], tmp_path: Path
) -> None:
    ran = cli("profile", *made, tmp_path / "nothing", "--json")
    told = [json.loads(line) for line in ran.out.splitlines()]
    assert [schemas.faults(one, "profile-0.1") for one in told] == [()] * 3
    forms, package, error = told
    assert (forms["old_version"], forms["new_version"], len(forms["changes"])) == ("1", "2", 4)
    assert [one["code"] for one in package["appear"]] == ["asked-of-reel-not-told"]
    assert error["exit_code"] == 2
    assert schemas.faults({}, "profile-0.1") != ()


def test_a_package_for_somebody_else(cli: Any, made: tuple[str, str, str], tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text('id = "other"\n')
    ran = cli("profile", other, other, made[2])
    assert ran.code == 0
    assert f"{made[2]}: not judged, it is for 'archive'" in ran.out
    (_, line) = cli("profile", other, other, made[2], "--json").out.splitlines()
    assert schemas.faults(json.loads(line), "profile-0.1") == ()


def test_a_form_with_faults_is_exit_1_with_places(
    cli: Any, made: tuple[str, str, str], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('id = "archive"\nwithheld = ["captures"]\n')
    ran = cli("profile", made[0], bad, made[2])
    assert ran.code == 1
    assert "recipient-contradicts" in ran.out
    assert "bad.toml:2" in ran.out
    (line,) = cli("profile", made[0], bad, "--json").out.splitlines()
    told = json.loads(line)
    assert schemas.faults(told, "profile-0.1") == ()
    assert [one["code"] for one in told["faults"]] == ["recipient-contradicts"]
