"""A fault met while reading bytes: observed here, judged by a rule."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """One fault in a file's structure."""

    kind: str
    """Short stable word for the sort of fault, lower case with hyphens."""
    offset: int
    """Octet offset from the start of the file."""
    text: str
    """What was met and what should be there: one sentence."""
