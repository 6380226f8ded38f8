"""What all packages of a drive come to: judged, held against each other, drawn from."""

from dataclasses import dataclass
from decimal import Decimal

from tailsout.ground.findings import Verdict
from tailsout.records.arrival import FindingRow, Judged, Sample, Systematic
from tailsout.records.marks import Marks
from tailsout.rules.batch import across
from tailsout.work.check_many import Told
from tailsout.work.receiving.judgements import NOT_JUDGED, across_rows, judged
from tailsout.work.receiving.sample import Candidate, candidates, draw
from tailsout.work.receiving.systematic import systematic

_WORST_FIRST = (
    *(Verdict.REFUSED.value, Verdict.FAIL.value, NOT_JUDGED),
    *(Verdict.NOT_EXAMINED.value, Verdict.OPEN.value, Verdict.PASS.value),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listening:
    """How the listening sample is to be drawn."""

    seed: str
    share_percent: Decimal
    seconds: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What was made of all packages."""

    packages: tuple[Judged, ...]
    """Worst first."""
    systematic: tuple[Systematic, ...]
    across: tuple[FindingRow, ...]
    """What stands in two packages that only one can rightly say."""
    sample: Sample


class Tally:
    """What is kept of packages as they are judged: so little that a drive may hold any number."""

    def __init__(self) -> None:
        self._packages: list[Judged] = []
        self._marks: list[tuple[str, Marks]] = []
        self._audio: list[Candidate] = []

    def add(self, one: Told, name: str, mark: Marks | None) -> None:
        """Add a package, called `name` in the lists."""
        self._packages.append(judged(one, name))
        if one.checked is not None and mark is not None:
            self._marks.append((name, mark))
            self._audio += candidates(name, one.checked.dossier)

    def outcome(self, listening: Listening) -> Outcome:
        """Return what all of them come to, the worst first."""
        worst_first = sorted(
            self._packages, key=lambda one: (_WORST_FIRST.index(one.verdict), one.package)
        )
        return Outcome(
            packages=tuple(worst_first),
            systematic=systematic(worst_first),
            across=across_rows(across(self._marks)),
            sample=draw(
                self._audio,
                seed=listening.seed,
                share_percent=listening.share_percent,
                seconds=listening.seconds,
            ),
        )
