"""The paths that the files of a job will have in the package, before the first pass."""

from collections.abc import Iterable

from tailsout.bag.plan import check_paths
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import masters, naming
from tailsout.mapping.copies import planned
from tailsout.mapping.names import tree
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.rules.rule import transfer_of
from tailsout.work.calibration import Bench
from tailsout.work.captures import Taken

NAME_UNFIT = Kind(
    code="name-unfit-for-packing",
    severity=Severity.MEND,
    title="A file of the job cannot be packed under its name",
    basis="own rule: every system holds what is packed, and tells it apart (RFC 8493 §6.1)",
    remedy="Rename the file in the job and in its form, or change what the recipient's form asks.",
)
COPY_IMPOSSIBLE = Kind(
    code="access-copy-impossible",
    severity=Severity.MEND,
    title="An access copy that the recipient wants cannot be made",
    basis="own rule: a package that would lack what is asked of it is not begun",
    remedy="Correct [[copies]] or the template in the recipient's form, or what the job says of "
    "the region; or ask them what they want instead.",
)
KINDS = (NAME_UNFIT, COPY_IMPOSSIBLE)


def unfit(
    dossier: Dossier, taken: Iterable[Taken], kept: Iterable[str], bench: Bench
) -> tuple[Finding, ...] | None:
    """Return what cannot be packed as it is called, and copies that cannot be made.

    None if a master has no name of its own, of which the rules of names tell.
    """
    transfer = transfer_of(dossier)
    records = [one.survey.record for one in taken]
    audio = masters.paths_of(transfer, records)
    if audio is None:
        return None
    sources = [one.path for one in records]
    # Pairs, for two files may be on their way to one place.
    packed = [
        *zip(audio, sources, strict=True),
        *zip(map(naming.sidecar_path, audio), sources, strict=True),
        *((tree.kept_path(transfer.recipient, path), path) for path in kept),
        *((path, path) for path in bench.paths),
    ]
    found = [_told(source, (path,)) for path, source in packed]
    if any(found):
        return tuple(dict.fromkeys(one for one in found if one is not None))
    try:
        listening = planned.paths_of(transfer, records)
    except MaterialError as error:
        place = dossier.place("/recipient/copies")
        return (COPY_IMPOSSIBLE.at(place, printable(error.sentence)),)
    apart = _told("job.toml", (*(path for path, _ in packed), *listening))
    return (apart,) if apart is not None else ()


def _told(place: str, paths: tuple[str, ...]) -> Finding | None:
    try:
        check_paths(paths)
    except MaterialError as error:
        said = error.sentence
        text = printable(f"{said[0].lower()}{said[1:]}")
        return NAME_UNFIT.at(Place(file=printable(place)), text)
    return None


def made_of(transfer: Transfer, taken: Iterable[Taken]) -> dict[str, tuple[str, ...]]:
    """Return the files of the job that each master is made of, by its path in the package."""
    return {
        masters.master_path(transfer, one.survey.record): tuple(
            file.survey.record.path for file in one.files
        )
        for one in taken
    }
