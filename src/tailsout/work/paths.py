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
) -> None:
    """Refuse names that some system cannot hold, or two files would have, before the first pass.

    So are access copies that cannot be made. Raises MaterialError.
    """
    records = [one.survey.record for one in taken]
    audio = masters.paths_of(transfer, records)
    listening = planned.paths_of(transfer, records)
    beside = (tree.kept_path(transfer.recipient, path) for path in kept)
    check_paths((*audio, *map(naming.sidecar_path, audio), *listening, *beside, *bench.paths))


def made_of(transfer: Transfer, taken: Iterable[Taken]) -> dict[str, tuple[str, ...]]:
    """Return the files of the job that each master is made of, by its path in the package."""
    return {
        masters.master_path(transfer, one.survey.record): tuple(
            file.survey.record.path for file in one.files
        )
        for one in taken
    }
