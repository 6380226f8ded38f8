"""Logbooks rebuilt from packages say what closing wrote; packages are only read."""

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import UsageError
from tailsout.ground.progress import Silent
from tailsout.work.close_out import close
from tailsout.work.recount import Recounted, recount

SESSION = (
    'id = "s1"\nmachine = "left"\non = 2026-03-14\ntone_minutes = 6\n'
    '[[settings]]\nid = "7-nab"\nspeed_ips = 7.5\n'
)
IN_SESSION = '[[passes]]\nid = "p1"\nsession = "s1"\nprogramme_minutes = 30\n'
ON_TWO = (
    '[[passes]]\nid = "p1"\nmachine = "left"\non = 2026-03-13\n'
    '[[passes]]\nid = "p2"\nmachine = "right"\non = 2026-03-14\nprogramme_minutes = 4.5\n'
    '[[reel.events]]\nkind = "winding"\ncontact_minutes = 3\n'
)
NO_DATE = '[[passes]]\nid = "p1"\nmachine = "left"\n'


def recounted(studio: Path, *folders: Path, progress: Any = None) -> Recounted:
    return recount(folders, studio, disk=Disk(), progress=progress or Silent())


def books(studio: Path) -> dict[str, set[bytes]]:
    """The lines of every logbook; the end of a line that is torn is a line too."""
    return {
        path.name: set(path.read_bytes().splitlines(keepends=True))
        for path in sorted((studio / "logbook").iterdir())
    }


@pytest.fixture
def evening(bench: Any, around: Callable[..., Any]) -> Any:
    """Four reels closed in an order that is not the one of their names."""
    (bench.studio / "sessions").mkdir()
    (bench.studio / "sessions/s1.toml").write_text(SESSION)
    (bench.studio / "machines/right.toml").write_text('id = "right"\n')
    for count, (name, more) in enumerate(
        (("Z", IN_SESSION), ("A", IN_SESSION), ("M", ON_TWO), ("N", NO_DATE))
    ):
        bench.package_id = f"TT-{name}"
        bench.fill(more=more)
        form = bench.job / "job.toml"
        form.write_text(form.read_text().replace('job_id = "0', f'job_id = "{count}'))
        instant = datetime(2026, 3, 15, 8, count, tzinfo=UTC)
        assert close(bench.job, bench.out, around(instant=instant)).built is not None
    return bench


def test_a_lost_logbook_is_rebuilt_as_closing_wrote_it(evening: Any) -> None:
    written = books(evening.studio)
    assert {name: len(lines) for name, lines in written.items()} == {
        "left.jsonl": 4,  # three packages and the tones of one session
        "right.jsonl": 1,
    }
    shutil.rmtree(evening.studio / "logbook")
    packages = evening.tree(evening.out, times=True)
    again = recounted(evening.studio, evening.out)
    assert again == Recounted(packages=4, with_statements=4, added=5)
    assert books(evening.studio) == written
    assert evening.tree(evening.out, times=True) == packages


def test_what_stands_there_is_left_and_only_what_is_missing_added(evening: Any) -> None:
    written = books(evening.studio)
    book = evening.studio / "logbook/left.jsonl"
    kept = [line for line in book.read_bytes().splitlines(keepends=True) if b"TT-A" not in line]
    book.write_bytes(b"".join(kept))
    assert recounted(evening.studio, evening.out).added == 1
    assert books(evening.studio) == written
    before = book.read_bytes()
    assert recounted(evening.studio, evening.out, evening.out / "TT-A").added == 0
    assert book.read_bytes() == before


def test_a_package_may_be_named_itself(evening: Any) -> None:
    shutil.rmtree(evening.studio / "logbook")
    again = recounted(evening.studio, evening.out / "TT-M")
    assert again == Recounted(packages=1, with_statements=1, added=2)


def test_packages_of_others_and_folders_of_any_kind_are_passed_over(
    bench: Any, evening: Any
) -> None:
    foreign = bench.root / "others" / "bag"
    (foreign / "data").mkdir(parents=True)
    (foreign / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    (foreign / "data/TT-9.json").write_text("{}")
    (bench.root / "others" / "holiday").mkdir()
    (bench.root / "others" / "note.txt").write_text("x")
    before = books(bench.studio)
    again = recounted(bench.studio, bench.root / "others")
    assert again == Recounted(packages=1, with_statements=0, added=0)
    assert books(bench.studio) == before


def test_a_side_car_that_is_broken_tells_nothing(evening: Any) -> None:
    shutil.rmtree(evening.studio / "logbook")
    car = evening.out / "TT-A/data/audio/a.json"
    car.write_bytes(car.read_bytes()[:-2])
    assert recounted(evening.studio, evening.out / "TT-A") == Recounted(
        packages=1, with_statements=0, added=0
    )


def test_no_studio_no_logbook(bench: Any) -> None:
    with pytest.raises(UsageError, match=r"holds no studio\.toml"):
        recounted(bench.job, bench.root)
    assert not (bench.job / "logbook").exists()


def test_a_folder_that_is_not_there(bench: Any) -> None:
    with pytest.raises(UsageError, match="There is no folder"):
        recounted(bench.studio, bench.root / "none")
