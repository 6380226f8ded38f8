"""Who asked for the transfer, and what had been recorded."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.records.statements import Inference
from tailsout.records.vocab import Absence, Generation


@dataclass(frozen=True, slots=True, kw_only=True)
class Rights:
    """Who holds the rights, and what may be done."""

    statement: str | None = None
    holder: str | None = None
    restriction: str | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Commission:
    """Who asked for the transfer, and what was agreed."""

    asked_by: str | None = None
    purpose: str | None = None
    deliverables: tuple[str, ...] = ()
    agreement: str | None = None
    profile_version: str | None = None
    on: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What several reels form together."""

    id: str
    title: str | None = None
    part: int | None = None
    parts: int | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """What was recorded, when, where and by whom."""

    what: str | None = None
    when: str | None = None
    place: str | None = None
    country: str | None = None
    recorded_by: tuple[str, ...] = ()
    speakers: tuple[str, ...] = ()
    performers: tuple[str, ...] = ()
    languages: tuple[str, ...] = ()
    generation: Generation | None = None
    machine: Inference | None = None
    last_played: str | None = None
    rights: Rights | None = None
    sensitivity: str | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)
