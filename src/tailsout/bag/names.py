"""Paths and names: which may be opened, which every system can hold, which look alike.

RFC 8493 §5.1 for what could lead out of a bag, §6.1 for names that systems treat differently.
On disk a name is octets; here it is text, UTF-8 whatever the locale, other octets as surrogates.
"""

import os
import re
import unicodedata

_DRIVE = re.compile(r"[A-Za-z]:")
_FORBIDDEN = frozenset('<>:"|?*\\')
# Reserved by Windows with or without an extension; the superscript digits count as digits there.
_RESERVED = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])\s*(?:\..*)?")
# Names that no system objects to: most are, and are not looked at any closer.
_PLAIN = re.compile(
    r"(?!con|prn|aux|nul|com|lpt)[a-z0-9_-](?:[a-z0-9_. -]{0,200}[a-z0-9_-])?",
    re.ASCII | re.IGNORECASE,
)
_INVISIBLE = frozenset({"Cc", "Cf", "Zl", "Zp"})
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_ALIKE = frozenset({"LATIN", "GREEK", "CYRILLIC"})
MAX_NAME_OCTETS = 255


def to_disk(path: str) -> str:
    """Return the spelling that reaches the disk as UTF-8 under any locale."""
    return os.fsdecode(path.encode("utf-8", "surrogateescape"))


def from_disk(name: str) -> str:
    """Return a name the system handed over, read as UTF-8 under any locale."""
    return os.fsencode(name).decode("utf-8", "surrogateescape")


def unsafe(path: str) -> str:
    """Say why a listed path could lead out of the bag or deceive; empty if it is safe.

    Tab, CR and LF pass: the latter two can only come from the percent codes RFC 8493 §2.1.3 gives.
    """
    # Danger: on Windows the backslash parts a path, so '..' is looked for on both sides of it.
    faults = {
        "it is absolute": path.startswith("/"),
        "it begins with a home directory": path.startswith("~"),
        "it begins with a backslash, as network and device paths do": path.startswith("\\"),
        "it begins with a drive letter": _DRIVE.match(path),
        "it has the part '..'": ".." in re.split(r"[/\\]", path),
        "it has an empty part or the part '.'": not {"", "."}.isdisjoint(path.split("/")),
        "it holds a control character": _CONTROLS.search(path),
    }
    return next((why for why, true in faults.items() if true), "")


def is_plain_payload(path: str) -> bool:
    """Tell at a glance that a path lies in data and is safe; of most `unsafe` need not be asked."""
    odd = "\\" in path or "/." in path or "//" in path or path.endswith("/")
    return path.startswith("data/") and path.isprintable() and not odd


def not_portable(name: str) -> str:
    """Say why one part of a path cannot stand on every system; empty if it can."""
    if _PLAIN.fullmatch(name):
        return ""
    octets = len(name.encode("utf-8", "surrogateescape"))
    faults = {
        "it is empty": not name,
        "it begins or ends with a blank": name != name.strip(),
        "it ends with a full stop": name.endswith("."),
        'it holds one of < > : " | ? * and the backslash': not _FORBIDDEN.isdisjoint(name),
        "it holds a control, format or direction character": has_invisible(name),
        "Windows keeps that name for a device": _RESERVED.fullmatch(name.casefold()),
        f"it is longer than {MAX_NAME_OCTETS} octets": octets > MAX_NAME_OCTETS,
    }
    return next((why for why, true in faults.items() if true), "")


def has_invisible(text: str) -> bool:
    """Tell whether control, format, direction or line-parting characters are in it."""
    if text.isprintable():
        return False
    return any(unicodedata.category(c) in _INVISIBLE for c in text)


def has_mixed_scripts(text: str) -> bool:
    """Tell whether letters of scripts that look alike stand in one name."""
    if text.isascii():
        return False
    scripts = {unicodedata.name(c, "").partition(" ")[0] for c in text if c.isalpha()}
    return len(scripts & _ALIKE) > 1


def is_decoded(text: str) -> bool:
    """Tell whether all octets behind the text were UTF-8."""
    return not any("\ud800" <= c <= "\udfff" for c in text)


def composed(path: str) -> str:
    """Return the path in normalisation form C."""
    return unicodedata.normalize("NFC", path)


def twin_key(path: str) -> str:
    """Return what is equal for paths that some system would take for one and the same."""
    return path.lower() if path.isascii() else composed(composed(path).casefold())
