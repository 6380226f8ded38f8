"""Stated speeds against the reel, the machine and the other side.

Hub radii and thicknesses are common practice; what a reel holds is derived from them.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.machine import Machine
from tailsout.records.reel import Reel, Region, Side, StockSection
from tailsout.records.transfer import Transfer
from tailsout.rules import judge

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
Played = Callable[..., Dossier]
LENGTHS, MACHINES = "tape played against the reel", "speeds of regions against the machine"
TRANSFER = "data/audio/reel.json#/transfer"
MINUTE = 48_000 * 60


@pytest.fixture
def played(
    received: Callable[..., Dossier],
    transfer: Callable[..., Transfer],
    file: Callable[..., FileRecord],
) -> Played:
    """Make sides, each of regions (capture, minutes, ips), on a reel.

    Captures of one first letter are of one pass.
    """

    def make(
        *sides: Sequence[tuple[str, float, str | None]],
        inches: str | None = None,
        thicknesses: Sequence[str | None] = (),
    ) -> Dossier:
        captures = sorted({capture for regions in sides for capture, _, _ in regions})
        reel = Reel(
            diameter_in=Decimal(inches) if inches else None,
            stock=tuple(
                StockSection(id=f"s{n}", thickness_um=Decimal(one) if one else None)
                for n, one in enumerate(thicknesses)
            ),
            sides=tuple(
                Side(
                    id="ABCD"[s],
                    regions=tuple(
                        Region(
                            id=f"r{r}",
                            kind="programme",
                            capture=capture,
                            start=0,
                            end=int(minutes * MINUTE),
                            speed_ips=Decimal(ips) if ips else None,
                        )
                        for r, (capture, minutes, ips) in enumerate(regions)
                    ),
                )
                for s, regions in enumerate(sides)
            ),
        )
        return received(
            transfer=transfer(
                reel=reel,
                captures=tuple(
                    Capture(id=c, file=f"{c}.wav", pass_id=f"p-{c[0]}") for c in captures
                ),
            ),
            files=tuple(file(capture=c, frames=900 * MINUTE) for c in captures),
        )

    return make


# tape-longer-than-reel


@pytest.mark.parametrize(
    ("reel", "minutes", "ips", "is_too_long"),
    [
        # A 7-inch reel of standard play holds 1200 ft, 32 minutes at 7½ (handbook): stated at 15
        # it would be twice that.
        (("7", "52"), 32, "7.5", False),
        (("7", "52"), 32, "15", True),
        (("7", "52"), 64, "3.75", False),
        # 1800 ft of long play, 48 minutes at 7½ (handbook).
        (("7", "35"), 48, "7.5", False),
        (("7", "35"), 96, "7.5", True),
        (("5", "52"), 16, "7.5", False),
        (("5", "52"), 32, "7.5", True),
        (("10.5", "52"), 33.3, "15", False),
        (("10.5", "52"), 33.3, "30", True),
        # Nobody says how thick it is: then it may be the thinnest, 3600 ft on 7 inches.
        (("7", None), 96, "7.5", False),
        (("7", None), 192, "7.5", True),
        # No hub is known for other reels.
        (("6", "52"), 192, "7.5", False),
        ((None, "52"), 192, "7.5", False),
    ],
)
def test_no_more_tape_than_a_reel_can_hold(
    run: RunRule,
    played: Played,
    reel: tuple[str | None, str | None],
    minutes: float,
    ips: str,
    *,
    is_too_long: bool,
) -> None:
    inches, thickness = reel
    dossier = played([("a", minutes, ips)], inches=inches, thicknesses=[thickness])
    expected = [("tape-longer-than-reel", f"{TRANSFER}/reel/sides/0")] if is_too_long else []
    assert run(LENGTHS, dossier) == expected


def test_the_thinnest_of_several_kinds_of_tape_counts(run: RunRule, played: Played) -> None:
    side = [("a", 60, "7.5")]
    assert run(LENGTHS, played(side, inches="7", thicknesses=["52"])) != []
    assert run(LENGTHS, played(side, inches="7", thicknesses=["52", "26"])) == []
    assert run(LENGTHS, played(side, inches="7", thicknesses=["52", None])) == []


def test_regions_of_one_pass_add_up_and_passes_do_not(run: RunRule, played: Played) -> None:
    one_pass = [("a", 20, "7.5"), ("a", 40, "7.5")]
    assert run(LENGTHS, played(one_pass, inches="7", thicknesses=["52"])) != []
    in_two_captures = [("a1", 20, "7.5"), ("a2", 40, "7.5")]
    assert run(LENGTHS, played(in_two_captures, inches="7", thicknesses=["52"])) != []
    two_passes = [("a", 32, "7.5"), ("b", 32, "7.5")]
    assert run(LENGTHS, played(two_passes, inches="7", thicknesses=["52"])) == []


def test_a_stretch_without_a_speed_leaves_the_length_open(run: RunRule, played: Played) -> None:
    side = [("a", 90, "7.5"), ("a", 1, None)]
    assert run(LENGTHS, played(side, inches="7", thicknesses=["52"])) == []


def test_a_file_of_unknown_format_leaves_the_length_open(run: RunRule, played: Played) -> None:
    dossier = played([("a", 60, "7.5")], inches="7", thicknesses=["52"])
    unread = tuple(replace(one, pcm=None) for one in dossier.files)
    assert run(LENGTHS, dossier) != []
    assert run(LENGTHS, replace(dossier, files=unread)) == []


def test_a_region_to_the_end_counts_to_the_end(run: RunRule, played: Played) -> None:
    dossier = played([("a", 1, "7.5")], inches="7", thicknesses=["52"])
    assert dossier.transfer is not None
    (side,) = dossier.transfer.reel.sides
    (region,) = side.regions
    sides = (replace(side, regions=(replace(region, end=None),)),)
    reel = replace(dossier.transfer.reel, sides=sides)
    open_ended = replace(dossier, transfer=replace(dossier.transfer, reel=reel))
    assert run(LENGTHS, open_ended) == [("tape-longer-than-reel", f"{TRANSFER}/reel/sides/0")]


# sides-a-speed-apart


@pytest.mark.parametrize(
    ("first", "second", "shorter"),
    [
        ((32, "7.5"), (32, "3.75"), 1),
        ((32, "3.75"), (32.5, "7.5"), 0),
        ((32, "15"), (32, "3.75"), 1),
        ((32, "7.5"), (32, "7.5"), None),
        ((32, "7.5"), (64, "3.75"), None),
        # A side that is two thirds full, and one a little more than half.
        ((30, "7.5"), (20, "7.5"), None),
        ((32, "7.5"), (17, "7.5"), None),
        # Of short ones nothing is said.
        ((2, "7.5"), (2, "3.75"), None),
    ],
)
def test_sides_as_far_apart_as_two_speeds(
    run: RunRule,
    played: Played,
    first: tuple[float, str],
    second: tuple[float, str],
    shorter: int | None,
) -> None:
    dossier = played([("a", *first)], [("b", *second)])
    expected = (
        [] if shorter is None else [("sides-a-speed-apart", f"{TRANSFER}/reel/sides/{shorter}")]
    )
    assert run(LENGTHS, dossier) == expected


def test_a_side_of_several_passes_is_not_held_against_another(run: RunRule, played: Played) -> None:
    dossier = played([("a", 32, "7.5"), ("c", 1, "7.5")], [("b", 32, "3.75")])
    assert run(LENGTHS, dossier) == []


# speed-not-of-machine


@pytest.mark.parametrize(
    ("speeds", "found"),
    [
        (["3.75", "15"], [("speed-not-of-machine", "/reel/sides/0/regions/0/speed_ips")]),
        (["3.75", "7.50"], []),
        ([], []),
    ],
)
def test_a_speed_that_the_machine_has_not(
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    speeds: Sequence[str],
    found: list[tuple[str, str]],
) -> None:
    machine = Machine(id="left", speeds_ips=tuple(Decimal(one) for one in speeds))
    dossier = stating(transfer(machines=(machine,)))
    assert run(MACHINES, dossier) == [(code, TRANSFER + at) for code, at in found]


@pytest.mark.parametrize("speeds", [(), (Decimal("7.5"), Decimal(15))])
def test_a_speed_in_centimetres_is_no_speed_in_inches(
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    speeds: tuple[Decimal, ...],
) -> None:
    made = transfer(machines=(Machine(id="left", speeds_ips=speeds),))
    (side,) = made.reel.sides
    (region,) = side.regions
    typed = replace(side, regions=(replace(region, speed_ips=Decimal(19)),))
    dossier = stating(replace(made, reel=replace(made.reel, sides=(typed,))))
    (finding,) = (f for f in judge(dossier).findings if f.code == "speed-not-of-machine")
    assert finding.text.endswith("; 19 cm/s would be 7.5 ips.")


def test_a_region_whose_machine_is_not_known(
    run: RunRule, stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> None:
    machine = Machine(id="left", speeds_ips=(Decimal(15),))
    assert run(MACHINES, stating(transfer(machines=(machine,), passes=()))) == []
