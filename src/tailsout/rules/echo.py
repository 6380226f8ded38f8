"""Possible print-through, and what it says of how the tape was kept."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.echo import EchoSide
from tailsout.rules.rule import Rule, transfer_of

PRINT_THROUGH = Kind(
    code="print-through-possible",
    severity=Severity.NOTE,
    title="Sounds seem to come again, faint, a turn of the reel before or after",
    basis="common practice, no source: neighbouring turns print on each other in storage",
    remedy="Nothing to do in the file; respooling before another pass is a conservator's matter.",
)
KEPT_OTHERWISE = Kind(
    code="print-through-other-end",
    severity=Severity.NOTE,
    title="Echoes are consistent with the other end having been out than on arrival",
    basis="own rule: the farther of two echoes is the outer neighbour's; evidence, no proof",
    remedy="Nothing to do; the reel may have been wound the other way round in its life.",
)

_FEWEST = 2
"""One alone may be a steady tone that happens to agree with hiss."""
_ENDS = {"head": "heads", "tail": "tails"}


def _echoes(dossier: Dossier) -> Iterator[Finding]:
    for file in dossier.files:
        heard = file.print_through
        if heard is None:
            continue
        place = Place(file=printable(file.path))
        told = [*_side("before", heard.before), *_side("after", heard.after)]
        if told:
            yield PRINT_THROUGH.at(place, f"possible echoes: {'; '.join(told)}.")
        arrived = transfer_of(dossier).reel.end_out_on_arrival
        if heard.end_out is not None and arrived is not None and _ENDS[heard.end_out] != arrived:
            text = f"they speak for {_ENDS[heard.end_out]} out, the reel arrived {arrived} out."
            yield KEPT_OTHERWISE.at(place, text)


def _side(name: str, side: EchoSide) -> Iterator[str]:
    if side.found >= _FEWEST:
        yield (
            f"{name} {side.found} of {side.tried} sounds, {side.delay_s} s away at"
            f" {side.level_db} dB"
        )


RULES = (
    Rule(
        name="print-through",
        kinds=(PRINT_THROUGH, KEPT_OTHERWISE),
        needs=frozenset({"statements", "measurements"}),
        run=_echoes,
    ),
)
