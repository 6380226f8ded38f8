"""What a gate tells: before a reel is threaded, before it is unloaded, before it is boxed."""

from dataclasses import dataclass
from typing import Literal

from tailsout.ground.findings import Finding

Stage = Literal["threading", "unloading", "boxing"]
Word = Literal["GO", "STOP", "OFF", "KEEP", "WAIT", "BOX", "OPEN"]
"""The answer, to be read from across the room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of a sheet; without words it is filled in by hand."""

    label: str
    says: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A ruled part of a sheet."""

    title: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What somebody at the machine reads and fills in."""

    title: str
    subtitle: str
    on: str
    """When it was made, RFC 3339 in UTC."""
    stops: tuple[Finding, ...]
    """What stands against going on; each asks for somebody else's word."""
    cautions: tuple[str, ...]
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """The answer of a gate, and what it rests on."""

    stage: Stage
    why: str
    """Why this stage: it was asked for, or what it was inferred from."""
    word: Word
    answer: str
    """The word as a sentence."""
    because: tuple[str, ...]
    """Reasons, the weightiest first."""
    needs_reel: tuple[Finding, ...] = ()
    """What only the reel can settle."""
    at_desk: tuple[Finding, ...] = ()
    """What can be put right or decided without the reel."""
    before_boxing: tuple[Finding, ...] = ()
    """What is still to do before the reel goes back into its box."""
    notes: int = 0
    """Findings that ask for nothing."""
    parts: tuple[Part, ...] = ()
    """What there is to see at this stage."""
    sheet: Sheet | None = None
    """The set-up sheet; at threading alone."""
    is_whole: bool = True
    """False while samples have not been read: more may be found."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All that asks for something, in the order in which it is told."""
        stops = self.sheet.stops if self.sheet is not None else ()
        return (*stops, *self.needs_reel, *self.at_desk, *self.before_boxing)
