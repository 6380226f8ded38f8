"""Words of a plot: people's text made safe and short, numbers as they are read on the bench."""

from unicodedata import east_asian_width

from tailsout.ground.units import printable

MINUS = "−"


def short(text: str, most: int) -> str:
    """Make text from people safe, on one line, at most so many columns wide; `…` where it is cut.

    Characters that are drawn two columns wide count twice.
    """
    start = text[: 4 * most]
    shown = printable(" ".join(start.split()))
    widths = [2 if east_asian_width(character) in "WF" else 1 for character in shown]
    if sum(widths) <= most and start == text:
        return shown
    while widths and sum(widths) > most - 1:
        widths.pop()
    return shown[: len(widths)].rstrip() + "…"


def clock(seconds: float) -> str:
    """Write a place in a recording as `m:ss` or `h:mm:ss`, cut to the second."""
    minutes, rest = divmod(int(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def hertz(frequency: float) -> str:
    """Write a frequency as on a dial: `31.5`, `1 k`, `12.5 k`."""
    thousands = frequency >= 1000
    number = f"{frequency / 1000 if thousands else frequency:.2f}".rstrip("0").rstrip(".")
    return f"{number} k" if thousands else number


def in_hertz(frequency: float) -> str:
    """Write a frequency with its unit: `31.5 Hz`, `12.5 kHz`."""
    return f"{hertz(frequency)}Hz" if frequency >= 1000 else f"{hertz(frequency)} Hz"


def signed(number: float, digits: int) -> str:
    """Write a number with its sign, the minus one that is as wide as a plus; no `-0`."""
    text = f"{number:+.{digits}f}"
    if not text.strip("+-0."):
        return text[1:]
    return text.replace("-", MINUS)
