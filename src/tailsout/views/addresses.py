"""Paths of files as relative addresses (RFC 3986 §2.1, §2.3): percent codes for all that is odd."""

_UNRESERVED = frozenset(b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/")
"""What stands for itself, and the slash between parts."""


def address(path: str) -> str:
    """Return a path as an address; octets that are no Unicode get their own codes."""
    octets = path.encode("utf-8", "surrogateescape")
    return "".join(chr(one) if one in _UNRESERVED else f"%{one:02X}" for one in octets)
