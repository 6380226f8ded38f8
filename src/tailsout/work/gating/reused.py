"""Facts of captures that have not changed since a gate measured them; `close` knows nothing of it.

They lie in a hidden file in the job folder. A broken one, one of another version, or none at all
costs a measurement and nothing else.
"""

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.progress import Progress
from tailsout.mapping import kept_facts
from tailsout.mapping.kept_facts import KeptCapture, KeptFacts, KeptTones
from tailsout.records.calibration import CalibrationFacts
from tailsout.records.tones import ToneFacts
from tailsout.records.transfer import Transfer
from tailsout.work import calibration, first_pass
from tailsout.work.captures import LookedInto, Taken
from tailsout.work.first_pass import Passed
from tailsout.work.surroundings import Surroundings

_MOST_OCTETS = 4 << 20


class Reused:
    """What is kept of a job, and what this run adds to it."""

    def __init__(self, path: Path, known: KeptFacts, software: str, disk: Disk) -> None:
        self._path, self._known, self._software, self._disk = path, known, software, disk
        self._captures: dict[str, KeptCapture] = {}
        self._tones: dict[str, KeptTones] = {}

    @classmethod
    def of(cls, folder: Path, around: Surroundings) -> "Reused":
        """Read what is kept of a job."""
        path = folder / kept_facts.FILE_NAME
        content = b""
        with suppress(OSError), path.open("rb") as stream:
            content = stream.read(_MOST_OCTETS)
        return cls(path, kept_facts.read(content), around.software, around.disk)

    def knows(self, one: Taken, transfer: Transfer) -> bool:
        """Tell whether a master need not be measured."""
        return self._key(one, first_pass.settles(one, transfer)) in self._known.captures

    def capture(self, one: Taken, transfer: Transfer, progress: Progress) -> Passed:
        """Return what a master shows, measured now or before.

        Raises MaterialError for audio that cannot be measured, SurroundingsError.
        """
        key = self._key(one, first_pass.settles(one, transfer))
        known = self._known.captures.get(key)
        if known is None:
            # Print-through is the tape's, and no second pass would mend it: `close` looks for it.
            passed = first_pass.measure((one,), progress, transfer, echoes=False)[one.name]
            known = _kept(key, passed)
            if known is None:
                return passed
        self._captures[key] = known
        return _passed(known)

    def tones(
        self, taken: Taken, fact: CalibrationFacts, transfer: Transfer, progress: Progress
    ) -> ToneFacts:
        """Return what a capture of a calibration tape shows, read now or before.

        Raises as `capture` does.
        """
        key = self._key_of_tones(taken, fact, transfer)
        known = self._known.tones.get(key)
        if known is None:
            read = calibration.line_up(taken, fact, transfer, progress)
            known = KeptTones(key=key, tones=read.facts)
        self._tones[key] = known
        return known.tones

    def knows_tones(self, taken: Taken, fact: CalibrationFacts, transfer: Transfer) -> bool:
        """Tell whether a capture of a calibration tape need not be read."""
        return self._key_of_tones(taken, fact, transfer) in self._known.tones

    def _key_of_tones(self, taken: Taken, fact: CalibrationFacts, transfer: Transfer) -> str:
        tape = next((t for t in transfer.calibration_tapes if t.id == fact.tape), None)
        return self._key(taken, repr((tape, calibration.head_of(transfer, fact.session))))

    def keep(self) -> None:
        """Write down what is known now, if that is not what was known; a disk may refuse."""
        facts = KeptFacts(captures=self._captures, tones=self._tones)
        if facts != self._known:
            with suppress(OSError):
                self._disk.write_anew(self._path, kept_facts.write(facts))

    def _key(self, one: Taken, settled_by: str) -> str:
        files = [(file.survey.record.path, *_mark(file)) for file in one.files]
        told = repr((self._software, files, settled_by))
        return hashlib.sha256(told.encode("utf-8", "backslashreplace")).hexdigest()


def _mark(file: LookedInto) -> tuple[int, ...]:
    """Octets, modification time and inode as looked into, and when its status last changed."""
    changed = 0
    with suppress(OSError):
        changed = os.lstat(file.path).st_ctime_ns
    return (*file.mark, changed)


def _kept(key: str, passed: Passed) -> KeptCapture | None:
    if passed.facts is None:
        return None
    return KeptCapture(
        key=key,
        facts=passed.facts,
        regions=passed.regions,
        damage=passed.damage,
    )


def _passed(known: KeptCapture) -> Passed:
    return Passed(
        facts=known.facts,
        damage=known.damage,
        regions=known.regions,
    )
