"""A bag packed into a tar: the same octets always, proved before it is named, or not there."""

import hashlib
import os
import subprocess
import sys
import tarfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tailsout.bag.archive.pack import Packed, time_of
from tailsout.bag.disk import Disk
from tailsout.doors.cli import run
from tailsout.ground.errors import MaterialError, RefusedError, SurroundingsError, UsageError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.records.facts import InfoLine
from tailsout.work.check import check
from tailsout.work.pack import pack

TAR, DIGEST = "reel-0001.tar", "reel-0001.tar.sha512"


def packed(bag: Path, parent: Path, disk: Disk | None = None) -> Packed:
    outcome = pack(bag, parent, disk=disk or Disk(), progress=Silent())
    assert outcome.packed is not None
    return outcome.packed


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "some" / "out"


def test_a_tar_stands_with_its_digest_and_nothing_else(good_bag: Path, out: Path) -> None:
    done = packed(good_bag, out)
    assert sorted(path.name for path in out.iterdir()) == [TAR, DIGEST]
    octets = (out / TAR).read_bytes()
    digest = hashlib.sha512(octets).hexdigest()
    assert (out / DIGEST).read_text() == f"{digest}  {TAR}\n"
    assert (done.sha512, done.octets, done.files) == (digest, len(octets), 8)
    assert {path.stat().st_mode & 0o777 for path in out.iterdir()} == {0o644}
    judgement = check(out / TAR, Silent()).judgement
    assert (judgement.findings, judgement.verdict) == ((), Verdict.PASS)


def test_names_stand_in_order_and_tell_nothing_of_the_machine(good_bag: Path, out: Path) -> None:
    (good_bag / "data/audio").chmod(0o700)
    (good_bag / "data/note.txt").chmod(0o666)
    packed(good_bag, out)
    with tarfile.open(out / TAR) as tar:
        members = tar.getmembers()
    assert [one.name.partition("/")[2] for one in members] == [
        "",
        "bagit.txt",
        "manifest-sha256.txt",
        "manifest-sha512.txt",
        "tagmanifest-sha256.txt",
        "tagmanifest-sha512.txt",
        "bag-info.txt",
        "data",
        "data/audio",
        "data/audio/reel.dat",
        "data/note.txt",
    ]
    assert {one.mode for one in members} == {0o644, 0o755}
    assert {(one.uid, one.gid, one.uname, one.gname, one.mtime) for one in members} == {
        (0, 0, "", "", 0)
    }


def test_the_same_octets_whatever_surrounds_it(good_bag: Path, tmp_path: Path) -> None:
    digests = set()
    for number, (umask, locale, time) in enumerate(
        [("022", "C.UTF-8", "1"), ("077", "C", "2000000000")]
    ):
        here = tmp_path / f"at-{number}"
        here.mkdir()
        for path in good_bag.rglob("*"):
            os.utime(path, (int(time), int(time)))
        subprocess.run(
            [
                "sh",
                "-c",
                f"umask {umask}; exec {sys.executable} -m tailsout pack $0 -o .",
                good_bag,
            ],
            cwd=here,
            check=True,
            stdout=subprocess.DEVNULL,
            env={
                "PYTHONPATH": os.pathsep.join(sys.path),
                "LC_ALL": locale,
                "SOURCE_DATE_EPOCH": time,
                "TZ": "Pacific/Chatham" if number else "UTC",
                "PYTHONHASHSEED": str(number),
            },
        )
        digests.add(hashlib.sha512((here / TAR).read_bytes()).hexdigest())
    assert len(digests) == 1


@pytest.mark.parametrize(
    ("values", "time"),
    [
        (["2026-03-15"], 1_773_532_800),
        ([" 2026-03-15 "], 1_773_532_800),
        (["2026-02-30", "2026-03-15"], 1_773_532_800),
        (["1960-01-01"], 0),
        (["yesterday"], 0),
        (["2026-03-15T10:00:00Z"], 0),
        ([], 0),
    ],
)
def test_the_time_is_the_bags_own(values: list[str], time: int) -> None:
    lines = tuple(InfoLine(label="bagging-DATE", value=one, line=1) for one in values)
    assert time_of((InfoLine(label="Other", value="2000-01-01", line=1), *lines)) == time


def test_long_names_and_names_in_other_scripts(
    good_bag: Path, out: Path, seal: Callable[..., None]
) -> None:
    for name in ("d" * 120, "\u03c3\u03ae\u03bc\u03b1", "e" * 200 + "\u00e4"):
        (good_bag / "data" / name).write_bytes(name.encode())
    (good_bag / "bag-info.txt").unlink()
    seal(good_bag)
    packed(good_bag, out)
    with tarfile.open(out / TAR) as tar:
        names = {one.name for one in tar.getmembers()}
    assert {f"reel-0001/{path.relative_to(good_bag)}" for path in good_bag.rglob("*")} < names


@pytest.mark.apt
def test_gnu_tar_and_sha512sum_read_it(
    good_bag: Path, out: Path, seal: Callable[..., None]
) -> None:
    for name in ("d" * 120, "\u03c3\u03ae\u03bc\u03b1"):
        (good_bag / "data" / name).write_bytes(name.encode())
    (good_bag / "bag-info.txt").unlink()
    seal(good_bag)
    packed(good_bag, out)
    subprocess.run(["sha512sum", "-c", "--strict", DIGEST], cwd=out, check=True)
    subprocess.run(["tar", "xf", TAR], cwd=out, check=True)
    subprocess.run(["diff", "-r", good_bag, out / "reel-0001"], check=True)


# What stops it


def test_a_bag_that_does_not_pass_is_not_packed(
    good_bag: Path, out: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (good_bag / "data/note.txt").write_bytes(b"heads out\n")
    assert run(["pack", str(good_bag), "-o", str(out)]) == 1
    said = capsys.readouterr().out
    assert "digest-differs" in said
    assert "Nothing was packed." in said
    assert list(out.iterdir()) == []


def test_what_no_tar_may_hold_is_refused_before_anything_is_written(
    good_bag: Path, out: Path
) -> None:
    (good_bag / "data/link").symlink_to("note.txt")
    outcome = pack(good_bag, out, disk=Disk(), progress=Silent())
    assert outcome.judgement.verdict is Verdict.REFUSED
    assert outcome.packed is None
    assert not out.exists()


@pytest.mark.parametrize("name", [TAR, DIGEST])
def test_nothing_is_replaced(good_bag: Path, out: Path, name: str) -> None:
    out.mkdir(parents=True)
    (out / name).write_bytes(b"precious")
    with pytest.raises(RefusedError, match="is there already"):
        packed(good_bag, out)
    assert [(path.name, path.read_bytes()) for path in out.iterdir()] == [(name, b"precious")]


@pytest.mark.parametrize("inside", [".", "data", "data/new"])
def test_no_tar_into_the_package_itself(good_bag: Path, inside: str) -> None:
    before = sorted(good_bag.rglob("*"))
    with pytest.raises(RefusedError, match="lies inside"):
        packed(good_bag, good_bag / inside)
    assert sorted(good_bag.rglob("*")) == before


def test_what_is_no_folder_is_told(tmp_path: Path, good_bag: Path) -> None:
    for path in (tmp_path / "none", good_bag / "bagit.txt"):
        with pytest.raises(UsageError):
            packed(path, tmp_path / "out")


def test_a_name_that_checksum_tools_read_otherwise(good_bag: Path, out: Path) -> None:
    for name in ("a\\b", "a\nb"):
        other = good_bag.rename(good_bag.with_name(name))
        with pytest.raises(MaterialError, match="checksum tools"):
            packed(other, out)
        good_bag = other
    assert not out.exists()


def test_a_bag_that_changes_meanwhile(good_bag: Path, out: Path) -> None:
    class Meddling(Disk):
        def create(self, path: Path) -> int:
            if path.name == TAR:
                (good_bag / "data/note.txt").write_bytes(b"tails out now\n")
            return super().create(path)

    with pytest.raises(SurroundingsError, match="changed while it was packed"):
        packed(good_bag, out, Meddling())
    assert list(out.iterdir()) == []


def test_a_full_disk_leaves_nothing_half_made(
    good_bag: Path, out: Path, failing: Callable[[int], Disk]
) -> None:
    for times in range(1, 40):
        disk = failing(times)
        try:
            packed(good_bag, out, disk)
        except SurroundingsError:
            names = {path.name for path in out.iterdir()} if out.exists() else set()
            # A tar that got its name is whole; only its digest may be wanting.
            assert names <= {TAR, DIGEST}
            if TAR in names:
                assert check(out / TAR, Silent()).judgement.verdict is Verdict.PASS
                (out / TAR).unlink()
            (out / DIGEST).unlink(missing_ok=True)
        else:
            break
    assert times > 1
    assert sorted(path.name for path in out.iterdir()) == [TAR, DIGEST]


def test_an_interrupt_leaves_nothing(good_bag: Path, out: Path) -> None:
    class Interrupted(Disk):
        def sync_file(self, descriptor: int) -> None:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        packed(good_bag, out, Interrupted())
    assert list(out.iterdir()) == []


def test_what_a_crash_left_is_cleared_away(good_bag: Path, out: Path) -> None:
    left = out / f".{TAR}.part"
    left.mkdir(parents=True)
    (left / TAR).write_bytes(b"half")
    packed(good_bag, out)
    assert sorted(path.name for path in out.iterdir()) == [TAR, DIGEST]


def test_a_disk_that_lies_is_found_out(good_bag: Path, out: Path) -> None:
    class Lying(Disk):
        def write(self, descriptor: int, block: memoryview) -> int:
            changed = bytes(block).replace(b"tails out", b"heads out")
            return super().write(descriptor, memoryview(changed))

    outcome = pack(good_bag, out, disk=Lying(), progress=Silent())
    assert outcome.packed is None
    assert {"digest-differs", "archive-digest-differs"} == {
        one.code for one in outcome.judgement.findings
    }
    assert list(out.iterdir()) == []


def test_several_at_once_from_the_door(
    good_bag: Path, out: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["pack", str(good_bag), str(out / "none"), "-o", str(out)]) == 2
    assert f"Packed: {out / TAR}" in capsys.readouterr().out
    assert run(["pack", str(good_bag), "-o", str(out)]) == 3
