"""The acceptance as plain text, to be signed and sent."""

from collections.abc import Iterator, Mapping
from textwrap import wrap

from tailsout.ground.findings import Kind
from tailsout.ground.units import printable
from tailsout.records.acceptance import Acceptance, Accepted

_WIDTH = 88
_BLANK = "______________________"


def render(acceptance: Acceptance, kinds: Mapping[str, Kind]) -> str:
    """Write the document; `kinds` are those of the findings, by code."""
    refused = len(acceptance.packages) - len(acceptance.taken)
    lines = [
        f"Acceptance {acceptance.number}",
        f"By {printable(acceptance.by)}, {acceptance.accepted}; judged with {acceptance.software}",
    ]
    if acceptance.receipt_sha512:
        lines += [
            "It answers the receipt whose receipt.json has the SHA-512",
            *_halves(acceptance.receipt_sha512, "  "),
        ]
    lines += _folded(printable(acceptance.note), "") if acceptance.note else []
    lines += ["", f"Accepted ({len(acceptance.taken)})", ""]
    for one in acceptance.taken:
        lines += [*_package(one, is_taken=True), ""]
    if refused:
        lines += [f"Not accepted ({refused})", ""]
        for one in acceptance.packages:
            if one not in acceptance.taken:
                lines += [*_package(one, is_taken=False), ""]
    lines += [*_codes(acceptance, kinds), *_afterwards(acceptance)]
    return "\n".join(lines).rstrip() + "\n"


def _package(one: Accepted, *, is_taken: bool) -> Iterator[str]:
    yield f"  {one.package}  {one.decision}, judged '{one.verdict}'"
    if one.title:
        yield from _folded(printable(one.title), "    ")
    for identifier in one.identifiers:
        yield f"    {printable(identifier)}"
    if one.flags:
        label = "flags" if is_taken else "because of"
        yield from _folded(f"{label}: {', '.join(one.flags)}", "    ")
    if one.supersedes:
        yield f"    supersedes {printable(one.supersedes)}, which is not needed any more"
    for name, digest in one.tag_manifests.items():
        yield f"    {name}, SHA-512:"
        yield from _halves(digest, "      ")


def _afterwards(acceptance: Acceptance) -> Iterator[str]:
    """Say what may happen now, and leave room for whoever confirms it."""
    if not acceptance.taken:
        yield "Nothing is accepted: reels and files stay where they are."
        return
    yield "The reels of what is accepted may go back, by the return list beside this page."
    when = acceptance.delete_from
    if when:
        yield f"The producer may delete its files of what is accepted from {when} on,"
        yield "and confirms it here:"
    else:
        yield "Until it is agreed otherwise the producer keeps its files. Once they are deleted:"
    yield ""
    yield f"  deleted on {_BLANK}  by {_BLANK}"
    yield f"  signed     {_BLANK}"


def _codes(acceptance: Acceptance, kinds: Mapping[str, Kind]) -> Iterator[str]:
    codes = sorted({code for one in acceptance.packages for code in one.flags} & kinds.keys())
    if codes:
        yield from ("What each code means", "")
    for code in codes:
        yield f"  {code}"
        yield from _folded(f"{kinds[code].title}.", "    ")
    if codes:
        yield ""


def _halves(digest: str, indent: str) -> Iterator[str]:
    yield f"{indent}{digest[:64]}"
    yield f"{indent}{digest[64:]}"


def _folded(text: str, indent: str) -> list[str]:
    return wrap(
        text,
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
