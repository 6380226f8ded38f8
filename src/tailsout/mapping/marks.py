"""Places in one file, as the chunks that hold such places take them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One moment or stretch."""

    frame: int
    """Sample frame in the file, 0 the first."""
    label: str
    note: str = ""
    frames: int | None = None
    """How long it is; None for a moment."""
