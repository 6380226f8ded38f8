"""Paths and names in a bag: which may be opened, and how they are spelled on a disk.

RFC 8493 §5.1 for what could lead out of a bag; `ground.portable` for what systems can hold.
On disk a name is octets; here it is text, UTF-8 whatever the locale, other octets as surrogates.
"""

import os
import re
import unicodedata

_DRIVE = re.compile(r"[A-Za-z]:")
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_ALIKE = frozenset({"LATIN", "GREEK", "CYRILLIC"})


def to_disk(path: str) -> str:
    """Return the spelling that reaches the disk as UTF-8 under any locale."""
    if path.isascii():
        return path
    return os.fsdecode(path.encode("utf-8", "surrogateescape"))


def from_disk(name: str) -> str:
    """Return a name the system handed over, read as UTF-8 under any locale."""
    if name.isascii():
        return name
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


def mixed_scripts(text: str) -> list[str]:
    """Return the name of a letter of each script where several that look alike stand in a text."""
    if text.isascii():
        return []
    letters = (unicodedata.name(c, "") for c in text if c.isalpha())
    first = {name.partition(" ")[0]: name for name in letters}
    mixed = [name for script, name in first.items() if script in _ALIKE]
    return mixed if len(mixed) > 1 else []
