"""What a recipient asks of a transfer: joins, a stop at a speed change, photographs, ears, ends.

An exact overlap of 5 s at a speed change, photographs of box and reel, and 30 s heard at three
places are asked for by the delivery specifications of the New York Public Library.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.findings import Severity
from tailsout.records.capture import Capture
from tailsout.records.carrier import Image
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.listening import Listening
from tailsout.records.recipient import ListeningSample, OverlapAsked, Recipient
from tailsout.records.reel import Equalisation, Event, Reel, Region, Side
from tailsout.records.transfer import Transfer
from tailsout.rules import judge
from tailsout.rules.recipient_tape import HOUSE_RULE_END_OUT

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
JOINS, STOPS = "joins as the recipient wants them", "a file for each speed"
END, IMAGES = "house rule of the recipient", "photographs that the recipient asks for"
HEARD = "listening that the recipient asks for"
AT = "data/audio/reel.json#/transfer"
FIVE = OverlapAsked(seconds=Decimal(5), at=("speed change", "equalisation change"))
SLOW, FAST = Decimal("3.75"), Decimal("7.5")


@pytest.fixture
def asking(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> Callable[..., Dossier]:
    """Make a package of some regions whose recipient asks something."""

    def make(*regions: Region, changes: dict[str, Any] | None = None, **asked: Any) -> Dossier:
        reel = Reel(sides=(Side(id="A", regions=regions),)) if regions else transfer().reel
        captures = tuple(
            Capture(id=name, file=f"captures/{name}.wav", pass_id="p1")  # noqa: S106  a tape's
            for name in sorted({one.capture for one in regions} or {"reel"})
        )
        stated = {"reel": reel, "captures": captures, **(changes or {})}
        return stating(transfer(recipient=Recipient(id="archive", **asked), **stated))

    return make


def region(name: str, capture: str, **more: Any) -> Region:
    usual = {"kind": "programme", "start": 0, "speed_ips": FAST}
    return Region(id=name, capture=capture, **{**usual, **more})


# Overlap, between files only


@pytest.mark.parametrize(
    ("overlap", "code"),
    [
        (None, "overlap-unsaid"),
        (Decimal("4.9"), "overlap-short"),
        (Decimal(0), "overlap-short"),
        (Decimal(5), ""),
        (Decimal("5.2"), ""),
    ],
)
def test_two_files_at_a_speed_change_overlap_as_is_asked(
    run: RunRule, asking: Callable[..., Dossier], overlap: Decimal | None, code: str
) -> None:
    dossier = asking(
        region("A1", "one"),
        region("A2", "two", speed_ips=SLOW, overlap_seconds=overlap),
        overlap=FIVE,
    )
    at = f"{AT}/reel/sides/0/regions/1/overlap_seconds"
    assert run(JOINS, dossier) == ([(code, at)] if code else [])


def test_too_short_an_overlap_needs_the_reel_and_no_remedy_asks_to_play_it(
    asking: Callable[..., Dossier],
) -> None:
    dossier = asking(
        region("A1", "one"),
        region("A2", "two", speed_ips=SLOW, overlap_seconds=Decimal(1)),
        overlap=FIVE,
    )
    [found] = judge(dossier).findings
    assert found.kind.needs_reel
    assert found.severity is Severity.QUERY
    assert "play" not in found.kind.remedy


NAB = Equalisation(standard="NAB", t1_us=Decimal(3180), t2_us=Decimal(50))
CCIR = Equalisation(standard="CCIR", t2_us=Decimal(70))
JOINED: dict[str, tuple[Region, ...]] = {
    "on the run": (region("A1", "one"), region("A2", "one", start=480, speed_ips=SLOW)),
    "no change": (region("A1", "one"), region("A2", "two")),
    "a speed nobody knows": (region("A1", "one"), region("A2", "two", speed_ips=None)),
    "leader between": (
        region("A1", "one"),
        region("A2", "two", kind="leader", speed_ips=SLOW),
    ),
    "one recording alone": (region("A1", "one"),),
    "nothing in common is possible": (
        region("A1", "one"),
        region("A2", "two", speed_ips=SLOW, absent={"overlap_seconds": "not applicable"}),
    ),
}


@pytest.mark.parametrize("regions", JOINED.values(), ids=JOINED.keys())
def test_where_nothing_is_joined_no_overlap_is_asked(
    run: RunRule, asking: Callable[..., Dossier], regions: tuple[Region, ...]
) -> None:
    assert run(JOINS, asking(*regions, overlap=FIVE)) == []


def test_another_side_is_no_join(
    run: RunRule, asking: Callable[..., Dossier], stating: Callable[[Transfer], Dossier]
) -> None:
    dossier = asking(region("A1", "one"), region("A2", "two", speed_ips=SLOW), overlap=FIVE)
    assert dossier.transfer is not None
    [side] = dossier.transfer.reel.sides
    sides = tuple(replace(side, id=one.id, regions=(one,)) for one in side.regions)
    turned = replace(dossier.transfer, reel=Reel(sides=sides))
    assert run(JOINS, stating(turned)) == []


def test_a_pass_that_was_not_kept_joins_nothing(
    run: RunRule, asking: Callable[..., Dossier], transfer: Callable[..., Transfer]
) -> None:
    regions = (region("A1", "one"), region("A2", "two", speed_ips=SLOW))
    passes = tuple(replace(one, kept=False) for one in transfer().passes)
    assert run(JOINS, asking(*regions, overlap=FIVE, changes={"passes": passes})) == []


def test_a_change_of_equalisation_is_a_join_where_they_say_so(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    regions = (region("A1", "one", equalisation=NAB), region("A2", "two", equalisation=CCIR))
    assert [code for code, _ in run(JOINS, asking(*regions, overlap=FIVE))] == ["overlap-unsaid"]
    at_speeds = OverlapAsked(seconds=Decimal(5), at=("speed change",))
    assert run(JOINS, asking(*regions, overlap=at_speeds)) == []


def test_no_overlap_is_asked_by_a_recipient_who_does_not_ask(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    assert run(JOINS, asking(region("A1", "one"), region("A2", "two", speed_ips=SLOW))) == []


@pytest.mark.parametrize(
    ("second_at", "made", "asked", "is_found"),
    [
        (48_000, "part", "parts", True),
        (38_400, "part", "parts", False),
        (38_401, "part", "parts", True),
        (48_000, "joined", "parts", False),
        (48_000, "part", "speed change", False),
    ],
)
def test_parts_that_stay_apart(
    run: RunRule,
    asking: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    *,
    second_at: int,
    made: Any,
    asked: Any,
    is_found: bool,
) -> None:
    fifth = OverlapAsked(seconds=Decimal("0.2"), at=(asked,))
    parts = (file(made=made), file(path="data/audio/b.wav", made=made, starts_at=second_at))
    dossier = replace(asking(overlap=fifth), files=parts)
    wanted = [("parts-without-overlap", f"{AT}/captures/0")] if is_found else []
    assert run(JOINS, dossier) == wanted


# speed-change-unstopped


@pytest.mark.parametrize(
    ("regions", "stop", "is_found"),
    [
        (JOINED["on the run"], True, True),
        (JOINED["on the run"], False, False),
        (JOINED["on the run"], None, False),
        ((region("A1", "one"), region("A2", "two", speed_ips=SLOW)), True, False),
        ((region("A1", "one"), region("A2", "one", start=480)), True, False),
    ],
)
def test_a_file_for_each_speed_where_they_want_a_stop(
    run: RunRule,
    asking: Callable[..., Dossier],
    regions: tuple[Region, ...],
    stop: bool | None,
    is_found: bool,
) -> None:
    found = run(STOPS, asking(*regions, stop_at_speed_change=stop))
    at = f"{AT}/reel/sides/0/regions/1/speed_ips"
    assert found == ([("speed-change-unstopped", at)] if is_found else [])


# house-rule-end-out


def one_way(*directions: Any, sides: int = 1, end: Any = "heads") -> Reel:
    regions = tuple(
        region(f"r{n}", "reel", direction=direction) for n, direction in enumerate(directions)
    )
    return Reel(
        sides=tuple(Side(id=str(n), regions=regions) for n in range(sides)),
        end_out_on_leaving=end,
    )


@pytest.mark.parametrize(
    ("reel", "rule", "is_found"),
    [
        (one_way("forward", "forward"), "tails", True),
        (one_way("forward", end="tails"), "heads", True),
        (one_way("forward"), "heads", False),
        (one_way("forward"), None, False),
        (one_way("forward", end=None), "tails", False),
        (one_way("forward", "reversed"), "tails", False),
        (one_way("forward", None), "tails", False),  # nobody says which way
        (one_way("forward", sides=2), "tails", False),  # recorded both ways, as most are
    ],
)
def test_which_end_is_out_is_a_note_for_tapes_of_one_direction(
    run: RunRule, asking: Callable[..., Dossier], reel: Reel, rule: Any, is_found: bool
) -> None:
    dossier = asking(changes={"reel": reel}, house_rule_end_out=rule)
    at = f"{AT}/reel/end_out_on_leaving"
    assert run(END, dossier) == ([("house-rule-end-out", at)] if is_found else [])


def test_a_house_rule_is_never_more_than_a_note() -> None:
    assert HOUSE_RULE_END_OUT.severity is Severity.NOTE


# photograph-asked


BOX, FACE = Image(file="images/box.jpg", role="box"), Image(file="images/f.jpg", role="reel face")


@pytest.mark.parametrize(
    ("reel", "missing"),
    [
        (Reel(images=(BOX, FACE)), ""),
        (Reel(images=(BOX,), events=(Event(kind="photography", images=(FACE,)),)), ""),
        (Reel(images=(BOX,)), "reel face"),
        (Reel(images=(replace(BOX, role=None),)), "box, reel face"),
        (Reel(), "box, reel face"),
        (Reel(absent={"images": "not recorded"}), "box, reel face"),
        (Reel(absent={"images": "not applicable"}), ""),
    ],
)
def test_photographs_asked_for_and_not_there(
    run: RunRule,
    told: Callable[[str, Dossier], list[str]],
    asking: Callable[..., Dossier],
    reel: Reel,
    missing: str,
) -> None:
    dossier = asking(changes={"reel": reel}, images=("box", "reel face", "box"))
    assert run(IMAGES, dossier) == ([("photograph-asked", f"{AT}/reel/images")] if missing else [])
    assert told(IMAGES, dossier) == ([f"they want photographs of: {missing}."] if missing else [])
    found = [one for one in judge(dossier).findings if one.code == "photograph-asked"]
    assert all(one.kind.needs_reel for one in found)


# listened-too-little


def heard(share: int | None, capture: str | None = None) -> Listening:
    return Listening(share_percent=None if share is None else Decimal(share), capture=capture)


@pytest.mark.parametrize(
    ("listening", "is_found"),
    [
        ((), True),
        ((heard(99),), True),
        ((heard(100),), False),
        ((heard(None),), True),
        ((heard(10), heard(100, "reel")), False),
        ((heard(100, "other"),), True),
    ],
)
def test_somebody_listened_to_as_much_as_they_ask(
    run: RunRule,
    asking: Callable[..., Dossier],
    listening: tuple[Listening, ...],
    is_found: bool,
) -> None:
    sample = ListeningSample(share_percent=Decimal(100))
    dossier = asking(changes={"listening": listening}, listening_sample=sample)
    wanted = [("listened-too-little", f"{AT}/captures/0")] if is_found else []
    assert run(HEARD, dossier) == wanted


def test_seconds_at_places_want_somebody_to_have_listened_at_all(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    sample = ListeningSample(seconds=Decimal(30), positions=("beginning", "middle", "end"))
    assert run(HEARD, asking(listening_sample=sample)) != []
    once = {"listening": (heard(None),)}
    assert run(HEARD, asking(changes=once, listening_sample=sample)) == []
    assert run(HEARD, asking()) == []


def test_nothing_is_asked_without_a_recipient(
    run: RunRule, received: Callable[..., Dossier]
) -> None:
    for name in (JOINS, STOPS, END, IMAGES, HEARD):
        assert run(name, received()) == []
