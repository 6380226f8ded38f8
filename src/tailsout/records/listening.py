"""What was heard in the captures, and by whom."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tailsout.records.vocab import Absence, DefectHome, ListeningVerdict, NoticedBy


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalNote:
    """Something heard or seen in the signal, and where it lives."""

    capture: str
    """Id of the capture."""
    start: int
    """Where it starts: sample position."""
    heard: str
    end: int | None = None
    """Where it ends."""
    channel: str | None = None
    lives_in: DefectHome | None = None
    noticed: NoticedBy | None = None
    by: str | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listening:
    """Who listened, to how much, and with what verdict."""

    by: str | None = None
    on: str | None = None
    capture: str | None = None
    """Id of the capture; left out: all."""
    share_percent: Decimal | None = None
    """Share listened to, per cent."""
    verdict: ListeningVerdict | None = None
    note: str | None = None
    absent: Mapping[str, Absence] = field(default_factory=dict)
