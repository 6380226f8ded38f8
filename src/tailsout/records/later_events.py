"""What happened to a package when it stood already, as documents beside it tell."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Afterwards:
    """One document: the receipt of a package, that of the drive it came on, or an acceptance."""

    what: Literal["fixity check", "receipt", "acceptance"]
    sha512: str
    """Of the document."""
    when: str
    """Instant, RFC 3339, UTC."""
    software: str
    by: str = ""
    """Who accepted it; empty where nobody is named."""
    details: tuple[str, ...]
    outcome: str
