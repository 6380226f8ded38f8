"""What a bag is in the words of RFC 8493 §3, apart from what this program thinks of it."""

from dataclasses import dataclass
from typing import Literal

BagWord = Literal[
    "malformed", "incomplete", "invalid", "not examined", "complete, not verified", "valid"
]
"""In the order in which the first that applies is taken.

`not examined`: a limit of ours, or a disk or permission, left open whether it is complete.
"""

WhyNot = Literal[
    "no file read",
    "algorithm unknown",
    "file not read",
    "not looked at",
    "left to be fetched",
    "in no tag manifest",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotVerified:
    """Files, folders or manifests that no checksum was held against, for one reason."""

    why: WhyNot
    count: int
    paths: tuple[str, ...] = ()
    """The first hundred."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BagState:
    """One word for the whole bag, and what that word says nothing about."""

    word: BagWord
    not_verified: tuple[NotVerified, ...] = ()
