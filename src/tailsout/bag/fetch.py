"""Addresses in fetch.txt, RFC 8493 §2.2.3: looked at, never used and never shown.

Nothing is ever fetched. But another program may do as the list says, so that an address which
would have it read this machine or the network around it is told (RFC 8493 §5.2).
"""

import ipaddress
import re

from tailsout.ground.portable import has_invisible

_ADDRESS = re.compile(r"([A-Za-z][A-Za-z0-9+.-]*):/*([^/?#\\]+)")
_NUMBER = re.compile(r"0x[0-9a-f]{1,8}|[0-9]{1,11}")


def unsafe_address(address: str) -> str:
    """Say why an address is not to be followed; empty if it may be.

    No name is resolved: a name that leads into a private network is not seen.
    """
    match = _ADDRESS.match(address)
    if match is None:
        return "it is neither http nor https, or names no host"
    scheme, authority = match[1].lower(), match[2].lower()
    host = authority.rpartition("@")[2]
    host = host[1:].partition("]")[0] if host.startswith("[") else host.partition(":")[0]
    number = _address(host)
    faults = {
        "it is neither http nor https": scheme not in {"http", "https"},
        "it holds a user name or a password": "@" in authority,
        "it holds a control character": has_invisible(address),
        "it names no host": not host.strip("."),
        "it points at this machine": host == "localhost" or host.endswith(".localhost"),
        "it points into a private network": number is not None and not number.is_global,
    }
    return next((why for why, true in faults.items() if true), "")


def _address(host: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    """Read a host that is a number, in any spelling that resolvers take; None if it is a name."""
    parts = host.split(".")
    try:
        if ":" in host:
            found = ipaddress.IPv6Address(host)
            return found.ipv4_mapped or found
        if len(parts) > 4 or not all(_NUMBER.fullmatch(part) for part in parts):
            return None
        *heads, last = [_number(part) for part in parts]
    except ValueError:
        return None
    value = last + sum(one << 8 * (3 - place) for place, one in enumerate(heads))
    return ipaddress.IPv4Address(value % 2**32)


def _number(part: str) -> int:
    """Read a part of an address as C does: hexadecimal after 0x, octal after 0."""
    if part.startswith("0x"):
        return int(part, 16)
    return int(part, 8 if part.startswith("0") else 10)
