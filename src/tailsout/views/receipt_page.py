"""What an archive reads of a drive that came, before anything is judged: the receipt."""

import re
from collections.abc import Iterable, Iterator
from textwrap import wrap

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.units import counted, size
from tailsout.mapping import naming
from tailsout.records.arrival import Arrival, Arrived, Difference, LyingBeside

_WIDTH = 96
_DELIVERY = re.compile(r"delivery-[0-9]{2}[.-]")
"""What `deliver` writes at the root of a drive."""
NO_WRITE_BLOCKER = (
    "A read-only mount is not a write blocker: a system may write to a disk before it mounts it, "
    "or replay its journal."
)
NOT_ACCEPTANCE = "This is a receipt and no acceptance."
_BESIDE = (
    *(naming.RECEIPT_BESIDE, naming.LABEL_BESIDE),
    *(f".{algorithm}" for algorithm in ALGORITHMS),
)
"""What follows a package's name in the names of what may lie beside it."""
_MOST_NAMED = 5


def receipt(arrival: Arrival) -> str:
    """Write the receipt of a drive."""
    return page(
        f"Receipt {arrival.number}; the drive is called {arrival.drive}",
        f"Received {arrival.received}; looked over with {arrival.software}",
        NOT_ACCEPTANCE,
        "",
        *summary(arrival),
        "",
        f"Differences ({len(arrival.differences)})",
        *(line for one in arrival.differences for line in difference(one)),
        *(["  none"] if not arrival.differences else []),
        "",
        f"Packages ({len(arrival.packages)})",
        *(line for one in arrival.packages for line in _arrived(one)),
        *_beside(arrival),
    )


def difference(one: Difference, indent: str = "  ") -> Iterable[str]:
    """Yield the lines of one difference."""
    return folded(f"{one.kind}: {one.package}: {one.text}", indent)


def summary(arrival: Arrival) -> Iterator[str]:
    """Yield what came, in a few lines."""
    files = sum(one.files for one in arrival.packages)
    octets = sum(one.octets for one in arrival.packages)
    packages = counted(len(arrival.packages), "package")
    yield f"{packages}, {counted(files, 'file')}, {size(octets)} ({octets} octets)"
    beside = counted(arrival.files_beside, "file")
    yield f"beside them {beside}, {size(arrival.octets_beside)}"
    yield from _strange(arrival)
    how = {True: "read-only", False: "for writing; mount it read-only", None: "somehow"}
    yield from folded(
        f"The drive is mounted {how[arrival.mounted_read_only]}. {NO_WRITE_BLOCKER} Nothing was "
        "written to it by this program.",
        "",
    )
    manifest = arrival.manifest or "none; nothing tells what should have come"
    yield f"Sender's manifest: {manifest}"
    for one in arrival.happenings:
        yield from folded(f"{one.what}: {one.told}", "")
    if arrival.first_received:
        again = sum(one.came_before for one in arrival.packages)
        yield f"First received {arrival.first_received}; {counted(again, 'package')} came before."
        if arrival.outstanding:
            names = ", ".join(arrival.outstanding)
            yield from folded(f"Still to come again ({len(arrival.outstanding)}): {names}", "")
    if arrival.answer_by:
        yield f"To be answered by {arrival.answer_by}"


def _arrived(one: Arrived) -> Iterator[str]:
    again = ", came before" if one.came_before else ""
    files = counted(one.files, "file")
    yield f"  {one.package}  {files}, {size(one.octets)} ({one.octets} octets){again}"
    for manifest, digest in one.tag_manifests.items():
        yield f"    {manifest}, SHA-512:"
        yield f"      {digest[:64]}"
        yield f"      {digest[64:]}"


def _beside(arrival: Arrival) -> Iterator[str]:
    if not arrival.beside:
        return
    yield ""
    yield f"Beside the packages, and not judged ({len(arrival.beside)})"
    for one in arrival.beside:
        yield from folded(f"{one.path}  {_held(one)}")


def _strange(arrival: Arrival) -> Iterator[str]:
    """Name what belongs to no package, but for lists of a sender and what lies by a package."""
    known = {f"{one.package}{ending}" for one in arrival.packages for ending in _BESIDE}
    strange = [
        one for one in arrival.beside if one.path not in known and not _DELIVERY.match(one.path)
    ]
    if strange:
        told = ", ".join(f"{one.path} ({_held(one)})" for one in strange[:_MOST_NAMED])
        more = len(strange) - _MOST_NAMED
        yield from folded(f"in no package, and not judged: {told}")
        if more > 0:
            yield f"  … and {more} more in receipt.txt"


def _held(one: LyingBeside) -> str:
    return f"{counted(one.files, 'file')}, {size(one.octets)}" if one.files else "an empty folder"


def page(*lines: str) -> str:
    """Put lines together to a page."""
    return "\n".join(lines).rstrip() + "\n"


def folded(text: str, indent: str = "  ") -> Iterable[str]:
    """Fold a text to the width of a page."""
    return wrap(
        text,
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
