"""The signal chain: its order, its converter, and what was done to it afterwards."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.capture import Capture
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.dossier import Dossier
from tailsout.records.machine import Converter
from tailsout.records.playing import Decoder, Pass, SetUp
from tailsout.records.session import Session
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import SignalState, StepKind

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
ORDER, CONVERTER = "order of the chain", "converter of the chain"
TAP, DECODING, FLAT = "output against the chain", "noise reduction and decoding", "flat transfer"
TRANSFER = "data/audio/reel.json#/transfer"
Way = tuple[tuple[StepKind, SignalState | None], ...]


@pytest.fixture
def chained(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> Callable[..., Dossier]:
    """Make a transfer with these steps."""

    def make(*steps: ChainStep, absent: dict[str, Any] | None = None, **changes: Any) -> Dossier:
        chain = Chain(steps=steps, absent=absent or {})
        return stating(transfer(**{"chain": chain, **changes}))

    return make


def way(steps: Way) -> tuple[ChainStep, ...]:
    return tuple(ChainStep(kind=kind, signal=signal, device="d") for kind, signal in steps)


FROM_HEAD: Way = (("reproduce head", "analogue"), ("reproduce amplifier", "analogue"))
TO_FILE: Way = (("converter", "digital"), ("interface", "digital"), ("recorder", "digital"))


@pytest.mark.parametrize(
    ("steps", "at"),
    [
        ((*FROM_HEAD, *TO_FILE), []),
        ((), []),
        # A patch, a transformer and noise reduction may stand anywhere in what is analogue.
        ((FROM_HEAD[0], ("patch", "analogue"), FROM_HEAD[1], ("transformer", None), *TO_FILE), []),
        ((*FROM_HEAD, ("machine output", "analogue"), ("recorder", "digital")), []),
        ((("machine output", None), ("converter", None), ("recorder", None)), []),
        # Through a converter and back.
        ((*TO_FILE[:1], ("converter", "analogue"), ("transformer", "analogue"), *TO_FILE), []),
        ((("converter", "digital"), ("noise reduction", "digital"), ("recorder", "digital")), []),
        ((FROM_HEAD[1], FROM_HEAD[0], *TO_FILE), [1]),
        ((("machine output", "analogue"), *FROM_HEAD), [1, 2]),
        ((*TO_FILE, ("transformer", "analogue")), [3]),
        ((("converter", None), ("machine output", None)), [1]),
        ((*FROM_HEAD, ("noise reduction", "digital"), *TO_FILE), [2]),
    ],
)
def test_a_signal_goes_from_head_to_file(
    run: RunRule, chained: Callable[..., Dossier], steps: Way, at: list[int]
) -> None:
    expected = [("chain-out-of-order", f"{TRANSFER}/chain/steps/{n}") for n in at]
    assert run(ORDER, chained(*way(steps))) == expected


def test_the_chain_may_be_that_of_the_session(
    run: RunRule, chained: Callable[..., Dossier]
) -> None:
    spell = Session(id="s", chain=Chain(steps=way((FROM_HEAD[1], FROM_HEAD[0]))))
    found = run(ORDER, chained(chain=None, sessions=(spell,)))
    assert found == [("chain-out-of-order", f"{TRANSFER}/sessions/0/chain/steps/1")]


# The converter

C2 = Converter(id="c2", serial="C2-118")
SPELL = Session(id="s", converter="c2")
A_TO_D = ChainStep(kind="converter", device="Thwart C2", serial="C2-118")


@pytest.mark.parametrize(
    ("steps", "changes", "codes"),
    [
        ((A_TO_D,), {}, []),
        ((replace(A_TO_D, device=None),), {}, ["converter-unnamed"]),
        ((replace(A_TO_D, device=None, absent={"device": "unknown"}),), {}, []),
        ((replace(A_TO_D, device=None),), {"converters": (C2,), "sessions": (SPELL,)}, []),
        ((ChainStep(kind="machine output"),), {}, ["converter-unnamed"]),
        ((ChainStep(kind="machine output"),), {"converters": (C2,), "sessions": (SPELL,)}, []),
        # A recorder may convert by itself.
        ((ChainStep(kind="recorder", device="Groyne recorder"),), {}, []),
        ((ChainStep(kind="recorder"),), {}, ["converter-unnamed"]),
        ((), {}, []),
        ((A_TO_D,), {"converters": (C2,), "sessions": (SPELL,)}, []),
        (
            (replace(A_TO_D, serial="C2-119"),),
            {"converters": (C2,), "sessions": (SPELL,)},
            ["converter-differs"],
        ),
        ((replace(A_TO_D, serial=None),), {"converters": (C2,), "sessions": (SPELL,)}, []),
        ((replace(A_TO_D, serial="C2-119"),), {"converters": (C2,)}, []),
        (
            (A_TO_D, replace(A_TO_D, serial="X")),
            {"converters": (C2,), "sessions": (SPELL,)},
            [],
        ),
    ],
)
def test_what_made_the_signal_digital(
    run: RunRule,
    chained: Callable[..., Dossier],
    steps: tuple[ChainStep, ...],
    changes: dict[str, Any],
    codes: list[str],
) -> None:
    found = run(CONVERTER, chained(*steps, **changes))
    assert [code for code, _ in found] == codes


def test_a_chain_that_nobody_remembers(run: RunRule, chained: Callable[..., Dossier]) -> None:
    assert run(CONVERTER, chained(absent={"steps": "not recorded"})) == []
    assert run(CONVERTER, chained(chain=None)) == []


# Before the transformer, and through one

THROUGH = ChainStep(kind="transformer", device="Brass Coil")


@pytest.mark.parametrize(
    ("steps", "run_of", "asked"),
    [
        ((THROUGH,), {"set_up": SetUp(output_tap="before the line transformer")}, True),
        ((THROUGH,), {"set_up": SetUp(output_tap="after the line transformer")}, False),
        ((), {"set_up": SetUp(output_tap="before the line transformer")}, False),
        ((THROUGH,), {"set_up": None}, False),
        (
            (THROUGH,),
            {"set_up": SetUp(output_tap="before the line transformer"), "kept": False},
            False,
        ),
    ],
)
def test_an_output_before_a_transformer(
    *,
    run: RunRule,
    chained: Callable[..., Dossier],
    steps: tuple[ChainStep, ...],
    run_of: dict[str, Any],
    asked: bool,
) -> None:
    found = run(TAP, chained(*steps, passes=(Pass(id="p1", **run_of),)))
    place = f"{TRANSFER}/passes/0/set_up/output_tap"
    assert found == [("output-tap-differs", place)] * asked


# Noise reduction


@pytest.fixture
def reduced(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> Callable[..., Dossier]:
    """Make a region with that noise reduction, played so."""

    def make(system: str | None, steps: tuple[ChainStep, ...] = (), **run: Any) -> Dossier:
        made = transfer(chain=Chain(steps=steps), passes=(Pass(id="p1", **run),))
        (side,) = made.reel.sides
        regions = (replace(side.regions[0], noise_reduction=system),)
        reel = replace(made.reel, sides=(replace(side, regions=regions),))
        return stating(replace(made, reel=reel))

    return make


@pytest.mark.parametrize(
    ("system", "told", "asked"),
    [
        ("Dolby A", {}, True),
        ("Dolby A", {"decoder": Decoder(kind="Dolby A")}, True),
        ("Dolby A", {"decoder": Decoder(decoding="deferred")}, False),
        ("Dolby A", {"decoder": Decoder(absent={"decoding": "unknown"})}, False),
        ("Dolby A", {"absent": {"decoder": "not recorded"}}, False),
        ("Dolby A", {"set_up": SetUp(noise_reduction="none")}, False),
        ("Dolby A", {"steps": (ChainStep(kind="noise reduction"),)}, False),
        ("none", {}, False),
        (None, {}, False),
    ],
)
def test_what_was_decoded(
    *,
    run: RunRule,
    reduced: Callable[..., Dossier],
    system: str | None,
    told: dict[str, Any],
    asked: bool,
) -> None:
    place = f"{TRANSFER}/reel/sides/0/regions/0/noise_reduction"
    assert run(DECODING, reduced(system, **told)) == [("decoding-unsaid", place)] * asked


def test_of_a_transfer_told_afterwards_nothing_is_asked(
    run: RunRule, reduced: Callable[..., Dossier]
) -> None:
    made = reduced("Dolby A")
    assert made.transfer is not None
    told = replace(made.transfer, kind="retrospective")
    assert run(DECODING, replace(made, transfer=told)) == []


# A flat transfer


@pytest.mark.parametrize(
    ("changes", "keys"),
    [
        ({}, []),
        ({"rate_converted": False, "normalised": False}, []),
        ({"rate_converted": True}, ["rate_converted"]),
        ({"rate_converted": True, "normalised": True}, ["rate_converted", "normalised"]),
    ],
)
def test_a_capture_as_it_was_made(
    run: RunRule, chained: Callable[..., Dossier], changes: dict[str, Any], keys: list[str]
) -> None:
    capture = Capture(id="reel", file="captures/reel.wav", **changes)
    expected = [("capture-altered", f"{TRANSFER}/captures/0/{key}") for key in keys]
    assert run(FLAT, chained(captures=(capture,))) == expected
