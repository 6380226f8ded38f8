"""Follows the captures of a job as they arrive, and asks at the gate whenever one has come to rest.

A file is at rest when nothing of it has changed for a while by our own clock, looked at again and
again: the clock of the disk that it lies on may go otherwise. Only then is it opened.
"""

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from tailsout.ground.errors import SurroundingsError, UsageError
from tailsout.ground.units import printable
from tailsout.mapping.forms.form import Form
from tailsout.mapping.forms.job_forms import JobForms, read_job
from tailsout.records.gate import Gate
from tailsout.work.gate import gates
from tailsout.work.gating.kinds import CAPTURE_GROWING, OUT_OF_REACH
from tailsout.work.located import Located, so_far
from tailsout.work.settling import SETTLING_SECONDS
from tailsout.work.surroundings import Surroundings

POLL_SECONDS = 1.0

_Signature = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One thing that a watch has to tell."""

    line: str
    rings: bool = False
    """Whether somebody across the room ought to hear of it."""
    gate: Gate | None = None
    """The new answer, if it changed."""


@dataclass(slots=True, kw_only=True)
class _Rest:
    """What each file looked like, and since when it has looked so."""

    steady: Callable[[], float]
    since: dict[Path, tuple[_Signature, float]] = field(default_factory=dict)

    def is_moving(self, one: Located) -> bool:
        """Look at every file of a capture, and tell whether one changed a moment ago."""
        return any([self._moves(path) for path in one.files])  # noqa: C419  each is to be looked at

    def _moves(self, path: Path) -> bool:
        now = self.steady()
        try:
            status = path.stat()
        except OSError:
            self.since.pop(path, None)
            return True
        looks = (status.st_size, status.st_mtime_ns, status.st_ino)
        known = self.since.get(path)
        if known is None or known[0] != looks:
            self.since[path] = (looks, now)
            return True
        return now - known[1] < SETTLING_SECONDS

    def signature(self, one: Located) -> tuple[_Signature | None, ...]:
        """Return how the files of a capture look."""
        return tuple(self.since[path][0] if path in self.since else None for path in one.files)


def watch(
    job: Path,
    around: Surroundings,
    *,
    steady: Callable[[], float],
    sleep: Callable[[float], None],
) -> Iterator[Told]:
    """Yield what happens until every capture that the form names is there and judged.

    `steady` is a clock that nobody sets, in seconds. Raises UsageError if there is no job.
    """
    folder = Path(os.path.realpath(job))
    read_job(folder)
    rest, last = _Rest(steady=steady), _Last()
    while True:
        try:
            yield from _look(folder, around, rest, last)
        except (UsageError, SurroundingsError) as error:
            # An editor may be saving the form just now; whatever it is, the next look tells.
            yield from last.once(str(error))
        if last.is_done:
            return
        sleep(POLL_SECONDS)


@dataclass(slots=True, kw_only=True)
class _Last:
    """What was told last."""

    gate: Gate | None = None
    key: object = None
    asked_at: float = 0.0
    moving: frozenset[str] = frozenset()
    settled: frozenset[str] = frozenset()
    complaint: str = ""
    is_done: bool = False

    def once(self, complaint: str) -> Iterator[Told]:
        """Tell a trouble, and tell it no more while it lasts."""
        if complaint != self.complaint:
            self.complaint = complaint
            yield Told(line=printable(complaint))


def _look(folder: Path, around: Surroundings, rest: _Rest, last: _Last) -> Iterator[Told]:
    forms, _ = read_job(folder)
    stated = so_far(folder, forms) if forms is not None else None
    found: Mapping[str, Located] = stated.found if stated is not None else {}
    moving = frozenset([name for name, one in found.items() if rest.is_moving(one)])
    settled = frozenset(found) - moving
    for name in sorted(moving - last.moving):
        yield Told(line=f"{printable(name)}: arriving")
    for name in sorted((last.moving | last.settled) - frozenset(found)):
        yield Told(line=f"{printable(name)}: gone", rings=True)
    looks = {name: rest.signature(found[name]) for name in settled}
    key = (_texts(forms), looks)
    new = settled - last.settled
    last.moving, last.settled = moving, settled
    if key != last.key or _is_owed(last, rest.steady()):
        last.key, last.asked_at = key, rest.steady()
        yield from _ask(folder, around, last, moving=moving, new=new)
    is_all = stated is not None and not stated.awaited and not moving and bool(found)
    last.is_done = is_all and last.gate is not None and last.gate.is_whole


def _is_owed(last: _Last, now: float) -> bool:
    """Tell whether something could not be looked at, and it is time to try once more."""
    if last.gate is None:
        return True
    kinds = {one.kind for one in last.gate.needs_reel}
    is_short = bool(kinds & {CAPTURE_GROWING, OUT_OF_REACH}) and not last.moving
    return is_short and now - last.asked_at >= SETTLING_SECONDS


def _ask(
    folder: Path,
    around: Surroundings,
    last: _Last,
    *,
    moving: frozenset[str],
    new: frozenset[str],
) -> Iterator[Told]:
    for name in sorted(new):
        yield Told(line=f"{printable(name)}: at rest, being read")
    answer = list(gates(folder, "unloading", around, moving))[-1]
    said = {entry.label: entry.says for part in answer.parts for entry in part.entries}
    for name in sorted(new):
        yield Told(line=f"{printable(name)}: {said.get(name) or 'read'}", rings=True)
    before, last.gate, last.complaint = last.gate, answer, ""
    if before is None or answer != before:
        rings = before is not None and before.word != answer.word
        yield Told(line=answer.answer, rings=rings, gate=answer)


def _texts(forms: JobForms | None) -> tuple[str, ...]:
    """Return the text of every form, by which a change of any is known."""
    if forms is None:
        return ()
    shelves = (forms.machines, forms.sessions, forms.calibration_tapes, forms.converters)
    single: list[Form | None] = [forms.job, forms.studio, forms.people, forms.recipient]
    every = [*single, *(form for shelf in shelves for form in shelf.values())]
    return tuple(form.text for form in every if form is not None)
