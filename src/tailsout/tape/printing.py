"""Print-through: how long an echo comes before or after its sound, and what that tells.

A turn that lies on another magnetises it. The echo lies one turn away: at its own radius 2πr ÷ v,
half a thickness more outwards, half less inwards. First-order models, evidence and no proof.
"""

import math

from tailsout.tape.geometry import speed_mm_s


def delays_seconds(radius_mm: float, thickness_um: float, speed_ips: float) -> tuple[float, float]:
    """Return the delay to the outer and to the inner neighbour: 2π(r ± t/2) ÷ v, seconds.

    Raises ValueError.
    """
    half = _thickness_mm(thickness_um) / 2.0
    if radius_mm <= half:
        raise ValueError(f"a radius of {radius_mm} mm is impossible")
    speed = speed_mm_s(speed_ips)
    return (
        2.0 * math.pi * (radius_mm + half) / speed,
        2.0 * math.pi * (radius_mm - half) / speed,
    )


def delay_difference_seconds(thickness_um: float, speed_ips: float) -> float:
    """Return by how much the echo of the outer neighbour is later: 2πt ÷ v, seconds."""
    return 2.0 * math.pi * _thickness_mm(thickness_um) / speed_mm_s(speed_ips)


def strongest_hz(thickness_um: float, speed_ips: float) -> float:
    """Return the frequency that prints most: λ = 2πt, v ÷ (2πt).

    Bertram, Stafford and Mills, "The print-through phenomenon", JAES October 1980.
    """
    return speed_mm_s(speed_ips) / (2.0 * math.pi * _thickness_mm(thickness_um))


def band_db(frequency_hz: float, strongest: float) -> float:
    """Return how much less another frequency prints: 20 lg(x·e^(1-x)), x = f ÷ f0. First order."""
    if frequency_hz <= 0 or strongest <= 0:
        raise ValueError("a frequency must be above 0")
    x = frequency_hz / strongest
    return 20.0 * (math.log10(x) + (1.0 - x) * math.log10(math.e))


def squared_delay_slope(thickness_um: float, speed_ips: float, *, tails_out: bool) -> float:
    """Return how the square of the delay runs along the programme: ∓4πt ÷ v, s² a second.

    Falls where the beginning lay outside while it printed (heads out), rises where the end did.
    """
    slope = 4.0 * math.pi * _thickness_mm(thickness_um) / speed_mm_s(speed_ips)
    return slope if tails_out else -slope


def end_out_while_printing(pre_seconds: float, post_seconds: float) -> str | None:
    """Tell which end was out while a tape printed: `tail`, `head`, or None for no difference.

    The longer of the two delays is the outer neighbour's. If it is the echo that comes after, the
    later turns lay outside: the tape was stored tail out. Raises ValueError for no delay.
    """
    if pre_seconds <= 0 or post_seconds <= 0:
        raise ValueError("a delay must be above 0")
    if pre_seconds == post_seconds:
        return None
    return "tail" if post_seconds > pre_seconds else "head"


def _thickness_mm(thickness_um: float) -> float:
    if thickness_um <= 0:
        raise ValueError(f"a thickness of {thickness_um} µm is impossible")
    return thickness_um / 1000.0
