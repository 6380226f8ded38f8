"""What a recorder says of a take in an iXML chunk."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class IxmlTrack:
    """One track of a file."""

    channel: int | None
    """The recorder's own number of it."""
    interleave: int | None
    """1-based place among the file's channels."""
    name: str
    function: str
    """As `M-MID`, as found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SyncPoint:
    """One moment that the recorder marked."""

    function: str
    """As `MARKER_GENERIC`, as found."""
    comment: str
    samples: int
    since_midnight: bool
    """True if `samples` counts from midnight, False if from the file's first."""
    frames: int
    """How long it lasts; 0 for a moment."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ixml:
    """What of the chunk is used: text as found, empty where there is none."""

    version: str
    project: str
    scene: str
    take: str
    tape: str
    note: str
    file_uid: str
    family_uid: str
    """The same in every file of one recording."""
    family_name: str
    total_files: int | None
    original_filename: str
    sample_rate_hz: int | None
    digitizer_sample_rate_hz: int | None
    bit_depth: int | None
    timestamp: int | None
    """Samples since midnight of the first sample."""
    timestamp_sample_rate_hz: int | None
    tracks: tuple[IxmlTrack, ...]
    sync_points: tuple[SyncPoint, ...]
    """Those whose place can be read."""
    bext: tuple[tuple[str, str], ...]
    """The copy of the `bext` chunk: name without `BWF_`, and value, in the order found."""
