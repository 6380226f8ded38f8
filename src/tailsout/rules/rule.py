"""What a rule is: a generator over a Dossier, and what must have been examined for it to speak."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tailsout.ground.findings import Finding, Kind
from tailsout.records.dossier import Dossier, Examined
from tailsout.records.facts import PackageFacts
from tailsout.records.transfer import Transfer


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
