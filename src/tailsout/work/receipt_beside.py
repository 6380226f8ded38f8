"""Takes what a receipt tells of a package's tag manifests, and what they are now."""

from tailsout.bag.notes import DEFAULT_CAPS
from tailsout.bag.readable import ReadableBag
from tailsout.bag.receipt_beside import Found
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import TailsoutError
from tailsout.mapping.receipt import tag_manifests
from tailsout.records.facts import ReceiptBeside


def read_receipt(bag: ReadableBag, receipt: Found) -> ReceiptBeside:
    """Read a receipt, and take the digests that it states of each tag manifest that is there."""
    stated = tag_manifests(receipt.content, receipt.package)
    found = {}
    for manifest in bag.facts.manifests:
        if stated is None or manifest.name not in stated:
            continue
        try:
            content = bag.read(manifest.name, DEFAULT_CAPS.manifest_octets)
        except TailsoutError:
            # That it cannot be read is observed by the reader.
            continue
        found[manifest.name] = digests_of(content, tuple(stated[manifest.name]))
    return ReceiptBeside(name=receipt.name, stated=stated, found=found)
