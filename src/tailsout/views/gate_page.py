"""The answer of a gate on one page: the word to be read from across the room, then the lists."""

from collections import Counter
from collections.abc import Iterator
from textwrap import wrap

from tailsout.ground.findings import Finding
from tailsout.ground.units import counted, printable
from tailsout.records.gate import Gate
from tailsout.views import set_up_sheet
from tailsout.views.large import large, ruled

SHOWN = 8
"""Findings of one list that are shown, unless all are wanted."""

_WIDTH = 80
_TITLES = (
    ("needs_reel", "NEEDS THE REEL", "nothing needs the reel"),
    ("at_desk", "CAN BE DONE AT THE DESK", "nothing is left for the desk"),
    ("before_boxing", "STILL TO DO BEFORE BOXING", "nothing is to do before boxing"),
)
"""Field, title of its list, and what is said where the list is empty."""

_Lines = Iterator[str]


def render(gate: Gate, most: int | None = SHOWN) -> bytes:
    """Return the page in UTF-8; `most` findings of each list are shown, all of them for None."""
    lines = [*_answer(gate)]
    if gate.sheet is not None:
        lines += ["", set_up_sheet.render(gate.sheet).decode("utf-8").rstrip("\n")]
    for part in gate.parts if gate.is_whole else ():
        lines += set_up_sheet.told(part)
    for field, title, _ in _TITLES if gate.is_whole else _TITLES[:2]:
        findings: tuple[Finding, ...] = getattr(gate, field)
        if findings:
            lines += _list(title, findings, most)
    if gate.stage == "unloading" and gate.is_whole:
        lines += _none(gate)
    if gate.notes and gate.is_whole:
        lines += ["", f"  {counted(gate.notes, 'note')}; `tailsout close --plan` tells."]
    return ("\n".join(lines) + "\n").encode("utf-8", "backslashreplace")


def _answer(gate: Gate) -> _Lines:
    yield ""
    yield from large(gate.word)
    yield ""
    yield from _wrapped(gate.answer, "  ", "  ")
    for reason in gate.because:
        yield from _wrapped(reason, "  - ", "    ")
    yield from _wrapped(f"({gate.stage}: {gate.why})", "  ", "  ")


def _none(gate: Gate) -> _Lines:
    empty = [said for field, _, said in _TITLES if not getattr(gate, field)]
    if empty:
        yield ""
        yield from _wrapped(f"({'; '.join(empty)})", "  ", "  ")


def _list(title: str, findings: tuple[Finding, ...], most: int | None) -> _Lines:
    yield ""
    yield from ruled(f"{title}: {len(findings)}")
    shown = findings if most is None else findings[:most]
    for number, one in enumerate(shown, start=1):
        yield from _wrapped(f"{one.text} [{one.code}]", f"  {number:>2}  ", "      ")
        yield from _wrapped(f"at {one.place}", "      ", "         ")
        yield from _wrapped(one.kind.remedy, "      -> ", "         ")
    left = Counter(one.code for one in findings[len(shown) :])
    if left:
        told = ", ".join(f"{count} {code}" for code, count in left.most_common())
        yield from _wrapped(f"… and {sum(left.values())} more (--all): {told}", "      ", "      ")


def _wrapped(text: str, first: str, rest: str) -> _Lines:
    yield from wrap(
        printable(text),
        _WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
    )
