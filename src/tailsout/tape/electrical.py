"""Levels between boxes: what a load takes off, what a meter's unit is in another."""

import math

DBU_VOLTS = 0.7745966692414834
"""0 dBu: the voltage of 1 mW in 600 Ω."""


def load_db(load_ohm: float, source_ohm: float) -> float:
    """Return what a load takes off: 20 lg(RL ÷ (RL + Zo)), dB. Raises ValueError."""
    if load_ohm <= 0 or source_ohm < 0:
        raise ValueError(f"{load_ohm} Ω on a source of {source_ohm} Ω is not a load")
    return 20.0 * math.log10(load_ohm / (load_ohm + source_ohm))


def bridged_db(bridge_ohm: float, load_ohm: float, source_ohm: float) -> float:
    """Return what a meter takes off when it lies across a load, dB. Raises ValueError."""
    if bridge_ohm <= 0:
        raise ValueError(f"a meter of {bridge_ohm} Ω is impossible")
    both = load_ohm * bridge_ohm / (load_ohm + bridge_ohm)
    return load_db(both, source_ohm) - load_db(load_ohm, source_ohm)


def volts_of_dbu(level_dbu: float) -> float:
    """Return the r.m.s. voltage of a level in dBu."""
    return DBU_VOLTS * math.pow(10.0, level_dbu / 20.0)


def dbu_of_dbv(level_dbv: float) -> float:
    """Return a level in dBV as dBu."""
    return level_dbv - 20.0 * math.log10(DBU_VOLTS)
