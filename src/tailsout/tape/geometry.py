"""The pack on a reel: a spiral taken as a ring, L = π(R² - r²) ÷ t. Lengths in mm unless said.

The thickness is that of the whole tape with coating, back-coat and the air wound in; a loose pack
reads 1 to 3 % thick (common practice). Hubs and thicknesses vary by maker: every figure carries the
spread of ±1 mm in either radius and ±2 µm.
"""

import math

MM_PER_FOOT = 304.8
MM_PER_INCH = 25.4
RADIUS_SPREAD_MM = 1.0
THICKNESS_SPREAD_MM = 0.002
OVERFILL = 0.05
"""Makers put some per cent more on a reel than the box says (common practice, no source)."""

HUB_RADII_MM = {
    "5 inch, small hub": 22.225,
    "5 inch, large hub": 38.1,
    "7 inch, small hub": 28.575,
    "7 inch, large hub": 50.8,
    "10½ inch": 57.15,
}
"""Averages of many reels, measured by a restorer; brands vary."""
THICKNESSES_UM = {
    "standard play": 52.0,
    "long play": 35.0,
    "double play": 26.0,
    "triple play": 18.0,
}
"""Whole tape (35 µm read, the others from memory)."""
FULL_PACKS_MM = {5.0: (22.225, 59.6), 7.0: (28.575, 84.3), 10.5: (57.15, 126.05)}
"""Hub and outer radius of a full pack by the reel's diameter in inches: the hub that holds most,
and the fullest reel that was sold: 900 ft of 35 µm, 3600 ft of 18 µm, 2500 ft of 52 µm."""
STOCK_LENGTHS_FT = (150, 300, 600, 900, 1200, 1800, 2400, 2500, 3600, 4800)
"""Lengths that tape was sold in (common practice)."""


def length_mm(outer_mm: float, hub_mm: float, thickness_um: float) -> float:
    """Return the length of tape between two radii, mm. Raises ValueError for no such pack."""
    _pack(outer_mm, hub_mm)
    return math.pi * (outer_mm**2 - hub_mm**2) / _thickness(thickness_um)


def full_length_mm(diameter_in: float, thickness_um: float) -> float | None:
    """Return the most tape that a full reel of a size holds, mm; None of a size not known here.

    Raises ValueError for no thickness.
    """
    pack = FULL_PACKS_MM.get(diameter_in)
    if pack is None:
        return None
    hub, outer = pack
    return length_mm(outer, hub, thickness_um)


def length_spread_mm(outer_mm: float, hub_mm: float, thickness_um: float) -> float:
    """Return how far off that length may be: the spreads of both radii and the thickness, mm.

    Added as squares; first order. Raises ValueError.
    """
    length = length_mm(outer_mm, hub_mm, thickness_um)
    thickness = _thickness(thickness_um)
    parts = (
        2.0 * math.pi * outer_mm / thickness * RADIUS_SPREAD_MM,
        2.0 * math.pi * hub_mm / thickness * RADIUS_SPREAD_MM,
        length / thickness * THICKNESS_SPREAD_MM,
    )
    return math.sqrt(sum(part**2 for part in parts))


def outer_radius_mm(length: float, hub_mm: float, thickness_um: float) -> float:
    """Return the radius of a pack of so many mm of tape. Raises ValueError."""
    if length < 0:
        raise ValueError(f"a length of {length} mm is impossible")
    _pack(hub_mm, hub_mm)
    return math.sqrt(hub_mm**2 + length * _thickness(thickness_um) / math.pi)


def thickness_um(outer_mm: float, hub_mm: float, length: float) -> float:
    """Return how thick so many mm of tape between two radii are, µm. Raises ValueError."""
    _pack(outer_mm, hub_mm)
    if length <= 0:
        raise ValueError(f"a length of {length} mm is impossible")
    return math.pi * (outer_mm**2 - hub_mm**2) / length * 1000.0


def turns(outer_mm: float, hub_mm: float, thickness_um: float) -> float:
    """Return how many turns lie between two radii. Raises ValueError."""
    _pack(outer_mm, hub_mm)
    return (outer_mm - hub_mm) / _thickness(thickness_um)


def radius_after_mm(outer_mm: float, played_mm: float, thickness_um: float) -> float:
    """Return the radius of a supply pack when so many mm have left it. Raises ValueError."""
    left = outer_mm**2 - played_mm * _thickness(thickness_um) / math.pi
    if played_mm < 0 or left < 0:
        raise ValueError(f"{played_mm} mm of tape cannot have left a pack of {outer_mm} mm")
    return math.sqrt(left)


def turn_seconds(radius_mm: float, speed_ips: float) -> float:
    """Return how long one turn takes at a radius: 2πr ÷ v. Raises ValueError for no speed."""
    if radius_mm <= 0:
        raise ValueError(f"a radius of {radius_mm} mm is impossible")
    return 2.0 * math.pi * radius_mm / speed_mm_s(speed_ips)


def speed_mm_s(speed_ips: float) -> float:
    """Return a speed in mm/s. Raises ValueError for no speed."""
    if speed_ips <= 0:
        raise ValueError(f"a tape speed of {speed_ips} ips is impossible")
    return speed_ips * MM_PER_INCH


def tension_ratio(outer_mm: float, hub_mm: float) -> float:
    """Return how much the tension grows from full to empty at constant torque: R ÷ r."""
    _pack(outer_mm, hub_mm)
    return outer_mm / hub_mm


def nearest_stock_ft(length_ft: float) -> int | None:
    """Return the length that was sold and holds so much tape: the shortest, overfill reckoned in.

    None if no reel held so much. Raises ValueError.
    """
    if length_ft <= 0:
        raise ValueError(f"a length of {length_ft} feet is impossible")
    return next((one for one in STOCK_LENGTHS_FT if length_ft <= one * (1 + OVERFILL)), None)


def rim_drive_drift_semitones(hub_mm: float, length: float, thickness_um: float) -> float:
    """Return how far pitch drifts over a reel recorded at constant turns of the take-up reel.

    12 · lg2(R ÷ r), for machines without a capstan (small reels). Raises ValueError.
    """
    return 12.0 * math.log2(outer_radius_mm(length, hub_mm, thickness_um) / hub_mm)


def _pack(outer_mm: float, hub_mm: float) -> None:
    if hub_mm <= 0 or outer_mm < hub_mm:
        raise ValueError(f"there is no pack between radii of {hub_mm} and {outer_mm} mm")


def _thickness(thickness_um: float) -> float:
    if thickness_um <= 0:
        raise ValueError(f"a thickness of {thickness_um} µm is impossible")
    return thickness_um / 1000.0
