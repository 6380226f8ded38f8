"""What Linux tells of mounts, proc(5), and what is made of it."""

import os
from pathlib import Path

import pytest

from tailsout.bag import volume

LINES = """\
22 27 {device} / /mnt/a rw,relatime shared:1 master:2 - ext4 /dev/sda1 rw
23 27 0:9999 / /mnt/b\\040c rw - tmpfs tmpfs rw
24 27 {device} / /mnt/a rw - vfat /dev/sdb1 rw
broken
"""


def test_the_mount_that_covers_the_others_counts(tmp_path: Path) -> None:
    device = tmp_path.stat().st_dev
    mounts = tmp_path / "mountinfo"
    mounts.write_text(LINES.format(device=f"{os.major(device)}:{os.minor(device)}"))
    assert volume.kind_of(tmp_path, mounts) == "vfat"
    mounts.write_text(LINES.format(device="0:9998"))
    assert volume.kind_of(tmp_path, mounts) == ""


def test_where_no_list_is_nothing_is_said(tmp_path: Path) -> None:
    assert volume.kind_of(tmp_path, tmp_path / "none") == ""
    assert volume.kind_of(tmp_path / "none") == ""
    assert volume.not_promised("") == ()
    assert volume.largest_file("") is None


@pytest.mark.skipif(not volume.MOUNTS.exists(), reason="no list of mounts on this system")
def test_this_system_names_its_proc() -> None:
    assert volume.kind_of(Path("/proc")) == "proc"


def test_a_system_that_does_not_count_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(os, "statvfs")
    assert volume.free_files(tmp_path) is None


def test_a_file_system_that_does_not_count_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """btrfs answers with nought of nought."""
    told = os.statvfs(tmp_path)
    fields = list(told)
    fields[5] = fields[6] = fields[7] = 0
    monkeypatch.setattr(os, "statvfs", lambda _path: os.statvfs_result(fields))
    assert volume.free_files(tmp_path) is None
