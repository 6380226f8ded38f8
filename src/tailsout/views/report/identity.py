"""What the reel is: its names, its words, its making, and its photographs."""

import base64
from collections.abc import Iterator, Mapping

from markupsafe import Markup

from tailsout.ground.findings import Finding
from tailsout.ground.units import counted
from tailsout.mapping.names import tree
from tailsout.records.carrier import Image
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Reel, StockSection
from tailsout.records.transfer import Transfer
from tailsout.views.packaged import Packaged
from tailsout.views.report import cautions
from tailsout.views.report.blocks import (
    Block,
    Heading,
    Paragraph,
    Photograph,
    Photographs,
    Rows,
    rows,
)
from tailsout.views.report.wording import listed, moment, who
from tailsout.views.rows import absent, inline, pairs

_BASIS = ("title", "identifiers", "inscriptions", "stock", "sides", "events")
_SHOWN = (".jpeg", ".jpg", ".png")
"""Endings of what can be made small."""
_ELSEWHERE = ("images", "condition", "custody", "splices", "leaders")


def title(dossier: Dossier) -> str:
    """Return what the sheet is about."""
    if dossier.transfer is not None:
        return dossier.transfer.reel.title or dossier.transfer.package_id
    return dossier.package.name if dossier.package is not None else "A transfer without a name"


def top(dossier: Dossier) -> Iterator[tuple[str, str]]:
    """Yield what stands in the box at the top of the sheet."""
    transfer = dossier.transfer
    yield "Package", Packaged(dossier).name
    if transfer is not None:
        yield "Studio", transfer.studio.name or "not stated"
        marks = [one.value for one in transfer.reel.identifiers]
        yield "Reel", "\n".join(marks) or "no mark stated"
    due = cautions.marks(dossier)
    if due:
        yield "Cautions", ", ".join(due)
    yield from (("Supersedes", one.supersedes) for one in (dossier.amendments or ())[-1:])
    yield "Written", _written(dossier)


def _written(dossier: Dossier) -> str:
    cars = [file.sidecar for file in dossier.files if file.sidecar] + [dossier.record_only]
    for car in cars:
        if car is not None:
            return f"{moment(car.written)}\nby {car.software}"
    info = dossier.package.bag_info if dossier.package is not None else ()
    dates = [one.value for one in info if one.label == "Bagging-Date"]
    return "\n".join(dates) or "not stated"


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section."""
    del findings
    transfer = dossier.transfer
    if transfer is None:
        info = dossier.package.bag_info if dossier.package is not None else ()
        yield Paragraph(text="What the sender says of the package:" if info else "Nothing is said.")
        yield from rows((one.label, one.value) for one in info)
        yield from _photographs(dossier, assets)
        return
    yield from rows(_marks(transfer.reel))
    for heading, record in (
        ("What was recorded", transfer.recording),
        ("Who asked for the transfer", transfer.commission),
        ("What it is a part of", transfer.work),
    ):
        if record is not None:
            yield Heading(text=heading)
            yield from rows(pairs(record))
    yield from _made_of(transfer.reel)
    yield from _corrections(transfer)
    yield from _photographs(dossier, assets)


def _marks(reel: Reel) -> Iterator[tuple[str, str]]:
    for one in reel.identifiers:
        by = f", given by {one.assigned_by}" if one.assigned_by else ""
        yield one.kind or "identifier", "; ".join([f"{one.value}{by}", *absent(one)])
    for words in reel.inscriptions:
        found = f"\nfound: {words.found}" if words.found else ""
        yield f"on the {words.place}", "; ".join([f"“{words.text}”{found}", *absent(words)])


def _made_of(reel: Reel) -> Iterator[Block]:
    told = [(f"tape section {one.id}", _stock(one)) for one in reel.stock]
    told += pairs(reel, but=(*_BASIS, *_ELSEWHERE))
    if told:
        yield Heading(text="What it is made of")
        yield Rows(rows=tuple(told))


def _stock(stock: StockSection) -> str:
    name = " ".join(part for part in (stock.maker, stock.number) if part)
    by = f"told by {listed(stock.base_told_by)}" if stock.base_told_by else ""
    base = ", ".join(part for part in (stock.base, by, stock.confidence) if part)
    rest = inline(stock, but=("id", "maker", "number", "base", "base_told_by", "confidence"))
    return "; ".join(part for part in (name, base, rest) if part) or "nothing known"


def _corrections(transfer: Transfer) -> Iterator[Block]:
    if transfer.corrections:
        yield Heading(text="Said, and otherwise")
        yield Rows(
            rows=tuple(
                (
                    one.about,
                    f"said{f' by {one.said_by}' if one.said_by else ''}: {one.said}\n"
                    f"is so: {one.is_so}\n"
                    + "; ".join(
                        part for part in (listed(one.basis), who(transfer, one.by), one.on) if part
                    ),
                )
                for one in transfer.corrections
            )
        )


def images(dossier: Dossier) -> dict[str, Image | None]:
    """Return every photograph by its path in the package, those first of which something is said.

    Of a stranger's package any picture may be one.
    """
    transfer, found = dossier.transfer, dict[str, Image | None]()
    lies = "data/"
    if transfer is not None:
        recipient, reel = transfer.recipient, transfer.reel
        lies = f"{tree.folder(recipient, 'image')}/"
        for one in (*reel.images, *(image for event in reel.events for image in event.images)):
            found[tree.kept_path(recipient, one.file)] = one
    files = dossier.package.files if dossier.package is not None else ()
    there = (f.path for f in files if f.path.startswith(lies) and f.path.lower().endswith(_SHOWN))
    return found | {path: None for path in sorted(there) if path not in found}


def photograph_key(path: str) -> str:
    """Return under which key a page looks for a photograph made small."""
    return f"photograph:{path}"


def _photographs(dossier: Dossier, assets: Mapping[str, bytes]) -> Iterator[Block]:
    every = images(dossier)
    shown = {path: one for path, one in every.items() if photograph_key(path) in assets}
    others = {path: one for path, one in every.items() if one is not None and path not in shown}
    if shown or others:
        yield Heading(text="Photographs")
    if shown:
        yield Photographs(
            pictures=tuple(
                Photograph(
                    data=_base64(assets[photograph_key(path)]),
                    alt=_alt(one or Image(file=path)),
                    caption=_caption(path, one),
                )
                for path, one in shown.items()
            )
        )
    if others:
        yield Paragraph(text=f"{counted(len(others), 'photograph')} not shown here:")
        told = others.items()
        yield from rows((one.role or "photograph", _caption(path, one)) for path, one in told)


def _base64(picture: bytes) -> Markup:
    return Markup(base64.b64encode(picture).decode("ascii"))  # noqa: S704  letters and figures


def _alt(one: Image) -> str:
    what = f"Photograph: {one.role}" if one.role else "Photograph"
    return f"{what}. {one.caption}" if one.caption else f"{what}, not described."


def _caption(path: str, one: Image | None) -> str:
    said = (one.role, one.caption) if one is not None else ()
    return "; ".join(part for part in (*said, path) if part)
