"""The files as the recorder wrote them."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.records.vocab import Absence


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One file of a capture that the recorder split."""

    file: str
    """Path in the job folder."""
    time_reference: int | None = None
    """TimeReference of its first sample, as the recorder wrote it."""
    frames: int | None = None
    """Samples per channel."""
    absent: Mapping[str, Absence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Capture:
    """One file as the recorder wrote it."""

    id: str
    file: str
    """Path in the job folder."""
    pass_id: str | None = None
    """Id of the pass it was made in."""
    started: str | None = None
    program: str | None = None
    note: str | None = None
    original_name: str | None = None
    clock: str | None = None
    rate_converted: bool | None = None
    """Whether the rate was converted."""
    normalised: bool | None = None
    """Whether the level was changed after capture."""
    at_rest: str | None = None
    mono_files: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    absent: Mapping[str, Absence] = field(default_factory=dict)
