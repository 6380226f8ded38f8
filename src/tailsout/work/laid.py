"""What one capture becomes in a package."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tailsout.bag.plan import Made, Streamed, Written
from tailsout.ground.findings import Finding
from tailsout.records.dossier import FileRecord
from tailsout.work.access import LaidCopy


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A master laid out, and what goes with it."""

    master: Streamed
    copies: tuple[LaidCopy, ...]
    sidecar: Made
    gave_way: tuple[Made, ...]
    """What of the capture the master does not carry."""
    notes: tuple[Finding, ...]
    record: Callable[[Mapping[str, Written]], FileRecord]
    """What is known of the master once it stands."""

    @property
    def payload(self) -> tuple[Streamed | Made, ...]:
        """All that lies in `data`: the side-car last, since it tells of the rest."""
        return (self.master, *(one.file for one in self.copies), self.sidecar)
