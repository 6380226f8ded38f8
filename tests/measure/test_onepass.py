import hashlib
import io
from collections.abc import Callable

import numpy as np
import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import BLOCK_OCTETS, Measured, measure

PcmOf = Callable[..., Pcm]
OctetsOf = Callable[..., bytes]
Measure = Callable[..., Measured]


class Dribble(io.BytesIO):
    """Gives less than it is asked for, as pipes and some file systems do."""

    def read(self, size: int | None = -1, /) -> bytes:
        return super().read(min(size or 0, 4_099) if size and size > 1 else size)


class Failing(io.BytesIO):
    def read(self, size: int | None = -1, /) -> bytes:
        if self.tell() >= BLOCK_OCTETS:
            raise OSError(5, "Input/output error")
        return super().read(size)


def noise(pcm: Pcm, frames: int) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.random.default_rng(8).uniform(-0.5, 0.5, (frames, pcm.channels))


def test_digests_of_file_and_payload(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> None:
    pcm = pcm_of(24)
    head, data, tail = b"h" * 300_001, octets_of(noise(pcm, 150_000), pcm), b"t" * 270_001
    whole = head + data + tail
    told: list[int] = []
    result = measured(whole, pcm, data_offset=len(head), data_octets=len(data), advance=told.append)
    assert result.capture_sha256 == hashlib.sha256(whole).hexdigest()
    assert result.facts.essence_sha256 == hashlib.sha256(data).hexdigest()
    assert result.facts.frames == 150_000
    assert sum(told) == len(whole)
    assert max(told) <= BLOCK_OCTETS
    assert result.facts == measured(data, pcm).facts
    # Off by one frame, the payload is another.
    moved = measured(whole, pcm, data_offset=len(head) + 6, data_octets=len(data)).facts
    assert moved.essence_sha256 != result.facts.essence_sha256


def test_an_incomplete_frame_is_hashed_and_not_measured(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(24)
    whole = octets_of(noise(pcm, 100), pcm)
    result = measured(whole + b"\xff\xff\x7f\xff\xff", pcm)
    assert result.facts.frames == 100
    assert result.facts.channels == measured(whole, pcm).facts.channels
    assert result.facts.essence_sha256 == result.capture_sha256
    assert result.capture_sha256 == hashlib.sha256(whole + b"\xff\xff\x7f\xff\xff").hexdigest()


@pytest.mark.parametrize("octets", [b"", b"\x01"])
def test_no_frames(pcm_of: PcmOf, measured: Measure, octets: bytes) -> None:
    facts = measured(octets, pcm_of(24, channels=3)).facts
    assert facts.frames == 0
    assert len(facts.channels) == 3
    assert facts.channels[0].sample_peak_dbfs is None
    assert facts.channels[0].dc_offset_dbfs is None
    assert facts.sample_peak_dbfs is None
    assert facts.true_peak_dbtp is None
    assert facts.integrated_lufs is None
    assert facts.essence_sha256 == hashlib.sha256(octets).hexdigest()


@pytest.mark.parametrize("bits", [8, 16, 24])
def test_silence(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, bits: int) -> None:
    pcm = pcm_of(bits, channels=2)
    facts = measured(octets_of(np.zeros((200_000, 2)), pcm), pcm).facts
    assert facts.frames == 200_000
    assert facts.sample_peak_dbfs is None
    assert facts.true_peak_dbtp is None
    assert facts.integrated_lufs is None
    assert facts.range_lu is None
    assert facts.momentary_max_lufs is None
    assert facts.short_term_max_lufs is None
    assert facts.channels[0].dc_offset_dbfs is None
    assert facts.clipped_runs == ()


@pytest.mark.parametrize("bits", [32, 64])
def test_wild_floats_are_measured_as_zero(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, bits: int
) -> None:
    pcm = pcm_of(bits, is_float=True)
    samples = noise(pcm, 200_000)
    samples[5_000:5_003, 0] = 0.0
    clean = measured(octets_of(samples, pcm), pcm).facts
    samples[5_000:5_003, 0] = np.nan, np.inf, -np.inf
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert facts.non_finite_samples == 3
    assert clean.non_finite_samples == 0
    assert facts.channels == clean.channels
    assert facts.integrated_lufs == clean.integrated_lufs


def test_the_largest_numbers_of_all_do_no_harm(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(64, is_float=True, channels=1)
    samples = np.full(200_000, 2.0**100)
    samples[::2] = -np.finfo(float).max
    samples[1::4] = np.finfo(float).smallest_subnormal
    facts = measured(octets_of(samples, pcm), pcm).facts
    assert facts.non_finite_samples == 100_000
    assert float(facts.sample_peak_dbfs or 0) == pytest.approx(602.06, abs=0.01)
    assert facts.integrated_lufs is not None


@pytest.mark.parametrize("rate", [8_000, 44_100, 192_000, 384_000])
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_rates_and_channels(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure, rate: int, channels: int
) -> None:
    pcm = pcm_of(16, sample_rate_hz=rate, channels=channels)
    facts = measured(octets_of(noise(pcm, rate // 2), pcm), pcm).facts
    assert facts.sample_rate_hz == rate
    assert facts.frames == rate // 2
    assert len(facts.channels) == channels
    assert -7 < float(facts.sample_peak_dbfs or 0) < -6
    assert float(facts.true_peak_dbtp or 0) > float(facts.sample_peak_dbfs or 0)
    assert facts.integrated_lufs is not None


def test_short_reads_change_nothing(pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure) -> None:
    pcm = pcm_of(24)
    octets = octets_of(noise(pcm, 100_000), pcm)
    result = measure(
        Dribble(octets),
        pcm,
        data_offset=5,
        data_octets=len(octets) - 10,
        file_octets=len(octets),
        advance=lambda _n: None,
    )
    assert result == measured(octets, pcm, data_offset=5, data_octets=len(octets) - 10)


def test_a_stream_left_anywhere_is_read_from_its_start(
    pcm_of: PcmOf, octets_of: OctetsOf, measured: Measure
) -> None:
    pcm = pcm_of(24)
    octets = octets_of(noise(pcm, 1_000), pcm)
    stream = io.BytesIO(octets)
    stream.seek(77)
    size = len(octets)
    result = measure(
        stream, pcm, data_offset=0, data_octets=size, file_octets=size, advance=lambda _n: None
    )
    assert result == measured(octets, pcm)


@pytest.mark.parametrize("change", [-1, 1, -600_000, 600_000])
def test_a_file_that_changes_its_length(pcm_of: PcmOf, measured: Measure, change: int) -> None:
    octets = bytes(1_200_000)
    with pytest.raises(SurroundingsError, match="changed its length"):
        measured(octets, pcm_of(24), data_octets=60_000, file_octets=len(octets) - change)


@pytest.mark.parametrize(("offset", "octets"), [(-1, 5), (0, 101), (1, 100), (101, 0), (0, -1)])
def test_a_payload_outside_the_file(
    pcm_of: PcmOf, measured: Measure, offset: int, octets: int
) -> None:
    with pytest.raises(MaterialError, match="within the file"):
        measured(bytes(100), pcm_of(24), data_offset=offset, data_octets=octets)


def test_samples_that_cannot_be_measured(pcm_of: PcmOf, measured: Measure) -> None:
    with pytest.raises(MaterialError, match="12-bit PCM"):
        measured(bytes(100), pcm_of(12))
    with pytest.raises(MaterialError, match="no channels"):
        measured(bytes(100), pcm_of(24, channels=0))


def test_a_read_that_fails(pcm_of: PcmOf) -> None:
    size = BLOCK_OCTETS * 2
    with pytest.raises(SurroundingsError, match="Input/output error"):
        measure(
            Failing(bytes(size)),
            pcm_of(24),
            data_offset=0,
            data_octets=size,
            file_octets=size,
            advance=lambda _n: None,
        )
