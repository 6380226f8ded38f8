"""Sides against captures, photographs against the package: own rules."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.carrier import Image
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, PackageFacts
from tailsout.records.playing import Channel, Pass
from tailsout.records.reel import Event, Inscription, Side
from tailsout.records.transfer import Transfer

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
SIDES, IMAGES = "sides against captures", "photographs in the package"
REEL = "data/audio/reel.json#/transfer/reel"


@pytest.fixture
def sided(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> Callable[..., Dossier]:
    """Make a captured side A, the other sides given, and what is written of the reel."""

    def make(
        *others: Side,
        region: dict[str, Any] | None = None,
        reel: dict[str, Any] | None = None,
        **changes: Any,
    ) -> Dossier:
        made = transfer(**changes)
        (side,) = made.reel.sides
        first = replace(side, regions=(replace(side.regions[0], **(region or {})),))
        return stating(
            replace(made, reel=replace(made.reel, sides=(first, *others), **(reel or {})))
        )

    return make


# side-without-capture


@pytest.mark.parametrize(
    ("side", "changes", "asked"),
    [
        (Side(id="B"), {}, True),
        (Side(id="B", title="more of the log"), {}, True),
        (Side(id="B", absent={"regions": "not examined"}), {}, False),
        # Played, and captured by a pass that names it.
        (Side(id="B"), {"passes": (Pass(id="p1", sides=("A", "B")),)}, False),
        # Played without a capture.
        (Side(id="B"), {"passes": (Pass(id="p1"), Pass(id="p2", sides=("B",)))}, True),
        (
            Side(id="B"),
            {"passes": (Pass(id="p1"), Pass(id="p2", sides=("B",), why_not_kept="side blank"))},
            False,
        ),
        (Side(id="B"), {"note": "side B is blank by ear"}, False),
        (Side(id="B"), {"note": "see the letter"}, True),
        (Side(id="B"), {"kind": "retrospective"}, False),
        (Side(id="B"), {"kind": "record only"}, False),
        # A reel that is still on its way to the machine.
        (Side(id="B"), {"captures": ()}, False),
    ],
)
def test_a_side_that_is_stated_was_captured(
    *, run: RunRule, sided: Callable[..., Dossier], side: Side, changes: dict[str, Any], asked: bool
) -> None:
    found = run(SIDES, sided(side, **changes))
    assert found == [("side-without-capture", f"{REEL}/sides/1")] * asked


def test_a_capture_that_names_no_pass_may_be_of_any_side(
    run: RunRule, sided: Callable[..., Dossier], transfer: Callable[..., Transfer]
) -> None:
    captures = (replace(transfer().captures[0], pass_id=None),)
    assert run(SIDES, sided(Side(id="B"), captures=captures)) == []


# other-side-unsaid


@pytest.mark.parametrize(
    ("region", "reel", "changes", "asked"),
    [
        ({"tracks": "half-track mono"}, {}, {}, True),
        ({"tracks": "quarter-track stereo"}, {}, {}, True),
        ({"tracks": "half-track stereo"}, {}, {}, False),
        ({"tracks": "full-track mono"}, {}, {}, False),
        ({}, {}, {}, False),
        ({}, {"inscriptions": (Inscription(place="box", text="LOG – both sides 7½"),)}, {}, True),
        ({}, {"inscriptions": (Inscription(place="box", text="Side 2: blank"),)}, {}, True),
        ({}, {"inscriptions": (Inscription(place="box", text="A side of bacon"),)}, {}, False),
        ({"tracks": "half-track mono"}, {"note": "the other side is blank"}, {}, False),
        ({"tracks": "half-track mono"}, {"note": "smells of oil"}, {}, True),
        ({"tracks": "half-track mono"}, {}, {"kind": "retrospective"}, False),
        # Both ways were captured at once.
        ({"tracks": "half-track mono", "direction": "reversed"}, {}, {}, False),
        (
            {"tracks": "half-track mono"},
            {},
            {"passes": (Pass(id="p1", channels=(Channel(channel=2, direction="reversed"),)),)},
            False,
        ),
    ],
)
def test_a_tape_that_has_room_for_another_side(
    *,
    run: RunRule,
    sided: Callable[..., Dossier],
    region: dict[str, Any],
    reel: dict[str, Any],
    changes: dict[str, Any],
    asked: bool,
) -> None:
    found = run(SIDES, sided(region=region, reel=reel, **changes))
    assert found == [("other-side-unsaid", f"{REEL}/sides/0")] * asked


def test_two_sides_stated_leave_nothing_unsaid(
    run: RunRule, sided: Callable[..., Dossier], transfer: Callable[..., Transfer]
) -> None:
    other = replace(transfer().reel.sides[0], id="B")
    assert run(SIDES, sided(other, region={"tracks": "half-track mono"})) == []


# image-missing

BOX = "images/box.jpg"


@pytest.fixture
def pictured(
    sided: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> Callable[..., Dossier]:
    """Make a reel with a photograph of its box in three places, and these files more."""

    def make(*present: str, unseen: tuple[str, ...] = ()) -> Dossier:
        made = sided(
            reel={
                "images": (Image(file=BOX),),
                "events": (Event(kind="photography", images=(Image(file=BOX),)),),
                "inscriptions": (Inscription(place="box", text="LOG", image=BOX),),
            }
        )
        more = tuple(FoundFile(path=path, octets=1) for path in present)
        files = (*package().files, *more)
        return replace(made, package=package(files=files, unseen=unseen))

    return make


def test_a_photograph_that_is_not_there(run: RunRule, pictured: Callable[..., Dossier]) -> None:
    assert run(IMAGES, pictured()) == [
        ("image-missing", f"{REEL}/images/0/file"),
        ("image-missing", f"{REEL}/events/0/images/0/file"),
        ("image-missing", f"{REEL}/inscriptions/0/image"),
    ]


def test_a_photograph_that_is_there_or_was_not_looked_for(
    run: RunRule, pictured: Callable[..., Dossier]
) -> None:
    assert run(IMAGES, pictured("data/images/box.jpg")) == []
    assert run(IMAGES, pictured(unseen=("data/images",))) == []
    assert run(IMAGES, pictured(unseen=("",))) == []
    assert len(run(IMAGES, pictured("data/images/box.png", unseen=("data/image",)))) == 3
