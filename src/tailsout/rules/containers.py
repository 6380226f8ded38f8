"""Damage to wave files, as the reader met it: which of it makes the audio unsafe to rely on."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.rules.rule import Rule

WAVE_DAMAGED = Kind(
    code="wave-damaged",
    severity=Severity.MEND,
    title="The structure of a wave file is damaged or contradicts itself",
    basis="RIFF 1991 ch. 2; EBU Tech 3285 v2; EBU Tech 3306 v1.1; ITU-R BS.2088-1",
    remedy="Go back to the recorder's own file, or ask the sender for the file again.",
)
WAVE_UNTIDY = Kind(
    code="wave-untidy",
    severity=Severity.NOTE,
    title="A wave file departs from its standard in a way that leaves the audio clear",
    basis="RIFF 1991 ch. 2; EBU Tech 3285 v2",
    remedy="Nothing to do; it is kept as it is.",
)
NO_AUDIO = Kind(
    code="no-audio",
    severity=Severity.MEND,
    title="A wave file holds no samples",
    basis="own rule: a capture without sound documents nothing",
    remedy="Look for the right file; if the reel was not recorded, take the file out of the job.",
)

HARMLESS = frozenset(
    {
        "trailing-octets",
        "missing-final-pad",
        "pad-not-zero",
        "bext-control",
        "bext-space-padded",
        "bext-date",
        "bext-time",
        "bext-after-nul",
        "bext-not-ascii",
        "bext-loudness",
        "bext-reserved",
        "bext-version",
        "cart-short",
        "cart-text",
        "chna-rows",
        "chna-short",
        "chna-text",
        "chna-tracks",
        "levl-format",
        "levl-short",
        "levl-text",
        "umid-label",
        "umid-length",
        "umid-short",
        "umid-text",
        "xml-oversize",
    }
)
"""Damage after which every sample is still where the standard says; the rest is `wave-damaged`."""


def _containers(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        for damage in file.container.damage:
            kind = WAVE_UNTIDY if damage.kind in HARMLESS else WAVE_DAMAGED
            place = Place(file=printable(file.path), part=f"octet {damage.offset}")
            yield kind.at(place, printable(damage.text))
        if file.frames == 0:
            yield NO_AUDIO.at(Place(file=printable(file.path)), "it holds zero frames.")


RULES = (
    Rule(
        name="containers",
        kinds=(WAVE_DAMAGED, WAVE_UNTIDY, NO_AUDIO),
        needs=frozenset({"headers"}),
        run=_containers,
        decides=True,
    ),
)
