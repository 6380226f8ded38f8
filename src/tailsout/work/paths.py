"""The paths that the files of a job will have in the package, before the first pass."""

from collections.abc import Iterable

from tailsout.bag.plan import check_paths
from tailsout.mapping import masters, naming
from tailsout.mapping.copies import planned
from tailsout.mapping.names import tree
from tailsout.records.transfer import Transfer
from tailsout.work.calibration import Bench
from tailsout.work.captures import Taken


def check_names(
    transfer: Transfer, taken: Iterable[Taken], kept: Iterable[str], bench: Bench
) -> bool:
    """Tell whether every master has a name of its own; where one has none, the rules say which.

    Raises MaterialError for names that some system cannot hold or that two other files would have,
    and for access copies that cannot be made.
    """
    records = [one.survey.record for one in taken]
    audio = masters.paths_of(transfer, records)
    if audio is None:
        return False
    listening = planned.paths_of(transfer, records)
    beside = (tree.kept_path(transfer.recipient, path) for path in kept)
    check_paths((*audio, *map(naming.sidecar_path, audio), *listening, *beside, *bench.paths))
    return True


def made_of(transfer: Transfer, taken: Iterable[Taken]) -> dict[str, tuple[str, ...]]:
    """Return the files of the job that each master is made of, by its path in the package."""
    return {
        masters.master_path(transfer, one.survey.record): tuple(
            file.survey.record.path for file in one.files
        )
        for one in taken
    }
