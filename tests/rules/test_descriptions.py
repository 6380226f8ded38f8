"""Descriptions in a standard: a case that yields each finding, and one that nearly does."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.description import Departure, DescribedFile, Description, Loose, Moment
from tailsout.records.dossier import Dossier
from tailsout.records.facts import PackageFacts
from tailsout.rules import judge

BY_SCHEMA = "descriptions by their official schemas"
WITHIN, AGAINST = "descriptions within themselves", "descriptions against files and manifests"
METS = "metadata/mets.xml"
RunRule = Callable[[str, Dossier], list[tuple[str, str]]]


@pytest.fixture
def described(received: Callable[..., Dossier]) -> Callable[..., Dossier]:
    """A sound package with one description."""

    def make(**more: Any) -> Dossier:
        one = Description(path=METS, standards=("METS",), **more)
        dossier = received(descriptions=(one,))
        return replace(dossier, examined=dossier.examined | {"descriptions"})

    return make


def package_of(dossier: Dossier) -> PackageFacts:
    assert dossier.package is not None
    return dossier.package


def first_of(dossier: Dossier) -> tuple[str, int, str, str]:
    """Path, size, algorithm and digest of a file of the payload."""
    package = package_of(dossier)
    manifest = next(one for one in package.manifests if not one.is_tag)
    line = manifest.lines[0]
    octets = next(one.octets for one in package.files if one.path == line.path)
    return line.path, octets, manifest.algorithm, line.digest


def test_a_description_that_is_as_it_should_be(run: RunRule, described: Any) -> None:
    path, octets, algorithm, digest = first_of(described())
    file = DescribedFile(
        path=path, line=3, octets=octets, digests=((algorithm.upper(), digest.upper()),)
    )
    whole = described(files=(file,))
    assert run(WITHIN, whole) == []
    assert run(AGAINST, whole) == []


def test_a_reference_that_leads_to_nothing(run: RunRule, described: Any) -> None:
    dossier = described(loose=(Loose(line=4, kind="ADMID", to="x"),))
    assert run(WITHIN, dossier) == [("description-reference-loose", f"{METS}:4")]
    assert judge(dossier).verdict is Verdict.OPEN


def test_an_address_that_leads_out_of_the_package(run: RunRule, described: Any) -> None:
    dossier = described(outside=(Loose(line=4, kind="FLocat", to="../../x"),))
    assert run(WITHIN, dossier) == [("description-address-outside", f"{METS}:4")]
    assert judge(dossier).verdict is Verdict.OPEN


def test_a_date_that_is_none(run: RunRule, described: Any) -> None:
    dossier = described(dates=(Moment(line=5, of="creation", when="tuesday", is_edtf=False),))
    assert run(WITHIN, dossier) == [("description-date", f"{METS}:5")]


@pytest.mark.parametrize(
    ("packed", "is_found"),
    [("2026-03-13", True), ("2026-03-14T23:00:00Z", False), ("2026-03", False), ("XXXX", False)],
)
def test_what_is_packed_before_it_is_made(
    run: RunRule, described: Any, packed: str, is_found: bool
) -> None:
    dates = (
        Moment(line=7, of="packaging", when=packed, is_edtf=True),
        Moment(line=9, of="creation", when="2026-03-14T10:00:00Z", is_edtf=True),
    )
    expected = [("description-events-out-of-order", f"{METS}:7")] if is_found else []
    assert run(WITHIN, described(dates=dates)) == expected


def test_another_digest_than_the_manifest_has(run: RunRule, described: Any) -> None:
    path, _, algorithm, digest = first_of(described())
    other = ("0" if digest[0] != "0" else "1") + digest[1:]
    file = DescribedFile(path=path, line=3, digests=((algorithm, other),))
    dossier = described(files=(file,))
    assert run(AGAINST, dossier) == [("description-digest-differs", f"{METS}:3")]
    assert judge(dossier).verdict is Verdict.FAIL


@pytest.mark.parametrize("digest", ["ab", "z" * 64, ""])
def test_a_digest_that_is_none(run: RunRule, described: Any, digest: str) -> None:
    path = first_of(described())[0]
    file = DescribedFile(path=path, line=3, digests=(("SHA-256", digest),))
    assert run(AGAINST, described(files=(file,))) == [("description-digest-form", f"{METS}:3")]


def test_an_algorithm_that_nobody_knows_is_not_judged(run: RunRule, described: Any) -> None:
    path = first_of(described())[0]
    file = DescribedFile(path=path, line=3, digests=(("HAVAL", "ab"),))
    assert run(AGAINST, described(files=(file,))) == []


def test_another_size_than_the_file_has(run: RunRule, described: Any) -> None:
    path, octets, _, _ = first_of(described())
    file = DescribedFile(path=path, line=3, octets=octets + 1)
    assert run(AGAINST, described(files=(file,))) == [("description-size-differs", f"{METS}:3")]


def test_a_file_that_is_not_there(run: RunRule, described: Any) -> None:
    dossier = described(files=(DescribedFile(path="data/gone.wav", line=3),))
    assert run(AGAINST, dossier) == [("description-file-missing", f"{METS}:3")]
    # What is still to be fetched, or lacks though it is listed, is told elsewhere.
    package = replace(package_of(dossier), holes=("data/gone.wav",))
    assert run(AGAINST, replace(dossier, package=package)) == []


def test_a_file_that_was_changed_is_told_once(run: RunRule, described: Any) -> None:
    path, octets, _, _ = first_of(described())
    dossier = described(files=(DescribedFile(path=path, line=3, octets=octets + 1),))
    package = package_of(dossier)
    files = tuple(
        replace(one, digests={"sha256": "0" * 64}) if one.path == path else one
        for one in package.files
    )
    assert run(AGAINST, replace(dossier, package=replace(package, files=files))) == []
    without = tuple(one for one in package.files if one.path != path)
    assert run(AGAINST, replace(dossier, package=replace(package, files=without))) == []


def test_a_file_section_that_leaves_files_out(run: RunRule, described: Any) -> None:
    path = first_of(described())[0]
    files = (DescribedFile(path=path, line=3),)
    assert run(AGAINST, described(files=files)) == []
    assert run(AGAINST, described(files=files, lists_payload=True)) == [
        ("description-file-untold", METS)
    ]
    every = tuple(DescribedFile(path=one.path, line=3) for one in package_of(described()).files)
    assert run(AGAINST, described(files=every, lists_payload=True)) == []


def test_a_description_that_departs_from_its_schema(run: RunRule, described: Any) -> None:
    assert run(BY_SCHEMA, described(departures=())) == []
    dossier = described(departures=(Departure(line=8, text="no such element"),))
    assert run(BY_SCHEMA, dossier) == [("description-schema", f"{METS}:8")]
    assert run(BY_SCHEMA, described()) == [("description-without-schema", METS)]


def test_without_official_schemas_it_is_not_examined(described: Any) -> None:
    dossier = described(departures=(Departure(line=8, text="no such element"),))
    judgement = judge(replace(dossier, examined=dossier.examined - {"official-schemas"}))
    (check,) = (one for one in judgement.checks if one.name == BY_SCHEMA)
    assert (check.outcome, check.why) == ("not examined", "no official schemas were given")
    assert judgement.verdict is Verdict.PASS
