"""Makes the receipt of a drive: what came, and where that departs from its sender's manifest."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from tailsout.bag.drive import Found, is_read_only, look_over
from tailsout.bag.names import to_disk
from tailsout.ground import clock
from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.units import counted, printable
from tailsout.mapping import csv_rows, deliveries
from tailsout.mapping.deliveries import Claimed
from tailsout.records.arrival import (
    Arrival,
    Arrived,
    Difference,
    DifferenceKind,
    Happening,
    LyingBeside,
)

_MOST_PLACES = 5
_VERSION = re.compile(r"\.v[0-9]{1,6}$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """What is known of the delivery that this one continues."""

    number: int
    first_received: str
    packages: frozenset[str]
    to_come: frozenset[str]
    """Packages of its rework list."""


def receipt(
    drive: Path,
    *,
    instant: datetime,
    software: str,
    manifest: Path | None = None,
    earlier: Earlier | None = None,
    happenings: Sequence[Happening] = (),
    within_days: int | None = None,
) -> tuple[Arrival, Found]:
    """Look over a drive and tell what came.

    Raises UsageError for a manifest that is not there, MaterialError for one that was named and
    cannot be read, SurroundingsError if the drive cannot be read.
    """
    found = look_over(drive)
    name, claimed, of_lists = _claimed(drive, found, manifest)
    before = earlier.packages if earlier is not None else frozenset()
    packages = tuple(
        Arrived(
            package=printable(one.path) or ".",
            files=one.files,
            octets=one.octets,
            tag_manifests=one.tag_manifests,
            came_before=without_version(_last(one.path)) in before,
        )
        for one in found.packages
    )
    came = {without_version(_last(one.package)) for one in packages}
    arrival = Arrival(
        number=earlier.number + 1 if earlier is not None else 1,
        drive=printable(drive.resolve().name),
        received=clock.stamp(instant),
        software=software,
        mounted_read_only=is_read_only(drive),
        packages=packages,
        files_beside=found.files_beside,
        octets_beside=found.octets_beside,
        beside=tuple(
            LyingBeside(path=printable(one.path), files=one.files, octets=one.octets)
            for one in found.beside
        ),
        manifest=name,
        differences=(
            *_from_manifest(claimed, packages),
            *of_lists,
            *_among_themselves(packages),
            *(_differs("not to be read", *_parted(one)) for one in found.unread),
        ),
        happenings=tuple(happenings),
        answer_by=""
        if within_days is None
        else (instant + timedelta(days=within_days)).date().isoformat(),
        first_received=earlier.first_received if earlier is not None else "",
        outstanding=tuple(sorted(earlier.to_come - came)) if earlier is not None else (),
    )
    return arrival, found


def without_version(name: str) -> str:
    """Return the name of a package as first closed."""
    return _VERSION.sub("", name)


def _claimed(
    drive: Path, found: Found, manifest: Path | None
) -> tuple[str, Mapping[str, Claimed] | None, tuple[Difference, ...]]:
    """Return the sender's manifest: its name, its rows by package, and what is odd about it."""
    told: list[Difference] = []
    if manifest is not None:
        name = printable(manifest.name)
        return name, _rows(name, _content(manifest), told), tuple(told)
    claimed: dict[str, Claimed] | None = None
    # A link is not a file of the drive, so it is not among these. Later deliveries come last.
    lists = sorted(found.lists)
    for name in lists:
        try:
            rows = _rows(name, _content(drive / to_disk(name)), told)
        except MaterialError as error:
            told.append(_differs("not as listed", name, printable(error.sentence)))
            continue
        claimed = {**(claimed or {}), **rows}
    return ", ".join(lists), claimed, tuple(told)


def _rows(name: str, content: bytes, told: list[Difference]) -> dict[str, Claimed]:
    """Read one list, and tell what is wrong in it and how it had to be read."""
    rows, faults, how = deliveries.read_manifest(content)
    told += [_differs("not as listed", name, one) for one in faults]
    told += [_differs("how the list was read", name, one) for one in how]
    return {one.package: one for one in rows}


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(csv_rows.MOST_OCTETS + 1)
    except FileNotFoundError as error:
        raise UsageError(f"There is no file {printable(str(path))}.", "Name a manifest.") from error
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(path))}") from error


def _from_manifest(
    claimed: Mapping[str, Claimed] | None, packages: Sequence[Arrived]
) -> Iterator[Difference]:
    if claimed is None:
        return
    came = {_last(one.package): one for one in packages}
    for name, said in claimed.items():
        if name not in came:
            text = f"line {said.line} of the sender's manifest names it; it is not on the drive."
            yield _differs("listed and not received", printable(name), text)
        else:
            for text in _lies(said, came[name]):
                yield _differs("not as listed", printable(name), text)
    for name in came:
        if name not in claimed:
            yield _differs("received and not listed", name, "the sender's manifest lacks it.")


def _lies(said: Claimed, one: Arrived) -> Iterator[str]:
    for what, stated, found in (
        ("file", said.files, one.files),
        ("octet", said.octets, one.octets),
    ):
        if stated is not None and stated != found:
            yield f"the sender's manifest states {counted(stated, what)}; {found} came."
    for name, digest in said.tag_manifests.items():
        found_digest = one.tag_manifests.get(name)
        if found_digest is None:
            yield f"the sender's manifest states a digest of {printable(name)}, which is not there."
        elif found_digest != digest.lower():
            yield f"the digest of {name} is not the one that the sender's manifest states."


def _among_themselves(packages: Sequence[Arrived]) -> Iterator[Difference]:
    """Tell what came twice, and in two versions."""
    by_name: dict[str, list[str]] = {}
    for one in packages:
        by_name.setdefault(_last(one.package), []).append(one.package)
    versions: dict[str, list[str]] = {}
    for name, paths in by_name.items():
        versions.setdefault(without_version(name), []).append(name)
        if len(paths) > 1:
            shown = " and in ".join(paths[:_MOST_PLACES])
            more = f" and in {len(paths) - _MOST_PLACES} more" if len(paths) > _MOST_PLACES else ""
            yield _differs("received twice", name, f"it lies in {shown}{more}.")
    for name, of_it in versions.items():
        if len(of_it) > 1:
            text = f"here are {', '.join(sorted(of_it))}: the later one supersedes the earlier."
            yield _differs("two versions", name, text)


def _differs(kind: DifferenceKind, package: str, text: str) -> Difference:
    return Difference(kind=kind, package=package, text=text)


def _parted(told: str) -> tuple[str, str]:
    place, _, why = told.rpartition(": ")
    return place, why


def _last(path: str) -> str:
    return path.rpartition("/")[2]
