"""The covering note of a delivery: plain text that is understood with no software at all."""

from collections.abc import Iterator
from textwrap import wrap

from tailsout.ground.units import counted, printable, size
from tailsout.records.delivery import Delivery, LeftOut, PackageRow

_WIDTH = 88
_DURABLE = {
    "fsynced": "synced to the drive",
    "best effort": "written, though this system could not promise that it is on the drive",
}


def render(delivery: Delivery, stem: str) -> bytes:
    """Return the note; `stem` is how the names of the lists beside it begin."""
    lines = [
        *_head(delivery),
        "",
        *_how_to_check(delivery, stem),
        "",
        f"Packages ({len(delivery.packages)})",
        "",
    ]
    for one in delivery.packages:
        lines += [*_package(one), ""]
    if not delivery.packages:
        lines += ["  none", ""]
    lines += _not_transferred(delivery.left_out)
    lines += _discrepancies(delivery)
    return ("\n".join(lines).rstrip() + "\n").encode("utf-8", "backslashreplace")


def _head(delivery: Delivery) -> Iterator[str]:
    octets = sum(one.octets for one in delivery.packages)
    files = sum(one.files for one in delivery.packages)
    yield f"Delivery {delivery.number}; the drive is called {printable(delivery.volume)}"
    yield f"Made {delivery.made} with {delivery.software}"
    for line in delivery.sender:
        yield f"From: {printable(line)}"
    orders = sorted({one.order for one in delivery.packages if one.order})
    for order in orders:
        yield f"Order: {printable(order)}"
    packages = counted(len(delivery.packages), "package")
    yield f"It holds {packages}, {counted(files, 'file')}, {size(octets)} ({octets} octets)."


def _how_to_check(delivery: Delivery, stem: str) -> Iterator[str]:
    if delivery.durability:
        yield from _folded(
            f"Everything was {_DURABLE[delivery.durability]}, read back from it, and each file's "
            "SHA-512 agreed with the one taken where it came from."
        )
    for why in delivery.not_promised:
        yield from _folded(why)
    yield f"To check it with no software of ours:  sha512sum -c {stem}.sha512"
    yield "With it, package by package:           tailsout check */"
    yield "Receipt and acceptance are two things: please answer with both."


def _package(one: PackageRow) -> Iterator[str]:
    yield f"  {printable(one.package)}  {one.verdict}"
    if one.title:
        yield from _folded(printable(one.title), "    ")
    for identifier in one.identifiers:
        yield f"    {printable(identifier)}"
    yield f"    {counted(one.files, 'file')}, {size(one.octets)} ({one.octets} octets)"
    if one.supersedes:
        yield f"    supersedes {printable(one.supersedes)}"
    for name, digest in one.tag_manifests.items():
        yield f"    {printable(name)}, SHA-512:"
        yield f"      {digest[:64]}"
        yield f"      {digest[64:]}"


def _not_transferred(left_out: tuple[LeftOut, ...]) -> Iterator[str]:
    yield f"Not transferred ({len(left_out)})"
    yield ""
    for one in left_out:
        category = f": {printable(one.category)}" if one.category else ""
        yield f"  {printable(one.name)}  {one.sort}{category}"
        told = (one.title, *one.identifiers, one.reason, *(f"tried: {t}" for t in one.tried))
        for line in told:
            yield from _folded(printable(line), "    ") if line else ()
        yield ""
    if not left_out:
        yield from ("  none", "")


def _discrepancies(delivery: Delivery) -> Iterator[str]:
    if delivery.discrepancies is None:
        yield "There was no list of what should have come to compare with."
        return
    yield f"Discrepancies with the list ({len(delivery.discrepancies)})"
    yield ""
    for line in delivery.list_told:
        yield from _folded(f"About the list: {printable(line)}", "  ")
    for one in delivery.discrepancies:
        line = f" (line {one.line})" if one.line is not None else ""
        yield f"  {one.kind}: {printable(one.identifier)}{line}"
    if not delivery.discrepancies:
        yield "  none"


def _folded(text: str, indent: str = "") -> list[str]:
    return wrap(
        text,
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
