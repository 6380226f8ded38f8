"""The page as a whole: valid, safe, readable without seeing, bounded, the same each time."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest

from tailsout.ground.findings import Kind, Place, Severity
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, InfoLine, PackageFacts
from tailsout.records.machine import CareEvent, Machine
from tailsout.records.reel import Event, Reel, Region, Side
from tailsout.records.transfer import Studio, Transfer
from tailsout.views import report

KIND = Kind(code="c", severity=Severity.QUERY, title="t", basis="b", remedy="r")
PACKAGE = PackageFacts(
    name="FOG-1",
    bagit_version="1.0",
    encoding="UTF-8",
    bag_info=(InfoLine(label="External-Description", value="Fog signals", line=1),),
    manifests=(),
    files=(FoundFile(path="data/audio/a.wav", octets=1234, digests={"sha256": "5a" * 32}),),
)
BARE = Transfer(job_id="j", package_id="SKL-1", studio=Studio(), reel=Reel())
MARKUP = "</dd><script>alert(1)</script>\"'><img src=x onerror=alert(1)>&amp;&#0;"


def many(regions: int, events: int) -> Dossier:
    side = Side(
        id="A",
        regions=tuple(
            Region(id=f"r{n}", kind="programme", capture="a", start=n, speed_ips=Decimal("7.5"))
            for n in range(regions)
        ),
    )
    happened = tuple(
        Event(kind="winding", on="2026-03-14", note=f"turn {n}") for n in range(events)
    )
    return Dossier(
        origin="received",
        transfer=replace(BARE, reel=Reel(sides=(side,), events=happened)),
        package=PACKAGE,
    )


EVERY = {
    "nothing": Dossier(origin="received"),
    "a stranger's bag": Dossier(origin="received", package=PACKAGE),
    "a transfer of which nothing is stated": Dossier(origin="received", transfer=BARE),
    "500 regions and 200 events": many(500, 200),
}


@pytest.mark.parametrize("name", EVERY)
def test_it_is_valid_html(page: Callable[..., Any], name: str) -> None:
    made = page(EVERY[name], KIND.at(Place(file="x"), "why"))
    assert [one.attrib["lang"] for one in made.named("html")] == ["en"]
    assert len(made.named("h1")) == len(made.named("main")) == 1
    assert made.named("title")[0].text


def test_a_page_full_of_hostile_text_is_valid_too(
    page: Callable[..., Any], hostile: Dossier, stranger: tuple[str, str]
) -> None:
    made = page(hostile, KIND.at(Place(file=stranger[0]), stranger[0]))
    text = made.octets.decode("utf-8")
    assert {c for c in text if not c.isprintable()} == {"\n"}
    assert made.named("b") == []
    assert text.count(stranger[1].replace("<", "&lt;").replace(">", "&gt;")) > 100


@pytest.mark.parametrize(
    "text", [MARKUP, "\u202etxet\u2066", "a\x00b\x1b[2J", "{{ 7 * 7 }}{% x %}"]
)
def test_no_text_becomes_markup_or_hides(page: Callable[..., Any], text: str) -> None:
    reel = Reel(title=text, note=text, events=(Event(kind="other", note=text, on=text),))
    info = (InfoLine(label=text, value=text, line=1),)
    transfer = replace(BARE, reel=reel, package_id=text)
    for dossier in (
        Dossier(origin="received", transfer=transfer, package=replace(PACKAGE, name=text)),
        Dossier(origin="received", package=replace(PACKAGE, name=text, bag_info=info)),
    ):
        made = page(dossier, KIND.at(Place(file=text, part=text), text))
        assert made.named("script") == made.named("img") == []
        names = {name for _, name, _ in made.attributes()}
        assert not {one for one in names if one.startswith("on")}
        assert not re.search("[\u0000-\u0009\u000b-\u001f\u202a-\u202e\u2066-\u2069]", made.text)
        assert "49" not in made.text
        assert report.paper.shown(text)[:8] in made.text


def test_it_fetches_nothing_and_runs_nothing(page: Callable[..., Any], hostile: Dossier) -> None:
    for dossier in (*EVERY.values(), hostile):
        made = page(dossier)
        for name in ("script", "iframe", "object", "embed", "link", "base", "form"):
            assert made.named(name) == []
        for _, name, value in made.attributes():
            assert name not in {"src", "srcset", "background", "action"} or value.startswith(
                "data:"
            )
            assert name != "href" or value.startswith("#")
        assert b"url(" not in made.octets
        assert b"@import" not in made.octets
        policy = made.named("meta")[2].attrib["content"]
        assert policy.startswith("default-src 'none'")


def test_headings_go_down_one_step_at_a_time(page: Callable[..., Any], hostile: Dossier) -> None:
    """WCAG 2.2 technique G141; success criterion 1.3.1."""
    made = page(hostile)
    levels = [int(m) for m in re.findall(rb"<h([1-6])", made.octets)]
    assert levels[0] == 1
    assert all(below - above <= 1 for above, below in pairwise(levels))
    assert {1, 2, 3} == set(levels)


def test_tables_are_headed_and_named(page: Callable[..., Any]) -> None:
    """WCAG 2.2 techniques H39, H63; success criterion 1.3.1."""
    made = page(EVERY["500 regions and 200 events"])
    tables = made.named("table")
    assert tables
    assert len(made.named("caption")) == len(tables)
    assert {one.attrib.get("scope") for one in made.named("th")} == {"col", "row"}


def test_what_heads_a_row_is_not_broken_in_its_figures(page: Callable[..., Any]) -> None:
    care = CareEvent(kind="cleaned", on="2026-03-14T09:10:00Z")
    machine = Machine(id="mk3", care=(care,))
    made = page(Dossier(origin="received", transfer=replace(BARE, machines=(machine,))))
    heads = {made.told(one): one.attrib.get("class") for one in made.named("th")}
    assert heads["2026-03-14 09:10:00 UTC"] == "long"
    numbered = page(many(1, 0))
    heads = {numbered.told(one): one.attrib.get("class") for one in numbered.named("th")}
    assert heads["–"] is None


def test_every_picture_has_words(page: Callable[..., Any], hostile: Dossier) -> None:
    """WCAG 2.2 success criterion 1.1.1."""
    made = page(hostile)
    assert all(one.attrib["alt"] for one in made.named("img"))
    drawings = [one for one in made.tree.iter() if str(one.tag).endswith("}svg")]
    for one in drawings:
        assert one.attrib["role"] == "img"
        labels = one.attrib["aria-labelledby"].split()
        assert {e.attrib.get("id") for e in one.iter()} >= set(labels)


def test_no_id_stands_twice(page: Callable[..., Any], hostile: Dossier) -> None:
    for dossier in (*EVERY.values(), hostile):
        ids = [value for _, name, value in page(dossier).attributes() if name == "id"]
        assert len(set(ids)) == len(ids)
        targets = [v[1:] for _, name, v in page(dossier).attributes() if name == "href"]
        assert set(targets) <= set(ids)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition)."""
    digits = colour[1:] if len(colour) == 7 else "".join(c * 2 for c in colour[1:])
    parts = [int(digits[n : n + 2], 16) / 255 for n in (0, 2, 4)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("where", ["screen", "print"])
@pytest.mark.parametrize("text", ["ink", "pencil", "link"])
def test_text_stands_out_from_the_paper(
    colours: Mapping[str, Mapping[str, str]], where: str, text: str
) -> None:
    """WCAG 2.2 success criterion 1.4.3: 4.5 to 1."""
    lighter, darker = luminance(colours[where]["paper"]), luminance(colours[where][text])
    assert (lighter + 0.05) / (darker + 0.05) >= 4.5


def test_no_colour_but_the_named_ones_is_used() -> None:
    css = report.paper.css()
    declared = re.findall(r"--[a-z]+:\s*(#[0-9a-f]+);", css)
    assert sorted(re.findall(r"#[0-9a-fA-F]{3,6}\b", css)) == sorted(declared)


def test_the_same_dossier_gives_the_same_octets(hostile: Dossier) -> None:
    assert report.render(hostile, (), {}) == report.render(hostile, (), {})


def test_500_regions_and_200_events_are_all_there(page: Callable[..., Any]) -> None:
    made = page(many(500, 200))
    assert "turn 0" in made.text
    assert "turn 199" in made.text
    assert len(made.octets) < report.MOST_OCTETS


@pytest.mark.parametrize("length", [10_000_000, 2_001])
def test_a_long_text_is_cut_and_said_to_be(page: Callable[..., Any], length: int) -> None:
    made = page(Dossier(origin="received", transfer=replace(BARE, reel=Reel(note="x" * length))))
    assert f"…({length - 2000} more)" in made.text
    assert len(made.octets) < 100_000


def test_whatever_there_is_the_page_stays_small(page: Callable[..., Any]) -> None:
    """More of everything than any reel has, each text as long as one may be."""
    events = tuple(Event(kind="other", note="&" * 2000, on="2026") for _ in range(10_000))
    files = tuple(FoundFile(path=f"data/{'&' * 200}{n}", octets=1) for n in range(10_000))
    dossier = Dossier(
        origin="received",
        transfer=replace(BARE, reel=Reel(events=events)),
        package=replace(PACKAGE, files=files),
    )
    findings = tuple(KIND.at(Place(file="x"), "<" * 2000) for _ in range(5_000))
    made = page(dossier, *findings)
    assert len(made.octets) < report.MOST_OCTETS
    assert re.search("[0-9]{4} more, which the package's own files hold", made.text)
