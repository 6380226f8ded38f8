"""The package held against the receipt that lies beside it.

No list in a bag holds its tag manifests (RFC 8493 §2.2.1): whoever changes one and all that it
lists leaves a valid bag. The receipt was written when the package was proved.
"""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.facts import PackageFacts

RECEIPT_DIFFERS = Kind(
    code="receipt-differs",
    severity=Severity.MEND,
    title="The package is not the one that the receipt beside it tells of",
    basis="own rule: a receipt holds the digests of the tag manifests of the package as proved",
    remedy="Ask the sender for the package and its receipt again; one of the two is another's.",
)
RECEIPT_UNREAD = Kind(
    code="receipt-unread",
    severity=Severity.QUERY,
    title="The file beside the package under the name of its receipt is not a receipt of it",
    basis="own rule: a receipt names the package and the digests of its tag manifests",
    remedy="Ask the sender what the file is, and for the receipt if there is one.",
)
KINDS = (RECEIPT_DIFFERS, RECEIPT_UNREAD)


def beside(package: PackageFacts) -> Iterator[Finding]:
    """Judge the receipt beside a package, if one was found."""
    receipt = package.receipt
    if receipt is None:
        return
    place = Place(file=printable(receipt.name))
    if receipt.stated is None:
        yield RECEIPT_UNREAD.at(place, "it is not a receipt of a package of that name.")
        return
    present = {manifest.name for manifest in package.manifests if manifest.is_tag}
    is_whole = not package.unseen and (package.archive is None or package.archive.whole)
    for name in sorted(present | set(receipt.stated)):
        shown = printable(name)
        if name not in receipt.stated:
            yield RECEIPT_DIFFERS.at(place, f"it does not tell of {shown}, which is there.")
        elif name not in present:
            if is_whole:
                yield RECEIPT_DIFFERS.at(place, f"it tells of {shown}, which is not there.")
        elif name in receipt.found:
            yield from _differing(place, shown, receipt.stated[name], receipt.found[name])


def _differing(
    place: Place, shown: str, stated: Mapping[str, str], found: Mapping[str, str]
) -> Iterator[Finding]:
    """Yield one finding for a tag manifest, however many algorithms tell that it is another."""
    for algorithm, digest in stated.items():
        if found[algorithm] != digest:
            text = f"by it the {algorithm} of {shown} is {digest[:16]}…, "
            yield RECEIPT_DIFFERS.at(place, f"{text}found was {found[algorithm][:16]}….")
            return
