"""Elements of bag-info.txt that RFC 8493 §2.2.2 gives a form or a number of times."""

import re
from datetime import date

from tailsout.bag.notes import Notes
from tailsout.ground.units import printable
from tailsout.records.facts import InfoLine

_OXUM = re.compile(r"[0-9]{1,40}\.[0-9]{1,40}", re.ASCII)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_ONCE = ("bagging-date", "bag-size", "bag-group-identifier", "bag-count")


def note_elements(info: tuple[InfoLine, ...], notes: Notes) -> None:
    """Note what is not of its form, or stands more often than it may; names know no case."""
    first: dict[str, int] = {}
    for one in info:
        label, shown = one.label.casefold(), printable(one.value, 100)
        before = first.setdefault(label, one.line)
        if label == "payload-oxum" and not _OXUM.fullmatch(one.value):
            notes.add("oxum-malformed", one.file, one.line, f"It is {shown!r}.")
        if before != one.line and (label == "payload-oxum" or label in _ONCE):
            kind = "element-repeated" if label in _ONCE else "oxum-repeated"
            text = f"{printable(one.label, 100)} stands on line {before} already."
            notes.add(kind, one.file, one.line, text)
        if label == "bagging-date" and not _is_date(one.value):
            text = f"Bagging-Date is {shown!r}, not YYYY-MM-DD."
            notes.add("element-malformed", one.file, one.line, text)


def _is_date(value: str) -> bool:
    try:
        return bool(_DATE.fullmatch(value) and date.fromisoformat(value))
    except ValueError:
        return False
