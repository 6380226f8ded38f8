"""Builds a bag from a plan (RFC 8493): staged beside its place, synced, judged, then renamed.

Nothing ever stands under the final name unless it is complete. The stage `.<name>.part` is locked
while it is worked on; one that nobody holds was left by a crash and is thrown away. bag-info.txt
is not folded at 79 characters: a line break is part of a folded value (§2.2.2), so every reader
would get a value that differs from the one given.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.disk import NO_LOCK, Disk
from tailsout.bag.names import to_disk
from tailsout.bag.plan import Made, Plan, Streamed, Written
from tailsout.ground.digests import Hashing, digests_of
from tailsout.ground.errors import (
    MaterialError,
    RefusedError,
    SurroundingsError,
    from_os_error,
)
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import size

_SPARE_OCTETS = 10_000_000
_FLUSH_EVERY = 32 << 20
"""Octets after which the disk is set to work, so that the final sync has little left to do."""
_TURNS = 8
_STOPPING = frozenset({Verdict.FAIL, Verdict.REFUSED, Verdict.NOT_EXAMINED})
_BAGIT_TXT = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A bag that stands under its final name."""

    path: Path
    written: tuple[Written, ...]
    """Every file in the order of writing."""
    tag_manifests: Mapping[str, Mapping[str, str]]
    """SHA-256 and SHA-512 of each tag manifest, by its name: what to record outside the bag."""
    durability: str
    """`fsynced` or `best effort`."""


def build(
    plan: Plan,
    parent: Path,
    *,
    disk: Disk,
    judge: Callable[[Path], Verdict],
    progress: Progress,
) -> Built:
    """Build `<parent>/<name>`; `judge` sees the staged bag before it gets its name.

    Raises RefusedError if something stands there, MaterialError if the judge does not pass it,
    SurroundingsError for disk, permission, lock or a source that changed.
    """
    final = parent / to_disk(plan.name)
    try:
        _refuse_if_there(final, disk)
        _make_parents(parent, disk)
        _check_room(plan, parent, disk)
        with _staged(final, disk, progress) as stage:
            _refuse_if_there(final, disk)
            progress.begin(f"Writing {plan.name}", plan.streamed_octets)
            writer = _Writer(plan, stage, disk, progress)
            tag_manifests = writer.everything()
            verdict = judge(stage)
            if verdict in _STOPPING:
                raise MaterialError(
                    f"The bag built for {final} was judged '{verdict}'; nothing was kept.",
                    "The findings say why.",
                )
            _commit(stage, final, disk)
    except OSError as error:
        raise from_os_error(error, f"Building {final}") from error
    return Built(
        path=final,
        written=tuple(writer.written.values()),
        tag_manifests=tag_manifests,
        durability=disk.durability,
    )


def _refuse_if_there(final: Path, disk: Disk) -> None:
    if disk.is_there(final):
        raise RefusedError(
            f"{final} is there already; nothing was written.",
            "Choose another place or name; a package is never overwritten.",
        )


def _make_parents(parent: Path, disk: Disk) -> None:
    missing = []
    place = parent
    while not disk.is_there(place):
        missing.append(place)
        place = place.parent
    for place in reversed(missing):
        disk.make_directory(place)
        disk.sync_directory(place.parent)


def _check_room(plan: Plan, parent: Path, disk: Disk) -> None:
    octets = plan.streamed_octets
    needed = octets + octets // 50 + _SPARE_OCTETS
    free = disk.free_octets(parent)
    if free < needed:
        raise SurroundingsError(
            f"{parent} has {size(free)} free; {size(needed)} are needed.",
            "Make room or choose another place; nothing was written.",
        )


@contextmanager
def _staged(final: Path, disk: Disk, progress: Progress) -> Iterator[Path]:
    """Give a locked, empty stage; after any error nothing of it is left."""
    stage = final.with_name(f".{final.name}.part")
    lock = _claim(stage, disk, progress)
    try:
        yield stage
    except BaseException:
        _clear(stage, disk, progress)
        raise
    finally:
        disk.release(lock)


def _clear(stage: Path, disk: Disk, progress: Progress) -> None:
    try:
        if disk.is_there(stage):
            disk.remove_tree(stage)
    except OSError:
        progress.say(f"{stage} could not be removed; the next build of it will do so.")


def _claim(stage: Path, disk: Disk, progress: Progress) -> int:
    """Make the stage and lock it; throw away one that a crash left. Returns the lock."""
    for _ in range(_TURNS):
        try:
            disk.make_directory(stage, 0o700)
        except FileExistsError:
            ours = False
        else:
            ours = True
        try:
            lock = disk.lock(stage)
        except FileNotFoundError:
            continue
        except BlockingIOError:
            break
        except BaseException:
            if ours:
                _clear(stage, disk, progress)
            raise
        if ours:
            return lock
        if lock == NO_LOCK:
            break
        progress.say(f"{stage} was left by a build that was cut off; it is thrown away.")
        try:
            disk.remove_tree(stage)
        finally:
            disk.release(lock)
    raise SurroundingsError(
        f"{stage} is in use: another build of the same package is running.",
        "Wait for it. Where the system has no locks, remove that folder by hand.",
    )


def _commit(stage: Path, final: Path, disk: Disk) -> None:
    try:
        disk.rename_no_replace(stage, final)
    except FileExistsError as error:
        raise RefusedError(
            f"{final} came to be while it was built; nothing was kept.",
            "Choose another place or name; a package is never overwritten.",
        ) from error
    try:
        disk.sync_directory(final.parent)
    except OSError as error:
        raise from_os_error(
            error, f"{final} stands complete and was judged, but having the disk confirm its name"
        ) from error


class _Writer:
    """Fills a stage."""

    def __init__(self, plan: Plan, stage: Path, disk: Disk, progress: Progress) -> None:
        self._plan, self._stage, self._disk, self._progress = plan, stage, disk, progress
        self._directories: dict[str, None] = {}
        self.written: dict[str, Written] = {}

    def everything(self) -> dict[str, dict[str, str]]:
        """Write the whole bag and sync it; return the digests of its tag manifests."""
        for item in self._plan.payload:
            self._item(item)
        self._manifests("manifest", sorted(self.written))
        for item in self._plan.tags:
            self._item(item)
        self._content("bag-info.txt", self._bag_info())
        self._content("bagit.txt", _BAGIT_TXT)
        tags = sorted(path for path in self.written if not path.startswith("data/"))
        outside = self._manifests("tagmanifest", tags)
        for path in sorted(self._directories, key=lambda p: (-p.count("/"), p)):
            self._disk.sync_directory(self._stage / to_disk(path))
        self._disk.set_mode(self._stage, 0o755)
        self._disk.sync_directory(self._stage)
        return outside

    def _item(self, item: Streamed | Made) -> None:
        if isinstance(item, Made):
            self._content(item.path, item.make(dict(self.written)))
            return
        written = self._file(item.path, item.write, self._progress.advance)
        if written.octets != item.octets:
            raise SurroundingsError(
                f"{item.path} came to {written.octets} octets instead of {item.octets}: "
                "its source changed while it was read.",
                "Wait until nothing writes to the source, then run the same command again.",
            )

    def _manifests(self, kind: str, paths: list[str]) -> dict[str, dict[str, str]]:
        """Write one manifest an algorithm over the paths, which are in code-point order."""
        digests = {}
        for algorithm in self._plan.algorithms:
            lines = (f"{self.written[p].digests[algorithm]}  {p}\n" for p in paths)
            content = "".join(lines).encode()
            name = f"{kind}-{algorithm}.txt"
            self._content(name, content)
            digests[name] = digests_of(content, ("sha256", "sha512"))
        return digests

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
        parts = path.split("/")
        for count in range(1, len(parts)):
            folder = "/".join(parts[:count])
            if folder not in self._directories:
                self._disk.make_directory(self._stage / to_disk(folder))
                self._directories[folder] = None
