"""What a text must be where a schema says more than that it is one: a date, a URI, a country.

Each answers for what is no text too: the schema's `type` speaks of that. Nothing is looked up on a
network.
"""

import re
from datetime import date, datetime
from functools import lru_cache

from rfc3339_validator import validate_rfc3339
from rfc3986_validator import validate_rfc3986

RIGHTS_STATEMENTS = frozenset(
    f"http://rightsstatements.org/vocab/{code}/1.0/"
    for code in (
        "InC",
        "InC-OW-EU",
        "InC-EDU",
        "InC-NC",
        "InC-RUU",
        "NoC-CR",
        "NoC-NC",
        "NoC-OKLR",
        "NoC-US",
        "CNE",
        "UND",
        "NKC",
    )
)
"""The statements of rightsstatements.org, version 1.0, spelled as published."""


def is_date_time(value: object) -> bool:
    """Tell whether text is a date and time with its offset, by RFC 3339."""
    return not isinstance(value, str) or validate_rfc3339(value)


def is_date_or_time(value: object) -> bool:
    """Return true; raise ValueError where no calendar or clock has such a day or time."""
    if isinstance(value, str):
        if len(value) == len("2026-03-14"):
            date.fromisoformat(value)
        else:
            datetime.fromisoformat(value)
    return True


def is_extended_date(value: object) -> bool:
    """Return true; raise ValueError for a date that is none of ISO 8601-2:2019 (EDTF, 0 to 2)."""
    if isinstance(value, str):
        known = _known_date if len(value) <= _LONGEST_DATE else _known_date.__wrapped__
        if not known(value):
            raise ValueError(value)
    return True


@lru_cache(maxsize=1024)
def _known_date(text: str) -> bool:
    """Tell it of a text. One package repeats its dates, and the library is slow."""
    if "/" in text:
        return _is_interval(text)
    from edtf import parse_edtf  # noqa: PLC0415  slow to load, and few forms hold such dates
    from edtf.parser import parser_classes  # noqa: PLC0415
    from edtf.parser.edtf_exceptions import EDTFParseException  # noqa: PLC0415

    # Danger: it prints what it breaks down on, which would stand within our JSON.
    vars(parser_classes)["print"] = _unprinted
    try:
        parse_edtf(text)
    except (EDTFParseException, ArithmeticError, AttributeError, LookupError, TypeError):
        return False
    return True


def _is_interval(text: str) -> bool:
    """Tell whether both ends are dates without a time, or unknown, or open, and one is a date.

    The library breaks down on some intervals, and knows those of level 2 only in part.
    """
    ends = text.split("/")
    dates = [one for one in ends if one not in {"", ".."}]
    alone = not any(set("[]{}T") & set(one) for one in dates)
    return len(ends) == 2 and bool(dates) and alone and all(map(_known_date, dates))


def _unprinted(*_: object) -> None:
    """Take what the library would print."""


_PLAIN_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(T[0-9:]{8}(Z|[+-][0-9:]{5})?)?", re.ASCII)
_LONGEST_DATE = 100


def is_edtf(text: str) -> bool:
    """Tell whether a stranger's text is such a date; plain days and moments need no library."""
    if len(text) > _LONGEST_DATE:
        return False
    try:
        return is_date_or_time(text) if _PLAIN_DATE.fullmatch(text) else is_extended_date(text)
    except ValueError:
        return False


def is_uri(value: object) -> bool:
    """Tell whether text is a URI; one of rightsstatements.org must be one of its twelve."""
    if not isinstance(value, str):
        return True
    if "rightsstatements.org" in value:
        return value in RIGHTS_STATEMENTS
    return bool(validate_rfc3986(value, rule="URI"))


def is_country(value: object) -> bool:
    """Tell whether text is one of the two-letter codes of ISO 3166-1."""
    import pycountry  # noqa: PLC0415  large tables, wanted by few forms

    return not isinstance(value, str) or pycountry.countries.get(alpha_2=value) is not None


def is_language(value: object) -> bool:
    """Tell whether text is one of the three-letter codes of ISO 639-3."""
    import pycountry  # noqa: PLC0415

    return not isinstance(value, str) or pycountry.languages.get(alpha_3=value) is not None
