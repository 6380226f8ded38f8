import errno
import warnings

import numba
import numpy as np
import pytest
from numba.core import caching

from tailsout.measure import kernels
from tailsout.measure.kernels.compiled import compiled


def doubled(x: float) -> float:
    return x * 2.0


def test_without_any_place_for_a_cache_a_kernel_still_works(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(caching.CompileResultCacheImpl, "_locator_classes", [])
    signature = numba.float64(numba.float64)
    with pytest.raises(RuntimeError, match="cannot cache"):
        numba.njit(signature, cache=True)(doubled)
    assert compiled(signature)(doubled)(21.0) == 42.0


def test_a_cache_that_cannot_be_written_is_done_without(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = []

    def full(*_args: object) -> None:
        tried.append(1)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(caching.IndexDataCacheFile, "save", full)
    monkeypatch.setattr(caching.IndexDataCacheFile, "load", lambda *_args: None)
    assert compiled(numba.float64(numba.float64))(doubled)(21.0) == 42.0
    assert tried


@pytest.mark.parametrize(
    ("width", "raw", "expected"),
    [
        (1, "00 80 ff", [-1.0, 0.0, 127 / 128]),
        (2, "0080 0000 ff7f", [-1.0, 0.0, 1 - 2.0**-15]),
        (3, "000080 010000 ffffff ffff7f", [-1.0, 2.0**-23, -(2.0**-23), 1 - 2.0**-23]),
        (4, "00000080 01000000 ffffff7f", [-1.0, 2.0**-31, 1 - 2.0**-31]),
    ],
)
def test_integers_are_exact(width: int, raw: str, expected: list[float]) -> None:
    octets = np.frombuffer(bytes.fromhex(raw), np.uint8)
    block, bits = np.full((1, len(expected) + 1), 9.0), np.zeros(1, np.int64)
    kernels.unpack_integers(octets, width, block, 1, len(expected), bits)
    assert block.tolist() == [[9.0, *expected]]


def test_channels_are_taken_apart() -> None:
    octets = np.frombuffer(bytes.fromhex("0040 00c0 0020 00e0"), np.uint8)
    block, bits = np.zeros((2, 2)), np.zeros(2, np.int64)
    kernels.unpack_integers(octets, 2, block, 0, 2, bits)
    assert block.tolist() == [[0.5, 0.25], [-0.5, -0.25]]
    assert [hex(int(one) & 0xFFFFFFFF) for one in bits] == ["0x60000000", "0xe0000000"]


def test_only_wild_samples_are_silenced() -> None:
    block = np.array([[np.nan, np.inf, -np.inf, 3.0, -2.0, 0.5]])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert kernels.silence_wild(block, 0, 6, 2.0) == 4
    assert block.tolist() == [[0.0, 0.0, 0.0, 0.0, -2.0, 0.5]]


def test_passing_over_quiet_pieces_cannot_change_a_true_peak() -> None:
    random = np.random.default_rng(5)
    taps = random.standard_normal((3, 48)).astype(np.float32)
    bound = float(np.abs(taps.astype(float)).sum(axis=1).max())
    skipped = 0
    for _ in range(20):
        loudness = np.repeat(10 ** random.uniform(-3, 0, 40), 100)
        block = np.zeros((2, 47 + 4000))
        block[:, 47:] = loudness * random.standard_normal((2, 4000))
        quick, full, wrong = np.zeros(2), np.zeros(2), np.zeros(2)
        kernels.true_peaks(block, 4000, taps, bound, quick)
        kernels.true_peaks(block, 4000, taps, np.inf, full)
        kernels.true_peaks(block, 4000, taps, 0.1, wrong)
        assert quick.tolist() == full.tolist()
        skipped += wrong.tolist() != full.tolist()
    # A bound that is too low shows that pieces are passed over at all.
    assert skipped > 0


def test_a_true_peak_is_the_largest_output_of_the_filter() -> None:
    random = np.random.default_rng(6)
    taps = random.standard_normal((3, 48)).astype(np.float32)
    block = random.standard_normal((1, 47 + 1000))
    peaks = np.zeros(1)
    kernels.true_peaks(block, 1000, taps, np.inf, peaks)
    plain = max(np.abs(np.correlate(block[0], row, "valid")).max() for row in taps)
    assert peaks[0] == pytest.approx(plain, rel=1e-5)
