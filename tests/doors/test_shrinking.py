"""Photographs made small: what comes out, and what does not come along."""

import io
import struct
import zlib
from typing import Any

import pytest
from PIL import Image

from tailsout.doors.shrinking import SIDE, shrunk


def photograph(width: int, height: int, form: str = "JPEG", **more: Any) -> io.BytesIO:
    """A picture whose left third is black."""
    picture = Image.new("RGB", (width, height), "white")
    picture.paste("black", (0, 0, width // 3, height))
    out = io.BytesIO()
    picture.save(out, form, **more)
    return io.BytesIO(out.getvalue())


def opened(octets: bytes) -> Image.Image:
    return Image.open(io.BytesIO(octets), formats=("JPEG",))


@pytest.mark.parametrize("form", ["JPEG", "PNG"])
def test_the_longest_side_is_shortened_and_the_shape_kept(form: str) -> None:
    small = opened(shrunk(photograph(1600, 1200, form)))
    assert small.size == (SIDE, SIDE * 3 // 4)
    assert small.convert("L").getpixel((10, 100)) == pytest.approx(0, abs=8)
    assert small.convert("L").getpixel((400, 100)) == pytest.approx(255, abs=8)


def test_a_small_one_stays_as_large_as_it_is() -> None:
    assert opened(shrunk(photograph(90, 60))).size == (90, 60)


def test_it_is_turned_upright_and_tells_nothing_of_the_camera() -> None:
    """Exif 2.32 §4.6.4: orientation 6 is to be turned by 90° to the right; 271 is the maker."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[271] = "Secret camera"
    octets = photograph(900, 600, exif=exif, comment=b"Secret note")
    assert b"Secret" in octets.getvalue()
    made = shrunk(octets)
    assert b"Secret" not in made
    assert opened(made).size == (SIDE * 2 // 3, SIDE)
    assert dict(opened(made).getexif()) == {}


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "1", "I;16"])
def test_pictures_of_every_mode(mode: str) -> None:
    out = io.BytesIO()
    Image.new("L", (60, 40)).convert(mode.replace("I;16", "I")).convert(mode).save(out, "PNG")
    assert opened(shrunk(io.BytesIO(out.getvalue()))).size == (60, 40)


def bomb() -> bytes:
    """A PNG of 50,000 times 50,000 dots that says nothing of them."""
    head = struct.pack(">IIBBBBB", 50_000, 50_000, 8, 2, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(b"")), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(part)) + kind + part + struct.pack(">I", zlib.crc32(kind + part))
        for kind, part in parts
    )


@pytest.mark.parametrize(
    "octets",
    [
        b"",
        b"\xff\xd8\xff",
        b"GIF89a" + bytes(40),
        photograph(900, 600).getvalue()[:2000],
        bomb(),
    ],
    ids=["nothing", "its first octets", "another form", "broken off", "a bomb"],
)
def test_what_is_none_or_too_large_is_not_made_small(octets: bytes) -> None:
    with pytest.raises(Exception, match=r"image|Image|truncated|pixels|broken"):
        shrunk(io.BytesIO(octets))
