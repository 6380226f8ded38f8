"""The reel as it leaves: what is written of its ends against how the tape last ran.

Which end ought to be out is not judged here; house rules differ.
"""

from collections.abc import Iterator

from tailsout.ground.clock import is_before
from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import End, Run
from tailsout.rules.rule import Rule, transfer_of

END_OUT = Kind(
    code="end-out-contradicts",
    severity=Severity.QUERY,
    title="The end stated to be out is not the one that the last motion leaves out",
    basis="common practice, no source: a tape run head to tail has its tail outside",
    remedy="Somebody who has the reel at hand looks which end is out.",
    needs_reel=True,
)
LAST_MOTION = Kind(
    code="last-motion-contradicts",
    severity=Severity.QUERY,
    title="The stated last motion is not the last one recorded",
    basis="own rule: passes and handling events tell how the tape last ran",
    remedy="The engineer says which run came last.",
)

_LEAVES: dict[Run, End] = {"head to tail": "tails", "tail to head": "heads"}


def _ends(dossier: Dossier) -> Iterator[Finding]:
    reel = transfer_of(dossier).reel
    recorded = last_recorded_run(transfer_of(dossier))
    stated = reel.last_motion
    if stated is not None and recorded is not None and stated != recorded:
        yield LAST_MOTION.at(
            dossier.place("/reel/last_motion"),
            f"it says {stated!r}, the last run recorded went {recorded!r}.",
        )
    run = stated or recorded
    end = reel.end_out_on_leaving
    if run is not None and end is not None and _LEAVES[run] != end:
        yield END_OUT.at(
            dossier.place("/reel/end_out_on_leaving"),
            f"it says {end!r} out, the tape last ran {run!r}, which leaves the {_LEAVES[run]} out.",
        )


def last_recorded_run(transfer: Transfer) -> Run | None:
    """Return how the tape last ran by passes and events; None if dates leave it open."""
    runs = [(p.on, p.tape_ran) for p in transfer.passes if p.tape_ran is not None]
    runs += [(e.on, e.tape_ran) for e in transfer.reel.events if e.tape_ran is not None]
    dated = [(on, run) for on, run in runs if on is not None]
    if len(dated) < len(runs):
        return None
    last = [run for on, run in dated if not any(is_before(on, other) for other, _ in dated)]
    return last[0] if len(set(last)) == 1 else None


RULES = (
    Rule(
        name="end out against last motion",
        kinds=(END_OUT, LAST_MOTION),
        needs=frozenset({"statements"}),
        run=_ends,
    ),
)
