"""Hostile XML in a package (G01 to G10), hostile text in what we write or print (H01 to H14).

The cases follow OWASP's sheets on XML external entities, XSS and CSV injection, and CWE-79, -88,
-117, -134, -150, -400, -611, -776 and -1236, their titles from memory. Where a document is to be
refused it is not read, and the package fails: it is no danger to whoever touches it.
"""

import csv
import hashlib
import io
import json
import re
import socket
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tailsout.bag.open import open_bag
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.mapping import descriptions
from tailsout.mapping.strict_json import load
from tailsout.records.dossier import Depth, Dossier
from tailsout.records.facts import FoundFile, InfoLine
from tailsout.records.reel import Event, Identifier
from tailsout.records.sound import Overview
from tailsout.rules.rule import MOST_OF_A_KIND
from tailsout.views.plots import waveform
from tailsout.work.check import check
from tailsout.work.close_out import close
from tailsout.work.exports import VIEWS
from tailsout.work.package import read_package
from tailsout.work.surroundings import Surroundings

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
PREMIS = "http://www.loc.gov/premis/v3"
LAUGHS = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10 if n else "ha"}">' for n in range(10))


@pytest.fixture
def bag_with(tmp_path: Path) -> Callable[..., Path]:
    """A bag of somebody else's in order (RFC 8493 §2), with files beside its payload."""

    def make(tags: dict[str, bytes], payload: dict[str, bytes] | None = None) -> Path:
        base = tmp_path / "theirs"
        files = {"data/note.txt": b"x", **(payload or {})}
        for path, content in {**files, **tags}.items():
            place = base / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
        (base / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
        lines = [
            f"{hashlib.sha512(one).hexdigest()}  {path.replace('%', '%25')}\n"
            for path, one in files.items()
        ]
        (base / "manifest-sha512.txt").write_text("".join(lines))
        return base

    return make


@pytest.fixture
def server() -> Iterator[tuple[str, Callable[[], bool]]]:
    """An address of this machine, and whether anybody has come by."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        listening.setblocking(False)

        def was_asked() -> bool:
            try:
                listening.accept()
            except BlockingIOError:
                return False
            return True

        yield f"http://127.0.0.1:{listening.getsockname()[1]}", was_asked


# G: a document of XML in a package


def premis(inside: str, *, attributes: str = "", before: str = "") -> str:
    return f'{before}<premis xmlns="{PREMIS}" version="3.0"{attributes}>{inside}</premis>'


def identified(sort: str, value: str) -> str:
    return (
        f"<{sort}Identifier><{sort}IdentifierType>x</{sort}IdentifierType>"
        f"<{sort}IdentifierValue>{value}</{sort}IdentifierValue></{sort}Identifier>"
    )


UNSAFE, MALFORMED, LARGE = "xml-unsafe", "xml-malformed", "xml-too-large"
LOOSE = "description-reference-loose"
XSI = ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"'
BOUND_ANEW = (
    f'<p:premis xmlns:p="{PREMIS}"><p:event xmlns:p="urn:other"><p:eventDateTime>tuesday'
    "</p:eventDateTime></p:event></p:premis>"
)
CLIMBS = (
    '<m:mets xmlns:m="http://www.loc.gov/METS/" xmlns:x="http://www.w3.org/1999/xlink">'
    '<m:mptr LOCTYPE="URL" x:href="../../../etc/passwd"/></m:mets>'
)
XML_CASES: tuple[tuple[str, str | bytes, set[str], Verdict], ...] = (
    ("G01 a document type", premis("", before="<!DOCTYPE premis>"), {UNSAFE}, Verdict.FAIL),
    (
        "G02 billion laughs",
        premis("&l9;", before=f"<!DOCTYPE premis [{LAUGHS}]>"),
        {UNSAFE},
        Verdict.FAIL,
    ),
    (
        "G02 quadratic",
        premis("&x;" * 5000, before=f'<!DOCTYPE premis [<!ENTITY x "{"x" * 50_000}">]>'),
        {UNSAFE},
        Verdict.FAIL,
    ),
    (
        "G03 a local file",
        premis("&x;", before='<!DOCTYPE premis [<!ENTITY x SYSTEM "file:///etc/passwd">]>'),
        {UNSAFE},
        Verdict.FAIL,
    ),
    (
        "G03 a parameter entity",
        premis("", before='<!DOCTYPE premis [<!ENTITY % p SYSTEM "file:///etc/passwd"> %p;]>'),
        {UNSAFE},
        Verdict.FAIL,
    ),
    (
        "G04 a type elsewhere",
        premis("", before='<!DOCTYPE premis SYSTEM "{address}/p.dtd">'),
        {UNSAFE},
        Verdict.FAIL,
    ),
    (
        "G04 a schema elsewhere",
        premis("", attributes=f'{XSI} xsi:schemaLocation="{PREMIS} {{address}}/p.xsd"'),
        set(),
        Verdict.PASS,
    ),
    (
        "G04 a style sheet",
        premis("", before='<?xml-stylesheet type="text/xsl" href="{address}/p.xsl"?>'),
        set(),
        Verdict.PASS,
    ),
    (
        "G04 an inclusion",
        premis(
            '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="{address}/p.xml"/>'
            '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="file:///etc/passwd"/>'
        ),
        set(),
        Verdict.PASS,
    ),
    ("G05 depth", premis("<a>" * 100_000 + "</a>" * 100_000), {LARGE}, Verdict.PASS),
    ("G05 a text", premis(f"<a>{'x' * 10_100_000}</a>"), {LARGE}, Verdict.PASS),
    ("G05 attributes", premis(f"<a{' a=' * 250_001}/>"), {LARGE}, Verdict.PASS),
    (
        "G06 UTF-7",
        premis("", before='<?xml version="1.0" encoding="UTF-7"?>'),
        {MALFORMED},
        Verdict.OPEN,
    ),
    (
        "G06 UTF-16 in name only",
        premis("", before='<?xml version="1.0" encoding="UTF-16"?>'),
        {MALFORMED},
        Verdict.OPEN,
    ),
    ("G06 NUL", premis("a\0b"), {MALFORMED}, Verdict.OPEN),
    ("G06 control characters", premis("\x1b[2J"), {MALFORMED}, Verdict.OPEN),
    ("G06 Latin for UTF-8", premis("").encode() + b"<!-- \xe9 -->", {MALFORMED}, Verdict.OPEN),
    (
        "G07 an id twice",
        premis('<agent xml:id="i"/><agent xml:id="i"/>'),
        set(),
        Verdict.PASS,
    ),
    (
        "G07 a prefix bound anew",
        BOUND_ANEW,
        set(),
        Verdict.PASS,
    ),
    (
        "G08 a path for a name",
        premis(
            f"<object>{identified('object', 'a')}{identified('relatedObject', chr(39) + '] | //*')}"
            "</object>"
        ),
        {LOOSE},
        Verdict.OPEN,
    ),
    (
        "an address that climbs out of the bag",
        CLIMBS,
        {"description-address-outside"},
        Verdict.OPEN,
    ),
)


@pytest.mark.parametrize(
    ("content", "codes", "verdict"),
    [one[1:] for one in XML_CASES],
    ids=[one[0] for one in XML_CASES],
)
def test_a_document_of_xml_is_what_it_is(
    bag_with: Callable[..., Path],
    server: tuple[str, Callable[[], bool]],
    content: str | bytes,
    codes: set[str],
    verdict: Verdict,
) -> None:
    address, was_asked = server
    octets = (
        content if isinstance(content, bytes) else content.replace("{address}", address).encode()
    )
    judgement = check(bag_with({"metadata/theirs.xml": octets}), Silent()).judgement
    assert {one.code for one in judgement.findings} - {"bag-tag-manifest-missing"} == codes
    assert judgement.verdict is verdict
    assert all("root:" not in one.text and one.text.isprintable() for one in judgement.findings)
    assert not was_asked()


@pytest.mark.xsd
@pytest.mark.parametrize("name", ["G07 an id twice", "G07 a prefix bound anew"])
def test_g07_an_official_schema_sees_it(
    bag_with: Callable[..., Path], official_schemas: Path, name: str
) -> None:
    content = next(one[1] for one in XML_CASES if one[0] == name)
    assert isinstance(content, str)
    schemas = {one.name: one.read_bytes() for one in official_schemas.glob("*.xsd")}
    found = check(bag_with({"a.xml": content.encode()}), Silent(), schemas=schemas).judgement
    assert "description-schema" in {one.code for one in found.findings}


@pytest.mark.parametrize("kind", ["import", "include"])
def test_g10_a_schema_that_sends_elsewhere_is_not_followed(
    server: tuple[str, Callable[[], bool]], kind: str
) -> None:
    address, was_asked = server
    other = ' namespace="urn:other"' if kind == "import" else ""
    schema = (
        f'<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="{PREMIS}" '
        f'xmlns:o="{"urn:other" if kind == "import" else PREMIS}">'
        f'<xs:{kind}{other} schemaLocation="{address}/other.xsd"/>'
        '<xs:element name="a" type="o:t"/></xs:schema>'
    )
    with pytest.raises(MaterialError, match="do not fit together"):
        descriptions.official({"premis.xsd": schema.encode()})
    assert not was_asked()


# G09 and H: a stranger's text in everything that we write


@dataclass(frozen=True, slots=True)
class Written:
    """All descriptions of one dossier."""

    by_name: dict[str, bytes]

    def xml(self) -> Iterator[bytes]:
        """Every one that is XML, the label among them."""
        for name in ("PREMIS", "METS", "PBCore", "Dublin Core", "label"):
            yield self.by_name[name]


class Page(HTMLParser):
    """What a browser would see of a page, as far as it matters here."""

    def __init__(self, content: bytes) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        self.feed(content.decode("utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture(scope="module")
def kept() -> Dossier:
    with open_bag(PACKAGE) as bag:
        return read_package(bag)


def poisoned(kept: Dossier, text: str) -> Dossier:
    """A package that says `text` in names of files, bag-info and statements."""
    assert kept.transfer is not None
    assert kept.package is not None
    name = text.replace("/", "\u2215")[:200]
    reel = replace(
        kept.transfer.reel,
        title=text,
        note=text,
        identifiers=(Identifier(value=text, kind="shelf mark"),),
        events=(Event(kind="other", on="2026-03-14", note=text, outcome=text),),
    )
    package = replace(
        kept.package,
        name=name,
        bag_info=(*kept.package.bag_info, InfoLine(label=text, value=text, line=99)),
        files=(*kept.package.files, FoundFile(path=f"data/documents/{name}.csv", octets=1)),
    )
    person = replace(kept.transfer.people[0], name=text)
    studio = replace(kept.transfer.studio, name=text)
    transfer = replace(
        kept.transfer,
        reel=reel,
        note=text,
        studio=studio,
        people=(person, *kept.transfer.people[1:]),
    )
    return replace(kept, transfer=transfer, package=package)


@pytest.fixture(scope="module")
def written(kept: Dossier) -> Callable[[str], Written]:
    made: dict[str, Written] = {}

    def write(text: str) -> Written:
        if text not in made:
            dossier = poisoned(kept, text)
            made[text] = Written({one.name: one.render(dossier, (), {}) for one in VIEWS})
        return made[text]

    return write


SCRIPT = "<script>alert(1)</script><img src=x onerror=alert(1)><svg onload=alert(1)>"
ATTRIBUTE = '" onmouseover="alert(1)" x=\'javascript:alert(1)'
ISLAND = "</script></style></title>\u2028\u2029<b>"
CHART = "</text></svg><script>alert(1)</script>{}]]>*{fill:url(javascript:1)}"
TEMPLATE = "%s %(x)d {0.__class__} {{7*7}} {% for x in y %} ${7*7}"
WIDE = (
    "\u202egpj.exe\u202c \u2067x z\u0335\u0336\u0337 "
    "\U0001f468\u200d\U0001f469\u200d\U0001f467 \ufdfd"
)
CONTROLS = "a\x00b\x08\x1b[2J\x1b]52;c;eA==\x07\x9b2J]]>\udc80\ufffe"
TEXTS = {
    "H01": SCRIPT,
    "H02": ATTRIBUTE,
    "H03": ISLAND,
    "H04": CHART,
    "H10": TEMPLATE,
    "H12": WIDE,
    "G09": CONTROLS,
}


@pytest.mark.parametrize("case", TEXTS)
def test_g09_whatever_the_text_xml_is_read_back(
    written: Callable[[str], Written], case: str
) -> None:
    for content in written(TEXTS[case]).xml():
        etree.fromstring(content)
        ET.fromstring(content)  # noqa: S314  ours


def test_g09_what_xml_can_hold_comes_back_to_the_letter(written: Callable[[str], Written]) -> None:
    text = "a ]]> & <b> \"c\" 'd' \u2028 \U0001f468 é"
    root = etree.fromstring(written(text).by_name["PREMIS"])
    assert text in root.xpath("//*[local-name()='originalName']/text()")
    for name in ("RO-Crate", "PROV-JSON"):
        assert text in json.dumps(load(written(text).by_name[name]), ensure_ascii=False).replace(
            '\\"', '"'
        )


@pytest.mark.parametrize("case", TEXTS)
def test_h01_to_h05_h10_and_h12_text_stays_text_on_the_page(
    written: Callable[[str], Written], case: str
) -> None:
    content = written(TEXTS[case]).by_name["report"]
    page = Page(content)
    names = {tag for tag, _ in page.tags}
    assert names.isdisjoint({"script", "iframe", "object", "embed", "link", "base", "form"})
    for tag, attributes in page.tags:
        assert not [one for one in attributes if one.startswith("on")], tag
        start = "data:image/" if tag == "image" else "#"
        assert attributes.get("href", start).startswith(start), tag
        assert attributes.get("src", "data:").startswith("data:"), tag
    # H05: one file, and a policy that lets nothing be fetched.
    (policy,) = [one["content"] for _, one in page.tags if "http-equiv" in one]
    assert policy.startswith("default-src 'none'")
    # H12: what turns the direction of writing, or hides, is shown as its code.
    shown = {c for c in content.decode("utf-8") if not c.isprintable()}
    assert shown == {"\n"}


def test_h01_to_h03_are_there_to_be_read(written: Callable[[str], Written]) -> None:
    for text in (SCRIPT, ATTRIBUTE, TEMPLATE):
        assert text in " ".join(Page(written(text).by_name["report"]).text.split())


def test_h10_nothing_is_worked_out(written: Callable[[str], Written]) -> None:
    every = written(TEMPLATE).by_name
    assert len(every) > 5
    for content in every.values():
        assert b"{0.__class__}" in content or b"class 'str'" not in content
        assert b"{49}" not in content
        assert b"$49" not in content


@pytest.mark.parametrize("text", [SCRIPT, ATTRIBUTE, CHART])
def test_h04_labels_of_drawings_stay_text(written: Callable[[str], Written], text: str) -> None:
    course = (0.0, 0.5)
    seen = Overview(
        seconds_a_column=Decimal(1),
        low=(course,),
        high=(course,),
        rms=(course,),
        bands_hz=(100.0, 1000.0),
        spectrogram=bytes(4),
    )
    plot = waveform.draw(seen, title=text, kind="svg", sample_rate_hz=8000)
    for content in (written(text).by_name["label"], plot):
        root = etree.fromstring(content)
        names = {etree.QName(one).localname for one in root.iter() if isinstance(one.tag, str)}
        assert names.isdisjoint({"script", "image", "foreignObject", "a", "b"})
        assert not [n for one in root.iter() for n in one.attrib if n.lower().startswith("on")]


@pytest.mark.parametrize(
    "text",
    [
        '=HYPERLINK("http://127.0.0.1/?x="&A1,"open")',
        "=cmd|' /C calc'!A0",
        "+1+1",
        "-1+1",
        "@SUM(1)",
        "\t=1",
        "\r=1",
        "\n=1",
        'x";=1+1;"',
        "x\r\n=1+1",
    ],
)
def test_h06_h07_no_cell_is_a_formula(kept: Dossier, text: str) -> None:
    view = next(one for one in VIEWS if one.name == "inventory")
    content = view.render(poisoned(kept, text), (), {}).decode("utf-8")
    for delimiter in (",", ";", "\t"):
        for row in csv.reader(io.StringIO(content, newline=""), delimiter=delimiter):
            assert [cell for cell in row if re.match(r"[=+@\t\r\n]|-[^0-9]", cell)] == []
    assert len(list(csv.reader(io.StringIO(content, newline="")))) == 2


NAMES = (
    "a\x1b]52;c;eA==\x07\x1b[2J\x9b.txt",
    "a\r\nforged: pass.txt",
    "\u202egpj.txt",
    "%s{0}.txt",
)


@pytest.mark.parametrize("name", NAMES)
def test_h08_h09_names_of_files_command_no_terminal_and_forge_no_line(
    bag_with: Callable[..., Path], capsys: pytest.CaptureFixture[str], name: str
) -> None:
    from tailsout.doors.cli import run  # noqa: PLC0415  after the capture of the streams

    package = bag_with({}, {})
    (package / "data" / name).write_bytes(b"x")
    for command in (["check"], ["check", "--json"], ["show"], ["show", "--as", "PREMIS"]):
        run([*command, str(package)])
        told = capsys.readouterr()
        # What goes into a file is XML, in which some controls may stand: a terminal gets a page.
        every = told.err if "--as" in command else told.out + told.err
        assert {c for c in every if not c.isprintable()} <= {"\n"}, command
        if "--json" in command:
            assert all(isinstance(json.loads(line), dict) for line in told.out.splitlines())
            assert name not in told.out or name.isprintable()
        assert "forged: pass" not in every.splitlines()
    run(["check", f"{package}/{name}/none"])
    told = capsys.readouterr()
    assert {c for c in told.out + told.err if not c.isprintable()} <= {"\n"}


def test_h11_ten_million_characters_are_cut_and_the_page_stays_small(kept: Dossier) -> None:
    page = next(one for one in VIEWS if one.name == "report")
    content = page.render(poisoned(kept, "tails out " * 1_000_000), (), {})
    assert len(content) < 5_000_000


def test_h11_twenty_thousand_findings_are_a_hundred_and_a_count(
    bag_with: Callable[..., Path],
) -> None:
    links = "".join(
        f"<relatedObjectIdentifierValue>{n}</relatedObjectIdentifierValue>" for n in range(20_000)
    )
    content = premis(f"<object>{identified('object', 'a')}{links}</object>").encode()
    judgement = check(bag_with({"a.xml": content}), Silent()).judgement
    found = [one for one in judgement.findings if one.code == LOOSE]
    assert len(found) == MOST_OF_A_KIND + 1
    assert "more are not listed one by one" in found[-1].text


@pytest.mark.parametrize("name", ["-rf.flac", "--output=x.flac"])
def test_h13_a_name_is_no_option_of_a_child(
    bag_with: Callable[..., Path], bench: Any, tmp_path: Path, monkeypatch: Any, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    content = bench.flac(bench.wave(bench.pcm, 480))
    before = sorted(tmp_path.rglob("*"))
    package = bag_with({}, {f"data/{name}": content, "data/plain.flac": content})
    judgement = check(package, Silent(), depth=Depth.DEEP).judgement
    by_file: dict[str, set[str]] = {}
    for one in judgement.findings:
        by_file.setdefault(one.place.file, set()).add(one.code)
    assert by_file.get(f"data/{name}") == by_file.get("data/plain.flac")
    left = [one for one in tmp_path.rglob("*") if one not in before]
    assert {one.relative_to(tmp_path).parts[0] for one in left} == {"theirs"}


def test_h14_nothing_tells_where_or_by_whom_it_was_made(bench: Any, around: Surroundings) -> None:
    bench.fill()
    outcome = close(bench.job, bench.out, around)
    assert outcome.built is not None
    for path in bench.out.rglob("*"):
        if path.is_file():
            content = path.read_bytes()
            assert str(bench.root).encode() not in content, path
            assert str(Path.home()).encode() + b"/" not in content, path


def test_every_case_is_named_here() -> None:
    text = Path(__file__).read_text("utf-8")
    wanted = {*(f"G{n:02}" for n in range(1, 11)), *(f"H{n:02}" for n in range(1, 15))}
    body = text[text.index("# G: a document") : text.rindex("def test_every_case")]
    met = {one.upper() for one in re.findall(r"[GgHh](?:0[1-9]|1[0-4])", body)}
    ranges = {f"H{n:02}" for n in range(1, 6)}
    assert wanted - met - ranges == set()
