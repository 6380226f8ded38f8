"""Paths of files as relative addresses (RFC 3986): percent codes there and back."""

import re

_UNRESERVED = frozenset(b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/")
"""What stands for itself (§2.3), and the slash between parts."""
_CODE = re.compile(rb"%([0-9A-Fa-f]{2})")
_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")


def address(path: str) -> str:
    """Return a path as an address; octets that are not Unicode get their own codes."""
    octets = path.encode("utf-8", "surrogateescape")
    return "".join(chr(one) if one in _UNRESERVED else f"%{one:02X}" for one in octets)


def leads_out(address: str, folder: str) -> bool:
    """Tell whether an address in a file of `folder` leads to a file outside of its bag.

    An address with a scheme of its own is one of another place, unless it is that of files.
    """
    if _SCHEME.match(address):
        return address.lower().startswith("file:/")
    return path_at(address, folder) is None


def path_at(address: str, folder: str) -> str | None:
    """Return the path that a relative address in a file of `folder` leads to, in the same bag.

    None for an address of another place: absolute, with a scheme, or above the bag.
    """
    if address.startswith("/") or _SCHEME.match(address):
        return None
    bare = re.split("[?#]", address, maxsplit=1)[0]
    octets = _CODE.sub(lambda found: bytes((int(found[1], 16),)), bare.encode("utf-8", "replace"))
    parts = folder.split("/") if folder else []
    for part in octets.decode("utf-8", "surrogateescape").split("/"):
        if part == ".." and not parts:
            return None
        if part == "..":
            parts.pop()
        elif part not in {"", "."}:
            parts.append(part)
    return "/".join(parts)
