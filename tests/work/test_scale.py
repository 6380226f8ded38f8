"""The absolute scale of a file, from a calibration capture through the same path."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.calibration import CalibrationFacts
from tailsout.records.machine import CalibrationTape, Tone
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.sound import AudioFacts, ChannelFacts
from tailsout.records.tones import FoundTone, ToneChannel, ToneFacts
from tailsout.records.transfer import Studio, Transfer
from tailsout.work.scale import scales

REGION = Region(id="A1", kind="programme", capture="a", start=0, setting="7-nab")
TAPE = CalibrationTape(
    id="ct", reference_fluxivity_nwb_m=Decimal(250), fluxivity_method="AC ring head"
)
FACTS = AudioFacts(
    frames=1,
    sample_rate_hz=48_000,
    essence_sha256="",
    channels=(ChannelFacts(sample_peak_dbfs=Decimal(-3)), ChannelFacts()),
)


def transfer(tape: CalibrationTape = TAPE, region: Region = REGION) -> Transfer:
    return Transfer(
        job_id="0b7d6c1e-8a54-4f39-9c2b-27d0a3f6e518",
        package_id="REEL-1",
        studio=Studio(),
        reel=Reel(sides=(Side(id="A", regions=(region,)),)),
        calibration_tapes=(tape,),
    )


def calibration(moment: Any = "as left", level: str = "-18", **changes: Any) -> CalibrationFacts:
    reference = FoundTone(
        start=0,
        end=1,
        frequency_hz=Decimal(1000),
        channels=(),
        listed=Tone(frequency_hz=Decimal(1000), deviation_db=changes.pop("deviation", None)),
    )
    read = ToneFacts(
        frames=1,
        sample_rate_hz=48_000,
        tones=(reference,),
        channels=(
            ToneChannel(channel=1, reference_dbfs=Decimal(level)),
            ToneChannel(channel=2, reference_dbfs=Decimal(-20)),
        ),
        methods={},
        fit="fits",
        reference=1,
    )
    return CalibrationFacts(
        session="s1",
        setting="7-nab",
        moment=moment,
        file="x.wav",
        octets=1,
        sha256="a" * 64,
        packed_in="REEL-1",
        tape="ct",
        tones=replace(read, **changes),
    )


def test_full_scale_and_peak() -> None:
    # 250 nWb/m at -18 dBFS, a peak of -3 dBFS: 1405.9 nWb/m (derived: 20 lg).
    (scale,) = scales(transfer(), "a", [calibration()], FACTS)
    assert scale.ring_head_nwb_m == Decimal("250.0")
    first, second = scale.channels
    assert first.full_scale_nwb_m == Decimal("1985.8")
    assert first.peak_nwb_m == Decimal("1405.9")
    assert second.full_scale_nwb_m == Decimal("2500.0")
    assert second.peak_nwb_m is None, "the second channel is silent"


def test_a_fluxivity_by_the_din_transfer_is_brought_to_the_ring_head() -> None:
    # JAES, "Tape flux measurement revisited": 320 reads 288.
    tape = replace(TAPE, reference_fluxivity_nwb_m=Decimal(320), fluxivity_method="DIN transfer")
    (scale,) = scales(transfer(tape), "a", [calibration()], FACTS)
    assert (scale.stated_nwb_m, scale.ring_head_nwb_m) == (Decimal(320), Decimal("288.0"))


def test_the_certificates_deviation_counts() -> None:
    (scale,) = scales(transfer(), "a", [calibration(deviation=Decimal("0.5"))], FACTS)
    assert scale.ring_head_nwb_m == Decimal("264.8")


def test_what_was_left_counts_not_what_was_found() -> None:
    both = [calibration("as found", "-17"), calibration("as left", "-18")]
    (scale,) = scales(transfer(), "a", both, FACTS)
    assert scale.moment == "as left"
    assert scale.channels[0].reference_dbfs == -18


def nothing() -> Iterator[tuple[str, Transfer, CalibrationFacts]]:
    yield "no setting", transfer(region=replace(REGION, setting=None)), calibration()
    yield "another capture", transfer(region=replace(REGION, capture="b")), calibration()
    yield "no fluxivity", transfer(replace(TAPE, reference_fluxivity_nwb_m=None)), calibration()
    yield "no such tape", transfer(replace(TAPE, id="other")), calibration()
    yield "not the tape's tones", transfer(), calibration(fit="no tones")
    yield "not read", transfer(), replace(calibration(), tones=None)
    no_reference = (ToneChannel(channel=1), ToneChannel(channel=2))
    yield "no reference tone", transfer(), calibration(channels=no_reference)


@pytest.mark.parametrize("case", list(nothing()), ids=lambda case: case[0])
def test_no_scale_without_all_that_it_rests_on(
    case: tuple[str, Transfer, CalibrationFacts],
) -> None:
    _, stated, one = case
    assert scales(stated, "a", [one], FACTS) == ()
