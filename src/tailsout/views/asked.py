"""What a package's recipient asks of it, on the page that people read."""

from collections.abc import Iterator

from tailsout.records.recipient import Recipient
from tailsout.views.rows import heading, row, rows


def lines(recipient: Recipient) -> Iterator[str]:
    """Yield who the recipient is and, a row each, all that their form asks."""
    yield from heading("Who it is for, and what they ask")
    name = recipient.name
    yield from row("recipient", f"{name} ({recipient.id})" if name else recipient.id)
    yield from rows(recipient, but=("id", "name"))
