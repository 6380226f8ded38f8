"""What the samples show now, against what a side-car or a bext chunk says was measured of them.

Two meters may differ by what the standards allow them; a side-car's own figures are held against
its `bext` to the last digit elsewhere (`rules/embedded.py`).
"""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded
from tailsout.records.sound import AudioFacts, KeptOverview
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
    title="The loudness in the bext chunk differs a little from what is measured now",
    basis="EBU Tech 3285 v2 §2.4; no further apart than two meters may be (Tech 3341, Tech 3342)",
    remedy="Nothing to do; it was measured by another meter.",
)
OVERVIEW_OTHERWISE = Kind(
    code="overview-measured-otherwise",
    severity=Severity.QUERY,
    title="The samples do not show the waveform or the spectrogram that the side-car keeps",
    basis="own rule: off by more than 1/10,000 of full scale, or by more than 1 dB above -120 dB",
    remedy="Do not go by the drawings of the report; the samples themselves are proved.",
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
_PART = 1
"""Of a waveform, in its own steps: either figure may have been rounded the other way."""
_LEVEL = 1
"""dB of a spectrogram, for the same reason."""
_FAINT = 120
"""dB below which a spectrogram shows how a program counts, rather than sound."""


def _again(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        if file.measured is None:
            continue
        if file.stated is not None:
            yield from _beside(file, file.stated.measured, file.measured)
            if file.stated.overview is not None:
                yield from _from_afar(file, file.stated.overview, file.overview)
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


def _from_afar(
    file: FileRecord, said: KeptOverview, found: KeptOverview | None
) -> Iterator[Finding]:
    beside = printable(file.path.rpartition(".")[0] + ".json")
    for part, lines, are_near in (
        ("channels", _of_waveform, _near_parts),
        ("spectrogram", _of_spectrogram, _near_levels),
    ):
        text = _otherwise(lines(said), lines(found) if found is not None else None, are_near)
        if text:
            place = Place(file=beside, part=f"/this_file/overview/{part}")
            yield OVERVIEW_OTHERWISE.at(place, text)


_Lines = tuple[tuple[object, ...], Mapping[str, tuple[int, ...]]]
"""What the columns stand for, and the lines of numbers by name."""


def _of_waveform(seen: KeptOverview) -> _Lines:
    lines = {
        f"{name} of channel {number}": _numbers(text)
        for number, one in enumerate(seen.channels, start=1)
        for name, text in (("low", one.low), ("high", one.high), ("rms", one.rms))
    }
    return (seen.seconds_a_column,), lines


def _of_spectrogram(seen: KeptOverview) -> _Lines:
    shown = seen.spectrogram
    lines = {f"band {n}": _numbers(text) for n, text in enumerate(shown.levels, start=1)}
    return (shown.seconds_a_column, shown.bands_hz), lines


def _numbers(text: str) -> tuple[int, ...]:
    return tuple(map(int, text.split()))


def _near_parts(said: int, found: int) -> bool:
    return abs(said - found) <= _PART


def _near_levels(said: int, found: int) -> bool:
    return abs(said - found) <= _LEVEL or min(said, found) > _FAINT


def _otherwise(said: _Lines, found: _Lines | None, are_near: Callable[[int, int], bool]) -> str:
    """Say how many numbers differ and which is the first; empty if none does."""
    if found is None or _grid(said) != _grid(found):
        return "its columns are not those that are measured now."
    far = [
        (name, at, claim, fact)
        for name, line in said[1].items()
        for at, (claim, fact) in enumerate(zip(line, found[1][name], strict=True), start=1)
        if claim != fact and not are_near(claim, fact)
    ]
    if not far:
        return ""
    name, at, claim, fact = far[0]
    count = f"{len(far)} numbers differ" if len(far) > 1 else "one number differs"
    return f"{count}, first in {name}, column {at}: it states {claim}, measured now: {fact}."


def _grid(lines: _Lines) -> tuple[object, Mapping[str, int]]:
    return lines[0], {name: len(line) for name, line in lines[1].items()}


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
        kinds=(MEASURED_OTHERWISE, BEXT_MEASURED_OTHERWISE, BEXT_NEAR, OVERVIEW_OTHERWISE),
        needs=frozenset({"structure", "headers", "samples"}),
        run=_again,
    ),
)
