"""A correction after bagging: a new version of a package, and what it supersedes."""

from collections.abc import Mapping
from dataclasses import dataclass

from tailsout.records.vocab import FileAct, StatementAct


@dataclass(frozen=True, slots=True, kw_only=True)
class StatementChange:
    """One statement that was changed."""

    at: str
    """JSON pointer into the side-car."""
    change: StatementAct
    was: str | None = None
    """What stood there: a text to the letter, anything else as JSON. None where nothing did, or
    where it is withheld."""
    now: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FileChange:
    """One file that was changed."""

    path: str
    """Path in the package."""
    change: FileAct
    now: str | None = None
    """Path of what took its place, where that is another one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment:
    """One correction: who, when, why, what changed, and which version it supersedes."""

    version: int
    """Number of the version that it made; the package as first closed is version 1."""
    supersedes: str
    """Name of the version that it supersedes."""
    manifests: Mapping[str, str]
    """SHA-512 of every manifest and tag manifest of that version, by its name there."""
    by: str
    on: str
    why: str
    written: str
    """Instant, RFC 3339, UTC."""
    software: str
    statements: tuple[StatementChange, ...] = ()
    files: tuple[FileChange, ...] = ()
    algorithms: tuple[str, ...] = ()
    """Digest algorithms that were added."""
