"""Delivering on a drive: what stands there is proved, listed, and what the recipient takes."""

import errno
import hashlib
import json
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import (
    MaterialError,
    RefusedError,
    SurroundingsError,
    TailsoutError,
    UsageError,
)
from tailsout.ground.progress import Silent
from tailsout.mapping import csv_rows, deliveries, schemas
from tailsout.work import deliver as delivering
from tailsout.work.deliver import Outcome, Wish, deliver
from tailsout.work.delivering import refusals
from tailsout.work.delivering.candidates import look

SAMPLES = Path(__file__).resolve().parents[2] / "sample_packages"
SIDECAR = "data/audio/skl8-side-a.json"


@pytest.fixture
def package(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SAMPLES / "good/skerrow-light/package", tmp_path / "SKL-0008"))


@pytest.fixture
def second(tmp_path: Path) -> Path:
    return Path(
        shutil.copytree(SAMPLES / "good/skerrow-light-amended/package", tmp_path / "SKL-0003.v3")
    )


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SAMPLES / "broken/digest-differs/package", tmp_path / "SKL-0004"))


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    place = tmp_path / "HA00000012"
    place.mkdir()
    return place


def go(drive: Path, *packages: Path, disk: Disk | None = None, **wish: Any) -> Outcome:
    return deliver(
        Wish(packages=packages, **wish),
        drive,
        instant=datetime(2026, 3, 20, 9, 0, tzinfo=UTC),
        software="tailsout test",
        disk=disk or Disk(),
        progress=Silent(),
    )


def octets(base: Path) -> dict[str, bytes]:
    return {
        p.relative_to(base).as_posix(): p.read_bytes()
        for p in sorted(base.rglob("*"))
        if p.is_file()
    }


def table(path: Path) -> list[dict[str, str]]:
    return [dict(row.cells) for row in csv_rows.read(path.read_bytes()).rows]


@pytest.fixture
def seal(reseal: Callable[[Path], None]) -> Callable[[Path], None]:
    """Makes the manifests of a package anew, and what bag-info.txt counts."""

    def make(package: Path) -> None:
        payload = octets(package / "data")
        info = package / "bag-info.txt"
        count = f"{sum(map(len, payload.values()))}.{len(payload)}"
        text = info.read_text("utf-8")
        info.write_text(re.sub("Payload-Oxum: .*", f"Payload-Oxum: {count}", text), "utf-8")
        reseal(package)

    return make


def asking(package: Path, seal: Callable[[Path], None], **rules: Any) -> None:
    """Have the recipient of a package ask something of drives, in every side-car."""
    for path in package.glob("data/audio/*.json"):
        told = json.loads(path.read_text("utf-8"))
        recipient = told["transfer"].setdefault("recipient", {"id": "archive"})
        recipient["drive"] = rules
        path.write_text(json.dumps(told, indent=1), "utf-8")
    seal(package)


def test_packages_stand_on_the_drive_as_they_are_here(
    package: Path, second: Path, drive: Path
) -> None:
    before = {one: octets(one) for one in (package, second)}
    done = go(drive, package, second)
    assert done.refusals == ()
    assert done.judgements == ()
    for one, whole in before.items():
        assert octets(one) == octets(drive / one.name) == whole
    assert not any(path.name.startswith(".") for path in drive.iterdir())


def test_the_manifest_has_a_row_a_package(package: Path, second: Path, drive: Path) -> None:
    go(drive, package, second)
    one, other = table(drive / "delivery-01.csv")
    assert (one["package"], one["verdict"], one["supersedes"]) == ("SKL-0008", "pass", "")
    assert (int(one["files"]), int(one["octets"])) == (
        len(octets(package)),
        sum(map(len, octets(package).values())),
    )
    assert one["identifiers"] == "HA/SKL/8 (shelf mark)"
    assert (other["package"], other["supersedes"]) == ("SKL-0003.v3", "SKL-0003.v2")
    tags = dict(pair.rsplit(" ", 1) for pair in one["tag manifests (sha512)"].split("; "))
    assert tags == {
        path.name: hashlib.sha512(path.read_bytes()).hexdigest()
        for path in sorted(package.glob("tagmanifest-*.txt"))
    }


def test_both_digests_of_every_file_are_kept(package: Path, drive: Path) -> None:
    go(drive, package)
    rows = table(drive / "delivery-01-digests.csv")
    assert {row["path"]: row["sha512 as read back from the drive"] for row in rows} == {
        f"SKL-0008/{path}": hashlib.sha512(one).hexdigest() for path, one in octets(package).items()
    }
    assert all(
        row["sha512 as read here"] == row["sha512 as read back from the drive"] for row in rows
    )


def test_the_list_of_digests_covers_all_that_stands_there(package: Path, drive: Path) -> None:
    go(drive, package)
    lines = (drive / "delivery-01.sha512").read_text("utf-8").splitlines()
    listed = {path: digest for digest, _, path in (line.partition("  ") for line in lines)}
    there = {p: one for p, one in octets(drive).items() if p != "delivery-01.sha512"}
    assert listed == {p: hashlib.sha512(one).hexdigest() for p, one in there.items()}


@pytest.mark.apt
def test_coreutils_takes_the_list_of_digests(
    package: Path, drive: Path, seal: Callable[[Path], None]
) -> None:
    for name in ("a\\b.txt", "l\nf.txt"):
        (package / "metadata" / name).write_bytes(b"odd")
    seal(package)
    rows = deliveries.sums(
        (f"SKL-0008/{path}", hashlib.sha512(one).hexdigest())
        for path, one in octets(package).items()
    )
    (package.parent / "all.sha512").write_bytes(rows)
    subprocess.run(["sha512sum", "-c", "--strict", "all.sha512"], cwd=package.parent, check=True)


def test_names_are_escaped_as_coreutils_does() -> None:
    """GNU coreutils manual, `md5sum`: a backslash before the line, backslashes, LF, CR escaped."""
    told = deliveries.sums([("a\\b", "00"), ("c\nd\re", "11"), ("f \udcff", "22")])
    assert told == b"\\00  a\\\\b\n\\11  c\\nd\\re\n22  f \xff\n"


def test_the_page_for_other_programs_keeps_its_schema(package: Path, drive: Path) -> None:
    go(drive, package)
    told = json.loads((drive / "delivery-01.json").read_text("utf-8"))
    assert list(schemas.faults(told, "delivery-0.1")) == []
    assert told["packages"][0]["package"] == "SKL-0008"


def test_the_covering_note_is_plain_text(package: Path, drive: Path) -> None:
    go(drive, package)
    note = (drive / "delivery-01.txt").read_text("utf-8")
    assert note.startswith("Delivery 1; the drive is called HA00000012\nMade 2026-03-20T09:00:00Z")
    assert f"It holds 1 package, {len(octets(package))} files, " in note
    assert "sha512sum -c delivery-01.sha512" in note
    assert "There was no list of what should have come to compare with." in note
    assert max(map(len, note.splitlines())) <= 100


# What stays here


def test_a_package_that_does_not_pass_stays_here_and_the_others_go(
    package: Path, broken: Path, drive: Path
) -> None:
    done = go(drive, broken, package)
    assert [name for name, _ in done.judgements] == ["SKL-0004"]
    assert not (drive / "SKL-0004").exists()
    assert (drive / "SKL-0008").is_dir()
    (left,) = table(drive / "delivery-01-not-transferred.csv")
    assert (left["name"], left["sort"]) == ("SKL-0004", "does not pass")
    assert left["reason"].startswith("judged 'fail': digest-differs")


def test_a_reel_that_was_not_played_is_listed_with_what_was_tried(
    bench: Any, package: Path, drive: Path
) -> None:
    bench.form(
        {},
        top='kind = "record only"\nnot_played_because = "mould; a conservator decides"\n'
        'not_played_category = "condition"',
        more='[[reel.events]]\nkind = "inspection"\non = 2026-03-14\noutcome = "mould on it"\n'
        '[[reel.events]]\nkind = "treatment"\nstate = "proposed"\nnote = "not done"',
    )
    done = go(drive, package, not_played=(bench.job,))
    assert done.refusals == ()
    (left,) = table(drive / "delivery-01-not-transferred.csv")
    assert (left["name"], left["sort"], left["category"]) == ("TT-1", "not played", "condition")
    assert left["reason"] == "mould; a conservator decides"
    assert left["tried"] == "inspection: 2026-03-14, mould on it"


def test_a_job_that_was_played_is_no_reel_not_played(
    bench: Any, package: Path, drive: Path
) -> None:
    bench.form({})
    with pytest.raises(MaterialError, match="not one of kind 'record only'"):
        go(drive, package, not_played=(bench.job,))
    assert list(drive.iterdir()) == []


def test_a_list_is_held_against_what_came(
    package: Path, broken: Path, drive: Path, tmp_path: Path
) -> None:
    listed = tmp_path / "list.csv"
    listed.write_bytes(
        "\ufeffBox;Identifier\r\n1;HA/SKL/8\r\n2;HA/SKL/9\r\n3;HA/SKL/9\r\n".encode()
    )
    done = go(drive, package, broken, listed=listed)
    assert [
        (one["discrepancy"], one["identifier"], one["line of the list"])
        for one in table(drive / "delivery-01-discrepancies.csv")
    ] == [
        ("listed and not received", "HA/SKL/9", "3"),
        ("listed twice", "HA/SKL/9", "4"),
    ]
    assert done.delivery is not None
    assert len(done.delivery.list_told) == 2


def test_what_came_and_is_not_listed(
    package: Path, second: Path, drive: Path, tmp_path: Path
) -> None:
    listed = tmp_path / "list.csv"
    listed.write_bytes(b"package\nSKL-0008\n")
    go(drive, package, second, listed=listed)
    (one,) = table(drive / "delivery-01-discrepancies.csv")
    assert (one["discrepancy"], one["identifier"]) == ("received and not listed", "SKL-0003.v3")


@pytest.mark.parametrize(
    ("content", "kind"), [(None, UsageError), (b"", MaterialError), (b"box\n1\n", MaterialError)]
)
def test_a_list_that_cannot_be_used_stops_it_before_anything_is_written(
    package: Path, drive: Path, tmp_path: Path, content: bytes | None, kind: type[TailsoutError]
) -> None:
    listed = tmp_path / "list.csv"
    if content is not None:
        listed.write_bytes(content)
    with pytest.raises(kind):
        go(drive, package, listed=listed)
    assert list(drive.iterdir()) == []


# What is refused before anything is written


def refused(drive: Path, *packages: Path, disk: Disk | None = None, **wish: Any) -> str:
    before = octets(drive)
    done = go(drive, *packages, disk=disk, **wish)
    assert done.delivery is None
    assert octets(drive) == before
    (why,) = done.refusals
    return why


def test_one_package_twice(package: Path, drive: Path, tmp_path: Path) -> None:
    copy = shutil.copytree(package, tmp_path / "more" / "skl-0008")
    assert "is delivered once" in refused(drive, package, package)
    assert "some systems take for one" in go(drive, package, Path(copy)).refusals[0]


def test_a_package_that_stands_there(package: Path, drive: Path) -> None:
    (drive / "SKL-0008").mkdir()
    assert "SKL-0008 stands on the drive already" in refused(drive, package)


def test_the_volumes_name(package: Path, drive: Path, seal: Callable[[Path], None]) -> None:
    asking(package, seal, volume_name="HA????????")
    assert go(drive, package).refusals == ()
    assert go(drive, package, volume="HA0000012", number=2).refusals[1:] == (
        "The drive is called 'HA0000012'; the recipient wants a name like 'HA????????'.",
    )


@pytest.mark.parametrize(
    ("pattern", "name", "fits"),
    [
        ("HA??", "HA12", True),
        ("HA??", "HA123", False),
        ("HA*", "HA", True),
        ("H.*", "HA", False),
        ("*", "", True),
        ("HA??", "xHA12", False),
    ],
)
def test_patterns_of_volume_names(pattern: str, name: str, fits: bool) -> None:
    assert refusals._fits(name, pattern) is fits


def test_paths_that_are_too_long(package: Path, drive: Path, seal: Callable[[Path], None]) -> None:
    longest = max(len(f"SKL-0008/{path}") for path in octets(package))
    asking(package, seal, max_path_octets=longest)
    assert go(drive, package).refusals == ()
    shutil.rmtree(drive / "SKL-0008")
    for path in drive.iterdir():
        path.unlink()
    asking(package, seal, max_path_octets=longest - 1)
    assert f"longer than the {longest - 1} octets" in refused(drive, package)


def test_hidden_files(package: Path, drive: Path, seal: Callable[[Path], None]) -> None:
    (drive / ".Trashes").mkdir()
    asking(package, seal, hidden_files_refused=True)
    assert refused(drive, package).startswith(".Trashes: hidden on the drive")
    (drive / ".Trashes").rmdir()
    (package / "data/audio/.DS_Store").write_bytes(b"x")
    seal(package)
    assert refused(drive, package).startswith("SKL-0008/data/audio/.DS_Store: hidden")


def test_two_orders_on_one_drive(
    package: Path, second: Path, drive: Path, seal: Callable[[Path], None]
) -> None:
    asking(package, seal, one_order=True)
    why = refused(drive, package, second)
    assert re.search(r"one order a drive; here are 2 \(.*order 2026-11.*no order said", why)
    go(drive, second)
    why = refused(drive, package, number=2)
    assert "one order a drive; here are 2" in why


def test_two_recipients_on_one_drive(
    package: Path, second: Path, drive: Path, seal: Callable[[Path], None]
) -> None:
    asking(package, seal)
    who = json.loads(next(package.glob("data/audio/*.json")).read_text())["transfer"]["recipient"]
    for path in second.glob("data/audio/*.json"):
        told = json.loads(path.read_text("utf-8"))
        told["transfer"]["recipient"] = {"id": "owner"}
        path.write_text(json.dumps(told, indent=1), "utf-8")
    seal(second)
    why = refused(drive, package, second)
    assert why == (
        "The packages are for 2 recipients, a drive is for one: "
        f"{package.name} for {who['id']!r}; {second.name} for 'owner'."
    )


class Fat(Disk):
    def file_system(self, path: Path) -> str:
        return "vfat"


def test_what_fat_cannot_hold(
    package: Path, drive: Path, seal: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tailsout.bag.volume._LARGEST", {"vfat": 150_000})
    why = go(drive, package, disk=Fat()).refusals
    assert len(why) == 1
    assert "larger than 150.00 kB, where files of vfat end" in why[0]
    monkeypatch.setattr("tailsout.bag.volume._LARGEST", {})
    (package / "data/audio/what?.txt").write_bytes(b"x")
    seal(package)
    assert "no name that vfat can hold" in " ".join(go(drive, package, disk=Fat()).refusals)
    assert list(drive.iterdir()) == []


def test_a_drive_too_small_is_told_before_anything_is_written(package: Path, drive: Path) -> None:
    class Small(Disk):
        def free_octets(self, path: Path) -> int:
            return 10_000_000

    with pytest.raises(SurroundingsError, match=r"has 10.00 MB free; 10.[0-9]* MB are needed"):
        go(drive, package, disk=Small())
    assert list(drive.iterdir()) == []


def test_too_few_files_left(package: Path, drive: Path) -> None:
    class Few(Disk):
        def free_files(self, path: Path) -> int | None:
            return 20

    assert "can take 20 more files" in refused(drive, package, disk=Few())


def test_a_drive_within_a_package(package: Path) -> None:
    with pytest.raises(RefusedError, match="lies in the package"):
        go(package / "data", package)
    with pytest.raises(RefusedError, match="lies in the package"):
        go(package, package)


def test_what_was_left_under_way_is_cleared_away_when_asked(
    package: Path, drive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tailsout.bag.carry._LARGE", 1000)
    last = max(octets(package))

    class Pulled(Disk):
        def create(self, path: Path) -> int:
            if path.name == Path(last).name:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            return super().create(path)

    with pytest.raises(SurroundingsError):
        go(drive, package, disk=Pulled())
    with pytest.raises(SurroundingsError, match="--resume, or clear it away by --discard"):
        go(drive, package)
    cleared = delivering.discard([package], drive, disk=Disk(), progress=Silent())
    assert cleared == ["SKL-0008"]
    assert list(drive.iterdir()) == []
    assert delivering.discard([package], drive, disk=Disk(), progress=Silent()) == []
    assert go(drive, package).delivery is not None
    assert delivering.discard([package], drive, disk=Disk(), progress=Silent()) == []
    assert (drive / "SKL-0008").is_dir()


def test_a_drive_that_is_not_there_is_not_made(package: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="There is no drive"):
        go(tmp_path / "nowhere", package)
    assert not (tmp_path / "nowhere").exists()


# What goes wrong on the way


def test_a_drive_that_is_read_only(package: Path, drive: Path) -> None:
    class ReadOnly(Disk):
        def make_directory(self, path: Path, mode: int = 0o755) -> None:
            raise OSError(errno.EROFS, os.strerror(errno.EROFS), str(path))

    with pytest.raises(SurroundingsError, match="Read-only file system") as caught:
        go(drive, package, disk=ReadOnly())
    assert caught.value.exit_code == 4
    assert list(drive.iterdir()) == []


def test_a_drive_that_is_full_half_way_is_gone_on_with(
    package: Path, second: Path, drive: Path, full_disk: Callable[[int], Disk]
) -> None:
    whole = sum(map(len, octets(package).values()))
    with pytest.raises(SurroundingsError, match="No space left on device"):
        go(drive, package, second, disk=full_disk(whole + 5000))
    assert [p.name for p in sorted(drive.iterdir()) if not p.name.startswith(".")] == ["SKL-0008"]
    made: list[str] = []

    class Watching(Disk):
        def create(self, path: Path) -> int:
            made.append(path.relative_to(drive).as_posix())
            return super().create(path)

    done = go(drive, package, second, disk=Watching(), resume=True)
    assert [one.was_there for one in done.carried] == [True, False]
    assert not any("SKL-0008" in name for name in made)
    assert octets(drive / "SKL-0003.v3") == octets(second)
    assert len(table(drive / "delivery-01.csv")) == 2


def test_lists_that_were_cut_off_are_made_anew(package: Path, drive: Path) -> None:
    class Pulled(Disk):
        def rename_no_replace(self, source: Path, target: Path) -> None:
            if target.name.endswith(".sha512"):
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            super().rename_no_replace(source, target)

    with pytest.raises(SurroundingsError, match="Input/output"):
        go(drive, package, disk=Pulled())
    assert "go on with it by --resume" in go(drive, package).refusals[0]
    go(drive, package, resume=True)
    assert (drive / "delivery-01.sha512").is_file()
    assert "complete with its lists" in refused(drive, package, resume=True)


def test_a_drive_that_went_and_left_its_folder(
    package: Path, drive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = delivering._Work(drive, "tailsout test", Disk(), Silent(), resume=False)
    work._device += 1
    with pytest.raises(SurroundingsError, match="is gone, and something else stands"):
        work.take(look(package))
    assert list(drive.iterdir()) == []


def test_a_package_that_rotted_here_stays_here(package: Path, drive: Path) -> None:
    master = package / "data/audio/skl8-side-a.wav"
    content = bytearray(master.read_bytes())
    content[-100] ^= 1
    master.write_bytes(content)
    done = go(drive, package)
    assert [name for name, _ in done.judgements] == ["SKL-0008"]
    assert not (drive / "SKL-0008").exists()
    assert table(drive / "delivery-01.csv") == []
