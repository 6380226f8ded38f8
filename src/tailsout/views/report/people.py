"""Who made the transfer, and for whom."""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.records.dossier import Dossier
from tailsout.views.report.blocks import Block, Heading, rows
from tailsout.views.rows import absent, pairs


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where nobody is told of."""
    del findings, assets
    transfer = dossier.transfer
    if transfer is None:
        return
    yield from rows(pairs(transfer.studio))
    yield from rows(
        (one.name or one.id, "; ".join([one.role or "no role stated", *absent(one)]))
        for one in transfer.people
    )
    yield from rows([("note", transfer.note), ("not stated", "; ".join(absent(transfer)))])
    recipient = transfer.recipient
    if recipient is not None:
        yield Heading(text=f"What {recipient.name or recipient.id} asks for")
        yield from rows(pairs(recipient, but=("id", "name")))
