"""Acceptance: a document of its own, on the proof of what was read just now."""

import hashlib
import json
import shutil
import tarfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import UsageError
from tailsout.ground.progress import Silent
from tailsout.mapping import csv_rows, schemas
from tailsout.work.accept import Asked, Outcome, accept

SAMPLES = Path(__file__).resolve().parents[2] / "sample_packages"


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    place = tmp_path / "shelf"
    for name, sample in (
        ("A", "good/skerrow-light"),
        ("B", "broken/dates-out-of-order"),
        ("C", "broken/digest-differs"),
    ):
        shutil.copytree(SAMPLES / sample / "package", place / name)
    return place


def go(into: Path, *packages: Path, by: str = "Oran Teague", **asked: Any) -> Outcome:
    return accept(
        packages,
        into,
        Asked(by=by, **asked),
        instant=datetime(2026, 3, 20, 9, 0, tzinfo=UTC),
        software="tailsout test",
        disk=Disk(),
        progress_of=lambda _: Silent(),
        done=lambda _: None,
        say=lambda _: None,
    )


def rows(path: Path) -> list[dict[str, str]]:
    return [dict(row.cells) for row in csv_rows.read(path.read_bytes()).rows]


def test_what_passes_is_accepted_and_what_does_not_is_not(shelf: Path, tmp_path: Path) -> None:
    done = go(tmp_path / "in", shelf / "A", shelf / "B", shelf / "C")
    told = [(one.package, one.decision) for one in done.acceptance.packages]
    assert told == [("A", "accepted"), ("B", "accepted with flags"), ("C", "not accepted")]
    flags = [one.flags for one in done.acceptance.packages]
    assert flags[:2] == [(), ("dates-out-of-order",)]
    assert "digest-differs" in flags[2]
    text = (tmp_path / "in/acceptance-01.txt").read_text("utf-8")
    assert text.startswith("Acceptance 1\nBy Oran Teague, 2026-03-20T09:00:00Z")
    assert "    flags: dates-out-of-order\n" in text
    assert "    because of: digest-differs" in text
    assert "  digest-differs\n    A file is not what its manifest says.\n" in text
    assert text.index("Accepted (2)") < text.index("Not accepted (1)") < text.index("  C  not")


def test_it_says_which_octets_were_accepted(shelf: Path, tmp_path: Path) -> None:
    done = go(tmp_path / "in", shelf / "A", shelf / "C")
    one, other = done.acceptance.packages
    assert one.tag_manifests == {
        path.name: hashlib.sha512(path.read_bytes()).hexdigest()
        for path in sorted((shelf / "A").glob("tagmanifest-*"))
    }
    assert other.tag_manifests == {}


def test_an_archive_is_known_by_its_own_digest(shelf: Path, tmp_path: Path) -> None:
    archive = tmp_path / "A.tar"
    with tarfile.open(archive, "w", format=tarfile.USTAR_FORMAT) as tar:
        tar.add(shelf / "A", "A", filter=plain)
    (one,) = go(tmp_path / "in", archive).acceptance.packages
    assert one.decision == "accepted"
    assert one.tag_manifests == {"A.tar": hashlib.sha512(archive.read_bytes()).hexdigest()}


def plain(member: tarfile.TarInfo) -> tarfile.TarInfo:
    member.uid = member.gid = 0
    member.uname = member.gname = ""
    return member


def test_only_reels_of_what_is_accepted_go_back(shelf: Path, tmp_path: Path) -> None:
    go(tmp_path / "in", shelf / "A", shelf / "C")
    (reel,) = rows(tmp_path / "in/acceptance-01-return-list.csv")
    assert (reel["package"], reel["identifiers"]) == ("A", "HA/SKL/8 (shelf mark)")
    assert (reel["returned on"], reel["received by"]) == ("", "")


def test_deletion_is_agreed_or_awaited(shelf: Path, tmp_path: Path) -> None:
    go(tmp_path / "in", shelf / "A", delete_after_days=60)
    go(tmp_path / "in", shelf / "A")
    go(tmp_path / "in", shelf / "C")
    first, second, third = (
        (tmp_path / f"in/acceptance-0{n}.txt").read_text("utf-8") for n in (1, 2, 3)
    )
    assert "may delete its files of what is accepted from 2026-05-19 on" in first
    assert "the producer keeps its files" in second
    assert "Nothing is accepted: reels and files stay where they are." in third


def test_it_answers_a_receipt(shelf: Path, tmp_path: Path) -> None:
    (tmp_path / "receipt.json").write_bytes(b"{}")
    done = go(tmp_path / "in", shelf / "A", receipt=tmp_path)
    assert done.acceptance.receipt_sha512 == hashlib.sha512(b"{}").hexdigest()
    with pytest.raises(UsageError, match="Name the folder of a receipt"):
        go(tmp_path / "in", shelf / "A", receipt=tmp_path / "nowhere")


def test_tables_and_page_say_the_same(shelf: Path, tmp_path: Path) -> None:
    go(tmp_path / "in", shelf / "A", shelf / "B")
    told = json.loads((tmp_path / "in/acceptance-01.json").read_text("utf-8"))
    assert list(schemas.faults(told, "acceptance-0.1")) == []
    assert [one["decision"] for one in told["packages"]] == [
        row["decision"] for row in rows(tmp_path / "in/acceptance-01.csv")
    ]


def test_a_package_that_is_not_there_is_not_accepted(shelf: Path, tmp_path: Path) -> None:
    done = go(tmp_path / "in", shelf / "A", shelf / "Z")
    assert [one.decision for one in done.acceptance.packages] == ["accepted", "not accepted"]
    assert [error.exit_code for error in done.errors] == [2]


def test_nobody_and_twice(shelf: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="Nobody accepts"):
        go(tmp_path / "in", shelf / "A", by=" ")
    with pytest.raises(UsageError, match="named twice"):
        go(tmp_path / "in", shelf / "A", shelf / "A")
    assert not (tmp_path / "in").exists()
