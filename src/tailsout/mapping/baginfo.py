"""The elements of bag-info.txt (RFC 8493 §2.2.2) that a Transfer gives, in order."""

from datetime import datetime

from tailsout.mapping.profile_contradictions import IDENTIFIER
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.recording import Work
from tailsout.records.reel import Identifier
from tailsout.records.transfer import Studio, Transfer


def version(transfer: Transfer | None) -> str:
    """Return which version of BagIt the package is to be of."""
    recipient = transfer.recipient if transfer is not None else None
    asked = recipient.bag if recipient is not None else None
    return (asked.version if asked is not None else None) or "1.0"


def elements(
    transfer: Transfer, instant: datetime, profile: BagItProfile | None = None
) -> tuple[tuple[str, str], ...]:
    """Return labels and values; Bag-Size and Payload-Oxum are added when the bag is built.

    `profile` is one that the bag is to name.
    """
    studio = transfer.studio
    found: list[tuple[str, str | None]] = [
        ("Source-Organization", studio.name),
        ("Organization-Address", studio.place),
        ("Contact-Name", studio.contact_name),
        ("Contact-Email", studio.contact_email),
        ("External-Description", transfer.reel.title),
        ("Bagging-Date", instant.strftime("%Y-%m-%d")),
    ]
    ours = [one for one in transfer.reel.identifiers if _is_studios(one, studio)]
    owners = [one.value for one in transfer.reel.identifiers if one not in ours]
    found += [("External-Identifier", value) for value in owners or [transfer.package_id]]
    found += _group(transfer.work)
    found += [("Internal-Sender-Identifier", one.value) for one in ours]
    found.append(("Internal-Sender-Identifier", transfer.package_id))
    found.append((IDENTIFIER, profile.identifier if profile is not None else None))
    # A value is one line here: folding marks would come back as part of it.
    on_a_line = ((label, " ".join((value or "").split())) for label, value in found)
    return tuple((label, value) for label, value in on_a_line if value)


def _is_studios(one: Identifier, studio: Studio) -> bool:
    """Tell whether the studio itself gave an identifier."""
    return studio.name is not None and one.assigned_by == studio.name


def _group(work: Work | None) -> list[tuple[str, str | None]]:
    """Name the set of bags a package belongs to, and which of it this is: `2 of 5`, `2 of ?`."""
    if work is None:
        return []
    count = f"{work.part} of {work.parts or '?'}" if work.part is not None else None
    return [("Bag-Group-Identifier", work.id), ("Bag-Count", count)]
