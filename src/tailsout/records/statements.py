"""What people state about a thing rather than of it: inferences, corrections, answers, jottings."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.records.vocab import Absence, Confidence, Decision


@dataclass(frozen=True, slots=True, kw_only=True)
class Inference:
    """A statement that was inferred, and what it rests on."""

    statement: str
    basis: tuple[str, ...] = ()
    confidence: Confidence | None = None
    rivals: tuple[str, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """Something that was said and is otherwise; what was said is kept."""

    about: str
    said: str
    is_so: str
    said_by: str | None = None
    basis: tuple[str, ...] = ()
    by: str | None = None
    on: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A person's decision on a finding that asked for one."""

    code: str
    place: str
    decision: Decision
    reason: str
    by: str
    on: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Jotting:
    """A line written down while the tape ran."""

    at: str
    text: str
    pass_id: str | None = None
    """Id of the pass that was running."""
