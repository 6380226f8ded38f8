"""What a transfer tells of one of its masters that can stand in the master's name."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from tailsout.mapping import naming
from tailsout.mapping.names.fields import Value
from tailsout.records.capture import Capture
from tailsout.records.dossier import FileRecord
from tailsout.records.recipient import Recipient
from tailsout.records.reel import Region, Side
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import FileRole

RESTS_ON: Mapping[str, str] = {
    "identifier": "reel.identifiers[].value",
    "work": "work.id",
    "work-part": "work.part",
    "side": "reel.sides[].id",
    "side-number": "reel.sides",
    "region": "reel.sides[].regions[].id",
    "region-number": "reel.sides[].regions",
    "studio": "studio.name",
    "date": "passes[].on",
}
"""The key of the side-car that a field is filled from, for what may be left out of one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known of a file."""

    values: Mapping[str, Value]
    """By the keys of a template's fields."""
    why_not: Mapping[str, str]
    """Why a field has no value, where more can be said than that nobody said it."""


def known_of(transfer: Transfer, file: FileRecord) -> Known:
    """Return what is known of a master, or of the master that will be made of a capture's file."""
    values: dict[str, Value] = {"package": transfer.package_id, **dict(_identifiers(transfer))}
    values |= _of_the_whole(transfer)
    why_not: dict[str, str] = {}
    for number, capture in enumerate(transfer.captures, start=1):
        if capture.id == file.capture:
            values |= {"capture": capture.id, "capture-number": number}
            values |= _of_capture(transfer, capture, file)
            _add_regions(transfer, file, values, why_not)
    return Known(values=values, why_not=why_not)


def roles_of(recipient: Recipient | None) -> tuple[str, ...]:
    """Return the words that can stand for roles in names: the recipient's, and that of a master."""
    listed = recipient.roles if recipient is not None else ()
    words = [one.suffix or one.role for one in listed]
    return tuple(dict.fromkeys((*words, role_of(recipient, "master"))))


def role_of(recipient: Recipient | None, role: FileRole) -> str:
    """Return what stands for a role in a name: the recipient's word, else the role's own."""
    listed = recipient.roles if recipient is not None else ()
    return next((one.suffix for one in listed if one.role == role and one.suffix), role)


def _identifiers(transfer: Transfer) -> Iterator[tuple[str, Value]]:
    """Yield the reel's identifiers, the first of each kind last, so that it stands."""
    for one in reversed(transfer.reel.identifiers):
        yield "identifier", one.value
        if one.kind is not None:
            yield f"identifier:{one.kind.replace(' ', '-')}", one.value


def _of_the_whole(transfer: Transfer) -> Iterator[tuple[str, Value]]:
    yield "role", role_of(transfer.recipient, "master")
    if transfer.studio.name is not None:
        yield "studio", transfer.studio.name
    if transfer.recipient is not None:
        yield "recipient", transfer.recipient.id
    if transfer.work is not None:
        yield "work", transfer.work.id
        if transfer.work.part is not None:
            yield "work-part", transfer.work.part


def _of_capture(
    transfer: Transfer, capture: Capture, file: FileRecord
) -> Iterator[tuple[str, Value]]:
    run = next((one for one in transfer.passes if one.id == capture.pass_id), None)
    day = (run.on if run is not None else None) or capture.started
    if day is not None:
        yield "date", day.partition("T")[0]
    if file.track is not None:
        yield "track", file.track
    files = naming.files_of(capture)
    if file.made == "part" and file.sources and file.sources[0].file in files:
        yield "part", files.index(file.sources[0].file) + 1


def _add_regions(
    transfer: Transfer, file: FileRecord, values: dict[str, Value], why_not: dict[str, str]
) -> None:
    """Add the side and the region of a file, or why it has not one of each."""
    lying = list(_regions_in(transfer, file))
    sides = {number: side for number, side, _, _ in lying}
    if len(sides) == 1:
        ((number, side),) = sides.items()
        values |= {"side": side.id, "side-number": number}
    else:
        shown = " and ".join(side.id for side in sides.values())
        text = f"it holds sides {shown}" if sides else "no region says which side lies in it"
        why_not |= {"side": text, "side-number": text}
    programme = [one for one in lying if one[3].kind == "programme"]
    if len(programme) == 1:
        values |= {"region": programme[0][3].id, "region-number": programme[0][2]}
    else:
        text = f"it holds {len(programme)} regions of programme"
        why_not |= {"region": text, "region-number": text}


def _regions_in(transfer: Transfer, file: FileRecord) -> Iterator[tuple[int, Side, int, Region]]:
    """Yield each region that lies in a file, with its side; both with their numbers."""
    end = None if file.frames is None else file.starts_at + file.frames
    for number, side in enumerate(transfer.reel.sides, start=1):
        for count, region in enumerate(side.regions, start=1):
            before = region.end is not None and region.end <= file.starts_at
            behind = end is not None and region.start >= end > 0
            if region.capture == file.capture and not (before or behind):
                yield number, side, count, region
