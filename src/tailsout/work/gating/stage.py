"""Which gate a job stands at, told from what is there."""

from pathlib import Path

from tailsout.records.gate import Stage
from tailsout.records.reel import Event
from tailsout.work.gating.job_so_far import JobSoFar


def inferred(so_far: JobSoFar) -> tuple[Stage, str]:
    """Return the stage of a job, and what it was told from."""
    transfer = so_far.transfer
    has_captures = bool(so_far.taken or so_far.growing or _lie_there(so_far.folder))
    if transfer is None:
        if has_captures:
            return "unloading", "captures are there"
        return "threading", "no capture is there yet"
    held = next((e for e in transfer.reel.events if _is_done(e)), None)
    if transfer.kind == "record only":
        return "boxing", "the reel is not to be played"
    if not has_captures:
        return "threading", "no capture is there yet"
    if held is not None:
        return "boxing", f"captures are there, and so is an event {held.kind!r}"
    return "unloading", "captures are there, and nothing says that the reel was put away"


def _lie_there(folder: Path) -> bool:
    """Tell whether anything lies in the captures folder, be it named in a form or not."""
    try:
        return any(not path.name.startswith(".") for path in (folder / "captures").iterdir())
    except OSError:
        return False


def _is_done(event: Event) -> bool:
    return event.kind in {"free end held down", "re-marking"}
