"""Takes down by what an open bag will be known again: its listing with all times, its manifests."""

import hashlib

from tailsout.bag.open import DEFAULT_CAPS
from tailsout.bag.readable import ReadableBag
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import printable
from tailsout.records.seen import Seen


def seen_of(bag: ReadableBag) -> Seen | None:
    """Return by what a bag is known again; None of an archive, or if a tag file cannot be read."""
    facts = bag.facts
    if facts.archive is not None:
        return None
    listing = hashlib.sha256()
    for file in facts.files:
        path = file.path.encode("utf-8", "surrogatepass")
        listing.update(b"%s\0%d\0%d\0%d\n" % (path, file.octets, *file.changed_ns))
    for one in facts.observations:
        # Links, pipes, empty folders: what is there and is no file.
        listing.update(f"{one}\n".encode("utf-8", "surrogatepass"))
    tags = ["bagit.txt", *(manifest.name for manifest in facts.manifests)]
    digests = {}
    try:
        for name in tags:
            content = bag.read(name, DEFAULT_CAPS.manifest_octets)
            digests[printable(name)] = hashlib.sha256(content).hexdigest()
    except TailsoutError:
        return None
    return Seen(
        files=len(facts.files),
        octets=sum(file.octets for file in facts.files),
        listing_sha256=listing.hexdigest(),
        tag_files=digests,
    )
