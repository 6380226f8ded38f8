import pytest

from tailsout.ground.pcm import Pcm


@pytest.mark.parametrize(
    ("channels", "bits", "octets", "words"),
    [
        (2, (24, 24), 6, "24-bit PCM"),
        (1, (16, 16), 2, "16-bit PCM"),
        (2, (24, 20), 6, "20-in-24-bit PCM"),
        (1, (32, 24), 4, "24-in-32-bit PCM"),
        (2, (32, 32), 8, "32-bit float"),
        (3, (64, 64), 24, "64-bit float"),
    ],
)
def test_frames_and_words(channels: int, bits: tuple[int, int], octets: int, words: str) -> None:
    pcm = Pcm(
        is_float=words.endswith("float"),
        sample_rate_hz=48_000,
        channels=channels,
        container_bits=bits[0],
        valid_bits=bits[1],
    )
    assert pcm.frame_octets == octets
    assert pcm.coding == words
