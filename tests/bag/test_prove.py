"""Digests from disk: A14, A30, A39, and the stretch of audio within a file."""

import errno
import hashlib
import io
import math
import os
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.bag import prove as prove_module
from tailsout.bag.notes import Caps
from tailsout.bag.open import OpenBag, open_bag
from tailsout.bag.prove import prove
from tailsout.bag.workers import Workers
from tailsout.ground.digests import Hashing
from tailsout.ground.progress import Silent
from tailsout.records.facts import FoundFile

AUDIO = bytes(range(256)) * 40
WAV = "data/audio/reel.wav"


def proved(
    base: Path, wav: tuple[int, int] | None = None, *, from_disk: bool = False
) -> dict[str, FoundFile]:
    spans = {} if wav is None else {WAV: wav}
    with open_bag(base) as bag:
        facts = prove(bag, spans=spans, progress=Silent(), from_disk=from_disk)
    return {f.path: f for f in facts.files}


def test_every_listed_file_has_the_digests_its_manifests_speak_of(good_bag: Path) -> None:
    (good_bag / "data/extra").write_bytes(b"x")
    found = proved(good_bag)
    for path, file in found.items():
        content = (good_bag / path).read_bytes()
        if path == "data/extra" or path.startswith("tagmanifest"):
            assert file.digests == {}
        else:
            assert file.digests == {
                name: hashlib.new(name, content).hexdigest() for name in ("sha256", "sha512")
            }
        assert (file.trouble, file.essence_sha256) == ("", "")
    assert list(found) == sorted(found)


def test_each_file_gets_only_its_algorithms(good_bag: Path, seal: Callable[..., None]) -> None:
    seal(good_bag, ("md5", "sha1"))
    line = (good_bag / "manifest-sha1.txt").read_text().splitlines()[0]
    (good_bag / "manifest-sha1.txt").write_text(f"{line}\n")
    (good_bag / "manifest-blake2b512.txt").write_text("00  data/note.txt\n")
    found = proved(good_bag)
    assert sorted(found[WAV].digests) == ["md5", "sha1"]
    assert sorted(found["data/note.txt"].digests) == ["md5"]


@pytest.mark.parametrize("spelled", ["name-form-differs", "same"])
def test_a_name_listed_in_the_other_form_is_still_read(
    good_bag: Path, spelled: str, seal: Callable[..., None]
) -> None:
    """A16: a list made on one system and a disk written by another."""
    (good_bag / "data/\u00e4").write_bytes(b"x")
    seal(good_bag)
    if spelled != "same":
        (good_bag / "data/\u00e4").rename(good_bag / "data/a\u0308")
    (file,) = [f for p, f in proved(good_bag).items() if p.endswith(("\u00e4", "\u0308"))]
    assert file.digests["sha256"] == hashlib.sha256(b"x").hexdigest()


@pytest.mark.parametrize(
    ("span", "expected"),
    [
        ((44, 100), AUDIO[44:144]),
        ((0, len(AUDIO)), AUDIO),
        ((10, 0), b""),
        ((len(AUDIO) - 1, 1), AUDIO[-1:]),
        ((len(AUDIO) - 1, 2), None),
        ((len(AUDIO) + 5, 1), None),
    ],
)
def test_the_stretch_of_audio(
    good_bag: Path, span: tuple[int, int], expected: bytes | None
) -> None:
    file = proved(good_bag, wav=span)[WAV]
    assert file.essence_sha256 == ("" if expected is None else hashlib.sha256(expected).hexdigest())
    assert file.digests["sha256"] == hashlib.sha256(AUDIO).hexdigest()


def test_the_stretch_of_a_file_nobody_lists(good_bag: Path) -> None:
    (good_bag / "data/x").write_bytes(b"abc")
    with open_bag(good_bag) as bag:
        facts = prove(bag, spans={"data/x": (1, 1), "data/none": (0, 1)}, progress=Silent())
    (file,) = [f for f in facts.files if f.path == "data/x"]
    assert (file.digests, file.essence_sha256) == ({}, hashlib.sha256(b"b").hexdigest())


@given(st.lists(st.binary(max_size=20), max_size=8), st.integers(0, 100), st.integers(0, 100))
def test_a_stretch_over_any_blocks(blocks: list[bytes], start: int, octets: int) -> None:
    whole = b"".join(blocks)
    stretch = prove_module._Stretch(start, octets)
    for block in blocks:
        stretch.update(memoryview(block))
    held = start + octets <= len(whole)
    expected = hashlib.sha256(whole[start : start + octets]).hexdigest() if held else ""
    assert stretch.hexdigest() == expected


@pytest.mark.parametrize("count", [1, 2, 5])
@pytest.mark.parametrize("blocks", [1, 3])
def test_a_large_file_with_idle_hands_or_without(
    good_bag: Path, seal: Callable[..., None], blocks: int, count: int
) -> None:
    content = os.urandom((blocks << 20) + 12345)
    (good_bag / WAV).write_bytes(content)
    seal(good_bag)
    with open_bag(good_bag) as bag, Workers(count) as workers:
        spans = {WAV: (44, 1 << 20)}
        facts = prove(bag, spans=spans, progress=Silent(), workers=workers)
    [file] = [f for f in facts.files if f.path == WAV]
    assert file.digests == {
        name: hashlib.new(name, content).hexdigest() for name in ("sha256", "sha512")
    }
    assert file.essence_sha256 == hashlib.sha256(content[44 : 44 + (1 << 20)]).hexdigest()


class Wavering(Workers):
    """Has idle workers at every other block."""

    turn = 0

    @property
    def has_idle(self) -> bool:
        self.turn += 1
        return self.turn % 2 == 0


def test_a_large_file_while_hands_come_and_go(good_bag: Path, seal: Callable[..., None]) -> None:
    content = os.urandom((9 << 20) + 1)
    (good_bag / WAV).write_bytes(content)
    seal(good_bag)
    with open_bag(good_bag) as bag, Wavering(1) as workers:
        facts = prove(bag, spans={}, progress=Silent(), workers=workers)
    others = [f for f in facts.files if f.digests and f.path != WAV]
    assert workers.turn == 10 + len(others)
    [file] = [f for f in facts.files if f.path == WAV]
    assert file.digests == {
        name: hashlib.new(name, content).hexdigest() for name in ("sha256", "sha512")
    }


def test_hands_are_shared_by_bags(good_bag: Path) -> None:
    expected = proved(good_bag)
    with Workers(3) as workers, open_bag(good_bag) as one, open_bag(good_bag) as other:
        told = [prove(bag, spans={}, progress=Silent(), workers=workers) for bag in (one, other)]
    assert [{f.path: f for f in facts.files} for facts in told] == [expected, expected]


def found(path: str, octets: int) -> FoundFile:
    return FoundFile(path=path, octets=octets)


def test_the_largest_is_read_first_and_all_small_ones_beside_it() -> None:
    large = [found(f"l{octets}", octets) for octets in (1 << 20, 5 << 20, 2 << 20)]
    small = [found(f"s{n:03}", 100) for n in range(600)]
    middling = [found(f"m{n}", 1 << 19) for n in range(9)]
    pieces = prove_module._in_pieces([*small, *large, *middling])
    assert [[f.path for f in piece] for piece in pieces] == [
        ["l5242880"],
        [f.path for f in small],
        ["l2097152"],
        ["l1048576"],
        *([f.path] for f in middling),
    ]
    assert prove_module._in_pieces(small) == [small]
    assert prove_module._in_pieces([]) == []


def test_some_of_the_small_ones_come_last_where_large_ones_outweigh_them_by_far() -> None:
    large = [found("l1", 40 << 20), found("l2", 39 << 20)]
    small = [found(f"s{n}", 100) for n in range(9)]
    parts = [[large[0]], small[:6], [large[1]], small[6:]]
    assert prove_module._in_pieces([*small, *large]) == parts
    assert prove_module._in_pieces([small[0], *large]) == [[large[0]], [small[0]], [large[1]]]
    # With one large file there is no second worker to end with.
    assert prove_module._in_pieces([*small, large[0]]) == [[large[0]], small]
    many = small * 200
    assert prove_module._in_pieces([*many, *large])[1] == many


def test_an_order_is_kept() -> None:
    files = [found(path, 5) for path in "abc"]
    assert prove_module._in_order(files, ("c", "x", "a", "b")) == [[files[2], files[0], files[1]]]


class Meddling(io.BufferedReader):
    """Does something when the first block was read."""

    def __init__(self, source: io.BufferedReader, then: Callable[[], None]) -> None:
        super().__init__(source.detach())
        self._then: Callable[[], None] | None = then

    def readinto(self, buffer: Any) -> int:
        count = super().readinto(buffer)
        if self._then is not None:
            then, self._then = self._then, None
            then()
        return count


@pytest.fixture
def meddle(monkeypatch: pytest.MonkeyPatch) -> Callable[[str, Callable[[], None]], None]:
    def arrange(path: str, then: Callable[[], None]) -> None:
        whole = OpenBag.stream

        def stream(self: OpenBag, wanted: str) -> io.BufferedReader:
            source = whole(self, wanted)
            return Meddling(source, then) if wanted == path else source

        monkeypatch.setattr(OpenBag, "stream", stream)

    return arrange


def grow(place: Path) -> None:
    with place.open("ab") as out:
        out.write(b"x")


def replace(place: Path) -> None:
    other = place.with_name("other")
    other.write_bytes(place.read_bytes())
    status = place.stat()
    os.utime(other, ns=(status.st_atime_ns, status.st_mtime_ns))
    other.rename(place)


def rewrite(place: Path) -> None:
    place.write_bytes(place.read_bytes()[::-1])
    os.utime(place, ns=(1, 1))


def to_link(place: Path) -> None:
    place.rename(place.with_name("other"))
    place.symlink_to("other")


@pytest.mark.parametrize("change", [grow, replace, rewrite, to_link, Path.unlink])
def test_a_file_that_changes_while_it_is_read(
    good_bag: Path, meddle: Callable[..., None], change: Callable[[Path], None]
) -> None:
    meddle(WAV, lambda: change(good_bag / WAV))
    found = proved(good_bag, wav=(0, 1))
    assert found[WAV].trouble
    assert (found[WAV].digests, found[WAV].essence_sha256) == ({}, "")
    assert found["data/note.txt"].digests


def test_a_file_that_changed_since_the_bag_was_opened(good_bag: Path) -> None:
    with open_bag(good_bag) as bag:
        grow(good_bag / WAV)
        (good_bag / "data/note.txt").unlink()
        os.mkfifo(good_bag / "data/note.txt")
        (good_bag / "bag-info.txt").unlink()
        facts = prove(bag, spans={}, progress=Silent())
    trouble = {f.path: f.trouble for f in facts.files}
    for path in (WAV, "data/note.txt", "bag-info.txt"):
        assert trouble[path]
    assert trouble["bagit.txt"] == ""
    assert [(o.kind, o.file) for o in facts.observations] == [("swapped", "data/note.txt")]


def test_a_file_in_trouble_already_is_not_read(good_bag: Path) -> None:
    with (good_bag / "data" / "note.txt").open("wb") as file:
        file.truncate(1 << 20)
    with open_bag(good_bag, Caps(hole_octets=1000)) as bag:
        facts = prove(bag, spans={}, progress=Silent())
    found = {f.path: f for f in facts.files}
    assert (found["data/note.txt"].digests, bool(found["data/note.txt"].trouble)) == ({}, True)
    assert found[WAV].digests


def test_a_read_fault_stops_that_file_only(good_bag: Path, meddle: Callable[..., None]) -> None:
    def fail() -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    meddle(WAV, fail)
    found = proved(good_bag)
    assert os.strerror(errno.EIO) in found[WAV].trouble
    assert found["data/note.txt"].digests


@pytest.mark.parametrize("keep", [0, 1, len(AUDIO) - 1])
def test_a_file_cut_short_has_other_digests(good_bag: Path, keep: int) -> None:
    """A30: the rules see it by size and digest; here it is read like any other."""
    good = proved(good_bag)[WAV].digests
    (good_bag / WAV).write_bytes(AUDIO[:keep])
    file = proved(good_bag)[WAV]
    assert (file.octets, file.trouble) == (keep, "")
    assert file.digests["sha256"] != good["sha256"]


class Counting(Silent):
    def __init__(self) -> None:
        self.total, self.passed = 0, 0

    def begin(self, doing: str, octets: int) -> None:
        self.total = octets

    def advance(self, octets: int) -> None:
        self.passed += octets


def test_progress_comes_to_its_end(good_bag: Path) -> None:
    progress = Counting()
    with open_bag(good_bag) as bag:
        prove(bag, spans={}, progress=progress)
    assert progress.passed == progress.total > len(AUDIO)


class Interrupting(Silent):
    def advance(self, octets: int) -> None:
        raise KeyboardInterrupt


def test_an_interrupt_stops_every_thread(good_bag: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[prove_module._Reading] = []

    class Seen(prove_module._Reading):
        def __init__(self, *arguments: Any, **named: Any) -> None:
            super().__init__(*arguments, **named)
            made.append(self)

    monkeypatch.setattr(prove_module, "_Reading", Seen)
    with open_bag(good_bag) as bag, Workers() as workers:
        with pytest.raises(KeyboardInterrupt):
            prove(bag, spans={}, progress=Interrupting(), workers=workers)
        assert made[0].stop.is_set()
        # Whoever shares the workers finds them free, and what is stopped has no digest to show.
        assert workers.has_idle
        (file,) = [f for f in bag.facts.files if f.path == WAV]
        stopped = made[0].one(file)
    assert (stopped.digests, bool(stopped.trouble)) == ({}, True)


def test_without_advice_to_the_kernel(good_bag: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    expected = proved(good_bag)
    monkeypatch.delattr(os, "posix_fadvise")
    assert proved(good_bag, from_disk=True) == expected


def test_the_cache_is_dropped_before_what_was_just_built_is_read(
    good_bag: Path, seal: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    (good_bag / WAV).write_bytes(bytes(5 << 19))
    seal(good_bag)
    order: list[str] = []
    advise = os.posix_fadvise

    def recorded(*arguments: int) -> None:
        order.append(f"advise {arguments[3]}")
        advise(*arguments)

    read = Hashing.update

    def update(self: Any, block: memoryview, *, here: bool) -> None:
        order.append("octets")
        read(self, block, here=here)

    monkeypatch.setattr(os, "posix_fadvise", recorded)
    monkeypatch.setattr(Hashing, "update", update)
    with open_bag(good_bag) as bag, Workers(1) as workers:
        prove(bag, spans={}, progress=Silent(), from_disk=True, workers=workers)
    # The cache is dropped, then the disk asked to read on, but for a file read in one go.
    large = ["advise 4", "advise 3", "octets", "octets", "advise 3", "octets"]
    assert order[: len(large)] == large
    assert order[len(large) :] == ["advise 4", "octets"] * (order.count("advise 4") - 1)


@pytest.mark.parametrize(("waited_s", "asked"), [(-1.0, [2 << 20]), (math.inf, [])])
def test_the_disk_is_asked_to_read_on_once_a_block_was_waited_for(
    waited_s: float,
    asked: list[int],
    good_bag: Path,
    seal: Callable[..., None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (good_bag / WAV).write_bytes(bytes(5 << 19))
    seal(good_bag)
    told: list[int] = []
    monkeypatch.setattr(os, "posix_fadvise", lambda _fd, at, _octets, _advice: told.append(at))
    monkeypatch.setattr(prove_module, "_WAITED_S", waited_s)
    proved(good_bag)
    assert told == asked


@pytest.fixture(autouse=True)
def no_thread_is_left() -> Iterator[None]:
    yield
    assert not [t for t in threading.enumerate() if t.name.startswith(("prove", "digest"))]
