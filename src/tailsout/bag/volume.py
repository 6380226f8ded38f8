"""What the file system below a folder is, and what it cannot promise (hostile cases J05, J08).

Linux tells the kind of a file system in /proc/self/mountinfo (proc(5)); where there is no such
list nothing is known and nothing is said. Limits and manners of the kinds are common practice, no
source; the largest file of FAT is what its 32-bit length field holds.
"""

import os
from collections.abc import Iterable
from pathlib import Path

MOUNTS = Path("/proc/self/mountinfo")

_ON_ANOTHER_MACHINE = frozenset({"nfs", "nfs4", "cifs", "smb3", "9p", "afs", "ceph", "fuse.sshfs"})
_IN_MEMORY = frozenset({"tmpfs", "ramfs"})
_WITHOUT_JOURNAL = frozenset({"vfat", "msdos", "exfat", "ext2"})
_LARGEST = {"vfat": (1 << 32) - 1, "msdos": (1 << 32) - 1}


def kind_of(path: Path, mounts: Path = MOUNTS) -> str:
    """Return the kind of file system a directory lies on; empty if that is not known."""
    try:
        device = path.stat().st_dev
        lines = mounts.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return ""
    return _kind_in(lines, f"{os.major(device)}:{os.minor(device)}")


def _kind_in(lines: Iterable[str], device: str) -> str:
    """Return the kind of the mount of a device: the last one, which covers those before it."""
    kind = ""
    for line in lines:
        mount, _, behind = line.partition(" - ")
        fields = mount.split(" ")
        if len(fields) > 2 and fields[2] == device:
            kind = behind.split(" ")[0]
    return kind


def largest_file(kind: str) -> int | None:
    """Return how many octets a file may have there at most; None if no limit is known."""
    return _LARGEST.get(kind)


def not_promised(kind: str) -> tuple[str, ...]:
    """Say what such a file system cannot promise of what was synced to it."""
    faults = {
        "It lies on another machine, whose disk may not hold yet what it says it holds.": (
            kind in _ON_ANOTHER_MACHINE
        ),
        "It is kept in memory and lasts until the machine is switched off.": kind in _IN_MEMORY,
        "It keeps no journal: a power cut while anything is written there may harm what stands.": (
            kind in _WITHOUT_JOURNAL
        ),
    }
    return tuple(why for why, true in faults.items() if true)


def free_files(path: Path) -> int | None:
    """Return how many files may still be made there; None if the system does not count them."""
    if not hasattr(os, "statvfs"):
        return None
    told = os.statvfs(path)
    return told.f_favail if told.f_files else None
