"""A region with all that is stated around it: its capture, pass, session and machine."""

from collections.abc import Iterator
from dataclasses import dataclass

from tailsout.records.machine import Machine
from tailsout.records.playing import Pass
from tailsout.records.reel import Region, Side
from tailsout.records.session import Session
from tailsout.records.transfer import Transfer


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One region and what it was played with; None where that is not stated."""

    pointer: str
    """JSON pointer to the region."""
    side: Side
    region: Region
    run: Pass | None
    session: Session | None
    machine: Machine | None


def placed(transfer: Transfer) -> Iterator[Placed]:
    """Yield every region, side by side, in the order in which they are stated."""
    passes = {one.id: one for one in transfer.passes}
    sessions = {one.id: one for one in transfer.sessions}
    machines = {one.id: one for one in transfer.machines}
    runs = {one.id: passes.get(one.pass_id or "") for one in transfer.captures}
    for s, side in enumerate(transfer.reel.sides):
        for r, region in enumerate(side.regions):
            run = runs.get(region.capture)
            session = sessions.get(run.session or "") if run is not None else None
            played = (run.machine if run else None) or (session.machine if session else None)
            yield Placed(
                pointer=f"/reel/sides/{s}/regions/{r}",
                side=side,
                region=region,
                run=run,
                session=session,
                machine=machines.get(played or ""),
            )
