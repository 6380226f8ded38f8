"""The loops over samples, compiled: the only place for numba.

A *block* is planar: `block[channel, position]`, float64, full scale 1.0; its first positions hold
the end of the block before, which the interpolation filter reaches back to.
Deliberately not here: any arithmetic that is done once a file.
"""

from tailsout.measure.kernels.compiled import Floats, Integers, Octets, Singles
from tailsout.measure.kernels.loudness import (
    BINS,
    BINS_A_LU,
    GATE_LUFS,
    MOMENTARY,
    OFFSET_LUFS,
    SHORT_TERM,
    STEP,
    SUB_BLOCKS_A_SECOND,
    tally,
    weigh,
)
from tailsout.measure.kernels.peaks import (
    SHORTEST_RUN,
    find_flat_tops,
    find_runs,
    survey,
    true_peaks,
)
from tailsout.measure.kernels.second import gather_spectra, multiply_pairs, sum_slots
from tailsout.measure.kernels.unpack import silence_wild, unpack_integers

__all__ = [
    "BINS",
    "BINS_A_LU",
    "GATE_LUFS",
    "MOMENTARY",
    "OFFSET_LUFS",
    "SHORTEST_RUN",
    "SHORT_TERM",
    "STEP",
    "SUB_BLOCKS_A_SECOND",
    "Floats",
    "Integers",
    "Octets",
    "Singles",
    "find_flat_tops",
    "find_runs",
    "gather_spectra",
    "multiply_pairs",
    "silence_wild",
    "sum_slots",
    "survey",
    "tally",
    "true_peaks",
    "unpack_integers",
    "weigh",
]
