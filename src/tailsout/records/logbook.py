"""A machine's logbook: how long tape was in contact with its heads, package by package."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLine:
    """What one package, or the calibration of one session, put on a machine."""

    key: str
    """Package id; `session <id>` for the calibration tapes of a session. Written once."""
    job_id: str
    machine: str
    on: str
    """Date, or date and time, of the first pass."""
    programme_minutes: Decimal = Decimal(0)
    winding_minutes: Decimal = Decimal(0)
    tone_minutes: Decimal = Decimal(0)
    holds: tuple[str, ...] = ()
    """SHA-256 of the captures of calibration tapes that the package holds."""

    @property
    def hours(self) -> Decimal:
        """Hours of tape contact."""
        return (self.programme_minutes + self.winding_minutes + self.tone_minutes) / 60
