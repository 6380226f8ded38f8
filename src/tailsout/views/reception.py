"""What an archive reads of a drive that came: receipt, judgement, rework list, listening sample."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap

from tailsout.ground.findings import Finding
from tailsout.ground.units import counted, printable, size
from tailsout.records.arrival import Arrival, Arrived, FindingRow, Judged, Sample, Systematic

_WIDTH = 96
NO_WRITE_BLOCKER = (
    "A read-only mount is no write blocker: a system may write to a disk before it mounts it, or "
    "replay its journal."
)
NOT_ACCEPTANCE = "This is a receipt and no acceptance."
_CLASSES = {
    "needs the reel": "Needs the reel: the transfer itself is in question",
    "re-deliver": "Re-deliver: what came is not whole, or cannot be read",
    "repair the metadata": "Repair the metadata: the sound may stay as it is",
}
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
        *(
            line
            for one in arrival.differences
            for line in _folded(f"{one.kind}: {one.package}: {one.text}")
        ),
        *(["  none"] if not arrival.differences else []),
        "",
        f"Packages ({len(arrival.packages)})",
        *(line for one in arrival.packages for line in _arrived(one)),
    )


def summary(arrival: Arrival) -> Iterator[str]:
    """Yield what came, in a few lines."""
    files = sum(one.files for one in arrival.packages)
    octets = sum(one.octets for one in arrival.packages)
    packages = counted(len(arrival.packages), "package")
    yield f"{packages}, {counted(files, 'file')}, {size(octets)} ({octets} octets)"
    beside = counted(arrival.files_beside, "file")
    yield f"beside them {beside}, {size(arrival.octets_beside)}"
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
        for name in arrival.outstanding:
            yield f"Still to come again: {name}"
    if arrival.answer_by:
        yield f"To be answered by {arrival.answer_by}"


def judgement(
    packages: Sequence[Judged],
    systematic: Sequence[Systematic],
    across: Sequence[Finding] = (),
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
        *(line for one in shown for line in _judged(one, said_once)),
        *([f"… and {left} more"] if left else []),
        *(line for one in across[:most] for line in _across(one)),
    )


def rework(packages: Sequence[Judged], systematic: Sequence[Systematic]) -> str:
    """Write the producer's rework list, in three classes; what needs the reel comes first."""
    rows = [row for one in packages for row in one.findings if row.rework is not None]
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
    more = sum(one.more for one in packages)
    if more:
        lines.append(f"{more} more findings are not listed.")
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


def _systematic(systematic: Sequence[Systematic]) -> Iterator[str]:
    if not systematic:
        return
    yield "The same in most packages, so of the way they were made; call the producer:"
    for one in systematic:
        yield f"  {one.severity:<5}  {one.code}  in {one.packages} of {one.of}, at {one.alike}"
        yield from _folded(f"as in {one.example}", "         ")
        yield from _folded(f"→ {one.remedy}", "         ")
    yield ""


def _judged(one: Judged, said_once: set[tuple[str, str]]) -> Iterator[str]:
    counts = Counter(row.severity for row in one.findings if (row.code, row.alike) not in said_once)
    told = ", ".join(f"{counts[s]} {word}" for s, word in _TITLES.items() if counts[s])
    codes = dict.fromkeys(
        row.code
        for row in one.findings
        if row.severity != "note" and (row.code, row.alike) not in said_once
    )
    manner = "" if one.manner == "ours" or one.why else "  [not our way]"
    yield f"{one.verdict:<14}  {one.package}{manner}{f'  {told}' if told else ''}"
    if codes:
        yield from _folded(", ".join(codes), "                ")
    if one.why:
        yield from _folded(one.why, "                ")


def _across(one: Finding) -> Iterator[str]:
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
