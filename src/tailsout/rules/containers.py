"""Damage to wave files as the readers met it, and audio that cannot be what a tape gave."""

from collections.abc import Iterator

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.facts import Embedded
from tailsout.rules.answers import is_answerable
from tailsout.rules.damage import KIND_OF
from tailsout.rules.rule import Rule

NO_AUDIO = Kind(
    code="no-audio",
    severity=Severity.MEND,
    title="A wave file holds no samples",
    basis="own rule: a capture without sound documents nothing",
    remedy="Look for the right file; if the reel was not recorded, take the file out of the job.",
)
FORMAT_UNLIKELY = Kind(
    code="wave-format-unlikely",
    severity=Severity.QUERY,
    title="A wave file states a sample rate or a number of channels that no transfer of tape has",
    basis="common practice, no source: 8 kHz to 768 kHz, at most 64 channels",
    remedy="The engineer or the sender says whether the file is as it was made.",
)
NOT_FINITE = Kind(
    code="samples-not-finite",
    severity=Severity.QUERY,
    title="Float audio holds samples that are not numbers, or infinite",
    basis="own rule: a sample without a value has no level; it was measured as zero",
    remedy="The engineer says which program made them and whether the capture can be used.",
)

TIME_REFERENCE_LATE = Kind(
    code="bext-time-reference-late",
    severity=Severity.NOTE,
    title="A bext chunk places the first sample more than a day after midnight",
    basis="EBU Tech 3285 v2 §2.3: TimeReference counts samples since midnight",
    remedy="Nothing to do; some recorders count on over midnight. It is kept as it is.",
)

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8_000, 768_000
MOST_CHANNELS = 64
_DAY_SECONDS = 24 * 60 * 60


def _containers(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        path = printable(file.path)
        for damage in file.container.damage:
            yield _weighed(path, damage)
        if file.frames == 0:
            yield NO_AUDIO.at(Place(file=path), "it holds zero frames.")
        if file.pcm is not None:
            yield from _format(path, file.pcm, file.embedded)
        measured = file.measured or (file.stated.measured if file.stated else None)
        if measured is not None and measured.non_finite_samples:
            text = f"{measured.non_finite_samples} of its samples are not finite numbers."
            yield NOT_FINITE.at(Place(file=path, part="data"), text)


def _format(path: str, pcm: Pcm, embedded: Embedded | None) -> Iterator[Finding]:
    is_likely = LOWEST_RATE_HZ <= pcm.sample_rate_hz <= HIGHEST_RATE_HZ
    if not is_likely or pcm.channels > MOST_CHANNELS:
        text = f"it states {pcm.channels} channels at {pcm.sample_rate_hz} Hz."
        yield FORMAT_UNLIKELY.at(Place(file=path, part="fmt"), text)
    seconds = embedded.time_reference // pcm.sample_rate_hz if embedded is not None else 0
    if seconds >= _DAY_SECONDS:
        text = f"it comes to {seconds} s after midnight."
        yield TIME_REFERENCE_LATE.at(Place(file=path, part="bext.TimeReference"), text)


def _weighed(path: str, damage: Damage) -> Finding:
    kind = KIND_OF[damage.kind]
    text, octet = printable(damage.text), f"octet {damage.offset}"
    if is_answerable(kind):
        # An answer is tied to a place that the master shares with the capture; octets move.
        return kind.at(Place(file=path, part=damage.kind), f"at {octet}: {text}")
    return kind.at(Place(file=path, part=octet), text)


RULES = (
    Rule(
        name="containers",
        kinds=(
            *dict.fromkeys(KIND_OF.values()),
            NO_AUDIO,
            FORMAT_UNLIKELY,
            TIME_REFERENCE_LATE,
            NOT_FINITE,
        ),
        needs=frozenset({"headers"}),
        run=_containers,
        decides=True,
    ),
)
