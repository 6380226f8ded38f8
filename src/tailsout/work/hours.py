"""The ledger of hours of a studio's packages, which are only read."""

from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path

from tailsout.bag.open import open_bag
from tailsout.mapping import ledger
from tailsout.mapping.ledger import Entry
from tailsout.mapping.logbook import minutes_of
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.work.check import read_package
from tailsout.work.recount import packages_in, seconds_of


def hours(folders: Iterable[Path]) -> tuple[bytes, int]:
    """Return the ledger of all packages in or below some folders, and how many were passed over.

    Of several versions of one package the last is told of; one without a side-car of ours is
    passed over. Raises UsageError if a folder is not there, SurroundingsError if a package cannot
    be read.
    """
    found: dict[str, tuple[int, Entry]] = {}
    silent = 0
    for package in packages_in(folders):
        with open_bag(package) as bag:
            dossier = read_package(bag)
        transfer = dossier.transfer
        if transfer is None:
            silent += 1
            continue
        version = len(dossier.amendments or ())
        if version >= found.get(transfer.job_id, (0, None))[0]:
            found[transfer.job_id] = (version, _entry(transfer, dossier))
    entries = sorted((entry for _, entry in found.values()), key=lambda entry: entry.package)
    return ledger.write(entries), silent


def _entry(transfer: Transfer, dossier: Dossier) -> Entry:
    seconds = seconds_of(dossier)
    told = [one.hands_on_minutes for one in transfer.passes]
    known = [minutes for minutes in told if minutes is not None]
    return Entry(
        package=transfer.package_id,
        identifier=next((one.value for one in transfer.reel.identifiers), ""),
        title=transfer.reel.title or "",
        passes=len(transfer.passes),
        hands_on_minutes=sum(known, Decimal(0)) if told and len(known) == len(told) else None,
        programme_minutes=sum(
            (minutes_of(one, transfer, seconds) for one in transfer.passes), Decimal(0)
        ),
    )
