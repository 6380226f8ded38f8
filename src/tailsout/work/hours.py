"""The ledger of hours of a studio's packages, which are only read."""

from collections.abc import Iterable
from pathlib import Path

from tailsout.bag.open import open_bag
from tailsout.mapping import ledger
from tailsout.mapping.ledger import Entry, entry_of
from tailsout.work.package import read_package
from tailsout.work.recount import packages_in


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
            found[transfer.job_id] = (version, entry_of(transfer, dossier))
    entries = sorted((entry for _, entry in found.values()), key=lambda entry: entry.package)
    return ledger.write(entries), silent
