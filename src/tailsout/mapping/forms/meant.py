"""What a slip in a form was meant to be, where it can be one thing only.

Nothing is put right behind the writer's back: what was meant is offered, and they write it.
"""

import re
from decimal import Decimal

from tailsout.ground import typed
from tailsout.ground.units import plain, printable
from tailsout.mapping.schema_faults import Fault

_UNITS = {
    "_mm": ("mm",),
    "_um": ("µm", "μm", "um"),
    "_nwb_m": ("nWb/m",),
    "_m": ("m",),
    "diameter_in": ('"', "″", "in", "inch", "inches"),
    "_ips": ("ips", "in/s"),
    "_us": ("µs", "μs", "us"),
    "_hz": ("Hz",),
    "_db": ("dB",),
    "_dbfs": ("dBFS",),
    "_deg": ("°", "deg"),
    "_c": ("°C", "C"),
    "_percent": ("%",),
    "_minutes": ("min", "mins", "minutes"),
    "hours": ("h", "hrs", "hours"),
}
"""Units that people write behind a number, by the end of the key that says the unit already. The
first ending that fits counts."""
_DATED = ("on", "date", "started")
"""Last words of keys that hold a date; elsewhere 12.3.1964 may be what the label says."""
_YES_OR_NO = {"yes": "true", "no": "false", "true": "true", "false": "false"}
_CLOCK = re.compile(r"(?:[0-9]{1,3}:)?[0-9]{1,3}:[0-5][0-9](?:\.[0-9]{1,6})?")
_SECONDS = re.compile(r"([0-9]{1,5}) ?s(?:ec)?")
_KEY = re.compile(r"\s*[A-Za-z0-9_-]+\s*=")
_COMMENTED = re.compile(r"#\s*(\[\[?[A-Za-z0-9_.-]+\]\]?)")
_MARKS = frozenset("\"'“”„‟‘’‚«»")
_NO_WORDS = re.compile(r"[\[\]{}=#]|\"\"\"|'''")
"""What a text would hardly hold: here something else went wrong."""


def told(fault: Fault, *, called: str = "", example: str = "") -> str:
    """Tell a fault, and what to write in its place, or an example of it.

    `called` is the key it stands under, where that is not the last part of its pointer.
    """
    offered = _instead(fault, called)
    if offered:
        return f"{fault.found}; {fault.allowed}: write {offered}."
    return f"{str(fault).removesuffix('.')}; for instance {example}." if example else str(fault)


def _instead(fault: Fault, called: str) -> str:
    """Return what ought to stand in a form where it holds another type or form; else empty."""
    parts = [part for part in fault.pointer.split("/")[1:] if not part.isdigit()]
    key, given = parts[-1] if parts else "", fault.given
    if fault.wanted == "tables":
        return f"[[{'.'.join(parts)}]] above each entry"
    if fault.wanted == "object" and isinstance(given, list):
        return f"[{'.'.join(parts)}] above it, once"
    found = ""
    if isinstance(given, str):
        found = _of_text(given, key, fault.wanted)
    elif fault.wanted == "string" and isinstance(given, int | Decimal):
        found = f'"{str(given).lower() if isinstance(given, bool) else given}"'
    is_in_list = fault.pointer.rpartition("/")[2].isdigit()
    return (found if is_in_list else f"{called or key} = {found}") if found else ""


def _of_text(given: str, key: str, wanted: str) -> str:
    if wanted in ("number", "integer"):
        found = number(given, key)
        # "1/2" may be the first of two parts.
        return "" if wanted == "integer" and "." in found else found
    if wanted == "date":
        when = typed.when(given)
        return f'"{when}"' if when else ""
    if wanted == "array" and given:
        text = _text(given) if given == printable(given, 60) else ""
        return f"[{text}]" if text else ""
    return _YES_OR_NO.get(given.casefold(), "") if wanted == "boolean" else ""


def below(header: str) -> str:
    """Say what to do about a header that is still a comment."""
    return f"take away the # of {header} above it, to which it belongs"


def header_left_out(text: str, line: int) -> str:
    """Return the header above a key that is still a comment, as the blank forms have them.

    Empty if the header that the key stands under is nearer, or the line states no key.
    """
    lines = text.split("\n")
    if not _KEY.match(lines[line - 1]):
        return ""
    for above in reversed(lines[: line - 1]):
        if above.lstrip().startswith("["):
            return ""
        if match := _COMMENTED.fullmatch(above.rstrip()):
            return match[1]
    return ""


def number(text: str, key: str) -> str:
    """Return the number that a text means as the value of a key, as TOML spells it; else empty."""
    bare = text.strip()
    for ending, units in _UNITS.items():
        if key.endswith(ending):
            for unit in units:
                if bare.casefold().endswith(unit.casefold()):
                    bare = bare[: -len(unit)].rstrip()
                    break
            break
    found = typed.number(bare)
    return plain(found) if found is not None else ""


def clock(text: str) -> str:
    """Return `90 s` or `0:11,5` as minutes:seconds; empty if it is no such time."""
    match = _SECONDS.fullmatch(text.strip())
    if match:
        minutes, seconds = divmod(int(match[1]), 60)
        return f"{minutes}:{seconds:02d}"
    dotted = text.strip().replace(",", ".")
    return dotted if _CLOCK.fullmatch(dotted) else ""


def value(bare: str, key: str) -> str:
    """Return how TOML spells a value that somebody wrote with wrong marks or none; else empty."""
    bare = _uncommented(bare.strip())
    # Where the key says no unit, 007 and 3/4 may be what stands on a shelf.
    found = number(bare, key) if key.endswith(tuple(_UNITS)) else ""
    if found:
        return found
    if bare.casefold() in _YES_OR_NO:
        return _YES_OR_NO[bare.casefold()]
    when = typed.when(bare) if key.rpartition("_")[2] in _DATED else ""
    return f'"{when}"' if when else _text(bare)


def _uncommented(bare: str) -> str:
    """Return a value without the comment behind it; `Song #3` has none, `"a # b` who knows."""
    head, _, behind = bare.partition(" # ")
    head = head.rstrip()
    is_open = head[:1] in _MARKS and head[1:][-1:] not in _MARKS
    return bare if is_open and behind else head


def _text(bare: str) -> str:
    """Return a text in straight marks, those within it told apart from them."""
    opens, closes = bare[:1] in _MARKS, bare[1:][-1:] in _MARKS
    words = bare[opens : len(bare) - closes] if opens else bare
    if not words.strip() or _NO_WORDS.search(words):
        return ""
    if opens and not closes and '"' in words:  # "Song" (live): where does it end?
        return ""
    within = words.replace('\\"', '"').replace('"', '\\"')
    return f'"{within}"' if "\\" not in within.replace('\\"', "") else ""
