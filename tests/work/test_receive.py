"""Receiving a drive: receipt, judgement, rework, listening sample; and never a write on it."""

import hashlib
import json
import os
import re
import shutil
import sys
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.bag.drive import look_over
from tailsout.ground.errors import MaterialError, RefusedError, UsageError
from tailsout.ground.findings import Place
from tailsout.ground.progress import Silent
from tailsout.mapping import csv_rows, receptions, schemas
from tailsout.records.arrival import Happening
from tailsout.rules.batch import ESSENCE_TWICE
from tailsout.work import check_many
from tailsout.work.check import Checked, check
from tailsout.work.check_many import Wish
from tailsout.work.deliver import Wish as DeliveryWish
from tailsout.work.deliver import deliver
from tailsout.work.receive import Received, judge_all, take_in
from tailsout.work.receiving import journal
from tailsout.work.receiving.judgements import MOST_FINDINGS, across_rows
from tailsout.work.receiving.tally import Listening, Outcome

SAMPLES = Path(__file__).resolve().parents[2] / "sample_packages"
INSTANT = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
WRITES: list[str] = []
"""What was opened for writing or changed while somebody watched."""
_watching = [False]
_FLAGS = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_CHANGES = ("os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.chmod", "os.utime", "os.truncate")


def _hook(event: str, given: tuple[Any, ...]) -> None:
    if not _watching[0]:
        return
    if event == "open" and isinstance(given[2], int) and given[2] & _FLAGS:
        WRITES.append(os.fsdecode(given[0]) if not isinstance(given[0], int) else "")
    if event in _CHANGES:
        WRITES.append(str(given[0]))


sys.addaudithook(_hook)


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    place = tmp_path / "HA00000012"
    place.mkdir()
    return place


def put(drive: Path, name: str, sample: str = "good/skerrow-light") -> Path:
    return Path(shutil.copytree(SAMPLES / sample / "package", drive / name))


def received(drive: Path, into: Path, **given: Any) -> Received:
    return take_in(drive, into, instant=INSTANT, software="tailsout test", disk=Disk(), **given)


def judged(
    one: Received, *, seed: str = "s", share: int = 10, seconds: int = 30, done: Any = None
) -> Outcome:
    return judge_all(
        one,
        Wish(),
        Listening(seed=seed, share_percent=Decimal(share), seconds=seconds),
        instant=INSTANT,
        software="tailsout test",
        disk=Disk(),
        jobs=1,
        progress_of=lambda _: Silent(),
        done=done or (lambda _: None),
        say=lambda _: None,
    )


def table(path: Path) -> list[dict[str, str]]:
    return [dict(row.cells) for row in csv_rows.read(path.read_bytes()).rows]


def differences(one: Received) -> list[tuple[str, str]]:
    return [(d.kind, d.package) for d in one.arrival.differences]


# The receipt


def test_a_receipt_tells_what_came(drive: Path, tmp_path: Path) -> None:
    package = put(drive, "SKL-0008")
    (drive / "letter.txt").write_bytes(b"hello")
    one = received(drive, tmp_path / "in")
    (came,) = one.arrival.packages
    files = [path for path in package.rglob("*") if path.is_file()]
    assert (came.package, came.files) == ("SKL-0008", len(files))
    assert came.octets == sum(path.stat().st_size for path in files)
    assert came.tag_manifests == {
        path.name: hashlib.sha512(path.read_bytes()).hexdigest()
        for path in sorted(package.glob("tagmanifest-*"))
    }
    assert (one.arrival.files_beside, one.arrival.octets_beside) == (1, 5)
    assert sorted(p.name for p in (tmp_path / "in").iterdir()) == [
        "receipt.csv",
        "receipt.json",
        "receipt.txt",
    ]
    told = json.loads((tmp_path / "in/receipt.json").read_text("utf-8"))
    assert list(schemas.faults(told, "arrival-0.1")) == []
    text = (tmp_path / "in/receipt.txt").read_text("utf-8")
    assert "This is a receipt and no acceptance." in text
    assert "A read-only mount is not a write blocker" in text


def test_what_was_done_at_receipt_is_recorded(drive: Path, tmp_path: Path) -> None:
    put(drive, "SKL-0008")
    scan = Happening(what="virus scan", told="nothing found")
    one = received(drive, tmp_path / "in", happenings=[scan], within_days=30)
    assert one.arrival.answer_by == "2026-04-19"
    assert "virus scan: nothing found" in (tmp_path / "in/receipt.txt").read_text("utf-8")


def test_nothing_is_written_on_the_drive(drive: Path, tmp_path: Path) -> None:
    put(drive, "SKL-0008")
    put(drive, "SKL-0004", "broken/digest-differs")
    WRITES.clear()
    _watching[0] = True
    try:
        judged(received(drive, tmp_path / "in"))
    finally:
        _watching[0] = False
    assert any(name.startswith(str(tmp_path / "in")) for name in WRITES)
    assert [name for name in WRITES if name.startswith(str(drive))] == []


def test_the_folder_of_the_lists_may_not_lie_on_the_drive(drive: Path, tmp_path: Path) -> None:
    put(drive, "SKL-0008")
    (tmp_path / "link").symlink_to(drive)
    for into in (drive, drive / "in", tmp_path / "link" / "in"):
        with pytest.raises(RefusedError, match="lies on the drive"):
            received(drive, into)
    assert [p.name for p in drive.iterdir()] == ["SKL-0008"]


def test_a_receipt_is_never_replaced(drive: Path, tmp_path: Path) -> None:
    one = received(drive, tmp_path / "in")
    with pytest.raises(RefusedError, match="was cut off") as stopped:
        received(drive, tmp_path / "in")
    assert "--resume" in stopped.value.remedy
    judged(one)
    with pytest.raises(RefusedError, match=r"receipt.json is there already"):
        received(drive, tmp_path / "in")


def test_no_drive(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="There is no drive"):
        received(tmp_path / "nowhere", tmp_path / "in")


def test_packages_are_found_wherever_they_lie(drive: Path) -> None:
    put(drive, "open-reel/SKL-0008")
    (put(drive, "SKL-0009") / "bagit.txt").unlink()
    nested = put(drive, "SKL-0010") / "data/inner"
    nested.mkdir()
    (nested / "bagit.txt").write_bytes(b"x")
    (drive / "SKL-0011.tar").write_bytes(b"x")
    (drive / "pictures").mkdir()
    (drive / "pictures/box.jpg").write_bytes(b"jpeg")
    found = look_over(drive)
    assert [one.path for one in found.packages] == [
        "SKL-0009",
        "SKL-0010",
        "SKL-0011.tar",
        "open-reel/SKL-0008",
    ]
    assert (found.files_beside, found.octets_beside) == (1, 4)


def test_what_lies_in_no_package_is_named(drive: Path, tmp_path: Path) -> None:
    put(drive, "open-reel/SKL-0008")
    for path in ("open-reel/no-bag/deep/x", "open-reel/SKL-0008.receipt.json", "SKL-0009.7z"):
        (drive / path).parent.mkdir(parents=True, exist_ok=True)
        (drive / path).write_bytes(b"xy")
    (drive / "archives").mkdir()
    (drive / "archives/SKL-0010.tar").write_bytes(b"x")
    (drive / "archives/list.txt").write_bytes(b"xyz")
    (drive / "empty").mkdir()
    (drive / "SKL-0007.tar").write_bytes(b"x")
    for beside in ("SKL-0007.tar.sha512", "SKL-0007.tar.7z"):
        (drive / beside).write_bytes(b"xy")
    one = received(drive, tmp_path / "in")
    assert [(b.path, b.files, b.octets) for b in one.arrival.beside] == [
        ("SKL-0007.tar.7z", 1, 2),
        ("SKL-0007.tar.sha512", 1, 2),
        ("SKL-0009.7z", 1, 2),
        ("archives", 1, 3),
        ("empty", 0, 0),
        ("open-reel", 1, 2),
        ("open-reel/no-bag", 1, 2),
    ]
    text = (tmp_path / "in/receipt.txt").read_text("utf-8")
    assert "Beside the packages, and not judged (7)" in text
    assert "  empty  an empty folder\n" in text
    # What is known to lie beside a package is in the list alone.
    said = "in no package, and not judged: SKL-0007.tar.7z (1 file, 2 octets), SKL-0009.7z ("
    assert said in text


def test_the_drive_itself_may_be_a_package(drive: Path, tmp_path: Path) -> None:
    drive.rmdir()
    put(tmp_path, "HA00000012")
    outcome = judged(received(drive, tmp_path / "in"))
    assert [(one.package, one.verdict) for one in outcome.packages] == [(".", "pass")]


def test_what_is_odd_in_a_package_is_told_by_its_judgement(drive: Path, tmp_path: Path) -> None:
    (put(drive, "SKL-0008") / "data/out").symlink_to(tmp_path)
    one = received(drive, tmp_path / "in")
    assert one.arrival.differences == ()
    assert [package.verdict for package in judged(one).packages] == ["refused"]


def test_links_are_told_and_not_followed(drive: Path, tmp_path: Path) -> None:
    put(tmp_path, "elsewhere")
    (drive / "SKL-0008").symlink_to(tmp_path / "elsewhere")
    one = received(drive, tmp_path / "in")
    assert one.arrival.packages == ()
    assert differences(one) == [("not to be read", "SKL-0008")]


# The sender's manifest


def delivered(drive: Path, *packages: Path) -> Path:
    deliver(
        DeliveryWish(packages=packages),
        drive,
        instant=INSTANT,
        software="tailsout test",
        disk=Disk(),
        progress=Silent(),
    )
    return drive / "delivery-01.csv"


def test_what_was_delivered_is_what_arrives(drive: Path, tmp_path: Path) -> None:
    delivered(drive, put(tmp_path, "SKL-0008"))
    one = received(drive, tmp_path / "in")
    assert one.arrival.manifest == "delivery-01.csv"
    assert one.arrival.differences == ()


@pytest.mark.parametrize(
    ("column", "value", "told"),
    [
        ("files", "17000", "states 17000 files"),
        ("octets", "1", "states 1 octet;"),
        ("tag manifests (sha512)", "tagmanifest-sha512.txt " + "0" * 128, "is not the one that"),
        ("tag manifests (sha512)", "tagmanifest-md5.txt 00", "which is not there"),
    ],
)
def test_a_manifest_that_lies_is_told(
    drive: Path, tmp_path: Path, column: str, value: str, told: str
) -> None:
    manifest = delivered(drive, put(tmp_path, "SKL-0008"))
    rows = table(manifest)
    rows[0][column] = value
    manifest.write_bytes(csv_rows.write(list(rows[0]), [list(row.values()) for row in rows]))
    one = received(drive, tmp_path / "in")
    (difference,) = one.arrival.differences
    assert (difference.kind, difference.package) == ("not as listed", "SKL-0008")
    assert told in difference.text


def test_all_lists_of_a_drive_count(drive: Path, tmp_path: Path) -> None:
    put(drive, "SKL-0008")
    put(drive, "SKL-0009")
    (drive / "delivery-01.csv").write_bytes(b"package\nSKL-0008\n")
    (drive / "delivery-02.csv").write_bytes(b"package\nSKL-0009\n")
    one = received(drive, tmp_path / "in")
    assert one.arrival.manifest == "delivery-01.csv, delivery-02.csv"
    assert one.arrival.differences == ()


def test_listed_and_not_received_and_the_other_way_round(drive: Path, tmp_path: Path) -> None:
    delivered(drive, put(tmp_path, "SKL-0008"))
    (drive / "SKL-0008").rename(drive / "SKL-0009")
    assert differences(received(drive, tmp_path / "in")) == [
        ("listed and not received", "SKL-0008"),
        ("received and not listed", "SKL-0009"),
    ]


def test_how_a_list_was_read_is_told_and_is_no_fault(drive: Path, tmp_path: Path) -> None:
    put(drive, "SKL-0008")
    (drive / "delivery-01.csv").write_bytes("package;titel\nSKL-0008;Größe\n".encode("latin-1"))
    one = received(drive, tmp_path / "in")
    assert differences(one) == [("how the list was read", "delivery-01.csv")] * 2


def test_what_two_packages_share_asks_for_neither_again() -> None:
    [row] = across_rows([ESSENCE_TWICE.at(Place(file="B", part="data/x.wav"), "it has…")])
    assert (row.package, row.rework) == ("B", "of two packages")
    content = receptions.findings([replace(row, package="A", rework="re-deliver"), row])
    assert receptions.read_rework(content) == {"A"}


@pytest.mark.parametrize("content", [b"", b"box\n1\n", b'"', b"\xff\xfea"])
def test_a_manifest_that_is_none_is_told_and_stops_nothing(
    drive: Path, tmp_path: Path, content: bytes
) -> None:
    put(drive, "SKL-0008")
    (drive / "delivery-01.csv").write_bytes(content)
    one = received(drive, tmp_path / "in")
    assert differences(one) == [("not as listed", "delivery-01.csv")]
    with pytest.raises(MaterialError):
        received(drive, tmp_path / "in2", manifest=drive / "delivery-01.csv")


def test_a_manifest_that_is_a_link_is_not_read(drive: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_bytes(b"package\nx\n")
    (drive / "delivery-01.csv").symlink_to(tmp_path / "secret")
    one = received(drive, tmp_path / "in")
    assert one.arrival.manifest == ""
    assert one.arrival.files_beside == 0
    assert differences(one) == [("not to be read", "delivery-01.csv")]


def test_what_came_twice_and_in_two_versions(drive: Path, tmp_path: Path) -> None:
    put(drive, "a/SKL-0008")
    put(drive, "b/SKL-0008")
    put(drive, "SKL-0008.v2")
    assert differences(received(drive, tmp_path / "in")) == [
        ("received twice", "SKL-0008"),
        ("two versions", "SKL-0008"),
    ]


# The judgement


def test_the_worst_comes_first(drive: Path, tmp_path: Path) -> None:
    put(drive, "A-good")
    put(drive, "B-broken", "broken/file-missing")
    put(drive, "C-unsafe", "broken/bag-path-unsafe")
    outcome = judged(received(drive, tmp_path / "in"))
    assert [one.package for one in outcome.packages] == ["C-unsafe", "B-broken", "A-good"]
    rows = table(tmp_path / "in/judgement.csv")
    assert [(row["package"], row["verdict"]) for row in rows] == [
        ("C-unsafe", "refused"),
        ("B-broken", "fail"),
        ("A-good", "pass"),
    ]
    told = json.loads((tmp_path / "in/judgement.json").read_text("utf-8"))
    assert list(schemas.faults(told, "reception-0.1")) == []


def test_rework_in_classes(drive: Path, tmp_path: Path) -> None:
    put(drive, "A", "broken/file-missing")
    put(drive, "B", "broken/dates-out-of-order")
    with (put(drive, "C") / "bag-info.txt").open("ab") as stream:
        stream.write(b"no label\n")
    judged(received(drive, tmp_path / "in"))
    rows = table(tmp_path / "in/rework.csv")
    classes = {(row["package"], row["code"]): row["rework"] for row in rows}
    assert classes["A", "file-missing"] == "re-deliver"
    assert classes["B", "dates-out-of-order"] == "repair the metadata"
    # The bag's own files can be written anew; the sound need not come again.
    assert classes["C", "bag-bag-info-malformed"] == "repair the metadata"
    text = (tmp_path / "in/rework.txt").read_text("utf-8")
    order = [text.index(word) for word in ("Needs the reel", "Re-deliver", "Repair the metadata")]
    assert order == sorted(order)
    assert (
        "  file-missing\n    A manifest lists a file that is not there.\n    RFC 8493 §3:" in text
    )
    head = text.splitlines()[:3]
    assert head[0] == "Rework list to receipt 1; the drive is called HA00000012"
    assert head[2] == "How far: every file that a manifest lists was read through."


def test_findings_beyond_those_listed_are_counted(drive: Path, tmp_path: Path) -> None:
    package = put(drive, "A")
    for number in range(MOST_FINDINGS + 20):
        (package / f"data/{number}").write_bytes(b"x")
    [one] = judged(received(drive, tmp_path / "in")).packages
    # Each unlisted file, and the Payload-Oxum.
    assert (one.counts["mend"], len(one.findings)) == (MOST_FINDINGS + 21, MOST_FINDINGS)
    [row] = table(tmp_path / "in/judgement.csv")
    assert row["to mend"] == str(MOST_FINDINGS + 21)
    assert f"{MOST_FINDINGS + 21} to mend" in (tmp_path / "in/judgement.txt").read_text("utf-8")
    assert "more findings are not listed" in (tmp_path / "in/rework.txt").read_text("utf-8")


def test_a_fault_of_most_packages_is_said_once(drive: Path, tmp_path: Path) -> None:
    for number in range(3):
        put(drive, f"SKL-{number:04d}", "broken/dates-out-of-order")
    put(drive, "SKL-0008")
    outcome = judged(received(drive, tmp_path / "in"))
    (one,) = [s for s in outcome.systematic if s.code == "dates-out-of-order"]
    assert (one.packages, one.of) == (3, 4)
    text = (tmp_path / "in/judgement.txt").read_text("utf-8")
    assert text.count("dates-out-of-order") == 1
    assert "call the producer" in text


def test_two_of_four_are_no_habit(drive: Path, tmp_path: Path) -> None:
    for number in range(2):
        put(drive, f"SKL-{number:04d}", "broken/dates-out-of-order")
    for number in range(2, 4):
        put(drive, f"SKL-{number:04d}")
    assert judged(received(drive, tmp_path / "in")).systematic == ()


METS = (
    b'<mets xmlns="http://www.loc.gov/METS/" xmlns:xlink="http://www.w3.org/1999/xlink">'
    b"<fileSec><fileGrp>"
    b'<file ID="f1" CHECKSUM="0CC175B9C0F1B6A831C399E269772661" CHECKSUMTYPE="MD5">'
    b'<FLocat LOCTYPE="URL" xlink:href="file://data/a.txt"/></file>'
    b'<file ID="f2"><FLocat LOCTYPE="URL" xlink:href="data/gone.txt"/></file>'
    b"</fileGrp></fileSec></mets>"
)
"""METS 1.12.1: fileSec, file with CHECKSUM and CHECKSUMTYPE, FLocat with xlink:href."""


def foreign(drive: Path, name: str) -> Path:
    base = drive / name
    (base / "data").mkdir(parents=True)
    (base / "data/a.txt").write_bytes(b"a")
    (base / "data/mets.xml").write_bytes(METS)
    (base / "bagit.txt").write_bytes(b"BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n")
    lines = [
        f"{hashlib.md5((base / p).read_bytes()).hexdigest()}  {p}\n"  # noqa: S324
        for p in ("data/a.txt", "data/mets.xml")
    ]
    (base / "manifest-md5.txt").write_text("".join(lines))
    return base


def test_not_our_way_is_told_apart_from_broken(drive: Path, tmp_path: Path) -> None:
    foreign(drive, "theirs")
    (foreign(drive, "theirs-broken") / "data/a.txt").write_bytes(b"b")
    put(drive, "ours")
    outcome = judged(received(drive, tmp_path / "in"))
    told = {one.package: one for one in outcome.packages}
    assert (told["theirs"].manner, told["theirs-broken"].manner) == ("not our way",) * 2
    assert told["theirs"].verdict in {"pass", "open questions"}
    assert told["theirs-broken"].verdict == "fail"
    # What it says of its files is held against the bag by the rules on descriptions.
    codes = {row.code for row in told["theirs"].findings}
    assert "description-file-missing" in codes
    assert (told["ours"].manner, told["ours"].otherwise) == ("ours", ())
    assert told["theirs"].otherwise == (
        "it has no side-car of ours",
        "it is a bag of version 0.97",
        "its digests are md5 alone",
        "it holds data/mets.xml (METS)",
    )


def test_three_hostile_packages_cost_the_others_nothing(drive: Path, tmp_path: Path) -> None:
    put(drive, "good")
    link = put(drive, "link") / "data/audio/out.wav"
    link.symlink_to("/etc/hostname")
    os.mkfifo(put(drive, "pipe") / "data/audio/pipe.wav")
    (put(drive, "huge") / "manifest-sha512.txt").write_bytes(b"x" * 100_000)
    outcome = judged(received(drive, tmp_path / "in"))
    verdicts = {one.package: one.verdict for one in outcome.packages}
    assert verdicts.pop("good") == "pass"
    assert set(verdicts) == {"link", "pipe", "huge"}
    assert not {"pass", "open questions"} & set(verdicts.values())


def test_a_drive_that_is_pulled_after_the_receipt(drive: Path, tmp_path: Path) -> None:
    put(drive, "SKL-0008")
    put(drive, "SKL-0009")
    one = received(drive, tmp_path / "in")
    shutil.rmtree(drive / "SKL-0008")
    told = {package.package: package for package in judged(one).packages}
    assert (told["SKL-0008"].verdict, told["SKL-0009"].verdict) == ("not judged", "pass")
    assert "is not a directory" in told["SKL-0008"].why
    assert "SKL-0008" in (tmp_path / "in/judgement.txt").read_text("utf-8")


# The listening sample


@pytest.fixture
def lot(drive: Path) -> Path:
    for number in range(4):
        put(drive, f"SKL-{number:04d}")
    return drive


def heard(outcome: Outcome) -> set[tuple[str, str]]:
    return {(one.package, one.path) for one in outcome.sample.stretches}


def test_a_sample_can_be_drawn_again(lot: Path, tmp_path: Path) -> None:
    one, again = (judged(received(lot, tmp_path / name)) for name in ("a", "b"))
    assert one.sample == again.sample
    others = [judged(received(lot, tmp_path / f"c{seed}"), seed=str(seed)) for seed in range(3)]
    assert len({frozenset(heard(other)) for other in (one, *others)}) > 1


def test_anybody_can_draw_it_by_hand(lot: Path, tmp_path: Path) -> None:
    outcome = judged(received(lot, tmp_path / "in"), seed="tea", share=25)
    files = [
        (package.name, path.relative_to(package).as_posix())
        for package in lot.iterdir()
        for path in package.glob("data/audio/*.wav")
    ]
    ranked = sorted(
        files, key=lambda f: hashlib.sha256(f"tea\n{f[0]}\n{f[1]}\n".encode()).hexdigest()
    )
    assert outcome.sample.drawn == 2
    assert {
        (one.package, one.path) for one in outcome.sample.stretches if "drawn" in one.why
    } == set(ranked[:2])


def test_what_must_be_heard_is_taken_whatever_is_drawn(lot: Path, tmp_path: Path) -> None:
    outcome = judged(received(lot, tmp_path / "in"), share=0)
    assert outcome.sample.drawn == 0
    why = "; ".join(one.why for one in outcome.sample.stretches)
    for reason in ("first of machine", "first of operator", "the longest", "2 tape speeds"):
        assert reason in why


def test_head_middle_and_tail(bench: Any, around: Any, drive: Path, tmp_path: Path) -> None:
    from tailsout.work.close_out import close  # noqa: PLC0415  it loads the meters

    note = '[[signal_notes]]\ncapture = "a"\nstart = "0:04"\nend = "0:04.5"\nheard = "dropout"\n'
    more = (
        '[[reel.condition]]\nmoment = "on arrival"\npack = ["loose"]\nshedding = "slight"\n'
        '[[reel.events]]\nkind = "treatment"\nstate = "done"\ntemperature_c = 54\nhours = 8\n'
    )
    bench.fill(bench.wave(frames=8 * 48_000, own=bench.own_bext()), more=more + note)
    assert close(bench.job, drive, around()).built is not None
    outcome = judged(received(drive, tmp_path / "in"), seconds=2)
    head, middle, tail = outcome.sample.stretches
    assert [(one.position, one.start_sample, one.end_sample) for one in (head, middle, tail)] == [
        ("head", 0, 96_000),
        ("middle", 144_000, 240_000),
        ("tail", 288_000, 384_000),
    ]
    assert (middle.start, middle.end) == ("0:03.000", "0:05.000")
    assert (head.notes, middle.notes, tail.notes) == ("", "0:04.000 dropout", "")
    assert head.condition == "on arrival: loose, shedding slight"
    assert head.treatment == "treatment: 54 °C, 8 h"
    assert "a signal note may tell of the transfer" in head.why
    (row, *_) = table(tmp_path / "in/listening-sample.csv")
    assert (row["position"], row["start sample"], row["heard"]) == ("head", "0", "")


def test_the_odds_of_a_sample_are_told(lot: Path, tmp_path: Path) -> None:
    outcome = judged(received(lot, tmp_path / "in"), share=25)
    # 1 of 8 faulty, 2 drawn: C(7,2) / C(8,2) = 21 / 28.
    assert outcome.sample.odds[0] == (
        "If 1 of the 8 files is faulty, 75.0 of 100 such draws meet none that is."
    )
    assert re.search(r"at most \d of the 8 are faulty", outcome.sample.odds[-1])


# A redelivery


def test_a_redelivery_counts_on_and_tells_what_is_still_to_come(
    drive: Path, tmp_path: Path
) -> None:
    put(drive, "SKL-0001", "broken/file-missing")
    put(drive, "SKL-0002", "broken/file-missing")
    judged(received(drive, tmp_path / "first"))
    again = tmp_path / "HA00000013"
    put(again, "SKL-0001.v2")
    one = received(again, tmp_path / "second", earlier=tmp_path / "first")
    assert one.arrival.number == 2
    assert one.arrival.first_received == "2026-03-20T09:00:00Z"
    assert [p.came_before for p in one.arrival.packages] == [True]
    assert one.arrival.outstanding == ("SKL-0002",)
    text = (tmp_path / "second/receipt.txt").read_text("utf-8")
    assert "Still to come again (1): SKL-0002" in text


@pytest.mark.parametrize("content", [b"{}", b"{", b"[]"])
def test_an_earlier_receipt_that_is_none(drive: Path, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "first").mkdir()
    (tmp_path / "first/receipt.json").write_bytes(content)
    with pytest.raises(MaterialError, match="earlier receipt"):
        received(drive, tmp_path / "in", earlier=tmp_path / "first")
    with pytest.raises(UsageError, match="Name the folder of an earlier receipt"):
        received(drive, tmp_path / "in", earlier=tmp_path / "nowhere")


def test_an_earlier_rework_list_that_is_none() -> None:
    with pytest.raises(MaterialError, match="no column 'package'"):
        receptions.read_rework(b"box\n1\n")


# A reception that was cut off


def cut_off(one: Received, after: int) -> None:
    """Judge so many packages, and be interrupted."""
    left = [after]

    def done(_package: str) -> None:
        left[0] -= 1
        if not left[0]:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        judged(one, done=done)


@pytest.fixture
def three(drive: Path) -> Path:
    put(drive, "SKL-0008")
    put(drive, "SKL-0009", "broken/dates-out-of-order")
    put(drive, "SKL-0010", "broken/digest-differs")
    return drive


def test_what_was_judged_is_not_read_again(
    three: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    judged(received(three, tmp_path / "undisturbed"))
    cut_off(received(three, tmp_path / "in"), 2)
    assert not (tmp_path / "in/judgement.json").exists()
    # A line that the cut left without its end is of no use, and harms no other.
    with (tmp_path / "in/judged.jsonl").open("ab") as out:
        out.write(b'{"schema"')
    read: list[Path] = []

    def counted(path: Path, *given: Any, **more: Any) -> Checked:
        read.append(path)
        return check(path, *given, **more)

    monkeypatch.setattr(check_many, "check", counted)
    judged(received(three, tmp_path / "in", resume=True))
    assert len(read) == 1
    lists = [one.name for one in sorted((tmp_path / "undisturbed").iterdir())]
    assert len(lists) == 12
    for name in lists:
        if name != "judged.jsonl":
            content = (tmp_path / "in" / name).read_bytes()
            assert content == (tmp_path / "undisturbed" / name).read_bytes(), name


def test_what_was_written_to_since_is_read_again(three: Path, tmp_path: Path) -> None:
    cut_off(received(three, tmp_path / "in"), 3)
    audio = three / "SKL-0008/data/audio/skl8-side-a.wav"
    content = bytearray(audio.read_bytes())
    content[-1] ^= 1
    audio.write_bytes(content)
    outcome = judged(received(three, tmp_path / "in", resume=True))
    verdicts = {one.package: one.verdict for one in outcome.packages}
    assert verdicts == {"SKL-0008": "fail", "SKL-0009": "open questions", "SKL-0010": "fail"}


def test_another_depth_takes_nothing_over(three: Path, tmp_path: Path) -> None:
    cut_off(received(three, tmp_path / "in"), 3)
    place = tmp_path / "in/judged.jsonl"
    assert len(journal.earlier(place, Wish(), "tailsout test")) == 3
    assert not journal.earlier(place, Wish(bagit_only=True), "tailsout test")
    assert not journal.earlier(place, Wish(), "tailsout another")
    assert not journal.earlier(tmp_path / "nowhere", Wish(), "tailsout test")


def test_only_what_was_begun_and_is_there_still_is_gone_on_with(
    three: Path, tmp_path: Path
) -> None:
    with pytest.raises(UsageError, match="nothing to go on with"):
        received(three, tmp_path / "in", resume=True)
    one = received(three, tmp_path / "in")
    with pytest.raises(RefusedError):
        received(three, tmp_path / "in")
    put(three, "SKL-0011")
    with pytest.raises(RefusedError, match="is not the receipt of what is there now"):
        received(three, tmp_path / "in", resume=True)
    shutil.rmtree(three / "SKL-0011")
    (tmp_path / "in/receipt.txt").unlink()
    received(three, tmp_path / "in", resume=True)
    assert (tmp_path / "in/receipt.txt").is_file()
    judged(one)
    with pytest.raises(UsageError, match="nothing to go on with"):
        received(three, tmp_path / "in", resume=True)
