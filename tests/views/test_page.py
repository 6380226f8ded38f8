from dataclasses import replace
from decimal import Decimal
from typing import Any

from tailsout.ground.findings import Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.records.calibration import AtRest, CalibrationFacts
from tailsout.records.capture import Capture, Part
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts, FoundFile, InfoLine, PackageFacts
from tailsout.records.machine import CareEvent, Machine
from tailsout.records.playing import Pass, SetUp, Stop
from tailsout.records.reel import (
    Equalisation,
    Event,
    Identifier,
    Inscription,
    Reel,
    Region,
    Side,
    StockSection,
)
from tailsout.records.session import Session
from tailsout.records.sound import AudioFacts, ChannelFacts, RegionFacts, RegionSound
from tailsout.records.transfer import Person, Studio, Transfer
from tailsout.views.page import render

KIND = Kind(code="c", severity=Severity.QUERY, title="t", basis="b", remedy="r")
RATE = 96_000
PCM = Pcm(is_float=False, sample_rate_hz=RATE, channels=1, container_bits=24, valid_bits=24)
FACTS = AudioFacts(
    frames=RATE * 60,
    sample_rate_hz=RATE,
    essence_sha256="5a" * 32,
    channels=(ChannelFacts(clipped_runs=2), ChannelFacts(clipped_runs=1)),
    integrated_lufs=Decimal("-23.00"),
    true_peak_dbtp=Decimal("-1.20"),
)
FILE = FileRecord(
    path="data/audio/side-a.wav",
    octets=17_280_044,
    capture="side-a",
    container=ContainerFacts(form="RIFF", chunks=()),
    pcm=PCM,
    frames=RATE * 60,
    measured=FACTS,
)


def shown(dossier: Dossier, *findings: Any) -> str:
    return render(dossier, findings, {}).decode("utf-8")


def rows(dossier: Dossier) -> dict[str, str]:
    """Value by label, folded lines joined."""
    found: dict[str, str] = {}
    label = ""
    for row in shown(dossier).split("\n"):
        if row.startswith(" " * 22):
            found[label] += f" {row.strip()}"
        elif row[:21].strip() and len(row) > 22:
            label = row[:21].strip()
            found[label] = row[22:]
    return found


def of(transfer: Transfer, *files: FileRecord) -> Dossier:
    return Dossier(origin="closing", transfer=transfer, files=files)


def transfer(**more: Any) -> Transfer:
    usual = {"job_id": "j", "package_id": "SKL-0007", "studio": Studio(), "reel": Reel()}
    return Transfer(**{**usual, **more})


PACKAGE = PackageFacts(
    name="SKL-0007",
    bagit_version="1.0",
    encoding="UTF-8",
    bag_info=(InfoLine(label="Source-Organization", value="Saltpan Row", line=1),),
    manifests=(),
    files=(
        FoundFile(path="bagit.txt", octets=55),
        FoundFile(path="data/audio/side-a.json", octets=6000),
        FoundFile(path="data/audio/side-a.wav", octets=17_280_044),
    ),
)


def test_a_dossier_of_nothing_is_one_empty_line() -> None:
    assert shown(Dossier(origin="received")) == "\n"


def test_a_package_without_a_side_car_of_ours() -> None:
    text = shown(Dossier(origin="received", package=PACKAGE, files=(FILE,)))
    assert text.startswith("Package SKL-0007\n")
    assert "No side-car of ours: this shows what the bag and its files say of themselves." in text
    found = rows(Dossier(origin="received", package=PACKAGE, files=(FILE,)))
    assert found["bag version"] == "1.0"
    assert found["payload"] == "2 files, 17.29 MB"
    assert found["Source-Organization"] == "Saltpan Row"
    assert found["format"] == "96000 Hz, 24-bit PCM, 1 channel"
    assert found["length"] == "1:00.000 (5760000 samples a channel)"
    assert found["loudness"] == "-23.00 LUFS integrated"
    assert found["true peak"] == "-1.20 dBTP"
    assert "2 runs at full scale" in found["channel 1"]
    assert "1 run at full scale" in found["channel 2"]
    assert found["samples' SHA-256"] == "5a" * 32


def test_no_bag_is_said() -> None:
    package = replace(PACKAGE, bagit_version="")
    found = rows(Dossier(origin="received", package=package))
    assert found["bag version"] == "none: this is not a bag"


def test_a_file_that_is_no_wave() -> None:
    bare = FileRecord(
        path="x.wav", octets=7, container=ContainerFacts(form="no RIFF at all", chunks=())
    )
    text = shown(Dossier(origin="received", files=(bare,)))
    assert "no RIFF at all, 7 octets" in text
    assert "format" not in text


def test_the_reel_and_what_is_on_it() -> None:
    reel = Reel(
        title="Log of the keeper",
        identifiers=(Identifier(value="HA/7", kind="shelf mark", assigned_by="Harbour Archive"),),
        inscriptions=(Inscription(place="box", text="both sides 7½", found="side B 3¾"),),
        stock=(
            StockSection(id="s1", base="PVC", base_told_by=("label",), confidence="likely"),
            StockSection(id="s2"),
            StockSection(id="s3", absent={"maker": "unknown"}),
        ),
        sides=(
            Side(
                id="A",
                title="first side",
                regions=(
                    Region(
                        id="A1",
                        kind="programme",
                        capture="side-a",
                        start=RATE,
                        end=RATE * 33,
                        speed_ips=Decimal("7.5"),
                        equalisation=Equalisation(standard="NAB"),
                        direction="reversed",
                        basis=("voice by ear",),
                    ),
                    Region(id="A2", kind="blank", capture="side-a", start=RATE * 33),
                ),
            ),
        ),
        last_motion="head to tail",
        absent={"end_out_on_leaving": "not recorded"},
    )
    dossier = of(transfer(reel=reel), FILE)
    found = rows(dossier)
    assert found["shelf mark"] == "HA/7, given by Harbour Archive"
    assert found["on the box"] == "“both sides 7½” Found: side B 3¾"
    assert found["tape section s1"] == "PVC, told by label, likely"
    assert found["tape section s2"] == "nothing known"
    assert found["tape section s3"] == "maker unknown"
    assert found["last motion"] == "head to tail"
    assert found["not stated"] == "end out on leaving not recorded"
    # 32 s at 7.5 ips are 240 inches: 20 feet.
    assert found["0:01.0–0:33.0"] == (
        "programme: 7.5 ips (19.05 cm/s); NAB; played in reverse; told by voice by ear; "
        "20 ft of tape"
    )
    # Without an end it goes to the end of the capture.
    assert found["0:33.0–1:00.0"] == "blank"
    assert "Side A: first side\n-" in shown(dossier)


def test_positions_stay_positions_where_no_rate_is_known() -> None:
    region = Region(id="A1", kind="blank", capture="z", start=7, end=9, speed_ips=Decimal(15))
    reel = Reel(sides=(Side(id="A", regions=(region,)),))
    assert rows(of(transfer(reel=reel)))["7–9"] == "blank: 15 ips (38.1 cm/s)"


def test_machine_pass_chain_and_people() -> None:
    made = transfer(
        studio=Studio(name="Saltpan Row", place="Skerrow Haven"),
        people=(Person(id="isolde", name="Isolde Varga-Finch", role="engineer"),),
        machines=(
            Machine(
                id="mk3",
                maker="Tidewright",
                model="Mark 3",
                care=(CareEvent(kind="cleaned", on="2026-03-14", parts=("heads", "guides")),),
            ),
        ),
        passes=(
            Pass(
                id="p1",
                kept=False,
                why_not_kept="azimuth was off",
                set_up=SetUp(speed_ips=Decimal(15), reel_size_supply="small"),
                stops=(Stop(at="12:31", reason="splice opened"),),
            ),
            Pass(id="p2", kept=False),
        ),
        chain=Chain(
            reason="shortest path",
            steps=(ChainStep(kind="converter", device="Thwart C2", signal="digital"),),
        ),
        reel=Reel(events=(Event(kind="inspection", outcome="flat pack"),)),
    )
    found = rows(of(made))
    assert found["isolde"] == "Isolde Varga-Finch, engineer"
    assert found["studio"] == "Saltpan Row, Skerrow Haven"
    assert found["2026-03-14"] == "cleaned: heads, guides"
    assert found["stopped at 12:31"] == "splice opened"
    assert found["speed"] == "15 ips (38.1 cm/s)"
    assert found["reel size supply"] == "small"
    assert found["1. converter"] == "Thwart C2; digital"
    assert found["no date"] == "inspection: outcome: flat pack"
    text = shown(of(made))
    assert found["why not kept"] == "azimuth was off"
    assert "Machine Tidewright Mark 3\n" in text


def test_captures_have_all_that_is_stated_of_them() -> None:
    capture = Capture(
        id="side-a",
        file="captures/side-a.wav",
        program="recorder 4.2",
        normalised=False,
        parts=(Part(file="captures/side-a_002.wav", frames=7),),
        absent={"clock": "unknown"},
    )
    found = rows(of(transfer(captures=(capture,))))
    assert found["file"] == "captures/side-a.wav"
    assert found["program"] == "recorder 4.2"
    assert found["normalised"] == "no"
    assert found["parts"] == "captures/side-a_002.wav; frames: 7"
    assert found["not stated"] == "clock unknown"


def test_which_capture_a_region_lies_in_is_told_where_there_are_several() -> None:
    region = Region(id="A1", kind="blank", capture="b", start=7)
    reel = Reel(sides=(Side(id="A", regions=(region,)),))
    one, two = (Capture(id=name, file=f"{name}.wav") for name in "ab")
    assert rows(of(transfer(reel=reel, captures=(two,))))["7–end"] == "blank"
    assert rows(of(transfer(reel=reel, captures=(one, two))))["7–end"] == "blank; in capture b"


def test_a_session_repeats_nothing_that_was_taken_over_from_it() -> None:
    set_up = SetUp(output_select="repro")
    chain = Chain(reason="shortest path")
    session = Session(id="s1", set_up=set_up, chain=chain)
    told = {
        "taken over": transfer(
            sessions=(session,), chain=chain, passes=(Pass(id="p1", set_up=set_up),)
        ),
        "not taken over": transfer(sessions=(session,), passes=(Pass(id="p1"),)),
    }
    text = shown(of(told["taken over"]))
    assert (text.count("repro"), text.count("shortest path")) == (1, 1)
    found = rows(of(told["not taken over"]))
    assert (found["set up"], found["chain"]) == ("repro", "shortest path")


def test_a_person_of_whom_only_the_id_is_known() -> None:
    people = (Person(id="tam"), Person(id="boss", absent={"name": "withheld"}))
    found = rows(of(transfer(people=people)))
    assert found["tam"] == "no name stated"
    assert found["boss"] == "no name stated; name withheld"


def test_the_package_is_named_whatever_its_folder_is_called() -> None:
    packed = replace(of(transfer(reel=Reel(title="a reel"))), package=replace(PACKAGE, name="x"))
    assert rows(packed)["package"] == "SKL-0007"


def test_findings_stand_at_the_end() -> None:
    text = shown(of(transfer()), KIND.at(Place(file="a.wav", part="bext"), "what was found."))
    assert text.endswith("Findings\n--------\nquery                 a.wav#bext: what was found.\n")


def test_long_values_are_folded_and_nothing_of_them_is_lost() -> None:
    note = " ".join(f"word{number}" for number in range(200))
    dossier = of(transfer(reel=Reel(note=note)))
    assert max(map(len, shown(dossier).split("\n"))) <= 92
    assert rows(dossier)["note"] == note


def test_text_from_strangers_cannot_command_a_terminal(
    hostile: Dossier, stranger: tuple[str, str]
) -> None:
    text, escaped = stranger
    finding = KIND.at(Place(file=text, part=text), text)
    page = shown(hostile, finding)
    assert page.replace("\n", "").isprintable()
    assert page.count(escaped) > 60


def test_every_view_of_one_dossier_is_the_same(hostile: Dossier) -> None:
    assert render(hostile, (), {}) == render(hostile, (), {"x": b"y"})


def test_a_stranger_without_a_side_car_or_without_a_bag(hostile: Dossier) -> None:
    for one in (replace(hostile, transfer=None), replace(hostile, package=None)):
        text = shown(one)
        assert text.replace("\n", "").isprintable()
        assert ("No side-car of ours" in text) == (one.transfer is None)
        assert ("bag version" in text) == (one.package is not None)


def test_what_was_measured_of_regions_and_of_the_machine_is_told() -> None:
    sound = RegionSound(start=0, end=1, seconds=0, channels=())
    part = RegionFacts(region="A1", side="A", sound=sound)
    calibration = CalibrationFacts(
        session="s1",
        setting="7-nab",
        moment="as found",
        file="x.wav",
        octets=1,
        sha256="a" * 64,
        packed_in="REEL-1",
        tape="ct",
    )
    rest = AtRest(captures=("a",), file="r.wav", path="data/r.wav", octets=1, sha256="a" * 64)
    found = rows(
        Dossier(
            origin="received",
            files=(replace(FILE, regions=(part,)),),
            calibrations=(calibration,),
            at_rest=(rest,),
        )
    )
    assert found["region A A1"] == "too short to be measured by itself"
    assert found["7-nab, as found"] == "tape ct; capture in package REEL-1; not read"
    assert found["at rest"] == "chain of a; capture data/r.wav"
