"""The demonstration: the spoken log of Skerrow Light, transferred at Saltpan Row.

Its forms lie in the folder `forms` as a user would write them. People, places, makers and tapes
are invented.
"""

from collections.abc import Iterator
from importlib import resources
from importlib.resources.abc import Traversable

from tailsout.measure.signals import Stretch, TapeTone

SAMPLE_RATE_HZ = 96_000
SEED = 1907

SIDE_A = (
    Stretch(holds="leader", seconds=2, speed_ips=7.5),
    Stretch(holds="tone", seconds=6, speed_ips=7.5),
    Stretch(holds="blank", seconds=1, speed_ips=7.5),
    Stretch(holds="speech", seconds=23, speed_ips=7.5),
    Stretch(holds="blank", seconds=2, speed_ips=7.5),
)
SIDE_B = (
    Stretch(holds="blank", seconds=2, speed_ips=7.5),
    Stretch(holds="speech", seconds=12, speed_ips=7.5),
    Stretch(holds="blank", seconds=1, speed_ips=3.75),
    Stretch(holds="speech", seconds=14, speed_ips=3.75),
    Stretch(holds="blank", seconds=2, speed_ips=3.75),
)

CAPTURES = (
    ("captures/skl7-side-a.wav", SIDE_A, "2026-03-14", "10:21:07"),
    ("captures/skl7-side-b.wav", SIDE_B, "2026-03-14", "10:51:30"),
)
"""Path in the job, what passes the head, and the day and time the recorder wrote."""


SESSION_RATE_HZ = 48_000
CALIBRATION = "studio/sessions/2026-03-14-mk3/ct-7-nab.wav"
"""The capture of the calibration tape, made before the reel was threaded."""
TONES = (
    TapeTone(hertz=1_000, level_db=0, seconds=4),
    TapeTone(hertz=10_000, level_db=-0.3, seconds=4),
    TapeTone(hertz=63, level_db=1.1, seconds=2),
    TapeTone(hertz=250, level_db=0.3, seconds=2),
    TapeTone(hertz=1_000, level_db=0, seconds=2),
    TapeTone(hertz=4_000, level_db=-0.05, seconds=2),
    TapeTone(hertz=8_000, level_db=-0.2, seconds=2),
    TapeTone(hertz=12_500, level_db=-0.45, seconds=2),
    TapeTone(hertz=3_150, level_db=0, seconds=9),
)
"""As the machine plays them: a little dull, and low tones high at a head narrower than the tape."""


def forms() -> Iterator[tuple[str, bytes]]:
    """Yield path and octets of every form, sorted by path."""
    yield from sorted(_below(resources.files(__package__) / "forms", ""))


def _below(folder: Traversable, prefix: str) -> Iterator[tuple[str, bytes]]:
    for entry in folder.iterdir():
        name = f"{prefix}{entry.name}"
        if entry.is_dir():
            yield from _below(entry, f"{name}/")
        else:
            yield name, entry.read_bytes()
