"""Findings and verdicts on a terminal; words carry the meaning, never colour alone."""

import shutil
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from textwrap import wrap

import click

from tailsout.ground.errors import TailsoutError
from tailsout.ground.findings import Finding, Judgement, Severity, Verdict
from tailsout.ground.units import counted, printable
from tailsout.records.bag_state import BagState

_WIDTH, _NARROWEST = 96, 40
_MOST_OF_A_CODE = 100
_MOST_SINGLY = 5
"""Findings of one code that are written out one by one."""
_OVERVIEW_FROM = 20
"""Findings from which on they are counted by their code first."""
_MOST_NAMES = 12
"""Checks named in one line; more are counted."""
_MOST_PATHS = 5

EXIT_CODES = {
    Verdict.PASS: 0,
    Verdict.OPEN: 0,
    Verdict.FAIL: 1,
    Verdict.REFUSED: 3,
    Verdict.NOT_EXAMINED: 4,
}
_MOST_SERIOUS_FIRST = (3, 1, 4, 0)
DURABLE = {
    "fsynced": "synced to disk",
    "best effort": "written, though this system could not promise that it is on the disk",
}
"""The words for what the disk promised."""


NOT_JUDGED = "not judged"
NOT_DONE = "not done"
DONE = "done"
DONE_ALREADY = "done already"
_WORST_FIRST = (
    *(Verdict.REFUSED.value, Verdict.FAIL.value, NOT_JUDGED, NOT_DONE),
    *(Verdict.NOT_EXAMINED.value, Verdict.OPEN.value, Verdict.PASS.value, DONE, DONE_ALREADY),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One of several packages or jobs in the table at the end."""

    name: str
    told: str
    """The verdict, or `NOT_JUDGED`, `NOT_DONE`, `DONE`, `DONE_ALREADY`."""
    more: str = ""
    """What else there is to say, in a few words."""
    code: int
    """The exit code that it alone would give."""


def table(rows: Iterable[Row], what: str = "packages") -> str:
    """Write one line a package or job, the worst first, else in the order given, and the sums."""
    ordered = sorted(rows, key=lambda row: _WORST_FIRST.index(row.told))
    told = max((len(row.told) for row in ordered), default=0)
    more = max((len(row.more) for row in ordered), default=0)
    lines = [f"{row.told:<{told}}  {row.more:<{more}}  {row.name}" for row in ordered]
    counts = Counter(row.told for row in ordered)
    sums = ", ".join(f"{counts[word]} {word}" for word in _WORST_FIRST if counts[word])
    counted = what if len(ordered) != 1 else what.removesuffix("s")
    return "\n".join([*lines, "", f"{len(ordered)} {counted}: {sums}"])


def several(rows: Sequence[Row], what: str) -> int:
    """Print the table of several things, none of one; return the exit code of all."""
    if len(rows) > 1:
        say()
        say(table((replace(row, name=printable(row.name)) for row in rows), what))
    return most_serious(row.code for row in rows)


def exit_code(verdict: Verdict, *, strict: bool) -> int:
    """Return the exit code of one verdict; `strict` makes open questions count as a failure."""
    return 1 if strict and verdict is Verdict.OPEN else EXIT_CODES[verdict]


def most_serious(codes: Iterable[int]) -> int:
    """Return the exit code of several inputs; a path that was not found comes before all."""
    every = set(codes)
    if 2 in every:
        return 2
    return next((code for code in _MOST_SERIOUS_FIRST if code in every), 0)


def judgement_text(name: str, judgement: Judgement, bag: BagState | None = None) -> str:
    """Write a judgement: the verdict first, then the findings, then what was checked."""
    lines = [f"{name}: {judgement.verdict.value}{_counts(judgement.findings)}"]
    if bag is not None:
        lines += _bag(bag)
    lines += _overview(judgement.findings)
    groups: dict[tuple[str, Severity], list[Finding]] = {}
    for finding in judgement.findings:
        groups.setdefault((finding.code, finding.severity), []).append(finding)
    for finding in judgement.findings:
        # Many of one code stand together, where the first of them stands.
        alike = groups[finding.code, finding.severity]
        if len(alike) <= _MOST_SINGLY:
            lines += ["", *_finding(finding)]
        elif finding is alike[0]:
            lines += ["", *_alike(alike)]
    if judgement.checks:
        lines += ["", *_checks(judgement)]
    return "\n".join(lines)


def _bag(bag: BagState) -> Iterator[str]:
    yield f"  as a bag (RFC 8493): {bag.word}"
    for one in bag.not_verified:
        shown = "; ".join(printable(path) for path in one.paths[:_MOST_PATHS])
        more = "; …" if one.count > _MOST_PATHS and one.paths else ""
        listed = f": {shown}{more}" if shown else ""
        yield from wrap(
            f"not verified, {one.why} ({one.count}){listed}",
            width(),
            initial_indent="    ",
            subsequent_indent="      ",
            break_long_words=False,
            break_on_hyphens=False,
        )


def _counts(findings: tuple[Finding, ...]) -> str:
    counts = Counter(finding.severity for finding in findings)
    words = {Severity.MEND: "to mend", Severity.QUERY: "to decide", Severity.NOTE: "to note"}
    parts = [f"{counts[severity]} {words[severity]}" for severity in Severity if counts[severity]]
    return f" ({', '.join(parts)})" if parts else ""


def _overview(findings: tuple[Finding, ...]) -> Iterator[str]:
    """Count many findings by their code, in the order in which they follow."""
    counts = Counter((finding.kind, finding.severity) for finding in findings)
    if len(findings) < _OVERVIEW_FROM or len(counts) == 1:
        return
    yield ""
    width = max(len(kind.code) for kind, _ in counts)
    for (kind, severity), count in counts.items():
        reel = "  [the reel is needed]" if kind.needs_reel else ""
        yield f"  {count:>6}  {severity.value:<5}  {kind.code:<{width}}{reel}".rstrip()


def _alike(findings: list[Finding]) -> Iterator[str]:
    """Write many of one code: what to do once, then each by its place."""
    first = findings[0]
    reel = "  [the reel is needed]" if first.kind.needs_reel else ""
    yield f"  {first.severity.value:<5}  {first.code}, {len(findings)} times{reel}"
    yield from _indented(f"→ {first.kind.remedy}")
    if first.answer_at and not first.answered:
        yield from _indented(f'to answer one: code = "{first.code}", and its place')
    for finding in findings[:_MOST_OF_A_CODE]:
        yield from _indented(f"at {finding.place}: {finding.text}")
        if finding.answered:
            yield from _indented(f"  answered: {finding.answered}")
        elif finding.answer_at:
            yield from _indented(f'  place = "{finding.answer_at}"')
    if len(findings) > _MOST_OF_A_CODE:
        yield f"         … and {len(findings) - _MOST_OF_A_CODE} more of {first.code}"


def _finding(finding: Finding) -> Iterator[str]:
    reel = "  [the reel is needed]" if finding.kind.needs_reel else ""
    yield f"  {finding.severity.value:<5}  {finding.code}{reel}"
    yield from _indented(f"at {finding.place}")
    yield from _indented(finding.text)
    if finding.answered:
        yield from _indented(f"answered: {finding.answered}")
        return
    yield from _indented(f"→ {finding.kind.remedy}")
    if finding.answer_at:
        yield from _indented(
            f'to answer it: code = "{finding.code}", place = "{finding.answer_at}"'
        )


def _indented(text: str) -> list[str]:
    # Paths and digests are kept whole, so that they can be copied.
    left = text[: len(text) - len(text.lstrip(" "))]
    inside = wrap(
        text, width() - 9, subsequent_indent=left, break_long_words=False, break_on_hyphens=False
    )
    return [f"         {line}" for line in inside]


def _checks(judgement: Judgement) -> Iterator[str]:
    """Name what failed and what was not examined, by its reason; count what passed.

    A long list is counted too: nobody reads the names of fifty checks that were not asked for.
    Only the first reason of a check is shown; JSON holds every name and reason.
    """
    groups: dict[str, list[str]] = {"failed": []}
    for check in judgement.checks:
        if check.outcome == "not examined":
            reason = f"not examined, because {check.why.partition(';')[0]}"
            groups.setdefault(reason, []).append(check.name)
    groups["failed"] = [c.name for c in judgement.checks if c.outcome == "failed"]
    for heading, names in groups.items():
        is_long = len(names) > _MOST_NAMES and heading != "failed"
        told = _checks_counted(len(names)) if is_long else "; ".join(names)
        if names:
            yield from wrap(
                f"{heading}: {told}",
                width(),
                initial_indent="  ",
                subsequent_indent="    ",
                break_long_words=False,
                break_on_hyphens=False,
            )
    passed = sum(check.outcome == "passed" for check in judgement.checks)
    if passed:
        yield f"  passed: {_checks_counted(passed)}"


def _checks_counted(count: int) -> str:
    return counted(count, "check")


def width() -> int:
    """Return how many columns text may take: fewer on a narrow terminal, the same elsewhere."""
    if not sys.stdout.isatty():
        return _WIDTH
    return max(_NARROWEST, min(_WIDTH, shutil.get_terminal_size().columns))


def say(text: str = "") -> None:
    """Print lines to standard output, escaped: any of them may hold a stranger's text."""
    click.echo(printable_lines(text))


def stopped(error: TailsoutError) -> int:
    """Say beside the output what stopped the work, and return the exit code."""
    click.echo(f"tailsout: {printable(str(error))}", err=True)
    return error.exit_code


def printable_lines(text: str) -> str:
    """Escape every line of a text for the terminal; none is cut."""
    return "\n".join(printable(line, len(line)) for line in text.split("\n"))
