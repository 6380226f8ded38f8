import hashlib
import threading
from random import Random

import pytest

from tailsout.ground.digests import ALGORITHMS, BUFFERS, Hashing, digests_of

CONTENT = Random(7).randbytes(300_007)

# FIPS 180-4; the values are those of NIST's example file for the message "abc".
SHA256_ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
SHA512_ABC = (
    "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a"
    "2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f"
)
# RFC 1321 §A.5.
MD5_ABC = "900150983cd24fb0d6963f7d28e17f72"
# FIPS 180-4, NIST's example file.
SHA1_ABC = "a9993e364706816aba3e25717850c26c9cd0d89d"


def fed(block: int, algorithms: tuple[str, ...]) -> dict[str, str]:
    with Hashing(algorithms) as hashing:
        for start in range(0, len(CONTENT), block):
            hashing.update(memoryview(CONTENT)[start : start + block])
        return hashing.hexdigests()


@pytest.mark.parametrize("block", [997, 65_535, 65_536, 65_537, 131_071, 1 << 20])
@pytest.mark.parametrize("algorithms", [("sha512",), ("sha512", "sha256"), tuple(ALGORITHMS)])
def test_blocks_of_any_size_give_what_hashlib_gives(
    block: int, algorithms: tuple[str, ...]
) -> None:
    wanted = {name: hashlib.new(name, CONTENT).hexdigest() for name in algorithms}
    assert fed(block, algorithms) == wanted
    assert list(fed(block, algorithms)) == list(algorithms)


def test_blocks_of_changing_size() -> None:
    chance = Random(3)
    with Hashing(("sha512", "md5")) as hashing:
        start = 0
        while start < len(CONTENT):
            length = chance.choice([1, 3, 40_000, 65_536, 90_001])
            hashing.update(CONTENT[start : start + length])
            start += length
        assert hashing.hexdigests() == digests_of(CONTENT, ("sha512", "md5"))


def test_so_many_buffers_may_take_turns() -> None:
    # A block is under way until BUFFERS - 1 more calls have returned; then its buffer is free.
    buffers = [bytearray(100_000) for _ in range(BUFFERS)]
    with Hashing(("sha512", "sha256")) as hashing:
        for value in range(11):
            buffers[value % BUFFERS][:] = bytes([value]) * 100_000
            hashing.update(buffers[value % BUFFERS])
        taken = hashing.hexdigests()
    content = b"".join(bytes([value]) * 100_000 for value in range(11))
    assert taken == digests_of(content, ("sha512", "sha256"))


def test_digests_so_far_can_be_asked_for_and_feeding_goes_on() -> None:
    with Hashing(("sha256", "sha512")) as hashing:
        assert hashing.hexdigests() == digests_of(b"", ("sha256", "sha512"))
        hashing.update(CONTENT)
        first = hashing.hexdigests()
        hashing.update(b"more")
        assert first == digests_of(CONTENT, ("sha256", "sha512"))
        assert hashing.hexdigests() == digests_of(CONTENT + b"more", ("sha256", "sha512"))


@pytest.mark.parametrize(
    ("algorithm", "digest"),
    [("sha256", SHA256_ABC), ("sha512", SHA512_ABC), ("md5", MD5_ABC), ("sha1", SHA1_ABC)],
)
def test_known_answers(algorithm: str, digest: str) -> None:
    with Hashing((algorithm,)) as hashing:
        hashing.update(b"abc")
        assert hashing.hexdigests() == {algorithm: digest}
    assert digests_of(b"abc", (algorithm,)) == {algorithm: digest}
    assert len(digest) == ALGORITHMS[algorithm]


def test_the_threads_end_with_the_block() -> None:
    before = threading.active_count()
    with Hashing(("sha512", "sha256")) as hashing:
        hashing.update(CONTENT)
        assert threading.active_count() > before
    assert threading.active_count() == before


def test_an_unknown_algorithm_is_refused() -> None:
    with pytest.raises(ValueError, match="unsupported hash type"):
        Hashing(("crc32",))
