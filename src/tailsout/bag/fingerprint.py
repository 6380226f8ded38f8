"""Takes down by what a package will be known again, without reading it through.

Of a folder the listing with all times and the manifests, of an archive its size and times: nothing
of it is unpacked for that. The receipt, and the digests of an archive, are what lies beside.
"""

import hashlib
import os
from pathlib import Path

from tailsout.bag.archive import digest_beside
from tailsout.bag.names import from_disk
from tailsout.bag.notes import DEFAULT_CAPS
from tailsout.bag.readable import ReadableBag
from tailsout.bag.receipt_beside import Found, find
from tailsout.bag.tree import Tree
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import printable
from tailsout.records.fingerprint import Fingerprint


def fingerprint_of(bag: ReadableBag, receipt: Found | None = None) -> Fingerprint | None:
    """Return by what a folder is known again; None of an archive, or if a tag file is not read."""
    facts = bag.facts
    if facts.archive is not None:
        return None
    listing = hashlib.sha256()
    for file in facts.files:
        listing.update(_line(file.path, file.octets, *file.changed_ns))
    for one in facts.observations:
        # Links, pipes, empty folders: what is there and is not a file.
        listing.update(f"{one}\n".encode("utf-8", "surrogatepass"))
    tags = ["bagit.txt", *(manifest.name for manifest in facts.manifests)]
    digests = _of_receipt(receipt)
    try:
        for name in tags:
            digests[printable(name)] = _sha256(bag.read(name, DEFAULT_CAPS.manifest_octets))
    except TailsoutError:
        return None
    return Fingerprint(
        files=len(facts.files),
        octets=sum(file.octets for file in facts.files),
        listing_sha256=listing.hexdigest(),
        tag_files=digests,
    )


def archive_fingerprint(path: Path) -> Fingerprint | None:
    """Return by what an archive is known again; None if that cannot be told.

    To be asked before it is opened, so that what is judged is this or something later.
    """
    # The archive may be a link: the user named it.
    place = Path(os.path.realpath(path))
    called = from_disk(place.name)
    digests = _of_receipt(find(place))
    try:
        if not place.is_file():
            return None
        folder = Tree(place.parent)
    except OSError:
        return None
    try:
        status = folder.status(called)
        for name in digest_beside.names_beside(folder, called):
            digests[printable(name)] = _sha256(folder.read(name, DEFAULT_CAPS.manifest_octets))
    except (OSError, TailsoutError):
        return None
    finally:
        folder.close()
    line = _line(called, status.st_size, status.st_mtime_ns, status.st_ctime_ns)
    return Fingerprint(
        files=1, octets=status.st_size, listing_sha256=_sha256(line), tag_files=digests
    )


def _of_receipt(receipt: Found | None) -> dict[str, str]:
    return {} if receipt is None else {printable(receipt.name): _sha256(receipt.content)}


def _line(path: str, octets: int, content_ns: int, status_ns: int) -> bytes:
    named = path.encode("utf-8", "surrogatepass")
    return b"%s\0%d\0%d\0%d\n" % (named, octets, content_ns, status_ns)


def _sha256(octets: bytes) -> str:
    return hashlib.sha256(octets).hexdigest()
