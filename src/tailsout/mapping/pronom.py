"""Which version of its format a picture or a PDF is in, by its own octets.

What tells versions apart is taken from the signatures of PRONOM (signature file 109). What they
find at the end of a file, or anywhere in it, is not looked for: a PDF/A is told as the PDF that its
header names, a GeoTIFF as TIFF. Where octets do not say, there is no identifier.
"""

import re
from collections.abc import Mapping
from typing import BinaryIO

_PDF = re.compile(rb"%PDF-([0-9]\.[0-9])")
_PDFS: Mapping[bytes, str] = {
    b"1.0": "fmt/14",
    b"1.1": "fmt/15",
    b"1.2": "fmt/16",
    b"1.3": "fmt/17",
    b"1.4": "fmt/18",
    b"1.5": "fmt/19",
    b"1.6": "fmt/20",
    b"1.7": "fmt/276",
    b"2.0": "fmt/1129",
}
_JFIF = re.compile(rb"\xff\xd8\xff\xe0..JFIF\0\x01([\0-\x02])[\0-\x02]", re.DOTALL)
_JFIFS: Mapping[bytes, str] = {b"\0": "fmt/42", b"\x01": "fmt/43", b"\x02": "fmt/44"}
_EXIF = re.compile(
    rb"\xff\xd8\xff\xe1..Exif\0\0"
    rb"(?:MM\0\*.*?\x90\0\0\x07\0\0\0\x04|II\*\0.*?\0\x90\x07\0\x04\0\0\0)(02[0-9]{2})",
    re.DOTALL,
)
"""The tag ExifVersion of either order of octets."""
_EXIFS: Mapping[bytes, str] = {
    b"0200": "x-fmt/398",
    b"0210": "x-fmt/390",
    b"0220": "x-fmt/391",
    b"0221": "fmt/645",
    **{b"023%d" % n: "fmt/1507" for n in range(10)},
}
_WHOLE: Mapping[bytes, str] = {
    b"GIF87a": "fmt/3",
    b"GIF89a": "fmt/4",
    b"II*\0": "fmt/353",
    b"MM\0*": "fmt/353",
}
_PNG = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"
_PNGS = (
    ("fmt/13", frozenset({b"iTXt"})),
    ("fmt/12", frozenset({b"iCCP", b"sPLT", b"sRGB"})),
    ("fmt/11", frozenset({b"IEND"})),
)
"""By the chunks that came with a version, the latest first; the first version by none of them."""
_ENDINGS = frozenset({"gif", "jpeg", "jpg", "pdf", "png", "tif", "tiff"})
_HEAD_OCTETS = 2 + 2 + 0xFFFF
"""As far as the first segment of a JPEG reaches."""
_MOST_CHUNKS = 10_000


def is_named_like(path: str) -> bool:
    """Tell whether a file of the payload is named like one that this knows."""
    return path.startswith("data/") and path.rpartition(".")[2].lower() in _ENDINGS


def identifier(stream: BinaryIO) -> str:
    """Return the PRONOM identifier of a seekable file; empty if its octets do not say one.

    Raises OSError.
    """
    head = stream.read(_HEAD_OCTETS)
    if head.startswith(_PNG):
        return _png(stream)
    for sign, of_version in ((_PDF, _PDFS), (_JFIF, _JFIFS), (_EXIF, _EXIFS)):
        found = sign.match(head)
        if found is not None:
            return of_version.get(found[1], "")
    return next((puid for sign, puid in _WHOLE.items() if head.startswith(sign)), "")


def _png(stream: BinaryIO) -> str:
    """Tell by the chunks as far as `IEND`, which are length, type, content and four octets more."""
    at, kinds = 8, set[bytes]()
    for _ in range(_MOST_CHUNKS):
        stream.seek(at)
        header = stream.read(8)
        if len(header) < 8:
            break
        kinds.add(header[4:])
        if b"IEND" in kinds:
            # The signature of moving pictures and those of versions exclude each other.
            known = (puid for puid, of_it in _PNGS if kinds & of_it)
            return "" if b"acTL" in kinds else next(known)
        at += 12 + int.from_bytes(header[:4], "big")
    return ""
