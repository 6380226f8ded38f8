"""By what packages of a batch are held against each other: digests and names, nothing else."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class MasterMark:
    """What is kept of one audio file."""

    path: str
    essence_sha256: str
    """Empty where nothing tells."""
    frames: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What is kept of one package."""

    itself: str
    """The same for copies and versions of one package, and for no other."""
    job_id: str
    """Empty for a package that is none of ours."""
    identifiers: tuple[str, ...]
    """Of the reel, in lower case, sorted."""
    masters: tuple[MasterMark, ...]
