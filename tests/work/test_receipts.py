"""Receipts and acceptances become events of the package that they are of, and of no other."""

import hashlib
import json
import shutil
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, UsageError
from tailsout.ground.progress import Silent
from tailsout.mapping.plain import json_page
from tailsout.records.arrival import Happening
from tailsout.work.accept import Asked, accept
from tailsout.work.export import export
from tailsout.work.pack import pack
from tailsout.work.receive import take_in

SAMPLE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
NS = {"p": "http://www.loc.gov/premis/v3"}
SOFTWARE = "tailsout test"


def digests(package: Path, algorithm: str) -> dict[str, str]:
    return {
        path.name: hashlib.new(algorithm, path.read_bytes()).hexdigest()
        for path in sorted(package.glob("tagmanifest-*"))
    }


def close_receipt(package: Path, **more: Any) -> bytes:
    """What `close` lays beside a package."""
    told = {
        "schema": "urn:tailsout:schema:receipt:0.1",
        "package_id": "SKL-0008",
        "committed": "2026-03-15T08:00:00Z",
        "software": SOFTWARE,
        "durability": "fsynced",
        "read_back": "every digest, from disk",
        "files": 26,
        "octets": 1234,
        "tag_manifests": {
            name: {"sha256": digest} for name, digest in digests(package, "sha256").items()
        },
        "masters": [],
        "verdict": "pass",
        "checks": [],
    }
    return json_page({**told, **more})


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A package as it was closed, received on a drive and accepted."""
    place = tmp_path_factory.mktemp("shelf")
    package = place / "drive/SKL-0008"
    shutil.copytree(SAMPLE, package)
    (place / "SKL-0008.receipt.json").write_bytes(close_receipt(package))
    take_in(
        place / "drive",
        place / "in",
        instant=datetime(2026, 3, 20, 9, 0, tzinfo=UTC),
        software=SOFTWARE,
        disk=Disk(),
        happenings=[Happening(what="virus scan", told="nothing found")],
    )
    taken(place / "in", package, datetime(2026, 3, 27, 16, 30, tzinfo=UTC))
    return place


def taken(into: Path, package: Path, instant: datetime) -> None:
    accept(
        [package],
        into,
        Asked(by="Oran Teague", note="for the strong room"),
        instant=instant,
        software=SOFTWARE,
        disk=Disk(),
        progress_of=lambda _: Silent(),
        done=lambda _: None,
        say=lambda _: None,
    )


def documents(shelf: Path) -> list[Path]:
    return [
        shelf / "SKL-0008.receipt.json",
        shelf / "in/receipt.json",
        shelf / "in/acceptance-01.json",
    ]


def told(package: Path, receipts: Sequence[Path], view: str = "PREMIS") -> bytes:
    return export(package, view, Silent(), receipts=receipts).content


def events(content: bytes) -> list[dict[str, Any]]:
    """What every event says that a document tells of."""
    root = etree.fromstring(content)
    names = {
        one.findtext(".//p:agentIdentifierValue", namespaces=NS): one.findtext(
            "p:agentName", namespaces=NS
        )
        for one in root.iterfind("p:agent", NS)
    }
    found = []
    for one in root.iterfind("p:event", NS):
        details = one.xpath(".//p:eventDetail/text()", namespaces=NS)
        if any("told by a document" in text for text in details):
            links = one.xpath(".//p:linkingAgentIdentifierValue/text()", namespaces=NS)
            found.append(
                {
                    "type": one.findtext("p:eventType", namespaces=NS),
                    "when": one.findtext("p:eventDateTime", namespaces=NS),
                    "outcome": one.findtext(".//p:eventOutcome", namespaces=NS),
                    "details": details,
                    "by": [names[key] for key in links],
                }
            )
    return found


def test_each_document_is_an_event_with_its_day_and_its_people(shelf: Path) -> None:
    read_back, receipt, acceptance = events(told(shelf / "drive/SKL-0008", documents(shelf)))
    assert (read_back["type"], read_back["outcome"]) == ("fixity check", "success")
    assert read_back["when"] == "2026-03-15T08:00:00Z"
    assert "26 files, 1234 octets, fsynced" in read_back["details"]
    assert (receipt["type"], receipt["when"]) == ("receipt", "2026-03-20T09:00:00Z")
    assert receipt["outcome"] == "no list of the sender came"
    assert "virus scan: nothing found" in receipt["details"]
    assert (acceptance["type"], acceptance["outcome"]) == ("acceptance", "accepted")
    assert acceptance["by"] == ["Oran Teague", SOFTWARE]
    assert "for the strong room" in acceptance["details"]
    for one, path in zip((read_back, receipt, acceptance), documents(shelf), strict=True):
        digest = hashlib.sha512(path.read_bytes()).hexdigest()
        assert one["details"][-1] == f"told by a document with the SHA-512 {digest}"


def test_without_documents_nothing_is_added_and_two_of_one_count_once(shelf: Path) -> None:
    package = shelf / "drive/SKL-0008"
    assert told(package, []) == (SAMPLE / "metadata/premis.xml").read_bytes()
    first = documents(shelf)[:1]
    assert told(package, [*first, *first]) == told(package, first) != told(package, [])


@pytest.mark.parametrize("view", ["METS", "RO-Crate", "PROV-JSON"])
def test_whatever_tells_events_tells_these(shelf: Path, view: str) -> None:
    content = told(shelf / "drive/SKL-0008", documents(shelf), view).decode()
    for path in documents(shelf):
        assert hashlib.sha512(path.read_bytes()).hexdigest() in content
    assert "Oran Teague" in content


def test_octets_count_and_names_do_not(shelf: Path, tmp_path: Path) -> None:
    shutil.copytree(SAMPLE, tmp_path / "renamed")
    assert len(events(told(tmp_path / "renamed", documents(shelf)))) == 3


def test_of_an_archive_its_own_digest_is_known_too(shelf: Path, tmp_path: Path) -> None:
    pack(shelf / "drive/SKL-0008", tmp_path, disk=Disk(), progress=Silent())
    archive = tmp_path / "SKL-0008.tar"
    taken(tmp_path / "in", archive, datetime(2026, 4, 1, tzinfo=UTC))
    found = events(told(archive, [tmp_path / "in/acceptance-01.json", *documents(shelf)]))
    assert [one["type"] for one in found] == ["fixity check", "receipt", "acceptance", "acceptance"]


def test_a_difference_from_the_senders_list_is_the_outcome(shelf: Path, tmp_path: Path) -> None:
    arrival = json.loads((shelf / "in/receipt.json").read_bytes())
    arrival["manifest"] = "delivery-01.csv"
    path = tmp_path / "receipt.json"
    path.write_bytes(json_page(arrival))
    (one,) = events(told(shelf / "drive/SKL-0008", [path]))
    assert one["outcome"] == "as the sender's list has it"
    arrival["differences"] = [
        {"kind": "not as listed", "package": "SKL-0008", "text": "one file more."},
        {"kind": "not as listed", "package": "SKL-0009", "text": "one file less."},
    ]
    path.write_bytes(json_page(arrival))
    (one,) = events(told(shelf / "drive/SKL-0008", [path]))
    assert one["outcome"] == "one file more."


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"{", "is not JSON"),
        (b"[]", "neither receipt nor acceptance"),
        (b'{"schema": "urn:tailsout:schema:receipt:0.1"}', "neither receipt nor acceptance"),
        (close_receipt(SAMPLE, tag_manifests={}), "tells of no package with these octets"),
        (
            close_receipt(SAMPLE, tag_manifests={"tagmanifest-sha256.txt": {"sha256": "0" * 64}}),
            "tells of no package with these octets",
        ),
        (b" " * ((4 << 20) + 1), "larger than"),
    ],
)
def test_what_is_of_something_else_is_refused(tmp_path: Path, content: bytes, says: str) -> None:
    path = tmp_path / "other.json"
    path.write_bytes(content)
    with pytest.raises(MaterialError, match=says):
        told(SAMPLE, [path])


def test_an_arrival_or_acceptance_of_other_packages_is_refused(shelf: Path, tmp_path: Path) -> None:
    for path in documents(shelf)[1:]:
        document = json.loads(path.read_bytes())
        document["packages"][0]["tag_manifests"] = {}
        other = tmp_path / path.name
        other.write_bytes(json_page(document))
        with pytest.raises(MaterialError, match="no package with these octets"):
            told(shelf / "drive/SKL-0008", [other])


def test_what_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="There is no"):
        told(SAMPLE, [tmp_path / "none.json"])
