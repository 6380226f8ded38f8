"""Names of files: which every system can hold, which look alike, which letters are safe.

RFC 8493 §6.1 for names that systems treat differently. A name is text here; octets that are no
UTF-8 stand in it as surrogates.
"""

import re
import string
import unicodedata
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import PurePosixPath

from tailsout.ground.units import printable

_FORBIDDEN = frozenset('<>:"|?*\\')
# Reserved by Windows with or without an extension; the superscript digits count as digits there.
_RESERVED = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])\s*(?:\..*)?")
# Names that no system objects to: most are, and are not looked at any closer.
_PLAIN = re.compile(
    r"(?!con|prn|aux|nul|com|lpt)[a-z0-9_-](?:[a-z0-9_. -]{0,200}[a-z0-9_-])?",
    re.ASCII | re.IGNORECASE,
)
_INVISIBLE = frozenset({"Cc", "Cf", "Zl", "Zp"})
MAX_NAME_OCTETS = 255
PORTABLE_LETTERS = frozenset(string.ascii_letters + string.digits + "._-")
"""The portable filename character set of POSIX (IEEE Std 1003.1 §3.282; from memory)."""


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


def is_decoded(text: str) -> bool:
    """Tell whether all octets behind the text were UTF-8."""
    return text.isascii() or not any("\ud800" <= c <= "\udfff" for c in text)


def composed(path: str) -> str:
    """Return the path in normalisation form C."""
    return unicodedata.normalize("NFC", path)


def most_like(path: str, present: Iterable[str]) -> str:
    """End a sentence about a path that is not there with what was most likely meant by it."""
    if any(sign in path for sign in "\t\r\n\b\f"):
        return "; between the folders of a path stands /, for a backslash has a meaning of its own."
    paths = sorted(present)
    twin = next((one for one in paths if twin_key(one) == twin_key(path)), "")
    if twin and composed(twin) == composed(path):
        # Both look the same: macOS writes an accent as a letter of its own.
        return f"; {printable(twin)!r} there has other accents: rename it, typing its name anew."
    called = PurePosixPath(path).name
    by_name = {PurePosixPath(one).name: one for one in paths}
    near = twin or next(iter(get_close_matches(called, by_name, n=1, cutoff=0.75)), "")
    return f"; did you mean {printable(by_name.get(near, near))!r}?" if near else "."


def twin_key(path: str) -> str:
    """Return what is equal for paths that some system would take for one and the same."""
    return path.lower() if path.isascii() else composed(composed(path).casefold())
