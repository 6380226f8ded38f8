"""The unique source identifier of EBU R 99-2011 that may stand in OriginatorReference.

Thirty-two characters: country (2), facility (3), serial number (12), time (6), random figures (9).
The layout is as other readers have it, not from the recommendation's own text. Advice only: an
archive's own identifier in that field is just as good (FADGI).
"""

import re
from dataclasses import dataclass

from tailsout.ground.errors import MaterialError

_USID = re.compile(
    r"(?P<country>[A-Z]{2})(?P<organisation>[A-Z0-9]{3})(?P<serial>[ -~]{12})"
    r"(?P<time>(?:[01][0-9]|2[0-3])[0-5][0-9][0-5][0-9])(?P<random>[0-9]{9})",
    re.ASCII,
)
_TEMPLATE = re.compile(r"N{6}|R{6}|HHMMSS|\ACCOOO", re.ASCII)
"""Letters that stand in the recommendation for what is to be filled in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Usid:
    """One identifier, taken apart."""

    country: str
    """Two letters of ISO 3166."""
    organisation: str
    """The EBU's code of three characters."""
    serial: str
    """Twelve characters made of the machine's model and serial number."""
    time: str
    """`HHMMSS`, as in OriginationTime."""
    random: str
    """Nine figures."""

    def __str__(self) -> str:
        return self.country + self.organisation + self.serial + self.time + self.random


def parse(text: str) -> Usid | None:
    """Take an OriginatorReference apart; None where it is not of this shape."""
    match = _USID.fullmatch(text)
    return Usid(**match.groupdict()) if match else None


def make(*, country: str, organisation: str, serial: str, time: str, random: str) -> Usid:
    """Put an identifier together. Raises MaterialError for a part that does not fit its place."""
    usid = Usid(country=country, organisation=organisation, serial=serial, time=time, random=random)
    if parse(str(usid)) != usid:
        raise MaterialError(
            f"{str(usid)!r} is not a source identifier of EBU R 99.",
            "It takes 2 capitals, 3 capitals or figures, 12 characters, HHMMSS and 9 figures.",
        )
    return usid


def remark(text: str) -> str:
    """Say in one sentence that a reference looks like a form nobody filled in; else empty."""
    if parse(text) is None and _TEMPLATE.search(text):
        return "It looks like the form of an EBU R 99 identifier that was not filled in."
    return ""
