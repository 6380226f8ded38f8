"""Numbers as people on the bench read and type them."""

import re
from decimal import Decimal

from tailsout.ground.errors import MaterialError

CM_PER_INCH = Decimal("2.54")

_CLOCK = re.compile(r"(?:([0-9]{1,3}):)?([0-9]{1,3}):([0-5]?[0-9](?:\.[0-9]{1,6})?)", re.ASCII)


def samples_at(text: str, sample_rate_hz: int) -> int:
    """Turn `12:34.5` or `1:02:03` into a whole sample position, the nearest one.

    Raises MaterialError if the text is no such time.
    """
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise MaterialError(f"{text!r} is not a time.", "Write minutes:seconds, as 12:34.5.")
    hours, minutes, seconds = match.groups()
    total = (int(hours or 0) * 60 + int(minutes)) * 60 + Decimal(seconds)
    return int((total * sample_rate_hz).to_integral_value())


def clock_time(samples: int, sample_rate_hz: int) -> str:
    """Write a sample position as `h:mm:ss.sss` or `m:ss.sss`, cut to the millisecond."""
    thousandths = samples * 1000 // sample_rate_hz
    seconds, thousandths = divmod(thousandths, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    tail = f"{seconds:02d}.{thousandths:03d}"
    return f"{hours}:{minutes:02d}:{tail}" if hours else f"{minutes}:{tail}"


def at_sample(position: int, sample_rate_hz: int) -> str:
    """Write a sample position as a number and as a time: `sample 192000 (0:02.000)`."""
    return f"sample {position} ({clock_time(position, sample_rate_hz)})"


def size(octets: int) -> str:
    """Write a number of octets in decimal units, as disks are sold: `2.07 GB`."""
    for unit, factor in (("TB", 10**12), ("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if octets >= factor:
            return f"{octets / factor:.2f} {unit}"
    return counted(octets, "octet")


def counted(number: int, one: str, several: str = "") -> str:
    """Write a number of things: `1 file`, `3 files`; `several` is what is no plural in -s."""
    return f"{number} {one if number == 1 else several or one + 's'}"


def times(number: int) -> str:
    """Write how often: `once`, `3 times`."""
    return "once" if number == 1 else f"{number} times"


def speed(ips: Decimal) -> str:
    """Write a tape speed both ways: `7.5 ips (19.05 cm/s)`."""
    return f"{plain(ips)} ips ({plain(ips * CM_PER_INCH)} cm/s)"


def plain(number: Decimal) -> str:
    """Write a decimal without exponent or needless zeros."""
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def printable(text: str, limit: int = 2000) -> str:
    """Make text from strangers safe to print: control and direction characters escaped, cut.

    Danger: a file name or header can carry terminal commands; everything shown passes here.
    """
    if len(text) <= limit and text.isprintable():
        return text
    shown = "".join(c if c.isprintable() else _escape(c) for c in text[:limit])
    return shown if len(text) <= limit else f"{shown}…({len(text) - limit} more)"


def _escape(character: str) -> str:
    code = ord(character)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
