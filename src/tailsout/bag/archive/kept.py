"""What is kept in memory of a packed archive's files while it is unpacked the first time.

Of tag files at the top of the bag and of side-cars all, of audio files and descriptions the start
and the end: what the readers look into. All else is read when it is proved.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from tailsout.bag.archive.limits import Limits
from tailsout.mapping import naming

_WHOLE_OCTETS = 16 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """The start and the end of a file; together all of it if it is small."""

    head: bytes = b""
    tail: bytes = b""


class Kept:
    """Keeps the ends of the files that are looked into, as long as there is room."""

    def __init__(self, limits: Limits) -> None:
        self._left = limits.kept_octets
        self._window = limits.window_octets
        self._ends: dict[str, Ends] = {}

    def ends(self, path: str) -> Ends:
        """Return what is kept of a file; `path` is that in the archive."""
        return self._ends.get(path, Ends())

    def take(self, path: str, octets: int, blocks: Iterable[bytes]) -> int:
        """Run through the blocks of a file and keep what is wanted; return how much there was."""
        is_text = path.count("/") == 1 or path.endswith(".json")
        most = octets if is_text and octets <= _WHOLE_OCTETS else self._window
        is_described = path.lower().endswith((".xml", ".toml"))
        is_wanted = is_text or is_described or naming.is_wave(path) or naming.is_flac(path)
        if not is_wanted or min(octets, 2 * most) > self._left:
            return sum(len(block) for block in blocks)
        head, tail, count = bytearray(), bytearray(), 0
        for block in blocks:
            count += len(block)
            first = block[: most - len(head)]
            head += first
            tail += block[len(first) :]
            if len(tail) > 2 * most:
                del tail[:-most]
        ends = Ends(head=bytes(head), tail=bytes(tail[-most:] if most else b""))
        self._left -= len(ends.head) + len(ends.tail)
        self._ends[path] = ends
        return count
