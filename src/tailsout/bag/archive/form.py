"""What sort of archive a file is: by its first octets, else by its name."""

import re
from typing import Literal

from tailsout.bag.archive import zip_records
from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable

Form = Literal["tar", "tar.gz", "tar.xz", "zip"]
HEAD_OCTETS = 512
_ENDINGS: dict[str, Form] = {
    ".tar": "tar",
    ".tar.gz": "tar.gz",
    ".tgz": "tar.gz",
    ".tar.xz": "tar.xz",
    ".txz": "tar.xz",
    ".zip": "zip",
}
_ENDING = re.compile(
    r"(.+?)(\.tar|\.tar\.gz|\.tgz|\.tar\.xz|\.txz|\.zip)", re.IGNORECASE | re.DOTALL
)
_SIGNATURES: tuple[tuple[int, bytes, Form], ...] = (
    (0, b"\x1f\x8b", "tar.gz"),
    (0, b"\xfd7zXZ\0", "tar.xz"),
    (0, zip_records.LOCAL, "zip"),
    (0, zip_records.END, "zip"),
    (257, b"ustar", "tar"),
)


def form_of(head: bytes, name: str) -> Form:
    """Tell what an archive is by its first 512 octets and its name.

    Raises UsageError if neither says so.
    """
    for at, signature, form in _SIGNATURES:
        if head[at : at + len(signature)] == signature:
            return form
    ending = _ENDING.fullmatch(name)
    if ending is None:
        raise UsageError(
            f"{printable(name)} is neither a folder nor an archive that is read here.",
            "Name the bag's folder, or its tar, tar.gz, tar.xz or zip.",
        )
    return _ENDINGS[ending[2].lower()]


def stem_of(name: str) -> str:
    """Return an archive's name without its ending."""
    ending = _ENDING.fullmatch(name)
    return ending[1] if ending is not None else name
