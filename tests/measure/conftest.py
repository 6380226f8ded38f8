"""Signals of planted truth as octets, and a short way through the meters."""

import io
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tailsout.ground.pcm import Pcm
from tailsout.measure.onepass import Measured, measure


def _pcm(bits: int = 24, *, is_float: bool = False, **other: Any) -> Pcm:
    given = {"sample_rate_hz": 48_000, "channels": 2, "valid_bits": bits} | other
    return Pcm(is_float=is_float, container_bits=bits, **given)


def _octets(samples: NDArray[np.float64], pcm: Pcm) -> bytes:
    """Samples, full scale 1.0, shape (frames, channels) or (frames,): as they lie in a file."""
    width = pcm.container_bits // 8
    octets: bytes
    if pcm.is_float:
        octets = samples.astype(f"<f{width}").tobytes()
        return octets
    top = 2 ** (pcm.valid_bits - 1)
    codes = np.clip(np.round(samples * top), -top, top - 1).astype(np.int64)
    codes = codes * 2 ** (pcm.container_bits - pcm.valid_bits) + (128 if width == 1 else 0)
    octets = codes.astype("<i8").view(np.uint8).reshape(-1, 8)[:, :width].tobytes()
    return octets


def _measured(octets: bytes, pcm: Pcm, **other: Any) -> Measured:
    given = {"data_offset": 0, "data_octets": len(octets), "file_octets": len(octets)} | other
    return measure(io.BytesIO(octets), pcm, advance=given.pop("advance", lambda _n: None), **given)


@pytest.fixture
def pcm_of() -> Callable[..., Pcm]:
    return _pcm


@pytest.fixture
def octets_of() -> Callable[[NDArray[np.float64], Pcm], bytes]:
    return _octets


@pytest.fixture
def measured() -> Callable[..., Measured]:
    return _measured
