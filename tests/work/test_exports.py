"""The descriptions that lie in the kept packages, and the same ones made of those as received."""

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.ground.findings import Severity, Verdict
from tailsout.ground.progress import Silent
from tailsout.records.dossier import Dossier
from tailsout.work import exports
from tailsout.work.amend import amend
from tailsout.work.package import read_package
from tailsout.work.surroundings import Surroundings

KEPT = Path(__file__).resolve().parents[2] / "sample_packages" / "good"
GOOD = sorted(path / "package" for path in KEPT.iterdir())
ALWAYS = [view for view in exports.VIEWS if view.always and view.lost]
XML = [
    view for view in exports.VIEWS if view.render(Dossier(origin="received"), (), {})[:1] == b"<"
]
SCHEMAS = {
    "http://www.pbcore.org/PBCore/PBCoreNamespace.html": "pbcore-2.1.xsd",
    "http://www.loc.gov/METS/": "mets-1.12.1.xsd",
    "http://www.loc.gov/premis/v3": "premis-v3-0.xsd",
    "http://purl.org/dc/elements/1.1/": "simpledc20021212.xsd",
}
"""Official schema of each namespace, by its name in the folder that TAILSOUT_SCHEMAS names."""

each_package = pytest.mark.parametrize("package", GOOD, ids=lambda path: path.parent.name)
each_view = pytest.mark.parametrize("view", ALWAYS, ids=lambda view: view.name)


def received(package: Path) -> Dossier:
    with open_bag(package) as bag:
        return read_package(bag)


def rendered(view: exports.View, package: Path) -> bytes:
    told = json.loads((package / "metadata/checks.json").read_text("utf-8"))
    found = [(one["code"], Severity(one["severity"])) for one in told["findings"]]
    checks = exports.summary(Verdict(told["verdict"]), found)
    return view.render(received(package), (), {"checks": checks.encode()})


PACKED = [
    pytest.param(package, view, id=f"{package.parent.name}-{view.name}")
    for package in GOOD
    for view in exports.packed_views(received(package))
    if view.lost
]


@pytest.mark.parametrize(("package", "view"), PACKED)
def test_a_package_received_is_told_as_it_was_when_it_was_closed(
    package: Path, view: exports.View
) -> None:
    assert (package / view.path).read_bytes() == rendered(view, package)


def test_what_the_recipient_asks_for_is_packed_and_nothing_more() -> None:
    first = next(path for path in GOOD if path.parent.name == "skerrow-light")
    asked = {
        "metadata/pbcore.xml",
        "data/ro-crate-metadata.json",
        "metadata/inventory.csv",
        "metadata/label.svg",
    }
    every = {view.path for view in exports.VIEWS if view.path}
    for package in GOOD:
        there = {path for path in every if (package / path).exists()}
        assert there == (every if package == first else every - asked)


@each_view
@each_package
def test_it_is_well_formed_and_of_bounded_size(package: Path, view: exports.View) -> None:
    content = (package / view.path).read_bytes()
    etree.fromstring(content)
    assert len(content) < 500_000
    assert content.startswith(b'<?xml version="1.0" encoding="UTF-8"?>\n')
    assert content.endswith(b">\n")
    assert b"\r" not in content


def test_descriptions_of_superseded_versions_are_not_kept_beside_their_side_cars() -> None:
    amended = next(path for path in GOOD if "amended" in path.parent.name)
    kept = sorted(path.name for path in (amended / "metadata/superseded").rglob("*"))
    assert "premis.xml" not in kept
    assert "skl3-1.json" in kept


@pytest.mark.parametrize(
    ("verdict", "found", "told"),
    [
        (Verdict.PASS, [], "success: pass; 0 mend, 0 query, 0 note"),
        (
            Verdict.OPEN,
            [("b-two", Severity.QUERY), ("a-one", Severity.NOTE), ("b-two", Severity.QUERY)],
            "warning: open questions; 0 mend, 2 query, 1 note: b-two, a-one",
        ),
        (Verdict.FAIL, [("x", Severity.MEND)], "fail: fail; 1 mend, 0 query, 0 note: x"),
    ],
)
def test_what_checks_came_to_stands_on_one_line(verdict: Verdict, found: Any, told: str) -> None:
    assert exports.summary(verdict, found) == told


class Offline(etree.Resolver):  # type: ignore[misc]  # the library has no types
    """Finds what a schema imports in one folder, under any address."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder

    def resolve(self, url: str, public_id: str, context: Any) -> Any:
        name = {"xlink.xsd": "xlink-loc.xsd"}.get(url.rsplit("/", 1)[-1], url.rsplit("/", 1)[-1])
        return self.resolve_filename(str(self.folder / name), context)


@pytest.fixture(scope="session")
def official(official_schemas: Path) -> Any:
    """All official schemas as one, so that what a document wraps is validated too."""
    folder = official_schemas
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Offline(folder))
    imports = "".join(
        f'<xs:import namespace="{namespace}" schemaLocation="{name}"/>'
        for namespace, name in SCHEMAS.items()
    )
    driver = f'<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema">{imports}</xs:schema>'
    return etree.XMLSchema(etree.fromstring(driver, parser, base_url=f"{folder}/driver.xsd"))


@pytest.mark.xsd
@pytest.mark.parametrize("view", [v for v in XML if v.not_held], ids=lambda view: view.name)
@each_package
def test_it_is_valid_by_the_official_schema(
    package: Path, view: exports.View, official: Any
) -> None:
    document = etree.fromstring(rendered(view, package))
    assert official.validate(document), official.error_log
    # It can tell: the same document with its first child moved to the end is not valid.
    document.append(document[0])
    assert not official.validate(document)


@pytest.mark.xsd
@pytest.mark.parametrize("view", [v for v in XML if v.not_held], ids=lambda view: view.name)
def test_nothing_known_at_all_is_valid_too(view: exports.View, official: Any) -> None:
    document = etree.fromstring(view.render(Dossier(origin="received"), (), {}))
    assert official.validate(document), official.error_log


@pytest.mark.xsd
def test_each_element_of_dublin_core_is_valid(official: Any) -> None:
    view = next(view for view in XML if view.name == "Dublin Core")
    elements = etree.fromstring(rendered(view, GOOD[0]))
    assert len(elements) > 5
    for element in elements:
        # It has no root of its own.
        assert official.validate(element), official.error_log


@pytest.mark.xsd
def test_what_is_wrapped_is_validated_too(official: Any) -> None:
    document = etree.fromstring((GOOD[0] / "metadata/mets.xml").read_bytes())
    event = document.find(".//{http://www.loc.gov/premis/v3}event")
    event.append(event[0])
    assert not official.validate(document)


def test_a_new_version_has_every_description_anew(tmp_path: Path) -> None:
    old = tmp_path / "SKL-0008"
    shutil.copytree(GOOD[0].parents[1] / "skerrow-light/package", old)
    form = tmp_path / "fix.toml"
    form.write_text(
        'by = "isolde"\non = 2026-05-02\nwhy = "a better title"\n'
        '[[statements]]\nat = "reel.title"\nchange = "corrected"\nnow = "A better title"\n'
    )
    around = Surroundings(
        instant=datetime(2026, 5, 2, tzinfo=UTC),
        software="tailsout test",
        seconds_now=lambda: 0.0,
        disk=Disk(),
        progress=Silent(),
    )
    assert amend(old, form, tmp_path, around).outcome.built is not None
    new = tmp_path / "SKL-0008.v2"
    for view in exports.packed_views(received(new)):
        if view.lost:
            content = (new / view.path).read_bytes()
            assert content == rendered(view, new)
            assert content != (old / view.path).read_bytes()
            assert b"A better title" in content
    kept = {path.name for path in (new / "metadata/superseded").rglob("*")}
    assert not kept & {Path(view.path).name for view in exports.VIEWS if view.path}


BOOK = "n" * 10_000_000


@pytest.mark.parametrize("view", exports.VIEWS, ids=lambda view: view.name)
def test_a_book_in_a_title_makes_no_book_of_a_description(view: exports.View) -> None:
    dossier = received(GOOD[0])
    assert dossier.transfer is not None
    reel = replace(dossier.transfer.reel, title=BOOK, note=BOOK)
    transfer = replace(dossier.transfer, reel=reel, note=BOOK)
    assert len(view.render(replace(dossier, transfer=transfer), (), {})) < 3_000_000


@pytest.mark.parametrize("view", exports.VIEWS, ids=lambda view: view.name)
def test_a_package_without_statements_is_told_too(view: exports.View) -> None:
    dossier = replace(received(GOOD[0]), transfer=None)
    content = view.render(dossier, (), {})
    assert content == view.render(dossier, (), {})
    if view.lost is not None:
        assert all(one.endswith(".") for one in view.lost(dossier))
