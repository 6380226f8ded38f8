"""Fluxivity: recorded flux per track width in nWb/m, r.m.s.

A figure means something only with its method: the transfer of the 1950s to a flux of direct current
(DIN) reads high against the ring-head method of AES7. "+3" and "+6" on a box are nominal.
"""

import math

DIN_STATED_NWB_M = 320.0
DIN_BY_AES7_NWB_M = 288.0
"""What tapes labelled 320 by the DIN transfer measure by AES7 and ANSI S4.6 (McKnight and others,
"Tape flux measurement revisited", JAES)."""
SATURATION_NWB_M = 1500.0
"""Above what most tapes hold (common practice, no source)."""


def level_db(one_nwb_m: float, reference_nwb_m: float) -> float:
    """Return one fluxivity re another: 20 lg(a ÷ b) dB. Raises ValueError if one is not above 0."""
    return 20.0 * math.log10(_flux(one_nwb_m) / _flux(reference_nwb_m))


def at_level(reference_nwb_m: float, reference_dbfs: float, level_dbfs: float) -> float:
    """Return the fluxivity that a level in a file stands for, nWb/m.

    `reference_dbfs` is where a tone of `reference_nwb_m` reads in the same file, both levels by one
    convention. Raises ValueError.
    """
    return _flux(reference_nwb_m) * math.pow(10.0, (level_dbfs - reference_dbfs) / 20.0)


def at_full_scale(reference_nwb_m: float, reference_dbfs: float) -> float:
    """Return the fluxivity at 0 dBFS, nWb/m. Raises ValueError."""
    return at_level(reference_nwb_m, reference_dbfs, 0.0)


def by_ring_head(din_nwb_m: float) -> float:
    """Return what a fluxivity stated by the DIN transfer is by the ring-head method, nWb/m."""
    return _flux(din_nwb_m) * DIN_BY_AES7_NWB_M / DIN_STATED_NWB_M


def _flux(nwb_m: float) -> float:
    if nwb_m <= 0:
        raise ValueError(f"a fluxivity of {nwb_m} nWb/m is impossible")
    return nwb_m
