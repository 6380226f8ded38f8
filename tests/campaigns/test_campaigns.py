"""A share of each campaign, and that each can fail: a careless builder or judge is found out."""

import os
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import amendments
import at_once
import every_call
import faults
import flips
import full_disks
import good_packages
import handing_over
import kills
import lies
import nights
import power_cuts
import pytest
import system_calls
from rig import NAME, BrokenError, Rig, Told, strict

from tailsout.bag.build import Built, build
from tailsout.bag.disk import Disk
from tailsout.ground.findings import Finding, Verdict
from tailsout.ground.progress import Silent
from tailsout.records.dossier import Depth
from tailsout.work.check import check

MakeRig = Callable[..., Rig]
Careless = Callable[..., Built]


def passing(_stage: Path) -> Verdict:
    """A judge that passes everything, for what is not about judging."""
    return Verdict.PASS


def test_what_is_promised_of_each_state(make_rig: MakeRig, tmp_path: Path) -> None:
    rig, out = make_rig(), tmp_path / "out"
    out.mkdir()
    assert rig.take_up(out, "t") == "nothing"
    assert rig.take_up(out, "t") == "whole"
    (out / "stray").touch()
    with pytest.raises(BrokenError, match="strange"):
        rig.state(out, "t")
    (out / "stray").unlink()
    (out / NAME / "bagit.txt").chmod(0o600)
    with pytest.raises(BrokenError, match="no whole package"):
        rig.state(out, "t")
    source = next((tmp_path / "rig" / "sources").iterdir())
    os.utime(source, (0, 0))
    with pytest.raises(BrokenError, match="source"):
        rig.state(out, "t")


def test_kills(make_rig: MakeRig, tmp_path: Path) -> None:
    left, _ = kills.run(make_rig(), tmp_path, 3)
    assert left.total() == 3


def test_kills_of_a_builder_that_works_in_the_open(
    make_rig: MakeRig, out_in_the_open: Careless, tmp_path: Path
) -> None:
    with pytest.raises(BrokenError):
        kills.run(make_rig(builder=out_in_the_open), tmp_path, 30)


def test_kills_before_calls(make_rig: MakeRig, tmp_path: Path) -> None:
    report = every_call.run(make_rig(judge=passing), tmp_path, pairs=2, starts=1, step=23)
    assert report.builds > 8
    assert report.resumes > 1
    assert len(report.left) > 1


def test_kills_before_calls_of_a_builder_that_works_in_the_open(
    make_rig: MakeRig, out_in_the_open: Careless, tmp_path: Path
) -> None:
    rig = make_rig(builder=out_in_the_open, judge=passing)
    with pytest.raises(BrokenError):
        every_call.run(rig, tmp_path, pairs=0, step=5)


def test_packing_and_unpacking_killed_before_calls(tmp_path: Path) -> None:
    left = handing_over.run(tmp_path, step=9)
    assert left["pack"].total() > 5
    assert left["unpack"].total() > 5
    assert left["unpack"]["stage"] > 0


def test_a_packer_that_works_in_the_open_is_found_out(tmp_path: Path) -> None:
    source = tmp_path / "read" / "one"
    source.parent.mkdir()
    source.write_bytes(b"octets")

    def in_the_open(place: Path, disk: Disk) -> None:
        descriptor = disk.create(place / "one.tar")
        disk.write_all(descriptor, source.read_bytes())
        disk.close(descriptor)

    verb = handing_over.Verb(source=source, work=in_the_open)
    verb.settle(tmp_path / "undisturbed")
    with pytest.raises(BrokenError, match="is not what it is to be"):
        verb.killed(tmp_path / "out", 2)


def test_a_packer_that_writes_to_what_it_reads_is_found_out(tmp_path: Path) -> None:
    source = tmp_path / "read" / "one"
    source.parent.mkdir()
    source.write_bytes(b"octets")

    def meddling(place: Path, disk: Disk) -> None:
        source.write_bytes(b"others")
        disk.is_there(place)

    verb = handing_over.Verb(source=source, work=meddling)
    with pytest.raises(BrokenError, match="what was read was changed"):
        verb.killed(tmp_path / "out", 1)


@pytest.mark.apt
def test_kills_before_system_calls(make_rig: MakeRig, tmp_path: Path) -> None:
    left, builds, resumes = system_calls.run(make_rig(judge=passing), tmp_path, step=300)
    assert builds + resumes == left.total() > 4


@pytest.mark.apt
def test_points_are_calls_in_their_order_each_met_before_it_is_made(tmp_path: Path) -> None:
    def work() -> None:
        for name in "abc":
            (tmp_path / name).mkdir()
            (tmp_path / name).lstat()

    points = system_calls.points_of(work, tmp_path / "strace", "mkdir")
    calls = [call for call, _ in points[:6]]
    assert calls[::2] == ["mkdir"] * 3
    assert [number for call, number in points if call == "mkdir"] == [1, 2, 3]
    for name in "abc":
        (tmp_path / name).rmdir()
    code, _ = system_calls.traced(work, "inject=mkdir:signal=KILL:when=2")
    assert code == -9
    assert [(tmp_path / name).exists() for name in "abc"] == [True, False, False]


@pytest.mark.apt
def test_a_system_call_of_a_builder_that_works_in_the_open(
    make_rig: MakeRig, out_in_the_open: Careless, tmp_path: Path
) -> None:
    rig = make_rig(builder=out_in_the_open, judge=passing)
    with pytest.raises(BrokenError):
        system_calls.run(rig, tmp_path, step=20)


@pytest.mark.apt
def test_system_calls_that_fail(make_rig: MakeRig, tmp_path: Path) -> None:
    report = faults.run_traced(make_rig(judge=passing), tmp_path, ["EIO"], ["renameat2", "flock"])
    assert report.faults == 4


@pytest.mark.root
@pytest.mark.apt
def test_power_cuts(make_rig: MakeRig, tmp_path: Path) -> None:
    report = power_cuts.run(make_rig(judge=passing), tmp_path, 3)
    assert (report.cuts, report.lost, report.half) == (3, 0, 0)
    assert report.after_committed > 0


@pytest.mark.root
@pytest.mark.apt
@pytest.mark.parametrize("call", ["sync_file", "sync_directory"])
def test_power_cuts_where_a_call_is_left_out(make_rig: MakeRig, tmp_path: Path, call: str) -> None:
    report = power_cuts.run(make_rig(judge=passing), tmp_path, 2, [call])
    assert report.lost > 0
    assert (report.half > 0) == (call == "sync_file")


def test_kills_of_amendments(tmp_path: Path) -> None:
    rig = amendments.Amending(tmp_path / "rig", 7)
    out = tmp_path / "out"
    out.mkdir()
    assert every_call.killed(rig, out, 120)
    assert rig.take_up(out, "t") != "nothing"
    (out / "SKL-0008.v2.receipt.json").unlink()
    with pytest.raises(BrokenError, match="no receipt"):
        rig.state(out, "t")


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> nights.Night:
    return nights.Night(tmp_path_factory.mktemp("night"), 7, jobs=2)


@pytest.fixture(scope="module")
def calls(night: nights.Night, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    disk = Told()
    night.close(tmp_path_factory.mktemp("counted") / "out", disk=disk)
    night.forget()
    return disk.calls


@pytest.fixture
def before_the_logbook(calls: list[str]) -> int:
    """The number of the call before which a package stands and no logbook knows of it."""
    return calls.index("make_directory", calls.index("rename_no_replace")) + 1


def test_kills_of_a_night(night: nights.Night, before_the_logbook: int, tmp_path: Path) -> None:
    assert night.killed(tmp_path / "out", before_the_logbook, at_once=1) == "1 whole"
    assert night.killed(tmp_path / "out", night.calls // 3, at_once=2) is not None


def test_a_journal_that_outlived_its_package_goes(
    night: nights.Night, calls: list[str], before_the_logbook: int, tmp_path: Path
) -> None:
    """Killed between the receipt and the end of the journal."""
    at = max(n for n, call in enumerate(calls[:before_the_logbook], 1) if call == "remove")
    assert night.killed(tmp_path / "out", at, at_once=1) == "1 whole"


def test_a_night_that_loses_a_line_of_the_logbook_is_found_out(
    night: nights.Night,
    before_the_logbook: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("tailsout.work.batch.recount", lambda *_, **__: None)
    with pytest.raises(BrokenError, match="is not whole"):
        night.killed(tmp_path / "out", before_the_logbook, at_once=1)
    night.forget()


def test_calls_that_fail(make_rig: MakeRig, tmp_path: Path) -> None:
    report = faults.run(make_rig(judge=passing), tmp_path, ["EDQUOT"], step=23)
    assert (report.faults > 6, report.short) == (True, len(faults.SHORT))


def test_a_disk_that_keeps_one_bit_otherwise(make_rig: MakeRig, tmp_path: Path) -> None:
    met = lies.run(make_rig(), tmp_path, 12)
    assert met["not let pass"] > 8


def test_a_judge_that_does_not_mind_what_the_disk_keeps(make_rig: MakeRig, tmp_path: Path) -> None:
    with pytest.raises(BrokenError, match="no whole package"):
        lies.run(make_rig(judge=passing), tmp_path, 12)


def test_a_builder_that_overlooks_faults(make_rig: MakeRig, tmp_path: Path) -> None:
    class Deaf(Disk):
        def __init__(self, disk: Disk) -> None:
            super().__init__()
            self._disk = disk

        def sync_file(self, descriptor: int) -> None:
            try:
                self._disk.sync_file(descriptor)
            except OSError:
                return

    def careless(plan: Any, parent: Path, *, disk: Disk, **more: Any) -> Built:
        return build(plan, parent, disk=Deaf(disk), **more)

    with pytest.raises(BrokenError, match="sync_file 1 EIO: None"):
        faults.run(make_rig(builder=careless, judge=passing), tmp_path, ["EIO"])


def test_a_builder_that_writes_once_and_is_content(make_rig: MakeRig, tmp_path: Path) -> None:
    def careless(plan: Any, parent: Path, *, disk: Disk, **more: Any) -> Built:
        disk.write_all = disk.write  # type: ignore[method-assign,assignment]
        return build(plan, parent, disk=disk, **more)

    with pytest.raises(BrokenError, match="short writes"):
        faults.run(make_rig(builder=careless), tmp_path, [], step=1)


@pytest.mark.parametrize("real", [pytest.param(True, marks=pytest.mark.root), False])
def test_full_disks(make_rig: MakeRig, tmp_path: Path, real: bool) -> None:
    report = full_disks.run(make_rig(judge=passing), tmp_path, step=20_000, real=real)
    assert report.sizes > 3
    assert report.left["fitted"] > 0 or real
    assert report.left.total() > report.left["fitted"]


def test_a_builder_content_with_what_a_full_disk_took(make_rig: MakeRig, tmp_path: Path) -> None:
    def careless(plan: Any, parent: Path, *, disk: Disk, **more: Any) -> Built:
        def write_all(descriptor: int, block: bytes) -> None:
            try:
                Disk.write_all(disk, descriptor, block)
            except OSError:
                return

        disk.write_all = write_all  # type: ignore[method-assign,assignment]
        return build(plan, parent, disk=disk, **{**more, "judge": passing})

    with pytest.raises(BrokenError, match="octets: "):
        full_disks.run(make_rig(builder=careless), tmp_path, step=20_000, real=False)


def test_damage(make_rig: MakeRig, tmp_path: Path) -> None:
    package = flips.Package(make_rig().build(tmp_path / "out").path, 3)
    report = flips.run(package, bits=20, each=6, tag_bits_step=997)
    assert report.missed == []
    assert len(report.made) == 10
    assert min(report.made.values()) >= 6


def test_what_a_note_alone_tells_is_known(make_rig: MakeRig, tmp_path: Path) -> None:
    """A hex digit in upper case (RFC 8493 §2.4), in what no list in the bag holds."""
    base = make_rig().build(tmp_path / "out").path
    tag_manifest = base / "tagmanifest-sha256.txt"
    content = tag_manifest.read_bytes()
    at = next(n for n, octet in enumerate(content) if chr(octet) in "abcdef")
    tag_manifest.write_bytes(content[:at] + content[at : at + 1].upper() + content[at + 1 :])
    [found] = flips.findings_of(base)
    assert (found.code, found.place.file) == ("bag-digest-upper-case", "tagmanifest-sha256.txt")


def test_a_judge_that_does_not_read_the_files(make_rig: MakeRig, tmp_path: Path) -> None:
    def blind(base: Path) -> tuple[Finding, ...]:
        return check(base, Silent(), depth=Depth.STRUCTURE).judgement.findings

    package = flips.Package(make_rig().build(tmp_path / "out").path, 3)
    report = flips.run(package, bits=20, each=0, tag_bits_step=99_999, judge=blind)
    assert len(report.missed) > 10


def test_a_judge_that_does_not_say_where(make_rig: MakeRig, tmp_path: Path) -> None:
    def vague(base: Path) -> tuple[Finding, ...]:
        return tuple(one for one in flips.findings_of(base) if one.code == "oxum-differs")

    package = flips.Package(make_rig().build(tmp_path / "out").path, 3)
    report = flips.run(package, bits=0, each=5, tag_bits_step=99_999, judge=vague)
    assert len(report.missed) > 10


def test_good_packages(tmp_path: Path) -> None:
    good_packages.run(tmp_path, 12, 5)


def test_a_judge_that_raises_false_alarms(tmp_path: Path) -> None:
    def nervous(base: Path) -> tuple[Finding, ...]:
        (base / "bagit.txt").write_bytes(b"BagIt-Version: 1.0\n")
        return flips.findings_of(base)

    with pytest.raises(BrokenError, match="bagit-txt-malformed"):
        good_packages.run(tmp_path, 1, 5, nervous)


def test_plans_drawn_by_lot_differ() -> None:
    drawn = {good_packages.draw(random.Random(n)).digest for n in range(20)}
    assert len(drawn) == 20


def test_builders_at_once(make_rig: MakeRig, tmp_path: Path) -> None:
    told = at_once.run(make_rig(judge=passing), tmp_path, 2, builders=4)
    assert told.total() == 6


def test_builders_at_once_that_work_in_the_open(make_rig: MakeRig, tmp_path: Path) -> None:
    def careless(plan: Any, parent: Path, **more: Any) -> Built:
        built = build(plan, parent / str(os.getpid()), **more)
        for one in sorted(built.path.rglob("*")):
            target = parent / plan.name / one.relative_to(built.path)
            target.parent.mkdir(parents=True, exist_ok=True)
            if one.is_file():
                target.write_bytes(one.read_bytes())
        return built

    with pytest.raises(BrokenError):
        at_once.run(make_rig(builder=careless, judge=passing), tmp_path, 2, builders=3)


def test_the_judge_of_the_campaigns_is_the_one_of_strangers(
    make_rig: MakeRig, tmp_path: Path
) -> None:
    base = make_rig().build(tmp_path / "out").path
    assert strict(base) is Verdict.PASS
    (base / "data" / "audio" / "side-a.wav").write_bytes(b"")
    assert strict(base) is Verdict.FAIL
