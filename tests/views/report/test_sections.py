"""Each section with what it tells of, and without."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.findings import Kind, Place, Severity
from tailsout.records.amendment import Amendment, StatementChange
from tailsout.records.carrier import Condition, Custody, Image
from tailsout.records.dossier import Dossier
from tailsout.records.facts import (
    FoundFile,
    Manifest,
    ManifestLine,
    PackageFacts,
)
from tailsout.records.machine import CareEvent, Machine
from tailsout.records.playing import Pass, Stop
from tailsout.records.recipient import Recipient
from tailsout.records.recording import Recording
from tailsout.records.reel import Event, Identifier, Inscription, Reel, Region, Side, StockSection
from tailsout.records.session import CalibrationSetting, Reading, Session
from tailsout.records.statements import Answer, Correction, Jotting
from tailsout.records.transfer import Person, Studio, Transfer

KIND = Kind(code="code-a", severity=Severity.QUERY, title="t", basis="RFC 8493", remedy="Ask.")
STOCK = StockSection(id="s1", base="polyester", confidence="certain")
BARE = Transfer(job_id="j", package_id="SKL-7", studio=Studio(), reel=Reel(stock=(STOCK,)))
TITLES = {
    "Cautions",
    "The reel and what is on it",
    "The reel, drawn to scale",
    "The signal chain",
    "Machine, care and calibration",
    "What was captured",
    "What was done, in order",
    "Who made it, and for whom",
    "Findings, and what was answered",
    "Files and their digests",
}


def of(transfer: Transfer | None = None, **more: Any) -> Dossier:
    return Dossier(origin="received", transfer=transfer, **more)


def with_reel(**more: Any) -> Dossier:
    return of(replace(BARE, reel=replace(BARE.reel, **more)))


def titles(made: Any) -> set[str]:
    return {made.told(one) for one in made.named("h2")} & TITLES


def test_a_page_of_nothing_has_only_what_can_be_said_of_nothing(page: Callable[..., Any]) -> None:
    assert titles(page(of())) == {
        "The reel and what is on it",
        "Findings, and what was answered",
    }


def test_a_page_of_everything_has_every_section(page: Callable[..., Any], hostile: Dossier) -> None:
    assert titles(page(hostile)) >= TITLES - {"The reel, drawn to scale"}


def test_the_contents_name_every_section(page: Callable[..., Any], hostile: Dossier) -> None:
    made = page(hostile)
    links = [made.told(one) for one in made.named("a")]
    assert set(links) == titles(made)
    assert len(set(links)) == len(links)


@pytest.mark.parametrize(
    ("dossier", "mark", "defers_to"),
    [
        (
            with_reel(condition=(Condition(moment="on arrival", mould="slight"),)),
            "mould",
            "conserv",
        ),
        (
            with_reel(condition=(Condition(moment="on arrival", odour="vinegar"),)),
            "vinegar",
            "conservator",
        ),
        (
            with_reel(condition=(Condition(moment="on arrival", shedding="severe"),)),
            "shedding",
            "conservator",
        ),
        (with_reel(stock=(StockSection(id="s1"),)), "base", "conservator"),
        (with_reel(stock=()), "base", "conservator"),
        (
            with_reel(
                sides=(
                    Side(
                        id="A",
                        regions=(Region(id="r", kind="line-up tone", capture="a", start=0),),
                    ),
                )
            ),
            "tones",
            "maker's manual",
        ),
        (of(replace(BARE, recording=Recording(sensitivity="names"))), "sensitive", "rights"),
    ],
    ids=["mould", "vinegar", "shedding", "base", "no-stock", "tones", "sensitive"],
)
def test_a_caution_is_given_where_it_is_due(
    page: Callable[..., Any], dossier: Dossier, mark: str, defers_to: str
) -> None:
    (told,) = page(dossier).lines("Cautions")
    assert told.startswith(mark)
    assert defers_to in told
    assert not set("0123456789") & set(told.removeprefix("base What the tape section s1"))


def test_cautions_stand_before_all_else_and_in_the_box_at_the_top(page: Callable[..., Any]) -> None:
    made = page(with_reel(condition=(Condition(moment="on arrival", mould="slight"),), stock=()))
    assert made.rows()["Cautions"] == "mould, base"
    heads = [made.told(one) for one in made.named("h2")]
    assert heads.index("Cautions") < heads.index("On this sheet")
    assert heads.count("Cautions") == 1


def test_how_it_was_recorded_and_what_a_side_is_called(page: Callable[..., Any]) -> None:
    one = Region(
        id="r",
        kind="programme",
        capture="a",
        start=0,
        speed_ips=Decimal("7.5"),
        recorded_speed_ips=Decimal(15),
        setting="7-nab",
        overlap_seconds=Decimal(3),
    )
    made = page(with_reel(sides=(Side(id="A", title="entries one to three", regions=(one,)),)))
    assert made.rows()["side A"] == "entries one to three"
    cells = [made.told(one) for one in made.named("td")]
    assert "7.5 ips recorded: 15 ips" in cells
    assert "calibration setting 7-nab; its first 3 s lie in the file before it too" in cells


def test_a_setting_tells_its_readings_line_by_line_and_people_by_name(
    page: Callable[..., Any],
) -> None:
    reading = Reading(frequency_hz=Decimal(1000), channel=1, level_db=Decimal("0.4"))
    setting = CalibrationSetting(
        id="7-nab", tape="ct-7", as_found=(reading,), as_left=(replace(reading, level_db=None),)
    )
    session = Session(id="s", by="tam", settings=(setting,))
    people = (Person(id="tam", name="Tamsin Orrick"),)
    rows = page(of(replace(BARE, sessions=(session,), people=people))).rows()
    assert rows["by"] == "Tamsin Orrick"
    assert rows["setting 7-nab"] == (
        "tape: ct-7 as found: frequency: 1000 Hz; channel: 1; level: 0.4 dB as left: frequency: "
        "1000 Hz; channel: 1"
    )


def test_no_caution_is_given_where_none_is_due(page: Callable[..., Any]) -> None:
    fine = Condition(moment="on arrival", absent={"mould": "none found", "odour": "none found"})
    assert page(with_reel(condition=(fine,))).lines("Cautions") == []


def test_what_the_reel_says_of_itself(page: Callable[..., Any]) -> None:
    reel = Reel(
        identifiers=(Identifier(value="HA/7", kind="shelf mark", assigned_by="Harbour Archive"),),
        inscriptions=(Inscription(place="box", text="LOG  7½", found="side B is slow"),),
    )
    correction = Correction(about="speed", said="7½", is_so="3¾", said_by="label", by="tam")
    rows = page(of(replace(BARE, reel=reel, corrections=(correction,)))).rows()
    assert rows["shelf mark"] == "HA/7, given by Harbour Archive"
    assert rows["on the box"] == "“LOG 7½” found: side B is slow"
    assert rows["speed"] == "said by label: 7½ is so: 3¾ tam"


def test_photographs_that_are_not_at_hand_are_named(page: Callable[..., Any]) -> None:
    images = (Image(file="images/box.jpg", role="box", caption="front"),)
    made = page(with_reel(images=images))
    assert "1 photograph not shown here:" in made.text
    assert made.rows()["box"] == "box; front; data/images/box.jpg"
    shown = page(with_reel(images=images), assets={"photograph:data/images/box.jpg": b"\xff\xd8"})
    (picture,) = shown.named("img")
    assert picture.attrib["alt"] == "Photograph: box. front"
    assert "not shown here" not in shown.text


def test_what_was_done_stands_in_order_of_time(page: Callable[..., Any]) -> None:
    reel = Reel(
        custody=(Custody(to_date="1999", holder="lamp store"),),
        events=(
            Event(kind="winding", on="2026-03-14T11:20:00Z", by="tam"),
            Event(kind="inspection", on="2026-03-12"),
            Event(kind="other", note="when nobody knows"),
        ),
    )
    whole = replace(
        BARE,
        reel=reel,
        people=(Person(id="tam", name="Tamsin Orrick"),),
        machines=(Machine(id="mk3", care=(CareEvent(kind="cleaned", on="2026-03-14T09:00:00Z"),)),),
        passes=(
            Pass(
                id="p1",
                on="2026-03-14T10:00:00Z",
                sides=("A",),
                kept=False,
                why_not_kept="a stop",
                stops=(Stop(at="0:12", reason="splice"),),
            ),
        ),
        jottings=(Jotting(at="2026-03-14T10:01:00Z", text="hum"),),
    )
    changed = StatementChange(at="/reel/title", change="corrected")
    amendment = Amendment(
        version=2,
        supersedes="SKL-7",
        manifests={},
        by="tam",
        on="2027-01-01",
        why="title",
        written="2027-01-01T00:00:00Z",
        software="s",
        statements=(changed,),
    )
    told = page(of(whole, amendments=(amendment,))).lines("What was done, in order")
    assert [" ".join(one.split()[:4]) for one in told] == [
        "until 1999 kept lamp",
        "2026-03-12 inspection nothing more",
        "2026-03-14 09:00:00 UTC machine",
        "2026-03-14 10:00:00 UTC pass",
        "2026-03-14 10:01:00 UTC jotted",
        "2026-03-14 11:20:00 UTC winding",
        "2027-01-01 version 2 amended:",
        "no date stated other",
    ]
    assert "not kept: a stop" in told[3]
    assert "stopped at 0:12: splice" in told[3]
    assert "by Tamsin Orrick" in told[5]
    assert "corrected /reel/title" in told[6]


def test_findings_and_answers(page: Callable[..., Any]) -> None:
    answer = Answer(
        code="code-a", place="reel", decision="accepted as is", reason="so", by="tam", on="2026"
    )
    place = Place(file="a.wav", part="bext")
    found = KIND.at(place, "What is it?")
    dossier = of(replace(BARE, answers=(answer,)))
    made = page(dossier, found, replace(found, answered="tam says so"))
    assert "the verdict is: open questions (2 findings)" in made.text
    first, second = made.lines("Findings, and what was answered")[:2]
    assert first == "query What is it? at a.wav#bext code code-a; basis: RFC 8493 Ask."
    assert second.startswith("answered What is it?")
    assert "tam says so" in second
    assert "accepted as is code-a at reel: so by tam, 2026" in made.text
    assert "the verdict is: pass (no finding)" in page(dossier).text


@pytest.mark.parametrize(
    ("origin", "examined", "told"),
    [
        ("closing", (), "before the package was packed"),
        ("received", (), "were not read through"),
        ("received", ("fixity",), "every file read through"),
    ],
)
def test_how_the_findings_were_made_is_said(
    page: Callable[..., Any], origin: Any, examined: Any, told: str
) -> None:
    assert told in page(Dossier(origin=origin, examined=frozenset(examined))).text


@pytest.mark.parametrize(
    ("algorithms", "heading"),
    [(("md5", "sha256", "sha512"), "SHA-256"), (("sha512",), "SHA-512"), (("md5",), "MD5")],
)
def test_files_and_digests(
    page: Callable[..., Any], algorithms: tuple[str, ...], heading: str
) -> None:
    package = PackageFacts(
        name="SKL-7",
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=(),
        manifests=tuple(
            Manifest(
                name=f"manifest-{one}.txt",
                algorithm=one,
                is_tag=False,
                lines=(ManifestLine(path="data/a.wav", digest=f"{one}-digest", line=1),),
            )
            for one in algorithms
        ),
        files=(
            FoundFile(path="bagit.txt", octets=5),
            FoundFile(path="data/a.wav", octets=1_234_567),
            FoundFile(path="data/b.wav", octets=1),
        ),
    )
    made = page(of(package=package))
    assert [made.told(one) for one in made.named("th")][:3] == ["File", "Octets", heading]
    cells = [made.told(one) for one in made.named("td")]
    assert cells[:2] == ["1 234 567", f"{heading.replace('-', '').lower()}-digest"]
    assert cells[3] == "not stated"
    assert ("sha512sum -c" in made.text) == ("sha512" in algorithms)
    # A stranger's package has no such page.
    assert "metadata/README.txt" not in made.text


def test_who_made_it_and_for_whom(page: Callable[..., Any]) -> None:
    whole = replace(
        BARE,
        studio=Studio(name="Saltpan Row", contact_email="desk@saltpan-row.example"),
        people=(Person(id="tam", name="Tamsin Orrick", role="listens"), Person(id="ossie")),
        note="by hand",
        recipient=Recipient(id="ha", name="Harbour Archive", extra_algorithms=("md5",)),
    )
    made = page(of(whole))
    rows = made.rows()
    assert rows["contact email"] == "desk@saltpan-row.example"
    assert rows["Tamsin Orrick"] == "listens"
    assert rows["note"] == "by hand"
    assert rows["extra algorithms"] == "md5"
    assert "What Harbour Archive asks for" in made.text
