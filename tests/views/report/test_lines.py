"""The ten lines at the top, with what they rest on and without it."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.records.carrier import Condition, ReelTone
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import (
    ContainerFacts,
    Embedded,
    EmbeddedHistoryLine,
    InfoLine,
    PackageFacts,
)
from tailsout.records.listening import Listening, SignalNote
from tailsout.records.machine import Machine
from tailsout.records.playing import Azimuth, Decoder, Pass, SetUp
from tailsout.records.recording import Recording
from tailsout.records.reel import Equalisation, Event, Reel, Region, Side, StockSection
from tailsout.records.scale import ChannelScale, Scale
from tailsout.records.transfer import Person, Studio, Transfer
from tailsout.views.report import hear, play
from tailsout.views.report.wording import day, listed

RATE = 96_000
KIND = Kind(code="c", severity=Severity.QUERY, title="t", basis="b", remedy="r")
NAB = Equalisation(standard="NAB", t1_us=Decimal(3180), t2_us=Decimal(50))
FILE = FileRecord(
    path="data/audio/side-a.wav",
    octets=1,
    capture="side-a",
    container=ContainerFacts(form="RIFF", chunks=()),
    pcm=Pcm(is_float=False, sample_rate_hz=RATE, channels=1, container_bits=24, valid_bits=24),
    frames=RATE * 75,
)


def region(start: int, end: int, **more: Any) -> Region:
    return Region(
        id=f"r{start}",
        kind="programme",
        capture="side-a",
        start=start * RATE,
        end=end * RATE,
        **more,
    )


def of(transfer: Transfer | None, *files: FileRecord, **more: Any) -> Dossier:
    return Dossier(origin="received", transfer=transfer, files=files, **more)


def transfer(**more: Any) -> Transfer:
    usual = {"job_id": "j", "package_id": "SKL-7", "studio": Studio(), "reel": Reel()}
    return Transfer(**{**usual, **more})


def heard(dossier: Dossier, *findings: Finding) -> list[str]:
    return list(hear.lines(dossier, findings))


def played(dossier: Dossier) -> list[str]:
    return list(play.lines(dossier))


@pytest.mark.parametrize("dossier", [of(None), of(transfer()), of(None, FILE)])
def test_there_are_ten_whatever_is_known(dossier: Dossier) -> None:
    every = [*heard(dossier), *played(dossier)]
    assert len(every) == 10
    assert all(line.endswith((".", "first.")) for line in every)


def test_they_stand_at_the_top_of_the_page(page: Callable[..., Any]) -> None:
    made = page(of(transfer()))
    assert made.lines("What you will hear, and why") == heard(of(transfer()))
    assert made.lines("To play this reel again") == played(of(transfer()))
    (second,) = [one for one in made.named("ol") if "start" in one.attrib]
    assert second.attrib["start"] == "6"


def test_what_was_recorded() -> None:
    recording = Recording(
        what="the keeper's log", when="1961-11~", place="lamp room", speakers=("Oran", "Mair")
    )
    told = heard(of(transfer(recording=recording)))[0]
    assert told == "The keeper's log; recorded about 1961-11; lamp room; Oran and Mair."
    assert heard(of(transfer()))[0] == "What is on it is not stated."


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("1961~", "about 1961"),
        ("1961?", "perhaps 1961"),
        ("1961", "1961"),
        ("../2026-02", "until 2026-02"),
        ("1961~/..", "from about 1961 on"),
        ("1961/1963?", "1961 to perhaps 1963"),
    ],
)
def test_dates_in_words(text: str, told: str) -> None:
    """EDTF level 1, qualification of a date (Library of Congress, 2019)."""
    assert day(text) == told


def test_where_the_speed_changes() -> None:
    side = Side(
        id="B",
        title="second half",
        regions=(
            region(0, 15, speed_ips=Decimal("7.5")),
            region(15, 30, speed_ips=Decimal("3.75")),
        ),
    )
    told = heard(of(transfer(reel=Reel(sides=(side,))), FILE))[1]
    assert told == (
        "1 audio file, 1 min 15 s in all. Side B “second half”, changing from 7.5 to 3.75 ips at "
        "0:15.0."
    )


def test_a_reel_that_was_not_played() -> None:
    told = heard(of(transfer(kind="record only", not_played_because="mould on the pack")))[1]
    assert told == "It was not played: mould on the pack. There is no sound in this package."


def test_notes_and_listeners() -> None:
    notes = tuple(
        SignalNote(capture="side-a", start=n * RATE, heard=f"click {n}", lives_in="carrier")
        for n in range(5)
    )
    listening = (Listening(by="tam", share_percent=Decimal(100), verdict="accepted"),)
    people = (Person(id="tam", name="Tamsin Orrick"),)
    told = heard(of(transfer(signal_notes=notes, listening=listening, people=people), FILE))[2]
    assert told == (
        "Heard or seen: click 0 (side-a 0:00.0, in the carrier), click 1 (side-a 0:01.0, in the "
        "carrier), click 2 (side-a 0:02.0, in the carrier) and 2 more notes. Listened to by "
        "Tamsin Orrick (accepted, 100 %)."
    )
    assert heard(of(transfer()))[2] == (
        "No fault of the sound is noted. Nobody is stated to have listened."
    )


def test_condition_and_treatment() -> None:
    reel = Reel(
        condition=(Condition(moment="on arrival", pack=("stepped",)),),
        events=(
            Event(kind="treatment", on="2026-03-13", outcome="no longer sheds", state="done"),
            Event(kind="treatment", on="2026-03-12", outcome="never done", state="proposed"),
        ),
    )
    told = heard(of(transfer(reel=reel)))[3]
    assert told.startswith("The reel, on arrival: stepped. Done to it: treatment (2026-03-13;")
    assert "never done" not in told


def test_open_questions_and_faults() -> None:
    place = Place(file="x")
    asked = KIND.at(place, "which end is out?")
    assert heard(of(transfer()))[4] == "No question is open."
    assert heard(of(transfer()), asked)[4] == "1 question is open: which end is out?"
    assert heard(of(transfer()), replace(asked, answered="by tam"))[4] == "No question is open."
    mend = replace(KIND, severity=Severity.MEND).at(place, "a digest differs.")
    told = heard(of(transfer()), asked, mend)[4]
    assert told == "1 fault must be put right: a digest differs."


def test_what_is_not_certain_is_said() -> None:
    doubtful = region(2, 14, speed_ips=Decimal("7.5"), equalisation=NAB, confidence="uncertain")
    reel = Reel(sides=(Side(id="A", regions=(doubtful,)),))
    told = heard(of(transfer(reel=reel), FILE))[4]
    assert told.startswith(
        "Not certain: side A 0:02.0–0:14.0 as 7.5 ips (19.05 cm/s), NAB 3180+50 µs."
    )


def test_to_play_it_again() -> None:
    side = Side(
        id="A",
        regions=(
            region(
                0,
                8,
                speed_ips=Decimal("7.5"),
                equalisation=NAB,
                tracks="half-track mono",
                tones=(ReelTone(frequency_hz=Decimal(1000), used_for="replay level"),),
            ),
            region(9, 20, speed_ips=Decimal("3.75"), noise_reduction="none"),
            region(20, 30, speed_ips=Decimal("3.75"), direction="reversed"),
        ),
    )
    stock = StockSection(
        id="s1", base="PVC", base_told_by=("light through the pack",), confidence="likely"
    )
    scale = Scale(
        session="s",
        ring_head_nwb_m=Decimal(250),
        tape="ct",
        setting="7-nab",
        moment="as left",
        stated_nwb_m=Decimal(250),
        stated_by="AC ring head",
        channels=(
            ChannelScale(
                channel=1, reference_dbfs=Decimal(-18), full_scale_nwb_m=Decimal("1997.3")
            ),
        ),
    )
    whole = transfer(
        reel=Reel(sides=(side,), stock=(stock,), end_out_on_leaving="tails"),
        machines=(
            Machine(id="mk3", maker="Tidewright", model="Mark 3", serial="0412", head="half-track"),
            Machine(id="other", maker="Groyne"),
        ),
        passes=(
            Pass(
                id="p1",
                machine="mk3",
                tape_ran="head to tail",
                set_up=SetUp(noise_reduction="none"),
                azimuth=Azimuth(set_to="programme"),
            ),
        ),
    )
    machine, speeds, way, levels, caution = played(of(whole, replace(FILE, scales=(scale,))))
    assert machine == (
        "Head for half-track mono. Here it was played on a Tidewright Mark 3, serial 0412 "
        "(half-track)."
    )
    assert speeds == (
        "Side A: 7.5 ips (19.05 cm/s), NAB 3180+50 µs; from 0:09.0 3.75 ips (9.525 cm/s), curve "
        "not stated."
    )
    assert way == (
        "Noise reduction: none. Azimuth: to programme. Played: head to tail. In reverse: A r20."
    )
    assert levels == (
        "Line-up tone on the reel: 1000 Hz on side A at 0:00.0 (replay level). Level: 0 dBFS in "
        "side-a.wav is 1997.3 nWb/m."
    )
    assert caution.startswith(
        "It left with its tails out, so that its first side begins at the hub. Base: s1 PVC by "
        "light through the pack, likely. Treatment: decide anew on inspection."
    )


def test_what_of_speed_and_curve_is_not_known_or_doubtful_is_said() -> None:
    side = Side(
        id="A",
        regions=(
            region(0, 5, speed_ips=Decimal("7.5"), equalisation=NAB),
            region(5, 9, absent={"speed_ips": "unknown"}),
            Region(id="l", kind="leader", capture="side-a", start=9 * RATE, end=10 * RATE),
            region(10, 20, speed_ips=Decimal("7.5"), equalisation=NAB, confidence="uncertain"),
        ),
    )
    told = played(of(transfer(reel=Reel(sides=(side,))), FILE))[1]
    assert told == (
        "Side A: 7.5 ips (19.05 cm/s), NAB 3180+50 µs; from 0:05.0 speed unknown, curve not "
        "stated; from 0:10.0 7.5 ips (19.05 cm/s), NAB 3180+50 µs (uncertain)."
    )


def test_a_reel_that_was_recorded_otherwise_than_it_was_played() -> None:
    iec = Equalisation(standard="IEC1", t2_us=Decimal(35))
    one = region(
        0,
        5,
        speed_ips=Decimal("7.5"),
        equalisation=NAB,
        recorded_speed_ips=Decimal(15),
        recorded_equalisation=iec,
    )
    told = played(of(transfer(reel=Reel(sides=(Side(id="A", regions=(one,)),))), FILE))[1]
    assert told == (
        "Side A: 15 ips (38.1 cm/s), here played at 7.5 ips (19.05 cm/s), IEC1 35 µs, here by NAB "
        "3180+50 µs."
    )


def test_what_a_machine_must_take_and_which_head_each_side_wants() -> None:
    sides = (
        Side(id="A", regions=(region(0, 5, tracks="half-track mono"),)),
        Side(id="B", regions=(region(0, 5, tracks="quarter-track stereo"),)),
        Side(id="C", regions=(region(0, 5, tracks="quarter-track stereo"),)),
    )
    reel = Reel(sides=sides, width_mm=Decimal("6.3"), diameter_in=Decimal(7), oxide="out")
    told = played(of(transfer(reel=reel), FILE))[0]
    assert told.startswith(
        "Tape 6.3 mm wide, on a reel of 7 inches, oxide out. Heads for half-track mono (side A) "
        "and quarter-track stereo (sides B and C)."
    )


def test_how_noise_was_reduced_and_which_way_each_side_ran() -> None:
    passes = (
        Pass(id="p1", sides=("A",), tape_ran="head to tail"),
        Pass(
            id="p2",
            sides=("B",),
            tape_ran="tail to head",
            decoder=Decoder(kind="compander", decoding="deferred"),
        ),
    )
    told = played(of(transfer(passes=passes), FILE))[2]
    assert told == (
        "Noise reduction: compander; deferred. Azimuth: not stated. Played: side A head to tail "
        "and side B tail to head."
    )


def test_many_changes_are_counted() -> None:
    regions = tuple(region(n, n + 1, speed_ips=Decimal("7.5") / (1 + n % 2)) for n in range(30))
    one = of(transfer(reel=Reel(sides=(Side(id="A", regions=regions),))), FILE)
    assert heard(one)[1].endswith("Side A, changing its speed 29 times.")
    assert played(one)[1] == (
        "Side A, changing 29 times, as the table of regions has it: 7.5 ips (19.05 cm/s), curve "
        "not stated; 3.75 ips (9.525 cm/s), curve not stated."
    )


def test_why_a_reel_was_not_played_is_told_with_its_sort() -> None:
    because: Any = {"not_played_category": "condition", "not_played_because": "too brittle"}
    told = heard(of(transfer(kind="record only", **because)))[1]
    assert told.startswith("It was not played: condition; too brittle.")


def test_nothing_stated_is_said_to_be_so() -> None:
    machine, speeds, way, levels, caution = played(of(transfer()))
    assert machine == "What head it wants is not stated. No machine is stated."
    assert speeds == "Speed and curve are not stated."
    assert way == "Noise reduction: not stated. Azimuth: not stated. Played: not stated."
    assert levels.startswith("No line-up tone is stated.")
    assert "What the tape is made of is not stated." in caution


def test_a_strangers_package_is_told_by_its_headers() -> None:
    said = Embedded(
        version=1,
        description="Fog signals, tape 4",
        originator="",
        originator_reference="",
        origination_date="",
        origination_time="",
        time_reference=0,
        umid="",
        coding_history=(
            EmbeddedHistoryLine(parameters=(("A", "ANALOGUE"), ("T", "19.05 cm/s"))),
            EmbeddedHistoryLine(parameters=(("A", "PCM"), ("F", "96000"))),
        ),
    )
    package = PackageFacts(
        name="FOG-1",
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=(InfoLine(label="External-Description", value="Fog", line=1),),
        manifests=(),
        files=(),
    )
    dossier = of(None, replace(FILE, embedded=said), package=package)
    assert heard(dossier)[1:4] == [
        "Its sender calls it: Fog.",
        "1 audio file, 1 min 15 s in all.",
        "The audio says of itself: Fog signals, tape 4.",
    ]
    assert played(dossier)[1] == "Speed and curve: the headers say A=ANALOGUE,T=19.05 cm/s."


@pytest.mark.parametrize("dossier", [of(None), of(transfer()), of(transfer(kind="record only"))])
def test_the_caution_defers_to_those_who_know_and_advises_nothing(dossier: Dossier) -> None:
    caution = played(dossier)[4]
    assert "Treatment: decide anew on inspection." in caution
    assert "ask a conservator first" in caution
    assert not {"bake", "baked", "bakeable", "°C"} & set(caution.replace(".", " ").split())


def test_long_texts_stay_lines() -> None:
    told = heard(of(transfer(reel=Reel(title="long " * 1000))))[0]
    assert len(told) <= 482
    assert told.endswith("…")


def test_words_are_joined_as_in_a_sentence() -> None:
    assert listed(["a"]) == "a"
    assert listed(["a", "", "b"]) == "a and b"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed([]) == ""
