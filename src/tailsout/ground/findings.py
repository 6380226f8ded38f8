"""What is wrong with the material: collected, never raised.

A `Kind` is declared once, beside the code that emits it; a `Finding` is one case of it at a place.
Severities, verdicts and their order are decision 4 of DEVELOPERS.md.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs."""

    MEND = "mend"
    """Must be put right, at the desk or by asking the sender again."""
    QUERY = "query"
    """A person must decide."""
    NOTE = "note"


class Verdict(StrEnum):
    """The judgement of one package, most serious last in `_SERIOUSNESS`."""

    PASS = "pass"  # noqa: S105  a verdict, not a password
    OPEN = "open questions"
    NOT_EXAMINED = "not examined"
    FAIL = "fail"
    REFUSED = "refused"


_SERIOUSNESS = (
    Verdict.PASS,
    Verdict.OPEN,
    Verdict.NOT_EXAMINED,
    Verdict.FAIL,
    Verdict.REFUSED,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a finding sits: a file, and a line or a part of it."""

    file: str
    line: int | None = None
    """Line number, 1-based, in a text file."""
    part: str = ""
    """JSON pointer, form key, chunk and field, or octet offset."""

    def __str__(self) -> str:
        text = self.file if self.line is None else f"{self.file}:{self.line}"
        if not self.part:
            return text
        return f"{text}#{self.part}" if self.line is None else f"{text} {self.part}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One sort of finding, with the reason why it is one."""

    code: str
    """Stable for ever: lower case, words joined by hyphens."""
    severity: Severity
    title: str
    """What is wrong, in general: one short line."""
    basis: str
    """Document and clause, or `common practice, no source`."""
    remedy: str
    """What is not known and who decides; never a treatment, a bake or a re-play."""
    needs_reel: bool = False
    """True if the reel itself is wanted to settle it."""
    leads_to: Verdict | None = None
    """A verdict that does not follow from the severity: refused, or not examined."""

    @property
    def verdict(self) -> Verdict:
        """The verdict that one finding of this kind brings about."""
        if self.leads_to is not None:
            return self.leads_to
        return {
            Severity.MEND: Verdict.FAIL,
            Severity.QUERY: Verdict.OPEN,
            Severity.NOTE: Verdict.PASS,
        }[self.severity]

    def at(self, place: Place, text: str) -> "Finding":
        """Make a finding of this kind."""
        return Finding(kind=self, place=place, text=text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One case of a kind."""

    kind: Kind
    place: Place
    text: str
    """What was found and what was expected: one sentence."""
    answer_at: str = ""
    """The place an answer must name; empty where there is nothing to answer."""
    answered: str = ""
    """The answer a person gave: decision, who, when and why."""

    @property
    def severity(self) -> Severity:
        """How much it weighs: an answered query counts as a note."""
        return Severity.NOTE if self.answered else self.kind.severity

    @property
    def verdict(self) -> Verdict:
        """The verdict it brings about."""
        return Verdict.PASS if self.answered else self.kind.verdict

    @property
    def code(self) -> str:
        """Code of the kind."""
        return self.kind.code


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check of a judgement and whether it could be made."""

    name: str
    outcome: str
    """`passed`, `failed` or `not examined`."""
    why: str = ""
    """Why it was not examined."""
    decides: bool = False
    """True if the verdict depends on it: fixity, completeness, container, side-car schema."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """All findings and checks about one thing, and the verdict they make."""

    findings: tuple[Finding, ...]
    checks: tuple[Check, ...]

    @property
    def verdict(self) -> Verdict:
        """The most serious verdict of all findings and of the checks that decide."""
        return worst(self._verdicts())

    def _verdicts(self) -> Iterator[Verdict]:
        for finding in self.findings:
            yield finding.verdict
        for check in self.checks:
            if check.decides and check.outcome == "not examined":
                yield Verdict.NOT_EXAMINED


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the most serious of some verdicts; pass if there are none."""
    return max(verdicts, key=_SERIOUSNESS.index, default=Verdict.PASS)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort findings for reading: what needs the reel first, then by weight, place and code."""
    weight = list(Severity)
    return tuple(
        sorted(
            findings,
            key=lambda f: (
                not f.kind.needs_reel,
                weight.index(f.severity),
                f.place.file,
                f.place.line or 0,
                f.place.part,
                f.code,
                f.text,
            ),
        )
    )
