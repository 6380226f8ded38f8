"""The `cart` chunk, AES46: layout from memory."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.wave import cart
from tailsout.wave.cart import Cart, Timer

READ = Cart(
    version="0101",
    title="The lamp keeper's evening",
    artist="Skerrow Light",
    cut_id="SKL-0007",
    client_id="Saltpan Row",
    category="SPOKEN",
    classification="archive",
    out_cue="... and the lamp was lit",
    start_date="1900/01/01",
    start_time="00:00:00",
    end_date="9999/12/31",
    end_time="23:59:59",
    producer="tailsout",
    producer_version="test",
    user="side A",
    level_reference=32_768,
    timers=(Timer(usage="SEGs", frame=96_000), Timer(usage="EOD", frame=192_000)),
    url="https://skerrow.example/7",
    tag_text="<b>lamp</b>\r\n",
)


def filled(cart_: Cart) -> bytes:
    """Lay the fields out one after another, by their lengths as listed in the standard's table."""
    fields = (
        (cart_.version, 4),
        (cart_.title, 64),
        (cart_.artist, 64),
        (cart_.cut_id, 64),
        (cart_.client_id, 64),
        (cart_.category, 64),
        (cart_.classification, 64),
        (cart_.out_cue, 64),
        (cart_.start_date, 10),
        (cart_.start_time, 8),
        (cart_.end_date, 10),
        (cart_.end_time, 8),
        (cart_.producer, 64),
        (cart_.producer_version, 64),
        (cart_.user, 64),
    )
    head = b"".join(text.encode("ascii").ljust(octets, b"\0") for text, octets in fields)
    timers = b"".join(
        timer.usage.encode("ascii").ljust(4, b" ") + timer.frame.to_bytes(4, "little")
        for timer in cart_.timers
    )
    return (
        head
        + cart_.level_reference.to_bytes(4, "little")
        + timers.ljust(64, b"\0")
        + bytes(276)
        + cart_.url.encode("ascii").ljust(1024, b"\0")
        + cart_.tag_text.encode("ascii")
    )


def test_every_field_is_read() -> None:
    assert cart.decode(filled(READ)) == (READ, ())


def test_the_fixed_part_has_2048_octets() -> None:
    payload = filled(replace(READ, tag_text=""))

    assert len(payload) == cart.FIXED_OCTETS == 2048
    assert cart.decode(payload) == (replace(READ, tag_text=""), ())


def test_a_timer_that_is_not_set_is_left_out() -> None:
    none = replace(READ, timers=())
    assert cart.decode(filled(none)) == (none, ())


def test_endless_tag_text_is_cut() -> None:
    found, _ = cart.decode(filled(replace(READ, tag_text="x" * (1 << 20))))

    assert found is not None
    assert len(found.tag_text) == cart.MAX_OCTETS - cart.FIXED_OCTETS


@pytest.mark.parametrize("at", [4, 700, 1024, 2048])
def test_text_outside_ascii_is_told_and_kept(at: int) -> None:
    payload = filled(READ)
    found, damage = cart.decode(payload[:at] + b"\xe9" + payload[at + 1 :], offset=12)

    is_text = at != 700  # among the timers
    assert [(fault.kind, fault.offset) for fault in damage] == [("cart-text", 12)] * is_text
    assert found is not None


@pytest.mark.parametrize("end", range(0, 2048, 89))
def test_cut_off_it_is_told(end: int) -> None:
    found, damage = cart.decode(filled(READ)[:end], offset=12)

    assert found is None
    assert [(fault.kind, fault.offset) for fault in damage] == [("cart-short", 12)]


@given(st.binary(max_size=64), st.integers(0, 2100))
def test_no_octets_whatever_raise(octets: bytes, times: int) -> None:
    found, damage = cart.decode((octets * times)[:4000])

    assert found is not None or damage
