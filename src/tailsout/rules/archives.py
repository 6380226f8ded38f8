"""The archive a bag lies in, held against the digest that lies beside it.

The manifests of a bag say nothing of headers, filling and times of a tar: only a digest of the
whole file shows that one of those octets changed.
"""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier

ARCHIVE_DIFFERS = Kind(
    code="archive-digest-differs",
    severity=Severity.MEND,
    title="The archive is not what the digest beside it says",
    basis="own rule: the digest beside an archive is that of all its octets",
    remedy="Ask the sender for the archive again; the copy at hand is not to be relied on.",
)
ARCHIVE_UNPROVED = Kind(
    code="archive-digest-unread",
    severity=Severity.QUERY,
    title="The file beside the archive states no digest of it",
    basis="common practice, no source: digest, two blanks, name, as checksum tools do",
    remedy="Ask the sender what the file is.",
)
ARCHIVE_ALONE = Kind(
    code="archive-digest-missing",
    severity=Severity.NOTE,
    title="No digest of the archive lies beside it, so that a change between its files goes unseen",
    basis="own rule: manifests speak of the files in an archive, not of what stands between them",
    remedy="Nothing to do; for what the manifests list, the check of fixity speaks.",
)
KINDS = (ARCHIVE_DIFFERS, ARCHIVE_UNPROVED, ARCHIVE_ALONE)


def beside(dossier: Dossier) -> Iterator[Finding]:
    """Judge the digests beside the archive, if the package lies in one."""
    archive = dossier.package.archive if dossier.package is not None else None
    if archive is None:
        return
    if not archive.beside:
        place = Place(file=printable(archive.name))
        yield ARCHIVE_ALONE.at(place, f"there is no {place.file}.sha512 beside it.")
    for one in archive.beside:
        place = Place(file=printable(one.name))
        if not one.stated:
            yield ARCHIVE_UNPROVED.at(
                place, f"it is not a line with a {one.algorithm} digest and the archive's name."
            )
        elif one.found and one.found != one.stated:
            yield ARCHIVE_DIFFERS.at(
                place, f"it states {one.stated[:16]}…, found was {one.found[:16]}…."
            )
