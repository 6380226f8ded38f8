"""How much is read of chunks beside the audio."""

import io
from typing import Any

import pytest

from tailsout.ground.damage import Damage
from tailsout.wave import chunk_limits
from tailsout.wave.chunk_limits import MAX_ALIKE, MAX_FAULTS, Faults
from tailsout.wave.riff import Layout, read_layout


def walked(content: bytes) -> tuple[io.BytesIO, Layout]:
    stream = io.BytesIO(content)
    return stream, read_layout(stream)


def fault(kind: str, offset: int) -> Damage:
    return Damage(kind=kind, offset=offset, text="x")


def test_faults_are_kept_in_order_and_the_rest_of_a_kind_counted() -> None:
    faults = Faults()
    faults.add([fault("info-nuls", n) for n in range(MAX_FAULTS)])
    faults.add([fault("cue-count", 7)])
    assert len(faults.told()) == MAX_FAULTS + 1
    faults.add([fault("info-nuls", 900)])
    assert faults.told()[-1].text == "1 more fault of this kind follows."
    faults.add([fault("info-nuls", 901)])
    *_, last_kept, more = faults.told()
    assert last_kept == fault("cue-count", 7)
    assert (more.kind, more.offset) == ("info-nuls", 900)
    assert more.text == "2 more faults of this kind follow."


def test_alike_and_single_and_repeated(maker: Any) -> None:
    lists = [maker.chunk(b"LIST", b"INFO")] * (MAX_ALIKE + 2)
    _, layout = walked(maker.wave(maker.fmt(), maker.data(), *lists))
    found, damage = chunk_limits.alike(layout, b"LIST")
    assert len(found) == MAX_ALIKE
    assert [(d.kind, d.offset) for d in damage] == [
        ("chunk-too-many", layout.named(b"LIST")[MAX_ALIKE].header_offset)
    ]
    first, damage = chunk_limits.single(layout, b"LIST")
    assert first == layout.named(b"LIST")[0]
    assert [d.kind for d in damage] == ["chunk-duplicate"] * (MAX_ALIKE + 1)
    assert chunk_limits.single(layout, b"cue ") == (None, ())
    assert chunk_limits.alike(layout, b"data") == (layout.named(b"data"), ())


@pytest.mark.parametrize(
    ("cap", "read", "words"), [(8, b"12345678", []), (7, b"1234567", ["chunk-oversize"])]
)
def test_a_head_is_cut_and_told(maker: Any, cap: int, read: bytes, words: list[str]) -> None:
    stream, layout = walked(maker.wave(maker.fmt(), maker.chunk(b"note", b"12345678")))
    (chunk,) = layout.named(b"note")
    payload, damage = chunk_limits.head(stream, layout, chunk, cap)
    assert payload == read
    assert [d.kind for d in damage] == words


def test_what_is_cut_short_is_not_read(maker: Any) -> None:
    content = maker.wave(maker.fmt(), maker.chunk(b"note", b"12345678"))
    stream, layout = walked(content[:-1])
    (chunk,) = layout.named(b"note")
    assert not chunk_limits.is_whole(layout, chunk)
    assert chunk_limits.head(stream, layout, chunk, 4) == (None, ())
    assert chunk_limits.whole(stream, layout, chunk) == (None, ())


def test_a_whole_is_all_or_nothing(maker: Any) -> None:
    fits, over = bytes(chunk_limits.MAX_OCTETS), bytes(chunk_limits.MAX_OCTETS + 2)
    stream, layout = walked(maker.wave(maker.chunk(b"good", fits), maker.chunk(b"over", over)))
    payload, damage = chunk_limits.whole(stream, layout, layout.named(b"good")[0])
    assert (payload, damage) == (fits, ())
    payload, damage = chunk_limits.whole(stream, layout, layout.named(b"over")[0])
    assert payload is None
    assert [d.kind for d in damage] == ["chunk-oversize"]
