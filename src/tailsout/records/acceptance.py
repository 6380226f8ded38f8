"""An acceptance: who takes which packages over, on what proof, and what may happen then."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Decision = Literal["accepted", "accepted with flags", "not accepted"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """What was decided of one package."""

    package: str
    decision: Decision
    verdict: str
    flags: tuple[str, ...]
    """Codes of what a person still has to decide, or of what stands against it."""
    title: str
    identifiers: tuple[str, ...]
    supersedes: str
    tag_manifests: Mapping[str, str]
    """SHA-512 of each tag manifest, by its name: which octets were accepted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """One document of acceptance."""

    number: int
    by: str
    accepted: str
    """Instant, RFC 3339, UTC."""
    software: str
    packages: tuple[Accepted, ...]
    receipt_sha512: str = ""
    """Of the receipt that it answers; empty if none was named."""
    note: str = ""
    delete_from: str = ""
    """Day from which the producer may delete what is accepted; empty if nothing was agreed."""

    @property
    def taken(self) -> tuple[Accepted, ...]:
        """The packages that were accepted, with flags or without."""
        return tuple(one for one in self.packages if one.decision != "not accepted")
