"""What every description of a package for other programs begins with.

Digests are those of the payload manifests, so that a package being closed and the same package
received say the same of its files.
"""

import re
import uuid
from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256

from tailsout.ground.clock import derived_id
from tailsout.mapping import naming
from tailsout.records.access import AccessCopy
from tailsout.records.amendment import Amendment
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.reel import Region, Side
from tailsout.records.transfer import SideCar, Transfer
from tailsout.views.dates import edtf, interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Copied:
    """How an access copy came about."""

    of: str
    """Path of the master in the bag."""
    told: AccessCopy
    """What the master's side-car says of it."""
    when: str
    """EDTF."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PayloadFile:
    """One file below `data`."""

    path: str
    octets: int
    digests: tuple[tuple[str, str], ...]
    """Algorithm and digest by each payload manifest, the longest first."""
    record: FileRecord | None = None
    """What is known of an audio file."""
    copied: Copied | None = None
    """None for what is not an access copy of a master of the package."""
    pronom: str = ""
    """As its octets say; empty if they do not, or were not asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A region of a side, as far as it lies in one file."""

    side: Side
    region: Region
    pointer: str
    """JSON pointer into the transfer."""
    file: PayloadFile
    start: int
    """Sample position in the file."""
    end: int | None
    """Sample position after the last one; None: at the end of a file of unknown length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Succession:
    """A version of the package that took the place of another."""

    newer: str
    """Name of the version."""
    older: str
    """Name of the one that it supersedes."""
    by: Amendment


class Packaged:
    """A dossier with the questions that descriptions ask of it answered once."""

    def __init__(self, dossier: Dossier) -> None:
        self.dossier = dossier

    @property
    def transfer(self) -> Transfer | None:
        """What people state."""
        return self.dossier.transfer

    @cached_property
    def sidecar(self) -> SideCar | None:
        """The first side-car of the package."""
        found = (file.sidecar for file in self.dossier.files if file.sidecar is not None)
        return next(found, self.dossier.record_only)

    @cached_property
    def name(self) -> str:
        """What the package is called as a version of ours, whatever its folder is called now."""
        if self.transfer is not None:
            amendments = self.dossier.amendments or ()
            version = amendments[-1].version if amendments else 1
            return naming.version_name(self.transfer.package_id, version)
        return self.dossier.package.name if self.dossier.package is not None else "package"

    @cached_property
    def successions(self) -> tuple[Succession, ...]:
        """How the package came from its first version, the last step first."""
        amendments = tuple(reversed(self.dossier.amendments or ()))
        newer = (self.name, *(one.supersedes for one in amendments))
        return tuple(
            Succession(newer=name, older=one.supersedes, by=one)
            for name, one in zip(newer, amendments, strict=False)
        )

    @cached_property
    def earlier(self) -> tuple[str, ...]:
        """Names of the versions before this one, the last first."""
        names = dict.fromkeys(one.older for one in self.successions)
        return tuple(name for name in names if name != self.name)

    @cached_property
    def base(self) -> str:
        """The UUID that all others are derived from: the job's, or one of the bag itself."""
        if self.transfer is not None:
            try:
                return str(uuid.UUID(self.transfer.job_id))
            except ValueError:
                return str(uuid.uuid5(uuid.NAMESPACE_URL, _octets(self.transfer.job_id).hex()))
        lines = [self.name]
        lines += [f"{a} {d} {file.path}" for file in self.files for a, d in file.digests]
        seen = sha256(_octets("\n".join(lines))).hexdigest()
        return str(uuid.uuid5(uuid.NAMESPACE_URL, f"urn:sha256:{seen}"))

    def id(self, what: str) -> str:
        """Return the UUID of one thing; parts of the transfer are named by their JSON pointer."""
        return derived_id(self.base, _octets(what).decode("utf-8"))

    def file_id(self, path: str) -> str:
        """Return the UUID of a file of the package; of a master the one in its side-car."""
        return self._stated_ids.get(path) or self.id(f"file/{path}")

    @cached_property
    def _stated_ids(self) -> dict[str, str]:
        stated = {one.path: one.stated.id for one in self.dossier.files if one.stated is not None}
        # A side-car that was copied states the identifier of another file.
        often = Counter(stated.values())
        others = {self.id(f"file/{path}"): path for path in self._paths}
        return {
            path: key
            for path, key in stated.items()
            if often[key] == 1 and others.get(key, path) == path
        }

    @cached_property
    def _paths(self) -> tuple[str, ...]:
        files = self.dossier.package.files if self.dossier.package is not None else ()
        return tuple(one.path for one in files if one.path.startswith("data/"))

    @cached_property
    def made_at(self) -> str:
        """When the package was made, as its side-cars or its bag-info have it; empty if unsaid."""
        if self.sidecar is not None:
            return self.sidecar.written
        dates = [value for label, value in self.bag_info if label == "Bagging-Date"]
        is_day = dates and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", dates[0], re.ASCII)
        return dates[0] if is_day else ""

    @cached_property
    def made_by(self) -> str:
        """Name and version of the program that made it; empty if unsaid."""
        return self.sidecar.software if self.sidecar is not None else ""

    @cached_property
    def bag_info(self) -> tuple[tuple[str, str], ...]:
        """Labels and values of bag-info.txt that are not counted when the bag is built."""
        package = self.dossier.package
        lines = package.bag_info if package is not None else ()
        counted = {"payload-oxum", "bag-size"}
        return tuple((one.label, one.value) for one in lines if one.label.lower() not in counted)

    @cached_property
    def files(self) -> tuple[PayloadFile, ...]:
        """Every file below `data`, by path."""
        package = self.dossier.package
        if package is None:
            return ()
        listed: dict[str, dict[str, str]] = {}
        for manifest in package.manifests:
            for line in manifest.lines if not manifest.is_tag else ():
                listed.setdefault(line.path, {})[manifest.algorithm] = line.digest.lower()
        # Of a package of ours the masters alone: what else sounds in it has no statements.
        records = {
            file.path: file
            for file in self.dossier.files
            if file.capture is not None or self.transfer is None
        }
        copies = self._copies({file.path for file in package.files} & records.keys())
        return tuple(
            PayloadFile(
                path=file.path,
                octets=file.octets,
                digests=tuple(
                    sorted(listed.get(file.path, {}).items(), key=lambda one: (-len(one[1]), one))
                ),
                record=records.get(file.path),
                copied=copies.get(file.path) if file.path not in records else None,
                pronom=file.pronom,
            )
            for file in sorted(package.files, key=lambda one: one.path)
            if file.path.startswith("data/")
        )

    def _copies(self, masters: Collection[str]) -> dict[str, Copied]:
        """Return the access copies that side-cars tell of, by their path."""
        found: dict[str, Copied] = {}
        for file in self.dossier.files:
            for one in file.stated.copies if file.stated and file.path in masters else ():
                when = self._copied_at(one.path, file.path)
                found.setdefault(one.path, Copied(of=file.path, told=one, when=when))
        return found

    def _copied_at(self, path: str, master: str) -> str:
        """Tell when a copy was made: an amendment that leaves it as it was does not make it."""
        amendments = self.dossier.amendments or ()
        for one in reversed(amendments):
            for change in one.files:
                is_named = change.path == path and change.change in {"added", "replaced"}
                is_retaken = master in {change.path, change.now} and change.change == "replaced"
                if is_named or is_retaken:
                    return one.written
        return interval(None, amendments[0].written) if amendments else edtf(self.made_at)

    def holding(self, capture: str) -> tuple[PayloadFile, ...]:
        """Return the files that hold a capture or a part of it."""
        return tuple(f for f in self.files if f.record is not None and f.record.capture == capture)

    def regions(self) -> Iterator[tuple[str, Side, Region]]:
        """Yield every region with its JSON pointer and its side."""
        for s, side in enumerate(self.transfer.reel.sides if self.transfer else ()):
            for r, region in enumerate(side.regions):
                yield f"/reel/sides/{s}/regions/{r}", side, region

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """Every region of which samples lie in a file, once for each such file."""
        found = []
        for pointer, side, region in self.regions():
            for file in self.holding(region.capture):
                record = file.record
                if record is None:
                    continue
                length = record.frames
                start = max(0, region.start - record.starts_at)
                end = length if region.end is None else region.end - record.starts_at
                if length is not None and end is not None:
                    end = min(end, length)
                if end is None or start < end:
                    found.append(
                        Stretch(
                            side=side,
                            region=region,
                            pointer=pointer,
                            file=file,
                            start=start,
                            end=end,
                        )
                    )
        return tuple(found)

    def stretch_id(self, one: Stretch) -> str:
        """Return the UUID of a stretch of a file."""
        return self.id(f"{one.file.path}{one.pointer}")


def _octets(text: str) -> bytes:
    """Return a text as octets whatever it holds: names of files may not be Unicode."""
    return text.encode("utf-8", "backslashreplace")
