"""What captures prove of the machine: of a calibration tape, and of the chain at rest."""

from dataclasses import dataclass

from tailsout.ground.pcm import Pcm
from tailsout.records.sound import AudioFacts
from tailsout.records.tones import ToneFacts
from tailsout.records.vocab import CalibrationMoment


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationFacts:
    """A capture of a calibration tape, and what was read from it."""

    session: str
    """Id of the session."""
    setting: str
    """Id of its calibration setting."""
    moment: CalibrationMoment
    file: str
    """Path in the session's folder."""
    octets: int
    sha256: str
    packed_in: str
    """Package id of the package that holds it."""
    path: str | None = None
    """Path in this package; None if another one holds it."""
    tape: str | None = None
    """Id of the calibration tape."""
    pcm: Pcm | None = None
    """None if it holds no audio that can be measured."""
    tones: ToneFacts | None = None
    """None where they could not be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AtRest:
    """A capture of the chain with no tape moving."""

    captures: tuple[str, ...]
    """Ids of the captures whose chain it shows."""
    file: str
    """Path in the job folder."""
    path: str
    """Path in the package."""
    octets: int
    sha256: str
    pcm: Pcm | None = None
    """None if it holds no audio that can be measured."""
    measured: AudioFacts | None = None
