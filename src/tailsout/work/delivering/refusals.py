"""What keeps a delivery from being written to a drive: the recipient's rules, and the drive's own.

Every reason is told at once, before anything is written.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.names import from_disk, to_disk
from tailsout.bag.volume import largest_file
from tailsout.ground.errors import MaterialError, from_os_error
from tailsout.ground.portable import not_portable, twin_key
from tailsout.ground.units import printable, size
from tailsout.mapping import csv_rows, deliveries, naming
from tailsout.records.recipient import DriveRules
from tailsout.work.delivering.candidates import Candidate

_FORGETS_LETTERS = frozenset({"vfat", "msdos", "exfat"})
"""Kinds of file system that take no `:` `?` `*` and take two letters of one case for the same."""
_LIST = re.compile(r"delivery-[0-9]{2}\.csv")
_MOST_NAMED = 3
_FILES_BESIDE = 16


def refusals(
    candidates: Sequence[Candidate],
    drive: Path,
    *,
    volume: str,
    number: int,
    disk: Disk,
    resume: bool,
) -> tuple[str, ...]:
    """Return why this delivery must not be written to the drive, one sentence each.

    Raises SurroundingsError if the drive cannot be looked at.
    """
    try:
        names = sorted(from_disk(one.name) for one in drive.iterdir())
        found = [
            *_twice(candidates),
            *_there_already(candidates, drive, names, number, disk, resume=resume),
            *_recipients(candidates),
            *_recipients_rules(candidates, drive, names, volume),
            *_limits(candidates, drive, disk),
        ]
    except OSError as error:
        raise from_os_error(error, f"Looking at {printable(str(drive))}") from error
    return tuple(found)


def _twice(candidates: Sequence[Candidate]) -> Iterator[str]:
    counts = Counter(twin_key(one.name) for one in candidates)
    for name in sorted({one.name for one in candidates if counts[twin_key(one.name)] > 1}):
        yield (
            f"{printable(name)} is named {counts[twin_key(name)]} times, or in names that some "
            "systems take for one: a package is delivered once."
        )


def _there_already(
    candidates: Sequence[Candidate],
    drive: Path,
    names: Iterable[str],
    number: int,
    disk: Disk,
    *,
    resume: bool,
) -> Iterator[str]:
    stem = deliveries.stem(number)
    if f"{stem}.sha512" in names:
        yield (
            f"Delivery {number} stands on the drive already, complete with its lists; another one "
            "gets another --number."
        )
    if resume:
        return
    if any(name.startswith(stem) for name in names):
        yield f"Lists of delivery {number} stand on the drive already; go on with it by --resume."
    for one in candidates:
        if disk.is_there(drive / to_disk(one.name)):
            yield (
                f"{printable(one.name)} stands on the drive already; go on by --resume if it was "
                "this delivery that was cut off."
            )


def _recipients(candidates: Sequence[Candidate]) -> Iterator[str]:
    """Keep what is for one recipient from another one's hands."""
    packages: dict[str, list[str]] = {}
    for one in candidates:
        transfer = one.dossier.transfer
        if transfer is not None and transfer.recipient is not None:
            packages.setdefault(transfer.recipient.id, []).append(one.name)
    if len(packages) > 1:
        told = "; ".join(
            f"{printable(', '.join(names[:_MOST_NAMED]))} for {printable(who)!r}"
            for who, names in sorted(packages.items())
        )
        yield f"The packages are for {len(packages)} recipients, a drive is for one: {told}."


def _recipients_rules(
    candidates: Sequence[Candidate], drive: Path, names: Sequence[str], volume: str
) -> Iterator[str]:
    asked = [(one, rules) for one in candidates if (rules := _rules(one)) is not None]
    for pattern in sorted({rules.volume_name for _, rules in asked if rules.volume_name}):
        if not _fits(volume, pattern):
            yield (
                f"The drive is called {printable(volume)!r}; the recipient wants a name like "
                f"{printable(pattern)!r}."
            )
    if any(rules.one_order for _, rules in asked):
        yield from _orders(candidates, drive, names)
    if any(rules.hidden_files_refused for _, rules in asked):
        hidden = [name for name in names if naming.hidden_part(name) and not _is_stage(name)]
        yield from _named("hidden on the drive, which the recipient refuses", hidden)
    for one, rules in asked:
        most = rules.max_path_octets
        paths = [f"{one.name}/{file.path}" for file in one.files]
        if most is not None:
            long = [path for path in paths if len(path.encode("utf-8", "surrogateescape")) > most]
            yield from _named(f"longer than the {most} octets that the recipient takes", long)
        if rules.hidden_files_refused:
            hidden = [path for path in paths if naming.hidden_part(path)]
            yield from _named("hidden, which the recipient refuses", hidden)


def _rules(candidate: Candidate) -> DriveRules | None:
    transfer = candidate.dossier.transfer
    if transfer is None or transfer.recipient is None:
        return None
    return transfer.recipient.drive


def _orders(candidates: Sequence[Candidate], drive: Path, names: Iterable[str]) -> Iterator[str]:
    """Compare the orders of what is to come with each other and with what is there."""
    orders: dict[str, str] = {}
    for one in candidates:
        transfer = one.dossier.transfer
        commission = transfer.commission if transfer is not None else None
        orders.setdefault((commission.agreement or "") if commission is not None else "", one.name)
    for name in names:
        if _LIST.fullmatch(name):
            for claimed in _earlier(drive / name):
                orders.setdefault(claimed.order, claimed.package)
    if len(orders) > 1:
        told = "; ".join(
            f"{printable(package)}: {printable(order) or 'no order said'}"
            for order, package in orders.items()
        )
        yield f"The recipient wants one order a drive; here are {len(orders)} ({told})."


def _earlier(path: Path) -> tuple[deliveries.Claimed, ...]:
    with path.open("rb") as stream:
        content = stream.read(csv_rows.MOST_OCTETS + 1)
    try:
        return deliveries.read_manifest(content)[0]
    except MaterialError:
        # No manifest of ours: it names no order.
        return ()


def _limits(candidates: Sequence[Candidate], drive: Path, disk: Disk) -> Iterator[str]:
    """Tell what the file system of the drive cannot hold."""
    kind = disk.file_system(drive)
    most = largest_file(kind)
    for one in candidates:
        paths = [f"{one.name}/{file.path}" for file in one.files]
        if most is not None:
            large = [f"{one.name}/{file.path}" for file in one.files if file.octets > most]
            yield from _named(f"larger than {size(most)}, where files of {kind} end", large)
        if kind in _FORGETS_LETTERS:
            odd = [p for p in paths if any(not_portable(part) for part in p.split("/"))]
            yield from _named(f"no name that {kind} can hold", odd)
            twins = Counter(map(twin_key, paths))
            same = [p for p in paths if twins[twin_key(p)] > 1]
            yield from _named(f"one and the same name to {kind}", same)
    free = disk.free_files(drive)
    needed = sum(_entries(one) for one in candidates) + _FILES_BESIDE
    if free is not None and free < needed:
        yield f"The drive can take {free} more files; {needed} are needed."


def _entries(candidate: Candidate) -> int:
    folders = {file.path.rpartition("/")[0] for file in candidate.files}
    return len(candidate.files) + len(folders) + 2


def _named(what: str, paths: Sequence[str]) -> Iterator[str]:
    if paths:
        shown = "; ".join(printable(path, 300) for path in paths[:_MOST_NAMED])
        more = f"; and {len(paths) - _MOST_NAMED} more" if len(paths) > _MOST_NAMED else ""
        yield f"{shown}{more}: {what}."


def _is_stage(name: str) -> bool:
    """Tell whether a name is that of a package under way, which goes when it is done."""
    return name.startswith(".") and name.endswith((".part", ".part.journal"))


def _fits(name: str, pattern: str) -> bool:
    signs = {"?": ".", "*": ".*"}
    return (
        re.fullmatch("".join(signs.get(c, re.escape(c)) for c in pattern), name, re.DOTALL)
        is not None
    )
