"""How long tape plays and files grow, against handbook tables and plain arithmetic.

Playing times: length × 12 ÷ speed, as every handbook of the trade tabulates it for stock lengths.
File size: 96 kHz × 3 octets × 2 channels = 576,000 octets a second, so that 2³² octets are full
after 7,456.5 s; past that EBU Tech 3306 asks for RF64.
"""

from decimal import Decimal

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.ground.units import clock_time
from tailsout.tape.speed import playing_seconds
from tailsout.wave.embed import plan
from tailsout.wave.riff import Chunk, Layout

MASTER = Pcm(is_float=False, sample_rate_hz=96_000, channels=2, container_bits=24, valid_bits=24)
BEXT = b"\0" * 602
HANDBOOK = (
    # feet, ips, minutes
    (600, "7.5", 16),
    (900, "3.75", 48),
    (1200, "15", 16),
    (1200, "7.5", 32),
    (1800, "7.5", 48),
    (2400, "15", 32),
    (2400, "3.75", 128),
    (3600, "7.5", 96),
)


@pytest.mark.parametrize(("feet", "ips", "minutes"), HANDBOOK)
def test_stock_lengths_play_as_tabulated(feet: int, ips: str, minutes: int) -> None:
    assert playing_seconds(Decimal(feet), Decimal(ips)) == minutes * 60


def _form(data_octets: int) -> str:
    header = 12 + 24 + 8
    layout = Layout(
        form="RF64",
        file_octets=header + data_octets,
        chunks=(
            Chunk(id=b"fmt ", header_offset=12, offset=20, octets=16, pad=0),
            Chunk(id=b"data", header_offset=36, offset=44, octets=data_octets, pad=0),
        ),
        damage=(),
        pcm=MASTER,
        data=Chunk(id=b"data", header_offset=36, offset=44, octets=data_octets, pad=0),
    )
    return plan(layout, bext=BEXT).form


def test_a_stereo_master_passes_4_gib_after_two_hours_four_minutes_sixteen() -> None:
    frames = 2**32 // MASTER.frame_octets
    assert clock_time(frames, MASTER.sample_rate_hz).startswith("2:04:16")


def test_rf64_is_written_exactly_when_a_32_bit_size_will_not_do() -> None:
    # The RIFF size counts WAVE, the headers of bext, fmt and data, and what they hold.
    around = 4 + (8 + 602) + (8 + 16) + 8
    most = (2**32 - 2 - around) // MASTER.frame_octets * MASTER.frame_octets
    assert _form(most) == "RIFF"
    assert _form(most + MASTER.frame_octets) == "RF64"
