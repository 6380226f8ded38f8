"""The elements of bag-info.txt (RFC 8493 §2.2.2) that a Transfer gives, in order."""

from datetime import datetime

from tailsout.records.transfer import Transfer


def elements(transfer: Transfer, instant: datetime) -> tuple[tuple[str, str], ...]:
    """Return labels and values; Bag-Size and Payload-Oxum are added when the bag is built."""
    studio = transfer.studio
    found: list[tuple[str, str | None]] = [
        ("Source-Organization", studio.name),
        ("Organization-Address", studio.place),
        ("Contact-Name", studio.contact_name),
        ("Contact-Email", studio.contact_email),
        ("External-Description", transfer.reel.title),
        ("Bagging-Date", instant.strftime("%Y-%m-%d")),
    ]
    owners = [i.value for i in transfer.reel.identifiers] or [transfer.package_id]
    found += [("External-Identifier", value) for value in owners]
    found.append(("Internal-Sender-Identifier", transfer.package_id))
    # A value is one line here: folding marks would come back as part of it.
    on_a_line = ((label, " ".join((value or "").split())) for label, value in found)
    return tuple((label, value) for label, value in on_a_line if value)
