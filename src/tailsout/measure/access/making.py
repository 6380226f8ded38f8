"""One access copy made: read, corrected, brought to its rate and depth, encoded, counted.

The master is read and nothing else. Length: what lies between two of its samples takes as long in
the copy, or as much longer as the speed was put right, within a sample of the copy.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import BinaryIO

import numpy as np
import soxr

from tailsout.ground.errors import SurroundingsError
from tailsout.measure.access.correction import LOWEST_HZ, Correction, Curve
from tailsout.measure.access.depth import Depth
from tailsout.measure.access.encoding import SOFTWARE as ENCODING_SOFTWARE
from tailsout.measure.access.encoding import Encoder, frames_in, renumber
from tailsout.measure.kernels.compiled import Floats
from tailsout.measure.samples import Samples
from tailsout.records.access import CopyRecipe, CopyStep

_QUALITY = "VHQ"
_RATES = f"soxr {soxr.__version__} (libsoxr {soxr.__libsoxr_version__})"
_DRAWS = f"numpy {np.__version__}"
SOFTWARE = (_RATES, _DRAWS, ENCODING_SOFTWARE)
_SHOWN_HZ = (31.5, 50.0, 100.0, 1000.0, 5000.0, 10000.0, 15000.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeCopy:
    """What was made, and how."""

    channels: int
    frames: int
    """Counted by `frames_in` once its tags are in it."""
    clipped_samples: int
    steps: tuple[CopyStep, ...]


def make(
    samples: Samples, recipe: CopyRecipe, target: BinaryIO, *, essence_sha256: str, software: str
) -> MadeCopy:
    """Write a copy into an empty seekable stream.

    `software` is what the correction is told to be made by. Raises SurroundingsError if the disk
    or a library fails, or the copy does not last as long as what it was made from.
    """
    pcm = samples.pcm
    steps: list[CopyStep] = []
    own_rate = Fraction(pcm.sample_rate_hz) / recipe.speed_ratio
    blocks = samples.between(recipe.start, recipe.end)
    if recipe.speed_ratio != 1:
        steps.append(_speed_step(recipe))
    if recipe.recorded is not None and recipe.replayed is not None:
        rate = Fraction(pcm.sample_rate_hz) / recipe.curve_ratio
        correction = Correction(
            recipe.recorded, recipe.replayed, rate_hz=float(rate), channels=pcm.channels
        )
        blocks = _corrected(blocks, correction)
        steps.append(_curve_step(recipe.recorded, recipe.replayed, correction, software))
    if own_rate != recipe.sample_rate_hz:
        blocks = _at_rate(blocks, float(own_rate), recipe.sample_rate_hz, pcm.channels)
        text = f"{float(own_rate):g} Hz to {recipe.sample_rate_hz} Hz, {_QUALITY}, linear phase"
        steps.append(CopyStep(step="sample rate conversion", software=_RATES, how=text))
    seed = _seed(recipe, essence_sha256)
    is_exact = not steps and not pcm.is_float and pcm.valid_bits <= (recipe.bits or 0)
    if recipe.bits is not None and not is_exact:
        text = f"to {recipe.bits} bits, triangular density, 2 steps wide, PCG64 of seed {seed:x}"
        steps.append(CopyStep(step="dither", software=_DRAWS, how=text))
    depth = Depth(recipe.bits or 24, None if is_exact else seed)
    frames = _encoded(blocks, recipe, depth, target, pcm.channels)
    _refuse_other_length(frames, recipe, own_rate)
    if recipe.format == "Opus":
        renumber(target, seed & 0xFFFFFFFF)
    steps.append(CopyStep(step="encoding", software=ENCODING_SOFTWARE, how=_encoding(recipe)))
    return MadeCopy(
        channels=pcm.channels, frames=frames, clipped_samples=depth.clipped, steps=tuple(steps)
    )


def counted(target: BinaryIO, made: MadeCopy) -> None:
    """Decode a finished copy. Raises SurroundingsError if it has not as many samples as went in."""
    frames = frames_in(target)
    if frames != made.frames:
        raise SurroundingsError(
            f"An access copy of {made.frames} samples comes to {frames} when it is decoded.",
            "Look which version of libsndfile is installed.",
        )


def _encoded(
    blocks: Iterator[Floats], recipe: CopyRecipe, depth: Depth, target: BinaryIO, channels: int
) -> int:
    encoder = Encoder(
        target,
        recipe.format,
        rate_hz=recipe.sample_rate_hz,
        channels=channels,
        bits=recipe.bits,
        kilobits_per_second=recipe.kilobits_per_second,
    )
    frames = 0
    for block in blocks:
        if recipe.bits is not None:
            encoder.take(depth.words(block))
        else:
            depth.clipped += int(np.count_nonzero(np.abs(block) > 1.0))
            encoder.take(np.ascontiguousarray(np.clip(block, -1.0, 1.0).T))
        frames += block.shape[1]
    encoder.finish()
    return frames


def _corrected(blocks: Iterator[Floats], correction: Correction) -> Iterator[Floats]:
    for block in blocks:
        whole = np.ascontiguousarray(block)
        correction.run(whole)
        yield whole


def _at_rate(
    blocks: Iterator[Floats], rate_hz: float, wanted_hz: int, channels: int
) -> Iterator[Floats]:
    stream = soxr.ResampleStream(rate_hz, wanted_hz, channels, dtype="float64", quality=_QUALITY)
    for block in blocks:
        yield stream.resample_chunk(np.ascontiguousarray(block.T)).reshape(-1, channels).T
    rest = stream.resample_chunk(np.zeros((0, channels)), last=True)
    yield rest.reshape(-1, channels).T


def _refuse_other_length(frames: int, recipe: CopyRecipe, own_rate: Fraction) -> None:
    wanted = Fraction(recipe.end - recipe.start) * recipe.sample_rate_hz / own_rate
    if abs(frames - wanted) > 1:
        raise SurroundingsError(
            f"An access copy came to {frames} samples, {float(wanted):.1f} were to be.",
            "Look which version of soxr is installed.",
        )


def _seed(recipe: CopyRecipe, essence_sha256: str) -> int:
    told = f"{essence_sha256} {recipe!r}".encode()
    return int.from_bytes(hashlib.sha256(told).digest()[:8], "big")


def _speed_step(recipe: CopyRecipe) -> CopyStep:
    ratio = recipe.speed_ratio
    text = f"played {ratio.numerator}:{ratio.denominator} as fast as recorded; the samples are"
    text += " taken to be that much further apart"
    return CopyStep(step="speed correction", software=_RATES, how=text)


def _curve_step(
    recorded: Curve, replayed: Curve, correction: Correction, software: str
) -> CopyStep:
    gains = ", ".join(f"{hz:g} Hz {correction.gain_db(hz):+.2f} dB" for hz in _SHOWN_HZ)
    text = (
        f"recorded by {_shown(recorded)} µs, played by {_shown(replayed)} µs in the programme's own"
        f" time; {gains}; first-order sections, 0 dB at 1 kHz"
    )
    if (recorded[0] is None) != (replayed[0] is None):
        text += f"; a curve without a low corner is taken to have one at {LOWEST_HZ:g} Hz"
    return CopyStep(step="equalisation correction", software=software, how=text)


def _shown(curve: Curve) -> str:
    low = "∞" if curve[0] is None else f"{curve[0]:g}"
    return f"{low}/{curve[1]:g}"


def _encoding(recipe: CopyRecipe) -> str:
    if recipe.bits is not None:
        return f"{recipe.format}, {recipe.bits} bits, {recipe.sample_rate_hz} Hz"
    kind = "constant" if recipe.format == "MP3" else "variable"
    return (
        f"{recipe.format}, {recipe.kilobits_per_second} kbit/s ({kind}), {recipe.sample_rate_hz} Hz"
    )
