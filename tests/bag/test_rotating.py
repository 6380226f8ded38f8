"""Disks that turn, by what Linux lays out below /sys (its Documentation/ABI, from memory)."""

import os
from pathlib import Path

import pytest

from tailsout.bag.rotating import rotating_disk


def laid_out(root: Path, number: int, *, turns: str, under: str, partition: bool) -> Path:
    """A folder like /sys/dev/block that knows one device."""
    disk = root / "devices" / under / "sda"
    (disk / "queue").mkdir(parents=True)
    (disk / "queue" / "rotational").write_text(turns)
    device = disk
    if partition:
        device = disk / "sda1"
        device.mkdir()
    devices = root / "dev"
    devices.mkdir()
    (devices / f"{os.major(number)}:{os.minor(number)}").symlink_to(device)
    return devices


@pytest.mark.parametrize("partition", [False, True])
@pytest.mark.parametrize(
    ("turns", "under", "named"),
    [
        ("1\n", "pci0000:00/ata1", "sda"),
        ("0\n", "pci0000:00/ata1", ""),
        ("1\n", "pci0000:00/virtio1/block", ""),
        ("what", "pci0000:00/ata1", ""),
        ("\xff", "pci0000:00/ata1", ""),
    ],
)
def test_what_the_system_says_of_the_disk(
    tmp_path: Path, turns: str, under: str, named: str, *, partition: bool
) -> None:
    number = tmp_path.stat().st_dev
    devices = laid_out(tmp_path, number, turns=turns, under=under, partition=partition)
    assert rotating_disk(tmp_path, devices) == named


def test_nothing_is_known_of_other_systems_and_of_what_is_not_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    devices = laid_out(tmp_path, tmp_path.stat().st_dev, turns="1", under="ata1", partition=True)
    assert rotating_disk(tmp_path, devices) == "sda"
    assert rotating_disk(tmp_path / "none", devices) == ""
    assert rotating_disk(tmp_path, tmp_path / "none") == ""
    monkeypatch.delattr(os, "major")
    assert rotating_disk(tmp_path, devices) == ""
