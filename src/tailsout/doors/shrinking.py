"""The door of the child process in which a photograph is made small.

`work.limited` starts it: the photograph is standard input, what it may use stands in the arguments.
Standard output gets a JPEG, without what the photograph told of camera, place and time; the process
fails where there is none to be made.
"""

import sys
import warnings
from collections.abc import Sequence
from io import BytesIO
from typing import BinaryIO

from PIL import Image, ImageOps

from tailsout.doors.limits import limit

FORMATS = ("JPEG", "PNG")
SIDE = 480
"""Longest side of what comes out, in pixels."""
_QUALITY = 70
_MOST_PIXELS = 100_000_000


def main(arguments: Sequence[str]) -> None:
    """Shrink standard input within so many octets of memory and seconds of processor time."""
    memory, seconds = (int(one) for one in arguments[:2])
    limit(memory, seconds)
    with open(0, "rb", closefd=False) as stream:
        sys.stdout.buffer.write(shrunk(stream))


def shrunk(stream: BinaryIO) -> bytes:
    """Return a photograph as a small JPEG, upright. Raises whatever the decoder raises."""
    # Half as many are only warned of.
    Image.MAX_IMAGE_PIXELS = _MOST_PIXELS
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with Image.open(stream, formats=FORMATS) as picture:
            picture.draft("RGB", (SIDE, SIDE))
            small = picture.copy()
            small.thumbnail((SIDE, SIDE))
            upright = ImageOps.exif_transpose(small).convert("RGB")
    out = BytesIO()
    # A new picture of the same dots: nothing that was told of them goes along.
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    clean.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()
