"""What came on a drive: the receipt, and what was made of it afterwards."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

DifferenceKind = Literal[
    "listed and not received",
    "received and not listed",
    "not as listed",
    "how the list was read",
    "received twice",
    "two versions",
    "not to be read",
]
Rework = Literal["repair the metadata", "re-deliver", "needs the reel", "of two packages"]
"""Who has to do what: all but the first at the producer's."""
Manner = Literal["ours", "not our way"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrived:
    """One package as it came, before it was judged."""

    package: str
    """Its path on the drive."""
    files: int
    octets: int
    tag_manifests: Mapping[str, str]
    """SHA-512 of each tag manifest, by its name."""
    came_before: bool = False
    """It, or another version of it, is in the receipt before this one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LyingBeside:
    """What came and belongs to no package, so that it was not judged."""

    path: str
    """On the drive: a file at its root, or a folder with all that is in it."""
    files: int
    octets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Where the drive and its sender's manifest depart from each other, or what is odd on it."""

    kind: DifferenceKind
    package: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """Something done at receipt that somebody tells of: a virus scan, an agreement."""

    what: str
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """The receipt of one drive."""

    number: int
    """Counted from 1; a redelivery counts on."""
    drive: str
    received: str
    """Instant, RFC 3339, UTC."""
    software: str
    mounted_read_only: bool | None = None
    """None if the system does not say."""
    packages: tuple[Arrived, ...]
    files_beside: int
    """Files that belong to no package, lists of the sender among them."""
    octets_beside: int
    beside: tuple[LyingBeside, ...] = ()
    """All of them; of very many the first ones."""
    manifest: str = ""
    """Name of the sender's manifest; empty if there was none."""
    differences: tuple[Difference, ...] = ()
    happenings: tuple[Happening, ...] = ()
    answer_by: str = ""
    """Day by which the producer is to be answered; empty if none was agreed."""
    first_received: str = ""
    """When the first delivery came that this one continues; empty if it continues none."""
    outstanding: tuple[str, ...] = ()
    """Packages of the earlier rework list that have not come again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRow:
    """One finding of one package."""

    package: str
    code: str
    severity: str
    """An answered query counts as a note."""
    place: str
    alike: str
    """The place without what tells one package from another."""
    text: str
    remedy: str
    rework: Rework | None = None
    """None where there is nothing to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What was made of one package."""

    package: str
    verdict: str
    bag: str
    """In the words of RFC 8493; empty if that cannot be said."""
    manner: Manner
    otherwise: tuple[str, ...]
    """In what it is not made our way, which is no fault."""
    title: str
    identifiers: tuple[str, ...]
    supersedes: str
    findings: tuple[FindingRow, ...]
    """The most serious first; of very many not all."""
    counts: Mapping[str, int]
    """How many findings there are in all, by their severity."""
    why: str = ""
    """Why it could not be judged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judging:
    """When and how a drive was judged."""

    judged: str
    """Instant, RFC 3339, UTC."""
    software: str
    depth: str
    bagit_only: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Systematic:
    """One fault at one kind of place in most packages: of how they were made, not of one."""

    code: str
    severity: str
    alike: str
    packages: int
    of: int
    example: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One stretch of an audio file that is to be listened to, with what its listener must know."""

    package: str
    path: str
    position: str
    start: str
    end: str
    start_sample: int
    end_sample: int
    why: str
    regions: str
    condition: str
    treatment: str
    notes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """A listening sample that can be drawn again."""

    seed: str
    share_percent: str
    seconds: int
    files: int
    """Audio files that could be drawn."""
    drawn: int
    forced: int
    """Taken beside those that were drawn."""
    stretches: tuple[Stretch, ...]
    odds: tuple[str, ...]
    """What such a sample can and cannot tell, one sentence each."""
