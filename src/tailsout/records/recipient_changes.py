"""What changed from one version of a recipient's form to the next."""

from dataclasses import dataclass
from typing import Literal

Asks = Literal["more", "less", "otherwise"]
"""What a change means for packages: more may be lacking, less, or something else is wanted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One difference between two versions of a form."""

    part: str
    """Where it stands in the form, as a reader of it would say."""
    asks: Asks
    text: str
    """What it means, in one sentence."""
