"""What the samples show now, against what a side-car or a bext chunk says was measured of them.

Two meters may differ by what the standards allow them; a side-car's own figures are held against
its `bext` to the last digit elsewhere (`rules/embedded.py`).
"""

from collections.abc import Iterator
from decimal import Decimal

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded
from tailsout.records.sound import AudioFacts
from tailsout.rules.rule import Rule

MEASURED_OTHERWISE = Kind(
    code="measured-otherwise",
    severity=Severity.QUERY,
    title="The samples do not show what the side-car says was measured of them",
    basis="own rule: further apart than two meters may be (EBU Tech 3341 v4, Tech 3342: Table 1)",
    remedy="Ask the sender which meter the side-car is from; the samples themselves are proved.",
)
BEXT_MEASURED_OTHERWISE = Kind(
    code="bext-loudness-measured-otherwise",
    severity=Severity.QUERY,
    title="The samples do not show the loudness that the bext chunk states",
    basis="EBU Tech 3285 v2 §2.4; further apart than two meters may be (Tech 3341, Tech 3342)",
    remedy="Ask the sender what was done to the file after it was measured, or by which meter.",
)
BEXT_NEAR = Kind(
    code="bext-loudness-near",
    severity=Severity.NOTE,
    title="The bext chunk states loudness a little otherwise than it is measured now",
    basis="EBU Tech 3285 v2 §2.4; no further apart than two meters may be (Tech 3341, Tech 3342)",
    remedy="Nothing to do; it was measured by another meter.",
)

_ROUNDED = Decimal("0.01")
"""Both figures are stored to a hundredth."""
# How far two meters may lie apart: one may read as low as is allowed, the other as high.
_LOUDNESS = Decimal("0.1") * 2
_MAXIMA = Decimal("0.5")
"""Of a stranger's meter: its windows may begin elsewhere."""
_RANGE = Decimal(1) * 2
_TRUE_PEAK = Decimal("0.4") + Decimal("0.2")
_SAMPLE_PEAK = Decimal(0)
_TENTH = Decimal("0.05")
"""Many meters tell a tenth."""


def _again(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        if file.measured is None:
            continue
        if file.stated is not None:
            yield from _beside(file, file.stated.measured, file.measured)
        elif file.embedded is not None and file.embedded.version >= 2:
            yield from _inside(file, file.embedded, file.measured)


def _beside(file: FileRecord, said: AudioFacts, found: AudioFacts) -> Iterator[Finding]:
    beside = printable(file.path.rpartition(".")[0] + ".json")
    for field, claim, fact, apart in (
        ("integrated_lufs", said.integrated_lufs, found.integrated_lufs, _LOUDNESS),
        ("momentary_max_lufs", said.momentary_max_lufs, found.momentary_max_lufs, _LOUDNESS),
        ("short_term_max_lufs", said.short_term_max_lufs, found.short_term_max_lufs, _LOUDNESS),
        ("range_lu", said.range_lu, found.range_lu, _RANGE),
        ("true_peak_dbtp", said.true_peak_dbtp, found.true_peak_dbtp, _TRUE_PEAK),
        ("sample_peak_dbfs", said.sample_peak_dbfs, found.sample_peak_dbfs, _SAMPLE_PEAK),
    ):
        if _differ(claim, fact, apart):
            place = Place(file=beside, part=f"/this_file/measured/{field}")
            yield MEASURED_OTHERWISE.at(place, _text(claim, fact))


def _inside(file: FileRecord, said: Embedded, found: AudioFacts) -> Iterator[Finding]:
    momentary, short_term = found.momentary_max_lufs, found.short_term_max_lufs
    near = []
    for field, claim, fact, apart in (
        ("LoudnessValue", said.loudness_value, found.integrated_lufs, _LOUDNESS),
        ("LoudnessRange", said.loudness_range, found.range_lu, _RANGE),
        ("MaxTruePeakLevel", said.max_true_peak_level, found.true_peak_dbtp, _TRUE_PEAK),
        ("MaxMomentaryLoudness", said.max_momentary_loudness, momentary, _MAXIMA),
        ("MaxShortTermLoudness", said.max_short_term_loudness, short_term, _MAXIMA),
    ):
        # A value that is left unknown states nothing.
        if claim is not None and _differ(claim, fact, apart):
            place = Place(file=printable(file.path), part=f"bext.{field}")
            yield BEXT_MEASURED_OTHERWISE.at(place, _text(claim, fact))
        elif claim is not None and _differ(claim, fact, _TENTH):
            near.append(f"{field} {claim}, measured {fact}")
    if near:
        place = Place(file=printable(file.path), part="bext")
        yield BEXT_NEAR.at(place, f"{'; '.join(near)}.")


def _differ(claim: Decimal | None, fact: Decimal | None, apart: Decimal) -> bool:
    if claim is None or fact is None:
        return claim is not fact
    return abs(claim - fact) > apart + (_ROUNDED if apart else 0)


def _text(claim: Decimal | None, fact: Decimal | None) -> str:
    said, found = ("nothing" if one is None else str(one) for one in (claim, fact))
    return f"it states {said}, measured now: {found}."


RULES = (
    Rule(
        name="samples measured again",
        kinds=(MEASURED_OTHERWISE, BEXT_MEASURED_OTHERWISE, BEXT_NEAR),
        needs=frozenset({"structure", "headers", "samples"}),
        run=_again,
    ),
)
