"""Labels: what they say, that it fits, and that the QR code can be read."""

import re
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw

from tailsout.records.carrier import Condition
from tailsout.records.dossier import Dossier
from tailsout.records.facts import InfoLine, PackageFacts
from tailsout.records.reel import (
    Equalisation,
    Event,
    Identifier,
    Reel,
    Region,
    Side,
    StockSection,
)
from tailsout.records.transfer import Person, Studio, Transfer
from tailsout.views import label
from tailsout.views.label import pdf
from tailsout.views.label.layout import ADVANCE, DECIDE, Label, Rule, Text, box, spine

NAB = Equalisation(standard="NAB", t1_us=Decimal(3180), t2_us=Decimal(50))
TAG = f"tagmanifest-sha512.txt SHA-256 {'5a' * 32}"
INSTANT = datetime(2026, 3, 15, 8, 0, tzinfo=UTC)


def region(ips: str, **more: Any) -> Region:
    return Region(id=ips, kind="programme", capture="a", start=0, speed_ips=Decimal(ips), **more)


REEL = Reel(
    title="Skerrow Light, spoken log",
    end_out_on_leaving="tails",
    identifiers=(Identifier(value="HA/SKL/7"),),
    sides=(
        Side(id="A", regions=(region("7.5", equalisation=NAB), region("3.75"))),
        Side(id="B"),
    ),
    stock=(
        StockSection(
            id="s1", base="PVC", base_told_by=("light through the pack",), confidence="likely"
        ),
        StockSection(id="s2", absent={"base": "not examined"}),
    ),
    events=(
        Event(kind="treatment", on="2026-03-12", outcome="wound slowly, flat pack"),
        Event(kind="treatment", on="2026-03-13", note="never done", state="declined"),
    ),
)
TRANSFER = Transfer(job_id="j", package_id="SKL-7", studio=Studio(name="Saltpan Row"), reel=REEL)
PACKAGE = PackageFacts(
    name="SKL-7",
    bagit_version="1.0",
    encoding="UTF-8",
    bag_info=(InfoLine(label="Bagging-Date", value="2026-03-15", line=1),),
    manifests=(),
    files=(),
)
DOSSIER = Dossier(origin="received", transfer=TRANSFER, package=PACKAGE)
FULL = replace(
    DOSSIER,
    transfer=replace(
        TRANSFER,
        reel=replace(
            REEL,
            title="long title " * 40,
            sides=tuple(
                Side(id=f"side {n}", regions=(region("7.5", equalisation=NAB),)) for n in range(90)
            ),
        ),
    ),
)


LONG = "a title of many words " * 40


def words(made: Label) -> list[str]:
    return [one.words for one in made.items if isinstance(one, Text)]


def test_the_label_of_a_box() -> None:
    assert words(box(DOSSIER, TAG)) == [
        "SKL-7",
        "TAILS OUT",
        "HA/SKL/7",
        "Skerrow Light, spoken log",
        "A: 7.5 ips, NAB 3180+50 µs, then 3.75 ips,",
        "  curve not stated",
        "B: speed and curve not stated",
        "Base: s1 PVC by light through the pack, likely; s2 not",
        "  examined",
        "Treated: 2026-03-12, wound slowly, flat pack",
        "Treatment: decide anew on inspection.",
        "Packed 2026-03-15, Saltpan Row",
    ]


def test_the_label_of_a_spine() -> None:
    assert words(spine(DOSSIER)) == [
        "SKL-7 HA/SKL/7",
        "Skerrow Light, spoken log",
        "TAILS OUT 7.5 ips and 3.75 ips",
    ]


def test_what_is_not_stated_is_said_to_be_so() -> None:
    bare = replace(DOSSIER, transfer=replace(TRANSFER, reel=Reel(), studio=Studio()))
    told = words(box(bare, ""))
    assert "END OUT: NOT STATED" in told
    assert "Base: not stated" in told
    assert "No treatment is on record." in told


def test_who_looked_at_the_tape_is_said_once() -> None:
    events = (Event(kind="inspection", by="isolde"), Event(kind="winding", by="tam"))
    reel = replace(REEL, events=events, condition=(Condition(moment="on arrival", by="isolde"),))
    people = (Person(id="isolde", name="Isolde Varga-Finch"),)
    one = replace(DOSSIER, transfer=replace(TRANSFER, reel=reel, people=people))
    told = " ".join(" ".join(words(box(one, TAG))).split())
    assert "s2 not examined; inspected by Isolde Varga-Finch No treatment" in told


def test_a_strangers_package_has_a_label_too() -> None:
    told = words(box(replace(DOSSIER, transfer=None), TAG))
    assert told[0] == "SKL-7"
    assert "No side-car of ours: speed, curve and base" in told


@pytest.mark.parametrize("dossier", [DOSSIER, FULL, Dossier(origin="received")])
def test_it_never_advises_a_treatment(dossier: Dossier) -> None:
    told = " ".join(words(box(dossier, TAG)))
    assert DECIDE in told
    assert not re.search("bak(e|ing|able)|may be", told)


@pytest.mark.parametrize("dossier", [DOSSIER, FULL, Dossier(origin="received")])
@pytest.mark.parametrize("lay", [lambda one: box(one, TAG), spine], ids=["box", "spine"])
def test_everything_lies_on_the_label_and_beside_the_code(lay: Any, dossier: Dossier) -> None:
    made = lay(dossier)
    assert (made.width, made.height) in {(100.0, 70.0), (100.0, 14.0)}
    code = [one for one in made.items if isinstance(one, Rule) and one.is_filled]
    left, foot = min(one.x for one in code), max(one.y + one.height for one in code)
    for one in made.items:
        if isinstance(one, Text):
            end = one.x + len(one.words) * one.size * ADVANCE
            assert end < (left if one.y - one.size < foot else made.width)
            assert one.size < one.y < made.height
        else:
            assert 0 <= one.x <= one.x + one.width <= made.width
            assert 0 <= one.y <= one.y + one.height <= made.height


def test_what_does_not_fit_is_said_to_be_left_out() -> None:
    told = words(box(FULL, TAG))
    assert told[-6:-1] == [
        "… more in the package",
        "Base: s1 PVC by light through the pack, likely; s2 not",
        "  examined",
        "Treated: 2026-03-12, wound slowly, flat pack",
        DECIDE,
    ]


def test_one_long_text_leaves_room_for_the_others() -> None:
    told = words(box(replace(FULL, transfer=replace(TRANSFER, reel=replace(REEL, title=LONG))), ""))
    assert [one.endswith(" …") for one in told].count(True) == 1
    assert any(one.startswith("A: 7.5 ips") for one in told)


def test_what_is_always_said_stands_at_the_foot() -> None:
    for dossier in (DOSSIER, FULL):
        texts = [one for one in box(dossier, TAG).items if isinstance(one, Text)]
        assert [round(one.y, 1) for one in texts[-2:]] == [61.0, 64.3]


def test_settings_that_come_back_stand_twice_and_doubt_stands_beside_them() -> None:
    regions = (
        region("7.5", equalisation=NAB, noise_reduction="none"),
        region("7.5", equalisation=NAB, title="the same again"),
        region("3.75", equalisation=NAB, noise_reduction="compander"),
        region("7.5", equalisation=NAB, confidence="uncertain", recorded_speed_ips=Decimal(15)),
    )
    reel = Reel(sides=(Side(id="A", regions=regions),))
    made = box(replace(DOSSIER, transfer=replace(TRANSFER, reel=reel)), TAG)
    assert (
        "A: 7.5 ips, NAB 3180+50 µs, then 3.75 ips, NAB 3180+50 µs, compander, then 15 ips, here "
        "played at 7.5 ips, NAB 3180+50 µs (uncertain) Base:"
    ) in " ".join(" ".join(words(made)).split())


def test_many_changes_are_counted() -> None:
    regions = tuple(region(ips) for ips in ("7.5", "3.75") * 20)
    reel = Reel(sides=(Side(id="A", regions=regions),))
    told = words(box(replace(DOSSIER, transfer=replace(TRANSFER, reel=reel)), TAG))
    assert "A: changes 39 times: 7.5 ips, curve not" in told


def test_what_a_treatment_was_is_said() -> None:
    done = Event(
        kind="treatment", on="2026-03-12", temperature_c=Decimal(50), hours=Decimal(8), state="done"
    )
    reel = replace(REEL, events=(done,))
    told = words(box(replace(DOSSIER, transfer=replace(TRANSFER, reel=reel)), TAG))
    assert "Treated: 2026-03-12, 50 °C, 8 h" in told


def test_a_hostile_label_is_plain_text(hostile: Dossier) -> None:
    for render in (label.render, label.render_spine):
        made = render(hostile, (), {label.TAG_MANIFEST: b"<b>\xff"}).decode("utf-8")
        assert "<b>" not in made
        assert {one for one in made if not one.isprintable()} == {"\n"}
        assert ET.fromstring(made).tag.endswith("svg")  # noqa: S314  our own


def test_the_same_twice() -> None:
    assets = {label.TAG_MANIFEST: TAG.encode()}
    assert label.render(DOSSIER, (), assets) == label.render(DOSSIER, (), assets)
    made = box(DOSSIER, TAG)
    assert pdf.drawn(made, INSTANT) == pdf.drawn(made, INSTANT)


def test_wide_letters_stay_on_the_label_and_beside_the_code() -> None:
    reel = replace(REEL, title="灯台守の日誌" * 30, identifiers=(Identifier(value="灯" * 90),))
    one = replace(DOSSIER, transfer=replace(TRANSFER, reel=reel))
    for made in (box(one, TAG), spine(one)):
        code = [rule for rule in made.items if isinstance(rule, Rule) and rule.is_filled]
        left, foot = min(rule.x for rule in code), max(rule.y + rule.height for rule in code)
        for text in (item for item in made.items if isinstance(item, Text)):
            ems = sum(1 if letter >= "⺀" else ADVANCE for letter in text.words)
            end = text.x + ems * text.size
            assert end < (left if text.y - text.size < foot else made.width)
    assert any("灯台守" in text for text in words(box(one, TAG)))


def test_a_pdf_says_where_its_font_lacks_a_letter(caplog: pytest.LogCaptureFixture) -> None:
    reel = replace(REEL, title="灯 маяк 🎞")
    pdf.drawn(box(replace(DOSSIER, transfer=replace(TRANSFER, reel=reel)), TAG), INSTANT)
    assert caplog.records == []


def test_a_pdf_is_as_large_as_the_label() -> None:
    octets = pdf.drawn(box(DOSSIER, TAG), INSTANT)
    (found,) = re.findall(rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", octets)
    assert [round(float(one) / 72 * 25.4, 1) for one in found] == [100.0, 70.0]
    assert b"20260315080000" in octets
    assert b"/FontFile2" in octets


def picture(made: Label) -> Image.Image:
    """The label at 20 dots a millimetre, without its text."""
    drawn = Image.new("L", (int(made.width * 20), int(made.height * 20)), 255)
    pen = ImageDraw.Draw(drawn)
    for one in made.items:
        if isinstance(one, Rule) and one.is_filled:
            corners = (one.x, one.y, one.x + one.width, one.y + one.height)
            pen.rectangle([round(20 * at) for at in corners], fill=0)
    return drawn


@pytest.mark.apt
@pytest.mark.parametrize(
    ("made", "told"),
    [(box(DOSSIER, TAG), f"SKL-7\n{TAG}\n"), (spine(DOSSIER), "SKL-7\n")],
    ids=["box", "spine"],
)
def test_another_program_reads_the_code(made: Label, told: str, tmp_path: Path) -> None:
    """zbarimg, of Debian's package zbar-tools."""
    picture(made).save(tmp_path / "a.png")
    done = subprocess.run(
        ["zbarimg", "--raw", "--quiet", str(tmp_path / "a.png")],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout == told


@pytest.mark.parametrize("made", [box(DOSSIER, TAG), spine(DOSSIER)], ids=["box", "spine"])
def test_a_module_of_the_code_can_be_printed(made: Label) -> None:
    """A third of a millimetre is four dots of a printer of 300 dots an inch."""
    heights = {one.height for one in made.items if isinstance(one, Rule) and one.is_filled}
    assert min(heights) > 1 / 3
