"""What flux on the tape the levels of a file stand for."""

from dataclasses import dataclass
from decimal import Decimal

from tailsout.records.vocab import CalibrationMoment, FluxivityMethod


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelScale:
    """The scale of one channel."""

    channel: int
    """1-based, in the file and in the capture of the calibration tape."""
    reference_dbfs: Decimal
    """Where the tape's reference tone reads, dB re a full-scale sine."""
    full_scale_nwb_m: Decimal
    """Flux that 0 dBFS stands for, nWb/m by the ring-head method, 0.1."""
    peak_nwb_m: Decimal | None = None
    """Flux of the highest sample of the programme; None of silence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The scale by one calibration setting: true while no gain was moved after its tones."""

    session: str
    """Id of the session."""
    setting: str
    """Id of its calibration setting."""
    moment: CalibrationMoment
    tape: str
    """Id of the calibration tape."""
    stated_nwb_m: Decimal
    """Fluxivity of the reference tone as its form states it."""
    stated_by: FluxivityMethod | None = None
    """None if nobody says; then it is taken for the ring-head method."""
    ring_head_nwb_m: Decimal
    """The same by the ring-head method, the certificate's own deviation counted, 0.1."""
    channels: tuple[ChannelScale, ...]
