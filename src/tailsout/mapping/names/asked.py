"""The names that a recipient asks for, put on the masters of a transfer."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tailsout.ground.portable import twin_key
from tailsout.mapping import naming
from tailsout.mapping.names.fields import Fault, Template
from tailsout.mapping.names.filling import fill
from tailsout.mapping.names.template import parse
from tailsout.mapping.names.values import known_of, roles_of
from tailsout.records.dossier import FileRecord
from tailsout.records.recipient import Recipient
from tailsout.records.transfer import Transfer


def template_of(recipient: Recipient | None) -> Template | Fault | None:
    """Return the recipient's template of names, or why it is none; None if they have none."""
    names = recipient.names if recipient is not None else None
    if names is None or names.template is None:
        return None
    letters = names.allowed or "POSIX portable"
    return parse(names.template, roles=roles_of(recipient), letters=letters)


def stem_of(transfer: Transfer | None, file: FileRecord) -> str | Fault:
    """Return the name, without its ending, of the master made of a capture's file.

    Without a template it is the recorder's own name.
    """
    recipient = transfer.recipient if transfer is not None else None
    template = template_of(recipient)
    if transfer is None or template is None:
        return naming.master_stem(file.path)
    if isinstance(template, Fault):
        return Fault(at=template.at, text=f"the recipient's template of names: {template.text}")
    known = known_of(transfer, file)
    stem = fill(template, known.values, separator_of(recipient))
    if isinstance(stem, Fault) and stem.key in known.why_not and stem.key not in known.values:
        return Fault(at=stem.at, text=f"{stem.text[:-1]}: {known.why_not[stem.key]}.", key=stem.key)
    return stem


def separator_of(recipient: Recipient | None) -> str:
    """Return what stands in names for blanks and letters that are not allowed; empty if none."""
    names = recipient.names if recipient is not None else None
    return (names.separator or "") if names is not None else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A master that is to be made, and its path in the package."""

    file: FileRecord
    path: str
    """Empty if none can be made."""
    why: str = ""
    """Why there is none."""


def clashing(planned: Iterable[Planned]) -> Iterator[tuple[Planned, Planned]]:
    """Yield masters that would have one name, on some system or on all, or share a side-car."""
    seen: dict[str, Planned] = {}
    for one in planned:
        if one.path:
            first = seen.setdefault(twin_key(naming.sidecar_path(one.path)), one)
            if first is not one:
                yield first, one
