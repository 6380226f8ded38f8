"""The fifteen elements of Dublin Core (DCMI Metadata Element Set 1.1, ISO 15836-1)."""

from typing import Any

import pytest
from lxml import etree

from tailsout.records.dossier import Dossier
from tailsout.records.facts import InfoLine, PackageFacts
from tailsout.records.recording import Recording, Rights, Work
from tailsout.records.reel import Identifier, Reel
from tailsout.records.transfer import Studio, Transfer
from tailsout.views import dublin_core
from tailsout.views.packaged import Packaged

ELEMENTS = {
    "contributor", "coverage", "creator", "date", "description", "format", "identifier",
    "language", "publisher", "relation", "rights", "source", "subject", "title", "type",
}  # fmt: skip

RECORDING = Recording(
    what="a log",
    when="1961-12~",
    place="lamp room",
    country="GB",
    recorded_by=("the keeper",),
    speakers=("Oran Teague",),
    performers=("the fog horn",),
    languages=("eng",),
    rights=Rights(
        statement="http://rightsstatements.org/vocab/InC/1.0/",
        holder="Skerrow Light Trust",
        restriction="on site",
    ),
)


def said(**more: Any) -> tuple[tuple[str, str], ...]:
    usual: dict[str, Any] = {
        "job_id": "j",
        "package_id": "SKL-0007",
        "studio": Studio(name="Saltpan Row"),
        "reel": Reel(title="Log", identifiers=(Identifier(value="HA/7"),)),
        "recording": RECORDING,
        "work": Work(id="w", title="The logs"),
    }
    return dublin_core.said(
        Packaged(Dossier(origin="received", transfer=Transfer(**{**usual, **more})))
    )


def test_each_statement_has_its_element() -> None:
    assert said() == (
        ("title", "Log"),
        ("identifier", "HA/7"),
        ("identifier", "SKL-0007"),
        ("relation", "The logs"),
        ("description", "a log"),
        ("date", "1961-12~"),
        ("creator", "the keeper"),
        ("contributor", "Oran Teague"),
        ("contributor", "the fog horn"),
        ("coverage", "lamp room"),
        ("coverage", "GB"),
        ("language", "eng"),
        ("rights", "http://rightsstatements.org/vocab/InC/1.0/"),
        ("rights", "on site"),
        ("rights", "held by Skerrow Light Trust"),
        ("source", "magnetic tape on an open reel: HA/7"),
        ("contributor", "Saltpan Row (transfer)"),
        ("type", "Sound"),
    )
    assert {name for name, _ in said()} <= ELEMENTS


@pytest.mark.parametrize(
    ("more", "title"),
    [
        ({"reel": Reel()}, "The logs"),
        ({"reel": Reel(), "work": None}, "SKL-0007"),
    ],
)
def test_what_has_no_title_is_called_by_what_it_belongs_to(more: Any, title: str) -> None:
    assert dict(reversed(said(**more)))["title"] == title


def test_what_is_not_stated_is_not_there() -> None:
    bare = said(reel=Reel(), recording=None, work=None, studio=Studio())
    assert bare == (
        ("title", "SKL-0007"),
        ("identifier", "SKL-0007"),
        ("source", "magnetic tape on an open reel"),
        ("type", "Sound"),
    )


def test_a_package_of_strangers_says_what_its_bag_info_says() -> None:
    info = (
        InfoLine(label="External-Description", value="some reel", line=1),
        InfoLine(label="Contact-Name", value="nobody", line=2),
    )
    package = PackageFacts(
        name="bag", bagit_version="1.0", encoding="UTF-8", bag_info=info, manifests=(), files=()
    )
    found = dublin_core.said(Packaged(Dossier(origin="received", package=package)))
    assert found == (("title", "bag"), ("description", "some reel"))


def test_text_of_strangers_is_text(hostile: Dossier) -> None:
    root = etree.fromstring(dublin_core.render(hostile, (), {}))
    assert root.findall(".//b") == []
    assert root.tag == "{http://www.openarchives.org/OAI/2.0/oai_dc/}dc"
