"""Text ended by a NUL, as the sub-chunks of `INFO` and `adtl` hold it: ZSTR of RIFF 1991.

RIFF 1991 takes ISO 8859-1 for granted where no CSET chunk says otherwise; what stands in files
is often UTF-8. Both are read, and only ASCII is written, which everybody reads alike.
"""

import re
from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.wave.cset import CODECS

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
"""Control characters but for those that lay out text: TAB, LF and CR."""
_WRITTEN = re.compile(r"[ -~]*", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """The damage words of one sort of list."""

    unended: str
    nuls: str
    after_nul: str
    not_ascii: str
    control: str


def decode(
    raw: bytes, name: str, words: Words, *, offset: int = 0, code_page: int | None = None
) -> tuple[str, tuple[Damage, ...]]:
    """Return the text up to the first NUL, as it stands, and what is wrong with it.

    What is not ASCII is UTF-8, else of the code page if that is known, else ISO 8859-1. `name`
    begins the sentence of each fault.
    """
    faults: list[tuple[str, str]] = []
    head, nul, tail = raw.partition(b"\0")
    # Writers that count the pad octet into the size leave one NUL more, never an odd size; that
    # is so common that it is no fault.
    filled_up = len(tail) == 1 and len(raw) % 2 == 0
    if not nul:
        faults.append((words.unended, "is not ended by a NUL."))
    elif tail.strip(b"\0"):
        faults.append((words.after_nul, "has other octets after its first NUL."))
    elif tail and not filled_up:
        faults.append((words.nuls, f"is ended by {1 + len(tail)} NULs, not by one."))
    text, coding = _characters(head, code_page)
    if coding:
        what = f"has characters outside ASCII, which readers take differently; read as {coding}."
        faults.append((words.not_ascii, what))
    if _CONTROL.search(text):
        faults.append((words.control, "has control characters."))
    return text, tuple(
        Damage(kind=kind, offset=offset, text=f"{name} {what}") for kind, what in faults
    )


def encode(text: str, name: str) -> bytes:
    """Return the text and its NUL.

    Raises MaterialError, naming `name`, for what is not ASCII and for control characters.
    """
    return characters(text, name) + b"\0"


def characters(text: str, name: str) -> bytes:
    """Return the text without a NUL; raises MaterialError as `encode` does."""
    if not _WRITTEN.fullmatch(text):
        raise MaterialError(
            f"{name} must be ASCII without control characters.", "Write it in plain letters."
        )
    return text.encode("ascii")


def _characters(octets: bytes, code_page: int | None) -> tuple[str, str]:
    """Return the text and what it was read as; the latter is empty for plain ASCII."""
    if octets.isascii():
        return octets.decode("ascii"), ""
    tries = [("utf-8", "UTF-8")]
    if code_page in CODECS:
        tries.append((CODECS[code_page], f"code page {code_page}"))
    for codec, coding in tries:
        try:
            return octets.decode(codec), coding
        except UnicodeDecodeError:
            continue
    return octets.decode("latin-1"), "ISO 8859-1"
