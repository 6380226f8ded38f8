"""By what a package is known again without being read through."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingerprint:
    """What was on disk when it was opened; where two are equal, nobody wrote to it in between.

    That trusts the file system with its times, and the disk with the rest: octets that went bad
    without being written to change nothing of this.
    """

    files: int
    octets: int
    listing_sha256: str
    """Of path, octets and the times of the last change of content and of status of every file,
    and of everything odd that the reader met; an archive is one file."""
    tag_files: Mapping[str, str]
    """SHA-256 of bagit.txt and of every manifest and tag manifest, as they read now; likewise of
    the receipt, and of digests of the archive, that lie beside it."""
