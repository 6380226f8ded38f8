"""What a file is, told by its first octets.

Only the outermost form is named, so that a file that is not a wave file is refused by its own name.
The signatures are those of each format's own document; nothing behind them is looked at.
"""

WAVE_FORMS = ("RIFF", "RF64", "BW64")
"""Forms whose chunks are walked: RIFF (1991), EBU Tech 3306, ITU-R BS.2088-1."""

HEAD_OCTETS = 16
"""How much of a file `form_of` looks at."""

_WAVE64 = bytes.fromhex("72696666 2E91CF11 A5D628DB 04C10000")
_STARTS = (
    (b"RIFX", "RIFX"),
    (b"fLaC", "FLAC"),
    (b"OggS", "Ogg"),
    (b"caff", "CAF"),
    (b"ID3", "MP3"),
    (_WAVE64, "Wave64"),
)


def form_of(head: bytes) -> str:
    """Name the form of a file that begins with `head`: one of `WAVE_FORMS`, or what else it is."""
    if not head:
        return "empty file"
    if head[8:12] == b"WAVE" and head[:4] in (b"RIFF", b"RF64", b"BW64"):
        return head[:4].decode("ascii")
    if head[:4] == b"FORM" and head[8:12] in (b"AIFF", b"AIFC"):
        return "AIFF"
    for start, name in _STARTS:
        if head.startswith(start):
            return name
    # An MPEG audio frame: eleven sync bits, and 01 for layer III (ISO/IEC 11172-3 §2.4.1.3).
    if len(head) > 1 and head[0] == 0xFF and head[1] & 0xE6 == 0xE2:
        return "MP3"
    return "unknown"
