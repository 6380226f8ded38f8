"""What an archive reads of a drive that came: receipt, judgement, rework list, listening sample."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import wrap

from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.findings import Kind
from tailsout.ground.units import counted, printable, size
from tailsout.mapping import naming
from tailsout.records.arrival import (
    Arrival,
    Arrived,
    Difference,
    FindingRow,
    Judged,
    Judging,
    LyingBeside,
    Sample,
    Systematic,
)

_WIDTH = 96
_DELIVERY = re.compile(r"delivery-[0-9]{2}[.-]")
"""What `deliver` writes at the root of a drive."""
NO_WRITE_BLOCKER = (
    "A read-only mount is not a write blocker: a system may write to a disk before it mounts it, "
    "or replay its journal."
)
NOT_ACCEPTANCE = "This is a receipt and no acceptance."
_CLASSES = {
    "needs the reel": "Needs the reel: the transfer itself is in question",
    "re-deliver": "Re-deliver: what came is not whole, or cannot be read",
    "of two packages": "Of two packages: what only one of them can rightly say",
    "repair the metadata": "Repair the metadata: the sound may stay as it is",
}
_DEPTHS = {
    "structure": "names, sizes and tag files; no payload was read: this is not a fixity check",
    "full": "every file that a manifest lists was read through",
    "deep": "every file that a manifest lists was read through, and the samples measured again",
}
_BESIDE = (
    *(naming.RECEIPT_BESIDE, naming.LABEL_BESIDE),
    *(f".{algorithm}" for algorithm in ALGORITHMS),
)
"""What follows a package's name in the names of what may lie beside it."""
_MOST_NAMED = 5
_TITLES = {"mend": "to mend", "query": "to decide", "note": "to note"}


def receipt(arrival: Arrival) -> str:
    """Write the receipt of a drive."""
    return _page(
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
        *(line for line in _beside(arrival)),
    )


def difference(one: Difference, indent: str = "  ") -> Iterable[str]:
    """Yield the lines of one difference."""
    return _folded(f"{one.kind}: {one.package}: {one.text}", indent)


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
    yield from _folded(
        f"The drive is mounted {how[arrival.mounted_read_only]}. {NO_WRITE_BLOCKER} Nothing was "
        "written to it by this program.",
        "",
    )
    manifest = arrival.manifest or "none; nothing tells what should have come"
    yield f"Sender's manifest: {manifest}"
    for one in arrival.happenings:
        yield from _folded(f"{one.what}: {one.told}", "")
    if arrival.first_received:
        again = sum(one.came_before for one in arrival.packages)
        yield f"First received {arrival.first_received}; {counted(again, 'package')} came before."
        if arrival.outstanding:
            names = ", ".join(arrival.outstanding)
            yield from _folded(f"Still to come again ({len(arrival.outstanding)}): {names}", "")
    if arrival.answer_by:
        yield f"To be answered by {arrival.answer_by}"


def heading(title: str, arrival: Arrival, how: Judging) -> str:
    """Write what stands at the top of a list that leaves the house."""
    only = "; nothing but RFC 8493 was judged" if how.bagit_only else ""
    return _page(
        f"{title} to receipt {arrival.number}; the drive is called {arrival.drive}",
        f"Received {arrival.received}, judged {how.judged} with {how.software}",
        *_folded(f"How far: {_DEPTHS[how.depth]}{only}.", ""),
    )


def judgement(
    packages: Sequence[Judged],
    systematic: Sequence[Systematic],
    across: Sequence[FindingRow] = (),
    *,
    most: int | None = None,
) -> str:
    """Write the judgement of all packages, which come worst first; of a list at most so many.

    `across` is what stands in two of them.
    """
    counts = Counter(one.verdict for one in packages)
    foreign = sum(one.manner != "ours" for one in packages)
    shown = packages if most is None else packages[:most]
    said_once = {(one.code, one.alike) for one in systematic}
    left = len(packages) - len(shown)
    return _page(
        f"{counted(len(packages), 'package')}: "
        + (", ".join(f"{count} {word}" for word, count in counts.items()) or "none"),
        *([f"Not made our way, which is no fault: {foreign}."] if foreign else []),
        "",
        *_systematic(systematic),
        *(line for one in shown for line in _judged(one, said_once, foreign < len(packages))),
        *([f"… and {left} more in judgement.txt"] if left else []),
        *(["", "In two packages:"] if across else []),
        *(line for one in across[:most] for line in _across(one)),
    )


def rework(
    packages: Sequence[Judged],
    systematic: Sequence[Systematic],
    across: Sequence[FindingRow],
    kinds: Mapping[str, Kind],
) -> str:
    """Write the producer's rework list, in classes; what needs the reel comes first.

    `kinds` are those of the findings, by code: what each rests on is said at the end.
    """
    every = (*(row for one in packages for row in one.findings), *across)
    rows = [row for row in every if row.rework is not None]
    said_once = {(one.code, one.alike) for one in systematic}
    lines = list(_systematic(systematic))
    for name, heading in _CLASSES.items():
        of_class = [row for row in rows if row.rework == name]
        packages_of = list(dict.fromkeys(row.package for row in of_class))
        lines += [f"{heading} ({len(packages_of)})", ""]
        for package in packages_of:
            lines.append(f"  {package}")
            for row in of_class:
                if row.package == package:
                    lines += _to_do(row, told=(row.code, row.alike) in said_once)
        lines += ["" if packages_of else "  none", ""]
    for one in packages:
        if more := sum(one.counts.values()) - len(one.findings):
            lines.append(f"Of {one.package} {counted(more, 'more finding')} are not listed.")
    codes = sorted({row.code for row in rows} & kinds.keys())
    if codes:
        lines += ["", "What each code means and rests on", ""]
    for code in codes:
        lines.append(f"  {code}")
        lines += _folded(f"{kinds[code].title}.", "    ")
        lines += _folded(kinds[code].basis, "    ")
    return _page(*lines)


def listening(sample: Sample) -> str:
    """Write the listening sample, with what its listener must know beside each stretch."""
    share = f"{sample.drawn} of {sample.files} audio files ({sample.share_percent} %)"
    lines = [
        f"Listening sample: {share} drawn, {sample.forced} taken beside them",
        f"{sample.seconds} s at head, middle and tail; seed {printable(sample.seed)}",
        *_folded(
            "To draw it again: the files stand in the order of the SHA-256 of three lines, the "
            "seed, the package and the path; the first ones are drawn.",
            "",
        ),
        *(line for one in sample.odds for line in _folded(one, "")),
        "",
    ]
    before = ("", "")
    for one in sample.stretches:
        if (one.package, one.path) != before:
            before = (one.package, one.path)
            lines += ["", f"{one.package}  {one.path}"]
            for label, told in (
                ("why", one.why),
                ("condition", one.condition),
                ("treatment", one.treatment),
            ):
                lines += _folded(f"{label}: {told}")
        lines.append(f"  {one.position:<9}  {one.start} to {one.end}    heard ☐  verdict ________")
        for label, told in (("regions", one.regions), ("notes", one.notes)):
            lines += _folded(f"{label}: {told}", "             ") if told else []
    return _page(*lines)


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
        yield from _folded(f"{one.path}  {_held(one)}")


def _strange(arrival: Arrival) -> Iterator[str]:
    """Name what belongs to no package, but for lists of a sender and what lies by a package."""
    known = {f"{one.package}{ending}" for one in arrival.packages for ending in _BESIDE}
    strange = [
        one for one in arrival.beside if one.path not in known and not _DELIVERY.match(one.path)
    ]
    if strange:
        told = ", ".join(f"{one.path} ({_held(one)})" for one in strange[:_MOST_NAMED])
        more = len(strange) - _MOST_NAMED
        yield from _folded(f"in no package, and not judged: {told}")
        if more > 0:
            yield f"  … and {more} more in receipt.txt"


def _held(one: LyingBeside) -> str:
    return f"{counted(one.files, 'file')}, {size(one.octets)}" if one.files else "an empty folder"


def _systematic(systematic: Sequence[Systematic]) -> Iterator[str]:
    if not systematic:
        return
    yield "The same in most packages, so of the way they were made; call the producer:"
    for one in systematic:
        yield f"  {one.severity:<5}  {one.code}  in {one.packages} of {one.of}, at {one.alike}"
        yield from _folded(f"as in {one.example}", "         ")
        yield from _folded(f"→ {one.remedy}", "         ")
    yield ""


def _judged(one: Judged, said_once: set[tuple[str, str]], is_mixed: bool) -> Iterator[str]:
    counts = Counter(one.counts)
    counts -= Counter(row.severity for row in one.findings if (row.code, row.alike) in said_once)
    told = ", ".join(f"{counts[s]} {word}" for s, word in _TITLES.items() if counts[s])
    codes = dict.fromkeys(
        row.code
        for row in one.findings
        if row.severity != "note" and (row.code, row.alike) not in said_once
    )
    manner = "" if not is_mixed or one.manner == "ours" or one.why else "  [not our way]"
    yield f"{one.verdict:<14}  {one.package}{manner}{f'  {told}' if told else ''}"
    if codes:
        yield from _folded(", ".join(codes), "                ")
    if one.why:
        yield from _folded(one.why, "                ")


def _across(one: FindingRow) -> Iterator[str]:
    yield f"{one.severity:<14}  {one.code}  {one.place}"
    yield from _folded(one.text, "                ")


def _to_do(row: FindingRow, *, told: bool) -> Iterator[str]:
    yield f"    {row.severity:<5}  {row.code}{'  (as said above)' if told else ''}"
    if not told:
        yield from _folded(f"at {row.place}: {row.text}", "           ")
        yield from _folded(f"→ {row.remedy}", "           ")


def _page(*lines: str) -> str:
    return "\n".join(lines).rstrip() + "\n"


def _folded(text: str, indent: str = "  ") -> Iterable[str]:
    return wrap(
        text,
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
