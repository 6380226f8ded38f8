"""Looks over a drive that a stranger filled: which packages are on it, what lies beside them.

One walk, no link followed, nothing opened but tag manifests, nothing written. Of each folder counts
are kept, not names, so that a drive of a million files needs little memory.
"""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tailsout.bag.names import to_disk
from tailsout.bag.notes import Caps
from tailsout.bag.tree import Met, Tree
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import MaterialError, SurroundingsError, from_os_error
from tailsout.ground.units import printable

_MOST = Caps(entries=10_000_000)
_MARKS = re.compile(r"bagit\.txt|manifest-[^/]+\.txt|bag-info\.txt")
"""Any of these in a folder makes it a package, however broken."""
_TAG_MANIFEST = re.compile(r"tagmanifest-[^/]+\.txt")
_ARCHIVE = re.compile(r".*\.(tar|tar\.gz|tgz|tar\.xz|txz|zip)", re.IGNORECASE | re.DOTALL)
_LIST = re.compile(r"delivery-[0-9]{2}\.csv")
_MOST_UNREAD = 100
_MOST_BESIDE = 1000
_ST_RDONLY = 1


@dataclass(slots=True, kw_only=True)
class Package:
    """A package on the drive: a folder, or an archive."""

    path: str
    """Relative to the drive; empty if the drive itself is one."""
    files: int = 0
    octets: int = 0
    tag_manifests: dict[str, str] = field(default_factory=dict)
    """SHA-512 by name; empty for an archive, which is not opened for a receipt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What belongs to no package: a file at the root, or a folder with all that is in it."""

    path: str
    """Relative to the drive."""
    files: int
    """0 for an empty folder."""
    octets: int


@dataclass(slots=True, kw_only=True)
class Found:
    """All that is on a drive."""

    packages: list[Package] = field(default_factory=list)
    """Sorted by path."""
    beside: list[Beside] = field(default_factory=list)
    """What belongs to no package, sorted by path; of many the first ones."""
    lists: list[str] = field(default_factory=list)
    """Files at the root that are called as a sender's manifest is."""
    files_beside: int = 0
    octets_beside: int = 0
    unread: list[str] = field(default_factory=list)
    """Places that could not be read or were not entered, with the reason."""


def look_over(drive: Path) -> Found:
    """Return what is on a drive. Raises SurroundingsError if it cannot be read at all."""
    try:
        tree = Tree(drive)
    except OSError as error:
        raise from_os_error(error, f"Looking over {printable(str(drive))}") from error
    try:
        return _Look(tree).over()
    finally:
        tree.close()


def is_read_only(drive: Path) -> bool | None:
    """Tell whether a drive is mounted read-only; None if the system does not say."""
    if not hasattr(os, "statvfs"):
        return None
    try:
        return bool(os.statvfs(drive).f_flag & getattr(os, "ST_RDONLY", _ST_RDONLY))
    except OSError:
        return None


def place_of(drive: Path, path: str) -> Path:
    """Return where a package lies."""
    return drive / to_disk(path) if path else drive


class _Look:
    """One walk over a drive."""

    def __init__(self, tree: Tree) -> None:
        self._tree = tree
        self._counts: dict[str, list[int]] = {}
        self._roots: set[str] = set()
        self._tags: dict[str, list[str]] = {}
        self._archives: list[Package] = []
        self._at_root: list[Beside] = []
        self._odd: list[tuple[str, str]] = []
        self._found = Found()

    def over(self) -> Found:
        """Walk and sort what was met."""
        for met in self._tree.walk(_MOST):
            self._take(met)
        packages = {root: Package(path=root) for root in self._tops()}
        apart = [one for one in self._archives if self._is_apart(one.path, packages)]
        for archive in apart:
            counts = self._counts[archive.path.rpartition("/")[0]]
            counts[0] -= archive.files
            counts[1] -= archive.octets
        for folder, (files, octets) in self._counts.items():
            root = next((up for up in _upwards(folder) if up in packages), None)
            if root is None:
                self._found.files_beside += files
                self._found.octets_beside += octets
            else:
                packages[root].files += files
                packages[root].octets += octets
        for root, package in packages.items():
            package.tag_manifests = self._digests(root)
        for path, why in self._odd:
            # What is odd in a package is told by its judgement.
            if self._is_apart(path, packages):
                self._found.unread.append(f"{printable(path) or 'the drive'}: {why}")
        self._found.packages = sorted((*packages.values(), *apart), key=lambda one: one.path)
        if "" not in packages:
            self._found.lists = [one.path for one in self._at_root if _LIST.fullmatch(one.path)]
            self._found.beside = sorted(self._beside(), key=lambda one: one.path)[:_MOST_BESIDE]
        return self._found

    def _take(self, met: Met) -> None:
        folder, _, name = met.path.rpartition("/")
        if met.sort == "file":
            self._file(folder, name, met.octets)
        elif met.sort == "directory":
            if not met.entries:
                self._counts.setdefault(met.path, [0, 0])
        elif len(self._odd) < _MOST_UNREAD:
            self._odd.append((met.path, met.why or met.sort))

    def _beside(self) -> Iterator[Beside]:
        """Yield what lies in no package: of each folder the topmost that holds no package."""
        packages = {one.path for one in self._found.packages}
        yield from (one for one in self._at_root if one.path not in packages)
        above = {up for path in packages for up in _upwards(path)} - packages
        sums: dict[str, list[int]] = {}
        for folder, (files, octets) in self._counts.items():
            ups = tuple(_upwards(folder))
            if not folder or not packages.isdisjoint(ups):
                continue
            top = next((up for up in reversed(ups) if up and up not in above), folder)
            kept = sums.setdefault(top, [0, 0])
            kept[0] += files
            kept[1] += octets
        for path, (files, octets) in sums.items():
            if files or path not in above:
                yield Beside(path=path, files=files, octets=octets)

    def _file(self, folder: str, name: str, octets: int) -> None:
        counts = self._counts.setdefault(folder, [0, 0])
        counts[0] += 1
        counts[1] += octets
        if _MARKS.fullmatch(name):
            self._roots.add(folder)
        elif _TAG_MANIFEST.fullmatch(name):
            self._tags.setdefault(folder, []).append(name)
        if _ARCHIVE.fullmatch(name):
            path = f"{folder}/{name}" if folder else name
            self._archives.append(Package(path=path, files=1, octets=octets))
        if not folder:
            self._at_root.append(Beside(path=name, files=1, octets=octets))

    def _tops(self) -> Iterator[str]:
        """Yield the packages that lie in no other one."""
        for root in sorted(self._roots):
            if not any(up in self._roots for up in _upwards(root) if up != root):
                yield root

    def _is_apart(self, path: str, packages: dict[str, Package]) -> bool:
        folder = path.rpartition("/")[0]
        return not any(up in packages for up in _upwards(folder))

    def _digests(self, root: str) -> dict[str, str]:
        digests = {}
        for name in sorted(self._tags.get(root, ()))[: _MOST.manifests]:
            path = f"{root}/{name}" if root else name
            try:
                content = self._tree.read(path, _MOST.manifest_octets)
            except (MaterialError, SurroundingsError) as error:
                self._found.unread.append(f"{printable(path)}: {error.sentence}")
                continue
            digests[printable(name)] = digests_of(content, ("sha512",))["sha512"]
        return digests


def _upwards(folder: str) -> Iterator[str]:
    """Yield a folder and all it lies in, the drive itself last."""
    while folder:
        yield folder
        folder = folder.rpartition("/")[0]
    yield ""
