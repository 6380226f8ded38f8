"""What a build writes down beside its stage, so that a crash can be taken up again.

One JSON object a line: first what was begun, then each file that stands synced in the stage. A
line that a crash tore is passed over. Nothing in it is believed: a file counts as written when its
octets, read from the disk, have the length and the digests that its line gives.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tailsout.bag.disk import Disk
from tailsout.bag.plan import Written

_FORM = "tailsout journal 1"
_MOST_OCTETS = 64 << 20
_KEYS = {"path": str, "octets": int, "digests": dict}


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """A build as its journal tells of it."""

    instant: str
    software: str
    plan: str
    """Digest of what settles all that is written."""
    written: Mapping[str, Written]
    """Files that were synced, by path."""


class Journal:
    """The journal of one build; every line is on the disk when its call returns."""

    def __init__(self, path: Path, disk: Disk) -> None:
        self.path, self._disk = path, disk

    def begin(self, *, instant: str, software: str, plan: str) -> None:
        """Write the first line; `plan` settles what will be written. Raises OSError."""
        self._add({"form": _FORM, "instant": instant, "software": software, "plan": plan})

    def add(self, one: Written) -> None:
        """Write down a file that was written and synced. Raises OSError."""
        self._add({"path": one.path, "octets": one.octets, "digests": dict(one.digests)})

    def remove(self) -> None:
        """Remove the journal, if there is one, for good. Raises OSError."""
        if self._disk.is_there(self.path):
            self._disk.remove(self.path)
            self._disk.sync_directory(self.path.parent)

    def _add(self, said: Mapping[str, object]) -> None:
        line = json.dumps(said, sort_keys=True, separators=(",", ":"))
        self._disk.append_line(self.path, line.encode() + b"\n")


def read(path: Path) -> Begun | None:
    """Return what a journal tells; None if there is none, or none that can be read."""
    try:
        with path.open("rb") as stream:
            lines = stream.read(_MOST_OCTETS).split(b"\n")
    except OSError:
        return None
    first = _object(lines[0])
    told = [first.get(key) for key in ("instant", "software", "plan")]
    if first.get("form") != _FORM or not all(isinstance(one, str) for one in told):
        return None
    instant, software, plan = map(str, told)
    written = {}
    for line in lines[1:]:
        said = _object(line)
        if all(isinstance(said.get(key), kind) for key, kind in _KEYS.items()):
            written[said["path"]] = Written(**{key: said[key] for key in _KEYS})
    return Begun(instant=instant, software=software, plan=plan, written=written)


def _object(line: bytes) -> dict[str, Any]:
    try:
        said = json.loads(line)
    except (ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}
