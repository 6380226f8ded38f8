"""Fills a stage with the files of a plan, synced one by one, and writes down which are finished.

bag-info.txt is not folded at 79 characters: a line break is part of a folded value (RFC 8493
§2.2.2), so every reader would get a value that differs from the one given.
"""

from collections.abc import Callable, Mapping
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.journal import Journal
from tailsout.bag.names import to_disk
from tailsout.bag.plan import Made, Plan, Streamed, Written
from tailsout.ground.digests import Hashing
from tailsout.ground.errors import SurroundingsError
from tailsout.ground.progress import Progress
from tailsout.ground.units import counted, size

_FLUSH_EVERY = 32 << 20
"""Octets after which the disk is set to work, so that the final sync has little left to do."""


class Writer:
    """Fills one stage; `written` is what stands in it."""

    def __init__(
        self,
        plan: Plan,
        stage: Path,
        *,
        kept: Mapping[str, Written],
        journal: Journal,
        disk: Disk,
        progress: Progress,
    ) -> None:
        """`kept` are files that stand in the stage already, read back and found whole."""
        self._plan, self._stage, self._disk, self._progress = plan, stage, disk, progress
        self._journal, self._kept = journal, kept
        self._directories: dict[str, None] = {}
        for path in kept:
            self._directories |= dict.fromkeys(folders_of(path))
        self.written: dict[str, Written] = {}

    def everything(self) -> None:
        """Write the whole bag and sync it.

        Raises OSError, SurroundingsError for a source that changed, and what the items raise.
        """
        for item in self._plan.payload:
            self._item(item)
        self._manifests("manifest", sorted(self.written))
        for item in self._plan.tags:
            self._item(item)
        self._content("bag-info.txt", self._bag_info())
        said = f"BagIt-Version: {self._plan.version}\nTag-File-Character-Encoding: UTF-8\n"
        self._content("bagit.txt", said.encode())
        tags = sorted(path for path in self.written if not path.startswith("data/"))
        self._manifests("tagmanifest", tags)
        for path in sorted(self._directories, key=lambda p: (-p.count("/"), p)):
            self._disk.sync_directory(self._stage / to_disk(path))
        self._disk.set_mode(self._stage, 0o755)
        self._disk.sync_directory(self._stage)

    def _item(self, item: Streamed | Made) -> None:
        if isinstance(item, Made):
            self._content(item.path, item.make(dict(self.written)))
            return
        if item.path in self._kept:
            self.written[item.path] = self._kept[item.path]
            self._progress.advance(item.octets)
            return
        written = self._file(item.path, item.write, self._progress.advance)
        if written.octets != item.octets:
            raise SurroundingsError(
                f"{item.path} came to {counted(written.octets, 'octet')} instead of {item.octets}: "
                "its source changed while it was read.",
                "Wait until nothing writes to the source, then run the same command again.",
            )
        if item.source:
            self._journal.add(written)

    def _manifests(self, kind: str, paths: list[str]) -> None:
        """Write one manifest an algorithm over the paths, which are in code-point order."""
        for algorithm in self._plan.algorithms:
            lines = (f"{self.written[p].digests[algorithm]}  {p}\n" for p in paths)
            self._content(f"{kind}-{algorithm}.txt", "".join(lines).encode())

    def _bag_info(self) -> bytes:
        payload = [w.octets for path, w in self.written.items() if path.startswith("data/")]
        elements = (
            *self._plan.bag_info,
            ("Bag-Size", size(sum(payload))),
            ("Payload-Oxum", f"{sum(payload)}.{len(payload)}"),
        )
        return "".join(f"{label}: {value}\n" for label, value in elements).encode()

    def _content(self, path: str, content: bytes) -> None:
        def feed(take: Callable[[bytes | memoryview], object]) -> None:
            take(content)

        self._file(path, feed, lambda _octets: None)

    def _file(
        self,
        path: str,
        feed: Callable[[Callable[[bytes | memoryview], object]], None],
        passed: Callable[[int], None],
    ) -> Written:
        """Write one file, with its digests from the same octets, and sync it."""
        self._make_directories(path)
        octets = 0
        descriptor = self._disk.create(self._stage / to_disk(path))
        try:
            with Hashing(self._plan.algorithms) as hashing:

                def take(block: bytes | memoryview) -> None:
                    nonlocal octets
                    # The digests are still at the block when its owner fills it anew: own it.
                    owned = bytes(block)
                    hashing.update(owned)
                    self._disk.write_all(descriptor, owned)
                    octets += len(owned)
                    if octets % _FLUSH_EVERY < len(owned):
                        self._disk.begin_sync(descriptor)
                    passed(len(owned))

                feed(take)
                digests = hashing.hexdigests()
            self._disk.sync_file(descriptor)
        finally:
            self._disk.close(descriptor)
        self.written[path] = Written(path=path, octets=octets, digests=digests)
        return self.written[path]

    def _make_directories(self, path: str) -> None:
        for folder in folders_of(path):
            if folder not in self._directories:
                self._disk.make_directory(self._stage / to_disk(folder))
                self._directories[folder] = None


def folders_of(path: str) -> list[str]:
    """Return the folders a file lies in, outermost first."""
    parts = path.split("/")
    return ["/".join(parts[:count]) for count in range(1, len(parts))]
