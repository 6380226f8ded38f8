"""Access copies: for listening, made from a master, which stays as it is."""

from dataclasses import dataclass
from fractions import Fraction

from tailsout.records.vocab import CopyFormat, CopyStepKind


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyStep:
    """One step by which a copy was made."""

    step: CopyStepKind
    software: str
    """By what, with its version."""
    how: str
    """With which parameters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessCopy:
    """A copy, in the side-car of the master that it was made from."""

    path: str
    """In the package."""
    octets: int
    sha256: str
    sha512: str
    format: CopyFormat
    start: int
    """First sample of the master that is in it."""
    end: int
    """Sample of the master after the last one in it."""
    regions: tuple[str, ...]
    """Ids of the regions in it."""
    sample_rate_hz: int
    channels: int
    frames: int
    """Samples per channel, counted by decoding it."""
    clipped_samples: int
    """Samples that would have been above full scale."""
    steps: tuple[CopyStep, ...]
    """In order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyRecipe:
    """All that settles the samples of a copy, and how they are encoded."""

    format: CopyFormat
    start: int
    """First sample of the master that is in it."""
    end: int
    sample_rate_hz: int
    bits: int | None
    """None where the format has none."""
    kilobits_per_second: int | None
    speed_ratio: Fraction = Fraction(1)
    """Speed of the replay ÷ that of the recording; 1 where it is not to be put right."""
    recorded: tuple[float | None, float] | None = None
    """Curve of the tape, (t1, t2) in µs; None where it is not to be put right."""
    replayed: tuple[float | None, float] | None = None
    """Curve that it was played by, in the programme's own time."""
    curve_ratio: Fraction = Fraction(1)
    """Speed of the replay ÷ that of the recording, whether it is put right or not."""
