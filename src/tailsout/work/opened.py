"""Opens a package as it was handed over: a folder, or an archive that is read where it lies."""

from pathlib import Path

from tailsout.bag.archive.open import ArchivedBag, open_archive
from tailsout.bag.open import OpenBag, open_bag
from tailsout.ground.errors import MaterialError, from_os_error
from tailsout.ground.findings import Finding, Kind, Place, Severity, Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.records.facts import PackageFacts

HEADER_UNREAD = Kind(
    code="archive-header-unread",
    severity=Severity.QUERY,
    title="An audio file's header or a side-car could not be read in the archive",
    basis="our limit: of packed files the first and last 256 KiB are kept, 96 MiB in all",
    remedy="Unpack the archive and check the folder.",
    leads_to=Verdict.NOT_EXAMINED,
)
KINDS = (HEADER_UNREAD,)


def open_package(path: Path, progress: Progress, *, called: str = "") -> OpenBag | ArchivedBag:
    """Open the package at `path`; an archive may be `called` otherwise than its file is.

    Raises UsageError if it is neither folder nor archive, SurroundingsError if it cannot be read.
    """
    try:
        is_file = path.is_file()
    except OSError as error:
        raise from_os_error(error, f"Opening {printable(str(path))}") from error
    return open_archive(path, progress, called=called) if is_file else open_bag(path)


def must_be_bag(facts: PackageFacts, path: Path) -> None:
    """Hold what is opened to be told of as a package to being a whole one.

    Raises MaterialError for what is none, or an archive of which a part alone could be read.
    """
    if not is_whole(facts):
        raise MaterialError(
            f"{printable(str(path))} could not be read as a whole.",
            "`tailsout check` says why; if it can be unpacked, name the folder.",
        )
    if not any(file.path == "bagit.txt" for file in facts.files):
        raise MaterialError(
            f"{printable(str(path))} is not a package: it has no bagit.txt.",
            "`tailsout show` alone tells of jobs and single files.",
        )


def is_whole(facts: PackageFacts) -> bool:
    """Tell whether all of the package was listed, so that what lacks does lack."""
    return facts.archive is None or facts.archive.whole


def header_unread(path: str) -> Finding:
    """Tell that an audio file or side-car in an archive could not be looked into."""
    place = Place(file=printable(path))
    return HEADER_UNREAD.at(place, "what it says of itself lies where it was not kept.")
