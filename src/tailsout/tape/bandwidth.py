"""What a speed can be expected to hold: common practice, no source; programme may hold less."""

REACH_HZ = {0.9375: 5_000, 1.875: 8_000, 3.75: 12_000, 7.5: 18_000, 15.0: 20_000, 30.0: 22_000}
"""Upper end of what is commonly recorded at a speed in ips (5 kHz at 15/16 from memory)."""
MARGIN = 1.25
"""A good machine goes beyond; only well above the table is a measured edge a surprise."""


def implausible_above_hz(speed_ips: float) -> float:
    """Return the edge beyond which recorded bandwidth at a speed is a surprise, Hz.

    Between the speeds of the table by proportion. Raises ValueError for no speed.
    """
    if speed_ips <= 0:
        raise ValueError(f"a tape speed of {speed_ips} ips is impossible")
    slower = [(speed, reach) for speed, reach in REACH_HZ.items() if speed <= speed_ips]
    faster = [(speed, reach) for speed, reach in REACH_HZ.items() if speed >= speed_ips]
    if not slower:
        speed, reach = faster[0]
        return MARGIN * reach * speed_ips / speed
    if not faster:
        return MARGIN * slower[-1][1]
    (low, low_reach), (high, high_reach) = slower[-1], faster[0]
    if low == high:
        return MARGIN * low_reach
    share = (speed_ips - low) / (high - low)
    return MARGIN * (low_reach + share * (high_reach - low_reach))
