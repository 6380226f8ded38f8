"""What was made of a drive that came: judgement, rework list, listening sample."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from tailsout.ground.findings import Kind
from tailsout.ground.units import counted, printable
from tailsout.records.arrival import Arrival, FindingRow, Judged, Judging, Sample, Systematic
from tailsout.views.receipt_page import folded, page

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
_TITLES = {"mend": "to mend", "query": "to decide", "note": "to note"}


def heading(title: str, arrival: Arrival, how: Judging) -> str:
    """Write what stands at the top of a list that leaves the house."""
    only = "; nothing but RFC 8493 was judged" if how.bagit_only else ""
    return page(
        f"{title} to receipt {arrival.number}; the drive is called {arrival.drive}",
        f"Received {arrival.received}, judged {how.judged} with {how.software}",
        *folded(f"How far: {_DEPTHS[how.depth]}{only}.", ""),
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
    return page(
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
        lines += folded(f"{kinds[code].title}.", "    ")
        lines += folded(kinds[code].basis, "    ")
    return page(*lines)


def listening(sample: Sample) -> str:
    """Write the listening sample, with what its listener must know beside each stretch."""
    share = f"{sample.drawn} of {sample.files} audio files ({sample.share_percent} %)"
    lines = [
        f"Listening sample: {share} drawn, {sample.forced} taken beside them",
        f"{sample.seconds} s at head, middle and tail; seed {printable(sample.seed)}",
        *folded(
            "To draw it again: the files stand in the order of the SHA-256 of three lines, the "
            "seed, the package and the path; the first ones are drawn.",
            "",
        ),
        *(line for one in sample.odds for line in folded(one, "")),
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
                lines += folded(f"{label}: {told}")
        lines.append(f"  {one.position:<9}  {one.start} to {one.end}    heard ☐  verdict ________")
        for label, told in (("regions", one.regions), ("notes", one.notes)):
            lines += folded(f"{label}: {told}", "             ") if told else []
    return page(*lines)


def _systematic(systematic: Sequence[Systematic]) -> Iterator[str]:
    if not systematic:
        return
    yield "The same in most packages, so of the way they were made; call the producer:"
    for one in systematic:
        yield f"  {one.severity:<5}  {one.code}  in {one.packages} of {one.of}, at {one.alike}"
        yield from folded(f"as in {one.example}", "         ")
        yield from folded(f"→ {one.remedy}", "         ")
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
        yield from folded(", ".join(codes), "                ")
    if one.why:
        yield from folded(one.why, "                ")


def _across(one: FindingRow) -> Iterator[str]:
    yield f"{one.severity:<14}  {one.code}  {one.place}"
    yield from folded(one.text, "                ")


def _to_do(row: FindingRow, *, told: bool) -> Iterator[str]:
    yield f"    {row.severity:<5}  {row.code}{'  (as said above)' if told else ''}"
    if not told:
        yield from folded(f"at {row.place}: {row.text}", "           ")
        yield from folded(f"→ {row.remedy}", "           ")
