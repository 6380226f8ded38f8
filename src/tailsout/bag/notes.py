"""What the reader may observe in a bag, and where it stops reading.

The kinds are stable words; what each one weighs is for a rule to say. One hundred cases of a kind
are listed one by one, the rest are counted: a hostile bag must not fill the memory with faults.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from tailsout.records.facts import Observation

KINDS: Mapping[str, str] = {
    # bagit.txt and the frame of the bag
    "no-bagit-txt": "RFC 8493 §2.1.1: a bag holds the regular file bagit.txt",
    "bagit-txt-malformed": "RFC 8493 §2.1.1: exactly two lines, in this order and spelling",
    "version-unknown": "RFC 8493 §2.1.1: a version other than 1.0 and the drafts 0.93 to 0.97",
    "encoding-not-allowed": "RFC 8493 §2.1.1, §2.3: an encoding this reader does not decode",
    "no-payload-directory": "RFC 8493 §2.1.2: a bag holds the directory data",
    "no-payload-manifest": "RFC 8493 §2.1.3: a bag holds at least one payload manifest",
    # any tag file
    "tag-file-undecodable": "RFC 8493 §2.3: octets that are not in the encoding declared",
    "tag-file-too-large": "our limit: the file was not read",
    "line-too-long": "our limit: the line was passed over",
    "bom": "RFC 8493 §2.1.1, §2.3: a byte-order mark where none may stand",
    # manifests
    "algorithm-unknown": "RFC 8493 §2.4: a manifest whose digests cannot be taken here",
    "manifest-line-malformed": "RFC 8493 §2.1.3: digest, blanks, path",
    "manifest-marker": "RFC 8493 §6.1.3: the asterisk of checksum tools before a path",
    "digest-malformed": "RFC 8493 §2.1.3, §2.4: not hexadecimal, or not the algorithm's length",
    "digest-upper-case": "RFC 8493 §2.1.3: allowed, but a changed letter case goes unseen",
    "path-unsafe": "RFC 8493 §5.1: a path that could lead out of the bag; the line is left out",
    "path-outside-payload": "RFC 8493 §2.1.3, §2.2.1, §2.2.3: a path that list may not hold",
    "listed-twice": "RFC 8493 §2.1.3: every file is listed exactly once",
    "percent-raw": "RFC 8493 §2.1.3: percent codes are not spelled as the version asks",
    "name-form-differs": "RFC 8493 §6.1.1.3: list and disk differ in Unicode normalisation only",
    # the tree on disk
    "link": "RFC 8493 §5.1 by intent: a symbolic link; it is never followed",
    "special-file": "RFC 8493 §2.1.2: no file of octets but a pipe, socket or device; not opened",
    "hard-link": "common practice, no source: a file that has more than one name",
    "too-deep": "our limit: the directory was not entered",
    "too-many": "our limit: the rest was not looked at",
    "unreadable": "the surroundings: permission or a disk fault stands in the way",
    "empty-directory": "RFC 8493 §2.1.3: a manifest cannot list a directory, so it may be lost",
    "name-twins": "RFC 8493 §6.1.1.3: two names that differ in case or normalisation only",
    "name-undecodable": "RFC 8493 §6.1.1: the octets of the name are not UTF-8",
    "name-controls": "Unicode TR 36 §3: control, format or direction characters in a name",
    "name-not-portable": "RFC 8493 §6.1.2: a name that some systems cannot hold",
    "hidden-file": "common practice, no source: often litter left by an operating system",
    # fetch.txt
    "fetch-txt": "RFC 8493 §2.2.3: the bag is holey; nothing is ever fetched",
    "fetch-line-malformed": "RFC 8493 §2.2.3: URL, length, path",
    "fetch-not-listed": "RFC 8493 §2.2.3: a file to fetch is in every payload manifest",
    "to-be-fetched": "RFC 8493 §3: a file that is not in the bag yet; the bag is incomplete",
    # bag-info.txt
    "bag-info-malformed": "RFC 8493 §2.2.2: label, colon, one blank, value",
    "oxum-malformed": "RFC 8493 §2.2.2: Payload-Oxum is octets, a full stop, files",
    "oxum-repeated": "RFC 8493 §2.2.2: Payload-Oxum stands once at most",
}
"""Every kind of observation, with the clause it rests on."""

MOST_OF_A_KIND = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Caps:
    """Where the reader stops, whatever the bag claims."""

    entries: int = 200_000
    """Files, directories and others below the base directory."""
    depth: int = 64
    """Parts of a path."""
    manifest_octets: int = 16 << 20
    """Octets of a manifest or of fetch.txt."""
    tag_octets: int = 1 << 20
    """Octets of bagit.txt or bag-info.txt."""
    line: int = 64 << 10
    """Characters of a line."""
    manifests: int = 16
    """Manifests and tag manifests together."""
    manifest_lines: int = 1_000_000
    """Lines of all manifests together."""


class Notes:
    """Gathers observations in the order they are made."""

    def __init__(self) -> None:
        self._all: list[Observation] = []
        self._count: dict[str, int] = {}
        self._first_left_out: dict[str, str] = {}

    def add(self, kind: str, file: str, line: int | None = None, text: str = "") -> None:
        """Note one case. Raises KeyError if the kind is not declared."""
        if kind not in KINDS:
            raise KeyError(kind)
        self._count[kind] = self._count.get(kind, 0) + 1
        if self._count[kind] <= MOST_OF_A_KIND:
            self._all.append(Observation(kind=kind, file=file, line=line, text=text))
        else:
            self._first_left_out.setdefault(kind, file)

    def observations(self) -> tuple[Observation, ...]:
        """Return all that was noted; what went beyond the limit as one sum of its kind."""
        sums = [
            Observation(
                kind=kind,
                file=file,
                text=f"This and {self._count[kind] - MOST_OF_A_KIND - 1} more are not listed.",
            )
            for kind, file in self._first_left_out.items()
        ]
        return (*self._all, *sums)
