"""What a rule is: a generator over a Dossier, and what must have been examined for it to speak."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from tailsout.ground.findings import Finding, Kind, Place
from tailsout.records.dossier import Dossier, Examined
from tailsout.records.facts import Manifest, PackageFacts
from tailsout.records.transfer import Transfer

MOST_OF_A_KIND = 10_000
ASK_AGAIN = "Ask the sender for the package again; the copy at hand is not to be relied on."
SEAL_ANEW = "Ask the sender to put the bag's own files right and seal it anew; payload may stay."


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One check of a Dossier; no I/O."""

    name: str
    """As reports show it."""
    kinds: tuple[Kind, ...]
    """Every kind it may yield."""
    needs: frozenset[Examined]
    """The rule is not examined while one of these is missing."""
    run: Callable[[Dossier], Iterator[Finding]]
    decides: bool = False
    """True if the verdict hangs on it: fixity, completeness, container, side-car schema."""


def package_of(dossier: Dossier) -> PackageFacts:
    """Return the bag's facts, for a rule that needs `structure`."""
    if dossier.package is None:
        raise ValueError("structure was examined, so there are package facts")
    return dossier.package


def transfer_of(dossier: Dossier) -> Transfer:
    """Return what people stated, for a rule that needs `statements`."""
    if dossier.transfer is None:
        raise ValueError("statements were examined, so there is a transfer")
    return dossier.transfer


def bounded(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Pass on so many of each kind, and one for all beyond: a hostile bag must not fill memory."""
    counts: Counter[Kind] = Counter()
    beyond: dict[Kind, Place] = {}
    for one in findings:
        counts[one.kind] += 1
        if counts[one.kind] <= MOST_OF_A_KIND:
            yield one
        else:
            beyond.setdefault(one.kind, one.place)
    for kind, place in beyond.items():
        more = counts[kind] - MOST_OF_A_KIND - 1
        yield kind.at(place, f"this and {more} more are not listed one by one.")


def payload_manifests(package: PackageFacts) -> list[Manifest]:
    """Return the payload manifests of a bag, those not read to their end too."""
    return [m for m in package.manifests if not m.is_tag]
