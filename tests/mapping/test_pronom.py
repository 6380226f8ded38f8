"""Signs of versions as in PRONOM's signature file 109; tests/outside holds them against it."""

import io
import struct

import pytest

from tailsout.mapping import pronom


def jpeg(segment: bytes, marker: int = 0xE0) -> bytes:
    return b"\xff\xd8\xff" + bytes((marker,)) + struct.pack(">H", 2 + len(segment)) + segment


def exif(version: bytes, order: str = "<") -> bytes:
    tiff = b"II*\0" if order == "<" else b"MM\0*"
    entry = struct.pack(f"{order}HHI", 0x9000, 7, 4) + version
    return jpeg(b"Exif\0\0" + tiff + struct.pack(f"{order}IH", 8, 1) + entry, 0xE1)


def png(*kinds: bytes) -> bytes:
    every = [(b"IHDR", bytes(13)), *((kind, b"abc") for kind in kinds), (b"IEND", b"")]
    body = b"".join(struct.pack(">I", len(c)) + kind + c + bytes(4) for kind, c in every)
    return b"\x89PNG\r\n\x1a\n" + body


SAID = {
    b"%PDF-1.0\n": "fmt/14",
    b"%PDF-1.4\n%": "fmt/18",
    b"%PDF-1.7": "fmt/276",
    b"%PDF-2.0": "fmt/1129",
    b"GIF87a": "fmt/3",
    b"GIF89a": "fmt/4",
    b"II*\0\x08": "fmt/353",
    b"MM\0*\0": "fmt/353",
    jpeg(b"JFIF\0\x01\0\0\0\1\0\1\0\0"): "fmt/42",
    jpeg(b"JFIF\0\x01\x01\x01\0\1\0\1\0\0"): "fmt/43",
    jpeg(b"JFIF\0\x01\x02\x02\0\1\0\1\0\0"): "fmt/44",
    exif(b"0200"): "x-fmt/398",
    exif(b"0210", ">"): "x-fmt/390",
    exif(b"0220"): "x-fmt/391",
    exif(b"0221"): "fmt/645",
    exif(b"0232", ">"): "fmt/1507",
    png(b"gAMA", b"IDAT"): "fmt/11",
    png(b"sRGB", b"IDAT"): "fmt/12",
    png(b"sRGB", b"IDAT", b"iTXt"): "fmt/13",
}
NOT_SAID = (
    b"",
    b"%PDF-1.9",
    b" %PDF-1.4",
    b"%PDF",
    b"II*",
    jpeg(b"JFIF\0\x01\x03\0\0\1\0\1\0\0"),
    jpeg(b"ICC_PROFILE\0"),
    exif(b"0240"),
    exif(b"0220")[:-5],
    png(b"IDAT")[:-8],
    png(b"acTL", b"IDAT"),
    png(b"IDAT").replace(struct.pack(">I", 3), b"\xff" * 4),
    b"RIFF\4\0\0\0WAVE",
)


@pytest.mark.parametrize(("content", "puid"), SAID.items(), ids=SAID.values())
def test_octets_say_their_version(content: bytes, puid: str) -> None:
    assert pronom.identifier(io.BytesIO(content)) == puid


@pytest.mark.parametrize("content", NOT_SAID, ids=range(len(NOT_SAID)))
def test_what_they_do_not_say_is_not_known(content: bytes) -> None:
    assert pronom.identifier(io.BytesIO(content)) == ""


def test_a_cut_file_is_told_by_what_is_left_or_not_at_all() -> None:
    for content, puid in SAID.items():
        for end in range(len(content)):
            assert pronom.identifier(io.BytesIO(content[:end])) in {puid, ""}


def test_a_chunk_of_no_end_is_not_walked_for_ever() -> None:
    endless = png().replace(b"IEND", b"IDAT") + (bytes(4) + b"IDAT" + bytes(4)) * 20_000 + b"\0" * 4
    assert pronom.identifier(io.BytesIO(endless)) == ""


@pytest.mark.parametrize(
    ("path", "wanted"),
    [
        ("data/images/box.JPG", True),
        ("data/documents/a.b.pdf", True),
        ("data/audio/a.wav", False),
        ("metadata/a.png", False),
        ("data/pdf", False),
    ],
)
def test_files_are_looked_into_by_their_names(path: str, wanted: bool) -> None:
    assert pronom.is_named_like(path) is wanted
