"""What was measured goes with the statements it belongs to, or is left out."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.records.calibration import CalibrationFacts
from tailsout.records.machine import CalibrationTape
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.sound import AudioFacts, ChannelFacts, RegionFacts, RegionSound
from tailsout.records.tones import FoundTone, ToneChannel, ToneFacts
from tailsout.records.transfer import Studio, ThisFile, Transfer
from tailsout.work.amending.file_facts import amended_facts

FLUXIVITY = Decimal(250)
A1 = Region(id="A1", kind="programme", capture="a", start=0, end=10, setting="7-nab")
A2 = replace(A1, id="A2", start=10, end=20)
SIDE = Side(id="A", regions=(A1, A2))
SOUND = RegionSound(start=0, end=10, seconds=1, channels=())
TONES = ToneFacts(
    frames=1,
    sample_rate_hz=48_000,
    tones=(FoundTone(start=0, end=1, frequency_hz=Decimal(1000), channels=()),),
    channels=(ToneChannel(channel=1, reference_dbfs=Decimal(-18)),),
    methods={},
    fit="fits",
    reference=1,
)
CALIBRATION = CalibrationFacts(
    session="s1",
    setting="7-nab",
    moment="as left",
    file="x.wav",
    octets=1,
    sha256="a" * 64,
    packed_in="REEL-1",
    tape="ct",
    tones=TONES,
)


def transfer(*sides: Side, fluxivity: Decimal = FLUXIVITY) -> Transfer:
    return Transfer(
        job_id="0b7d6c1e-8a54-4f39-9c2b-27d0a3f6e518",
        package_id="REEL-1",
        studio=Studio(),
        reel=Reel(sides=sides),
        calibration_tapes=(CalibrationTape(id="ct", reference_fluxivity_nwb_m=fluxivity),),
    )


WAS = transfer(SIDE)


def stated(**changes: Any) -> ThisFile:
    given: dict[str, Any] = {
        "id": "0b7d6c1e-8a54-5f39-9c2b-27d0a3f6e518",
        "path": "data/audio/a.wav",
        "capture": "a",
        "octets": 1,
        "sha256": "a" * 64,
        "sha512": "a" * 128,
        "made": "as captured",
        "sources": (),
        "pcm": Pcm(
            is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24
        ),
        "measured": AudioFacts(
            frames=20, sample_rate_hz=48_000, essence_sha256="", channels=(ChannelFacts(),)
        ),
        "methods": {},
        "regions": tuple(
            RegionFacts(region=one, side="A", sound=replace(SOUND, start=start))
            for one, start in (("A1", 0), ("A2", 10))
        ),
    } | changes
    return ThisFile(**given)


@pytest.mark.parametrize(
    ("side", "names"),
    [
        (SIDE, [("A", "A1"), ("A", "A2")]),
        (replace(SIDE, id="B"), [("B", "A1"), ("B", "A2")]),
        (replace(SIDE, regions=(replace(A1, id="x"), A2)), [("A", "x"), ("A", "A2")]),
        (replace(SIDE, regions=(replace(A1, title="x"), A2)), [("A", "A1"), ("A", "A2")]),
        (replace(SIDE, regions=(replace(A1, end=9), A2)), [("A", "A2")]),
        (replace(SIDE, regions=(A1, replace(A2, capture="b"))), [("A", "A1")]),
        (replace(SIDE, regions=()), []),
    ],
    ids=["same", "side", "region", "title", "shorter", "another capture", "none"],
)
def test_facts_of_regions(side: Side, names: list[tuple[str, str]]) -> None:
    now, notes = amended_facts(stated(), WAS, transfer(side), ())
    assert [(one.side, one.region) for one in now.regions] == names
    assert [one.code for one in notes] == ["region-facts-dropped"] * (2 - len(names))


def test_two_sides_that_change_names_change_their_facts() -> None:
    other = Side(id="B", regions=(replace(A1, start=30, end=40),))
    facts = stated().regions[:1]
    both = (*facts, replace(facts[0], side="B", sound=replace(SOUND, start=30)))
    now, notes = amended_facts(
        stated(regions=both),
        transfer(SIDE, other),
        transfer(replace(SIDE, id="B"), replace(other, id="A")),
        (),
    )
    assert notes == ()
    assert [(one.side, one.sound.start) for one in now.regions] == [("B", 0), ("A", 30)]


def test_the_scale_is_worked_out_anew_only_where_it_changes() -> None:
    first, _ = amended_facts(stated(), transfer(), WAS, (CALIBRATION,))
    assert first.scales[0].channels[0].full_scale_nwb_m == Decimal("1985.8")
    same, _ = amended_facts(stated(scales=()), WAS, WAS, (CALIBRATION,))
    # As stated by the program that measured it, whatever this one makes of it.
    assert same.scales == ()
    now, _ = amended_facts(first, WAS, transfer(SIDE, fluxivity=Decimal(320)), (CALIBRATION,))
    assert now.scales[0].stated_nwb_m == Decimal(320)
