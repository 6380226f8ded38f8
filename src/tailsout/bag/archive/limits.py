"""Where the reading of an archive stops, whatever the archive claims."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """All of them are told where one is met."""

    members: int = 100_000
    header_octets: int = 64 << 10
    """Octets of an extended header, a long name or the extra field of a zip entry."""
    path_octets: int = 4096
    ratio: int = 200
    """Octets that one packed octet may come to, once `ratio_after` were met."""
    ratio_after: int = 10 << 20
    unpacked_octets: int = 2 << 40
    xz_memory_octets: int = 128 << 20
    tail_octets: int = 1 << 20
    """Octets of filling after the end of a tar."""
    zip_directory_octets: int = 64 << 20
    window_octets: int = 256 << 10
    """Octets kept of the start and of the end of a packed file that a reader may look into."""
    kept_octets: int = 96 << 20
    """Octets kept in all."""
    rereads: int = 8
    """How often a packed tar is begun anew for readers that go back."""


LIMITS = Limits()
