"""Tells whether a folder lies on a disk that turns: there, reading two files at once is slower.

Linux tells in sysfs. A virtual disk of the virtio sort always says it turns, whatever is beneath,
and is not believed. Of network volumes, file systems over several disks, and elsewhere, nothing is
known.
"""

import os
from pathlib import Path

_DEVICES = Path("/sys/dev/block")


def rotating_disk(path: Path, devices: Path = _DEVICES) -> str:
    """Return the name of the rotating disk a path lies on; empty if it is none or not known."""
    try:
        number = path.stat().st_dev
        device = (devices / f"{os.major(number)}:{os.minor(number)}").resolve(strict=True)
        # A partition's own folder has no queue; that of its disk is the one above.
        disk = device if (device / "queue").is_dir() else device.parent
        if any(part.startswith("virtio") for part in disk.parts):
            return ""
        told = (disk / "queue" / "rotational").read_text(encoding="ascii")
    except (OSError, AttributeError, ValueError):
        return ""
    return disk.name if told.strip() == "1" else ""
