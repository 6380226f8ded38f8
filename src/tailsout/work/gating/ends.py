"""Which end is out now, and what that means for winding before a side is played."""

from collections.abc import Iterator, Sequence

from tailsout.ground.clock import is_before
from tailsout.records.gate import Entry
from tailsout.records.reel import Reel
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import End, Run

LEAVES: dict[Run, End] = {"head to tail": "tails", "tail to head": "heads"}


def entries(transfer: Transfer, sides: Sequence[str]) -> Iterator[Entry]:
    """Yield what is told of the ends; ends are those of the first side."""
    out, why = end_out_now(transfer)
    if out is None:
        yield Entry(label="OUT NOW", says="heads [  ]   tails [  ]   (look at the leader)")
        yield Entry(label="wind first?")
    else:
        yield Entry(label="OUT NOW", says=f"{out.upper()}  ({why})")
        yield Entry(label="so", says=_meaning(out, sides))
    held = [e for e in transfer.reel.events if e.kind == "free end held down"]
    told = ", ".join(part for e in held for part in (e.held_with, e.opens_how) if part)
    yield Entry(label="free end held by", says=told or None)


def _meaning(out: End, sides: Sequence[str]) -> str:
    first = f"side {sides[0]}" if sides else "the first side"
    if out == "heads":
        return f"{first} plays as the reel lies."
    other = f" Or begin with side {sides[1]}, if it runs the other way." if len(sides) > 1 else ""
    return f"wind it through before {first} is played.{other}"


def end_out_now(transfer: Transfer) -> tuple[End | None, str]:
    """Return which end is out before the next pass, and how that is known."""
    last = _last_run(transfer.reel)
    if last is not None:
        return LEAVES[last], f"last run {last}"
    on_arrival = transfer.reel.end_out_on_arrival
    return on_arrival, "as it arrived" if on_arrival is not None else ""


def _last_run(reel: Reel) -> Run | None:
    """Return how the tape ran last by the events; None if dates leave it open."""
    runs = [(event.on, event.tape_ran) for event in reel.events if event.tape_ran is not None]
    dated = [(on, run) for on, run in runs if on is not None]
    if len(dated) < len(runs):
        return None
    last = {run for on, run in dated if not any(is_before(on, other) for other, _ in dated)}
    return last.pop() if len(last) == 1 else None
