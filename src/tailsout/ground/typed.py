"""Numbers, dates and times as people write them without thinking of a form: 7 1/2, 6,3, 14.3.2026.

Each function answers only where one thing alone can be meant.
"""

import re
from datetime import date, time
from decimal import Decimal, InvalidOperation

_VULGAR = {
    "½": Decimal("0.5"),
    "¼": Decimal("0.25"),
    "¾": Decimal("0.75"),
    "⅛": Decimal("0.125"),
    "⅜": Decimal("0.375"),
    "⅝": Decimal("0.625"),
    "⅞": Decimal("0.875"),
}
_WITH_VULGAR = re.compile(r"([0-9]{0,3}) ?([½¼¾⅛⅜⅝⅞])")
_MIXED = re.compile(r"(?:([0-9]{1,3})[ -])?([0-9]{1,2})/([0-9]{1,2})")
_WITH_COMMA = re.compile(r"([+-]?[0-9]{1,9}),([0-9]{1,9})")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
"""1,204 is a thousand and more to some, and one and a bit to others."""
_DAY = re.compile(r"([0-9]{1,2})\. ?([0-9]{1,2})\. ?([0-9]{4})")
"""With full stops the day goes before the month; with strokes nobody knows."""
_CALENDAR_DAY = re.compile(r"[0-9]{4}-?[0-9]{2}-?[0-9]{2}")
"""Not 2026W11, which the library reads too, and which is likelier a number on a shelf."""
_DAY_AND_TIME = re.compile(r"(\S.*?[0-9]{4}|[0-9]{4}-[0-9]{2}-[0-9]{2})[T ,]+([0-9:]{4,8})")
_TIME = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])(?::([0-5][0-9]))?")
_MOST, _MOST_PLACES = Decimal(10) ** 12, 20
_LONGEST = 40


def number(text: str) -> Decimal | None:
    """Read `7.5`, `7,5`, `7½`, `7 1/2`, `15/16`; None for what is not a number or may be two."""
    if len(text) > _LONGEST:
        return None
    if match := _WITH_VULGAR.fullmatch(text):
        return Decimal(match[1] or 0) + _VULGAR[match[2]]
    if (match := _MIXED.fullmatch(text)) and int(match[3]):
        return Decimal(match[1] or 0) + Decimal(match[2]) / Decimal(match[3])
    if (match := _WITH_COMMA.fullmatch(text)) and not _THOUSANDS.fullmatch(text):
        text = f"{match[1]}.{match[2]}"
    try:
        found = Decimal(text)
    except InvalidOperation:
        return None
    if not found.is_finite() or abs(found) >= _MOST:
        return None
    # 1e-999999999 is a gigabyte of zeros to whoever writes it out.
    exponent = found.as_tuple().exponent
    return found if isinstance(exponent, int) and abs(exponent) <= _MOST_PLACES else None


def when(text: str) -> str:
    """Return `14.3.2026 10:20` as a form takes it, 2026-03-14T10:20; empty if it is no such."""
    text = text.strip()
    if len(text) > _LONGEST:
        return ""
    if match := _DAY_AND_TIME.fullmatch(text):
        day, clock = _day(match[1]), _time(match[2])
        return f"{day}T{clock}" if day and clock else ""
    return _day(text)


def _day(text: str) -> str:
    match = _DAY.fullmatch(text)
    try:
        if match is not None:
            return date(int(match[3]), int(match[2]), int(match[1])).isoformat()
        return date.fromisoformat(text).isoformat() if _CALENDAR_DAY.fullmatch(text) else ""
    except ValueError:
        return ""


def _time(text: str) -> str:
    match = _TIME.fullmatch(text)
    if match is None:
        return ""
    hours, minutes, seconds = (int(part or 0) for part in match.groups())
    return time(hours, minutes, seconds).isoformat("seconds" if match[3] else "minutes")
