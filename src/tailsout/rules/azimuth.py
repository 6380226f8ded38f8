"""Azimuth that was moved for one reel, and what was played afterwards."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.dossier import Dossier
from tailsout.records.playing import Pass
from tailsout.rules.rule import Rule, transfer_of

NOT_PUT_BACK = Kind(
    code="azimuth-not-put-back",
    severity=Severity.QUERY,
    title="A pass began with the azimuth where an earlier one had left it",
    basis="common practice, no source: azimuth moved for one tape is put back before the next",
    remedy="The engineer says how the azimuth was set for this pass.",
)


def _azimuth(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    machines = {one.id: one.machine for one in transfer.sessions}
    left: dict[str | None, Pass] = {}
    for p, run in enumerate(transfer.passes):
        machine = run.machine or machines.get(run.session or "")
        before = left.get(machine)
        if before is not None and not _is_set(run):
            text = (
                f"pass {printable(before.id)!r} left it as set to the programme, pass "
                f"{printable(run.id)!r} says nothing of its own."
            )
            yield NOT_PUT_BACK.at(dossier.place(f"/passes/{p}"), text)
        if _is_set(run):
            left.pop(machine, None)
        if run.azimuth is not None and run.azimuth.put_back is False:
            left[machine] = run


def _is_set(run: Pass) -> bool:
    """Tell whether a pass says what its own azimuth rests on."""
    if run.azimuth is None:
        return "azimuth" in run.absent
    return run.azimuth.set_to is not None or run.azimuth.verified is True


RULES = (
    Rule(
        name="azimuth from pass to pass",
        kinds=(NOT_PUT_BACK,),
        needs=frozenset({"statements"}),
        run=_azimuth,
    ),
)
