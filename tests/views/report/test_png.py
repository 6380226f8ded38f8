"""Pictures of few shades, read back by a library that had no part in them."""

import io
import random
import zlib

import pytest
from PIL import Image

from tailsout.views.report.png import SHADES, picture


@pytest.mark.parametrize(("wide", "high"), [(1, 1), (2, 3), (7, 5), (300, 64), (301, 600)])
def test_another_program_sees_the_same_cells(wide: int, high: int) -> None:
    chance = random.Random(wide)
    cells = [[chance.randrange(SHADES) for _ in range(wide)] for _ in range(high)]
    with Image.open(io.BytesIO(picture(cells))) as seen:
        seen.load()
        assert (seen.size, seen.mode) == ((wide, high), "P")
        alpha = seen.convert("RGBA").getchannel("A").tobytes()
    # Shade by shade from the bare paper to ink, in equal steps.
    assert list(alpha) == [17 * cell for row in cells for cell in row]


def test_nothing_is_left_to_a_compressor() -> None:
    """RFC 1950, RFC 1951 § 3.2.4: stored blocks, so that no version of a library counts."""
    made = picture([[1, 2, 3]] * 40_000)
    start = made.index(b"IDAT") + 4
    octets = int.from_bytes(made[start - 8 : start - 4], "big")
    stream = made[start : start + octets]
    assert zlib.decompress(stream) == b"\0\x12\x30" * 40_000
    assert octets == 120_000 + 2 * 5 + 6


def test_a_byte_changed_is_seen() -> None:
    made = bytearray(picture([[1, 2], [3, 4]]))
    made[-20] ^= 1
    with pytest.raises((OSError, SyntaxError, zlib.error)), Image.open(io.BytesIO(made)) as seen:
        seen.load()
