"""Print-through planted in bursts of noise with a voice's buzz, and in sounds that hold none."""

import numpy as np
import pytest

from tailsout.measure.echo import Echoes, delays_on_reel
from tailsout.records.echo import PrintThrough


def bursts(rate: int, seconds: float, seed: int, count: int) -> np.ndarray:
    """Buzzing noise out of silence and into it again."""
    random = np.random.default_rng(seed)
    sound = np.zeros(int(rate * seconds))
    for k in range(count):
        start, size = int((k + 0.6) * seconds / count * rate), int(rate * random.uniform(0.6, 0.9))
        hz = np.fft.rfftfreq(size, 1 / rate)
        shape = ((hz > 100) & (hz < 5000)) / np.sqrt(1 + (hz / 700) ** 2)
        burst = np.fft.irfft(shape * np.fft.rfft(random.standard_normal(size)), size)
        burst *= 1 + np.sin(2 * np.pi * random.uniform(90, 220) * np.arange(size) / rate)
        ramp = np.linspace(0, 1, int(0.003 * rate))
        burst[: ramp.size] *= ramp
        burst[-ramp.size :] *= ramp[::-1]
        sound[start : start + size] += 0.2 * burst / burst.std() * random.uniform(0.6, 1)
    return sound


def hiss(size: int, seed: int, db: float) -> np.ndarray:
    noise: np.ndarray = 10 ** (db / 20) * np.random.default_rng(seed).standard_normal(size)
    return noise


def printed(
    sound: np.ndarray, rate: int, delay_s: float, before: float, after: float
) -> np.ndarray:
    """Add a copy before and a copy after each sound, levels in dB, none if 0."""
    late = round(delay_s * rate)
    tape = sound.copy()
    if before:
        tape[:-late] += 10 ** (before / 20) * sound[late:]
    if after:
        tape[late:] += 10 ** (after / 20) * sound[:-late]
    return tape


def heard(tape: np.ndarray, rate: int, step: int = 50_000, **other: float) -> PrintThrough:
    planar = np.atleast_2d(tape)
    meter = Echoes(planar.shape[0], rate, **other)
    for at in range(0, planar.shape[1], step):
        meter.take(planar, at, min(step, planar.shape[1] - at))
    return meter.found()


@pytest.mark.parametrize(
    ("rate", "count", "delay", "before", "after"),
    [
        (48_000, 4, 1.234, -45, 0),
        (48_000, 4, 0.51, -40, -55),
        (96_000, 1, 1.9, -55, -45),
        (44_100, 4, 2.97, 0, -50),
        (8_000, 3, 0.8, -40, -45),
        (192_000, 1, 3.9, -45, -50),
    ],
)
def test_echoes_before_and_after(
    rate: int, count: int, delay: float, before: float, after: float
) -> None:
    sound = bursts(rate, 10 * count + 4, 7, count)
    tape = printed(sound, rate, delay, before, after) + hiss(sound.size, 8, -72)
    found = heard(tape, rate)
    for side, level in ((found.before, before), (found.after, after)):
        assert side.tried == count
        assert side.found == (count if level else 0)
        if level:
            assert side.delay_s is not None
            assert side.level_db is not None
            assert float(side.delay_s) == pytest.approx(delay, abs=2e-4)
            assert float(side.level_db) == pytest.approx(level, abs=0.3)


@pytest.mark.parametrize("late", [62_400, 62_401, 62_402, 62_403])
def test_the_level_is_as_true_between_the_samples_that_are_looked_at(late: int) -> None:
    """At 48 kHz every fourth is."""
    sound = bursts(48_000, 44, 21, 4)
    tape = printed(sound, 48_000, late / 48_000, -45, 0) + hiss(sound.size, 22, -72)
    assert float(heard(tape, 48_000).before.level_db or 0) == pytest.approx(-45, abs=0.2)


@pytest.mark.parametrize("faster", [-0.001, -0.0005, 0.0005, 0.001])
def test_the_level_is_true_where_the_speed_wanders_from_sound_to_echo(faster: float) -> None:
    """Correlated whole, such copies read 3 and 10 dB too low."""
    sound = bursts(48_000, 44, 23, 4)
    copy = np.zeros(sound.size)
    for part in range(4):
        here = slice(part * 11 * 48_000, (part + 1) * 11 * 48_000)
        begins = here.start + int(np.flatnonzero(sound[here])[0])
        at = begins + (np.arange(sound.size)[here] - begins) * (1 + faster)
        copy[here] = np.interp(at, np.arange(sound.size), sound)
    tape = sound + 10 ** (-45 / 20) * np.roll(copy, -60_000) + hiss(sound.size, 24, -72)
    assert float(heard(tape, 48_000).before.level_db or 0) == pytest.approx(-45, abs=0.4)


@pytest.mark.parametrize("seed", range(6))
def test_without_echoes_nothing_is_told(seed: int) -> None:
    sound = bursts(48_000, 40, 100 + seed, 6)
    found = heard(sound + hiss(sound.size, seed, (-65, -75, -90)[seed % 3]), 48_000)
    assert found.before.tried >= 4
    assert found.echoes == ()
    assert found.before.delay_s is None
    assert found.end_out is None


@pytest.mark.parametrize("seed", range(4))
def test_notes_that_come_again_are_no_echo(seed: int) -> None:
    random = np.random.default_rng(seed)
    rate, time = 24_000, np.arange(43_200) / 24_000
    sound = np.zeros(60 * rate)
    for k in range(24):
        start = int((k * 2.4 + 0.5) * rate)
        pitch = 220 * 2 ** (random.integers(0, 4) / 12)
        note = sum(np.sin(2 * np.pi * pitch * n * time) / n for n in range(1, 12))
        sound[start : start + time.size] += 0.2 * note * np.exp(-5 * time)
    found = heard(sound + hiss(sound.size, seed, -74), rate)
    assert found.before.tried > 4
    assert found.echoes == ()


def test_a_room_is_no_echo() -> None:
    rate = 24_000
    random = np.random.default_rng(3)
    sound = bursts(rate, 40, 5, 6)
    room = np.exp(-9 * np.arange(rate) / rate) * random.standard_normal(rate)
    room[0] = 30
    size = 1 << 20
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(room, size), size)[: sound.size]
    found = heard(0.2 * wet / np.abs(wet).max() + hiss(sound.size, 4, -80), rate)
    assert found.before.tried > 2
    assert found.echoes == ()


@pytest.mark.parametrize(("thickness", "tails_out"), [(52, False), (52, True), (35, True)])
def test_the_end_that_was_out(thickness: float, tails_out: bool) -> None:
    # The square of the delay runs by 4πt ÷ v; the outer echo is later by 2πt ÷ v.
    rate, speed = 12_000, 190.5
    sound = bursts(rate, 180, 9, 12)
    grows = 4 * np.pi * thickness * 1e-3 / speed * (1 if tails_out else -1)
    tape = sound + hiss(sound.size, 3, -72)
    for start in np.flatnonzero(np.diff((np.abs(sound) > 0).astype(int)) == 1):
        size = int(0.95 * rate)
        piece = sound[start : start + size]
        turn = np.sqrt(2.2**2 + grows * (start / rate - 90))
        apart = np.pi * thickness * 1e-3 / speed * (1 if tails_out else -1)
        for late in (-round((turn - apart) * rate), round((turn + apart) * rate)):
            if start + late >= 0 and start + late + size < tape.size:
                tape[start + late : start + late + size] += 10 ** (-46 / 20) * piece
    found = heard(tape, rate)
    assert found.end_out == ("tail" if tails_out else "head")
    assert found.slope_s is not None
    assert float(found.slope_s) == pytest.approx(grows, rel=0.15)


def test_any_split_tells_the_same() -> None:
    rate = 16_000
    sound = bursts(rate, 25, 6, 3)
    tape = printed(sound, rate, 1.3, -45, -45) + hiss(sound.size, 2, -70)
    whole = heard(np.stack([tape, 0.5 * tape]), rate, step=tape.size)
    assert whole.before.found == 6
    for step in (4_801, 15_999, 40_000):
        assert heard(np.stack([tape, 0.5 * tape]), rate, step=step) == whole


def test_only_delays_asked_for_are_looked_at() -> None:
    rate = 16_000
    sound = bursts(rate, 25, 6, 3)
    tape = printed(sound, rate, 1.3, -45, 0) + hiss(sound.size, 2, -70)
    assert heard(tape, rate, shortest_s=1.0, longest_s=1.6).before.found == 3
    assert heard(tape, rate, shortest_s=1.6, longest_s=2.6).before.found == 0
    with pytest.raises(ValueError, match="cannot be looked for"):
        Echoes(2, rate, shortest_s=2.0, longest_s=1.0)


def test_the_turns_of_a_reel() -> None:
    # 7 inch reel at 7½ ips, hub 28.575 mm, pack 82.89 mm: 0.942 to 2.734 s a turn.
    shortest, longest = delays_on_reel(7.5, inner_mm=28.575, outer_mm=82.89)
    assert shortest == pytest.approx(0.97 * 0.942, abs=0.001)
    assert longest == pytest.approx(1.03 * 2.734, abs=0.001)
    assert delays_on_reel(30)[0] == pytest.approx(0.45)


@pytest.mark.parametrize(
    "sound",
    [
        np.zeros((2, 100_000)),
        np.ones((2, 100_000)),
        np.zeros((1, 1)),
        np.zeros((2, 0)),
        np.random.default_rng(1).uniform(-1, 1, (2, 200_000)),
        np.stack([np.zeros(100_000), np.sin(np.arange(100_000))]),
        np.zeros((40, 30_000)),
        np.full((1, 60_000), 2.0**90),
    ],
    ids=["silence", "direct current", "one sample", "none", "noise", "tone", "forty", "huge"],
)
def test_sounds_that_hold_nothing(sound: np.ndarray) -> None:
    found = heard(sound, 16_000)
    assert found.echoes == ()
    assert found.before.found == found.after.found == 0
