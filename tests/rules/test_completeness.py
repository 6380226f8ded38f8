"""Completeness (RFC 8493 §3), each kind with a case that yields it and a near miss."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, InfoLine, Manifest, ManifestLine, PackageFacts
from tailsout.rules import judge
from tailsout.rules.rule import MOST_OF_A_KIND

Run = Callable[[str, Dossier], list[tuple[str, str]]]
COMPLETE = "completeness"
AUDIO, BESIDE = "data/audio/reel.wav", "data/audio/reel.json"


@pytest.fixture
def holding(received: Callable[..., Dossier]) -> Callable[[PackageFacts], Dossier]:
    return lambda package: received(package=package)


Holding = Callable[[PackageFacts], Dossier]
Package = Callable[..., PackageFacts]


def without_line(package: PackageFacts, path: str, *manifests: str) -> PackageFacts:
    """Take the line of a path out of the manifests named, or of every one."""

    def shortened(one: Manifest) -> Manifest:
        lines = tuple(line for line in one.lines if line.path != path)
        return replace(one, lines=lines) if not manifests or one.name in manifests else one

    return replace(package, manifests=tuple(map(shortened, package.manifests)))


def without_file(package: PackageFacts, path: str) -> PackageFacts:
    return replace(package, files=tuple(f for f in package.files if f.path != path))


def stating_oxum(package: PackageFacts, *values: str, label: str = "Payload-Oxum") -> PackageFacts:
    lines = (InfoLine(label=label, value=v, line=n) for n, v in enumerate(values, start=1))
    rest = (line for line in package.bag_info if line.label.lower() != "payload-oxum")
    return replace(package, bag_info=(*lines, *rest))


def test_a_sound_bag_yields_nothing(run: Run, received: Callable[..., Dossier]) -> None:
    assert run(COMPLETE, received()) == []


# file-missing


def test_a_listed_file_that_is_not_there(run: Run, holding: Holding, package: Package) -> None:
    bag = stating_oxum(without_file(package(), BESIDE), "144700.1")
    assert run(COMPLETE, holding(bag)) == [("file-missing", BESIDE)]


def test_a_tag_file_that_is_not_there(run: Run, holding: Holding, package: Package) -> None:
    bag = without_file(package(), "bagit.txt")
    assert run(COMPLETE, holding(bag)) == [("file-missing", "bagit.txt")]


def test_a_missing_file_is_told_once_and_by_its_first_line(
    holding: Holding, package: Package
) -> None:
    bag = stating_oxum(without_file(package(), BESIDE), "144700.1")
    [missing] = [f for f in judge(holding(bag)).findings if f.code == "file-missing"]
    assert "manifest-sha256.txt:2" in missing.text


# file-unlisted, file-not-in-every-manifest


def test_a_payload_file_in_no_manifest(run: Run, holding: Holding, package: Package) -> None:
    assert run(COMPLETE, holding(without_line(package(), BESIDE))) == [("file-unlisted", BESIDE)]


def test_a_payload_file_missing_from_one_manifest(
    run: Run, holding: Holding, package: Package
) -> None:
    bag = without_line(package(), BESIDE, "manifest-sha512.txt")
    assert run(COMPLETE, holding(bag)) == [("file-not-in-every-manifest", BESIDE)]


def test_before_version_1_0_one_manifest_is_enough(
    run: Run, holding: Holding, package: Package
) -> None:
    # RFC 8493 §2.1.3: that every manifest lists every file came with version 1.0.
    bag = without_line(package(bagit_version="0.97"), BESIDE, "manifest-sha512.txt")
    assert run(COMPLETE, holding(bag)) == []


def test_without_any_payload_manifest_the_structure_rule_speaks(
    run: Run, holding: Holding, package: Package
) -> None:
    assert run(COMPLETE, holding(package(manifests=()))) == []


def test_with_no_version_stated_every_manifest_lists_every_file(
    run: Run, holding: Holding, package: Package
) -> None:
    bag = without_line(package(bagit_version=""), BESIDE, "manifest-sha512.txt")
    assert run(COMPLETE, holding(bag)) == [("file-not-in-every-manifest", BESIDE)]


def test_a_backslash_is_told_to_part_nothing(holding: Holding, package: Package) -> None:
    line = ManifestLine(path="data\\audio", digest="0" * 64, line=3)
    first, *rest = package().manifests
    bag = package(manifests=(replace(first, lines=(*first.lines, line)), *rest))
    [missing] = judge(holding(bag)).findings
    assert missing.text.endswith("a backslash parts no folders in a manifest.")


# What was not read proves no absence.


@pytest.mark.parametrize("unseen", ["", "data", "data/audio", BESIDE])
def test_nothing_is_missing_where_nobody_looked(
    run: Run, holding: Holding, package: Package, unseen: str
) -> None:
    bag = without_file(package(unseen=(unseen,)), BESIDE)
    assert run(COMPLETE, holding(bag)) == []


@pytest.mark.parametrize("unseen", ["data/aud", "data/audio/reel.jso", "audio"])
def test_a_like_name_that_was_not_looked_at_hides_nothing(
    run: Run, holding: Holding, package: Package, unseen: str
) -> None:
    bag = stating_oxum(without_file(package(unseen=(unseen,)), BESIDE), "144700.1")
    assert run(COMPLETE, holding(bag)) == [("file-missing", BESIDE)]


def test_a_manifest_not_read_to_its_end_leaves_nothing_out(
    run: Run, holding: Holding, package: Package
) -> None:
    name = "manifest-sha512.txt"
    assert run(COMPLETE, holding(without_line(package(unseen=(name,)), BESIDE, name))) == []
    assert run(COMPLETE, holding(without_line(package(unseen=(name,)), BESIDE))) == [
        ("file-not-in-every-manifest", BESIDE)
    ]


def test_a_tag_manifest_not_read_to_its_end_leaves_nothing_out(
    run: Run, holding: Holding, package: Package
) -> None:
    name = "tagmanifest-sha512.txt"
    bag = without_line(package(unseen=(name,)), "manifest-sha256.txt", name)
    assert run(COMPLETE, holding(bag)) == []


def test_ten_thousand_of_a_kind_are_told_and_the_rest_counted(
    holding: Holding, package: Package
) -> None:
    more = [FoundFile(path=f"data/{n:05}", octets=0) for n in range(MOST_OF_A_KIND + 3)]
    bag = stating_oxum(package(files=(*package().files, *more)), f"{153_700}.{len(more) + 2}")
    found = judge(holding(bag)).findings
    assert len(found) == MOST_OF_A_KIND + 1
    [last] = [one for one in found if str(one.place) == f"data/{MOST_OF_A_KIND:05}"]
    assert last.text == "this and 2 more are not listed one by one."


def test_a_file_that_is_there_in_other_letter_case_is_named(
    holding: Holding, package: Package
) -> None:
    files = tuple(replace(one, path=one.path.replace("reel", "Reel")) for one in package().files)
    told = [f.text for f in judge(holding(package(files=files))).findings]
    assert any(text.endswith("; data/audio/Reel.wav is, in other letter case.") for text in told)


# oxum-differs


def test_an_oxum_counts_what_is_still_to_be_fetched(
    run: Run, holding: Holding, package: Package
) -> None:
    # RFC 8493 §2.2.2: it is of the whole payload, which is not there yet.
    bag = stating_oxum(package(holes=("data/z",)), "1.1")
    assert run(COMPLETE, holding(bag)) == []


@pytest.mark.parametrize(
    "value",
    ["153700.3", "153701.2", "153699.2", "0.0", "9" * 40 + ".2", "153700." + "9" * 40],
)
def test_an_oxum_that_does_not_fit(
    run: Run, holding: Holding, package: Package, value: str
) -> None:
    bag = stating_oxum(package(), value)
    assert run(COMPLETE, holding(bag)) == [("oxum-differs", "bag-info.txt:1")]


@pytest.mark.parametrize(
    "value", ["153700.2", " 153700.2 ", "0153700.02", "153700", "9" * 41 + ".2"]
)
def test_an_oxum_that_fits_or_is_none(
    run: Run, holding: Holding, package: Package, value: str
) -> None:
    assert run(COMPLETE, holding(stating_oxum(package(), value))) == []


def test_the_oxum_stated_and_the_one_found_are_told(holding: Holding, package: Package) -> None:
    [finding] = judge(holding(stating_oxum(package(), "1.1"))).findings
    assert finding.text == "it states 1.1, found are 153700.2 (octets.files)."


def test_only_payload_oxum_is_one_in_any_case_of_letters(
    run: Run, holding: Holding, package: Package
) -> None:
    assert run(COMPLETE, holding(stating_oxum(package(), "1.1", label="PAYLOAD-OXUM")))
    assert run(COMPLETE, holding(stating_oxum(package(), "1.1", label="Payload-Oxum-2"))) == []


def test_repeated_oxums_are_told_once_by_this_rule(
    run: Run, holding: Holding, package: Package
) -> None:
    bag = stating_oxum(package(), "153700.2", "1.1", "2.2")
    assert run(COMPLETE, holding(bag)) == [("oxum-differs", "bag-info.txt:2")]


# tag-file-unlisted, manifest-unlisted


def test_a_tag_file_in_no_tag_manifest_is_noted(
    run: Run, holding: Holding, package: Package
) -> None:
    bag = without_line(package(), "bag-info.txt")
    assert run(COMPLETE, holding(bag)) == [("tag-file-unlisted", "bag-info.txt")]
    assert judge(holding(bag)).verdict is Verdict.PASS


def test_a_tag_file_in_one_tag_manifest_is_enough(
    run: Run, holding: Holding, package: Package
) -> None:
    bag = without_line(package(), "bag-info.txt", "tagmanifest-sha512.txt")
    assert run(COMPLETE, holding(bag)) == [("tag-manifests-differ", "tagmanifest-sha512.txt")]


def test_a_tag_manifest_by_another_algorithm_than_the_payload_s(
    run: Run, holding: Holding, package: Package
) -> None:
    manifests = tuple(m for m in package().manifests if m.name != "manifest-sha512.txt")
    tags = without_line(package(manifests=manifests), "manifest-sha512.txt")
    files = tuple(f for f in tags.files if f.path != "manifest-sha512.txt")
    bag = replace(tags, files=files)
    assert run(COMPLETE, holding(bag)) == [("tag-manifests-differ", "tagmanifest-sha512.txt")]


def test_a_tag_manifest_that_is_gone_while_another_stands(
    run: Run, holding: Holding, package: Package
) -> None:
    """RFC 8493 §2.2.1: tag manifests should use the payload manifests' algorithms."""
    gone = "tagmanifest-sha512.txt"
    bag = package(
        manifests=tuple(m for m in package().manifests if m.name != gone),
        files=tuple(f for f in package().files if f.path != gone),
    )
    assert run(COMPLETE, holding(bag)) == [("tag-manifests-differ", gone)]


@pytest.mark.parametrize("name", ["tagmanifest-sha512.txt.bak", "tagmanifest-sha512.tx"])
def test_a_file_called_nearly_as_a_tag_manifest(
    run: Run, holding: Holding, package: Package, name: str
) -> None:
    bag = package(files=(*package().files, FoundFile(path=name, octets=1)))
    assert run(COMPLETE, holding(bag)) == [("tag-file-unlisted", name)]


def test_a_tag_manifest_without_a_payload_manifest(
    run: Run, holding: Holding, package: Package
) -> None:
    bag = without_line(package(), "manifest-sha256.txt", "tagmanifest-sha512.txt")
    assert run(COMPLETE, holding(bag)) == [
        ("manifest-unlisted", "tagmanifest-sha512.txt"),
        ("tag-manifests-differ", "tagmanifest-sha512.txt"),
    ]


def test_a_bag_without_tag_manifests_is_complete(
    run: Run, holding: Holding, package: Package
) -> None:
    manifests = tuple(m for m in package().manifests if not m.is_tag)
    assert run(COMPLETE, holding(package(manifests=manifests))) == []


def test_only_a_tag_manifest_of_the_base_directory_lists_itself_in_nothing(
    run: Run, holding: Holding, package: Package
) -> None:
    below = FoundFile(path="tagmanifest-old/md5.txt", octets=1)
    at_base = FoundFile(path="tagmanifest-md5.txt", octets=1)
    bag = package(files=(*package().files, below, at_base))
    assert run(COMPLETE, holding(bag)) == [("tag-file-unlisted", below.path)]


def test_what_a_stranger_named_is_safe_to_print(
    run: Run, holding: Holding, package: Package
) -> None:
    line = ManifestLine(path="data/\x1b[2J", digest="0" * 64, line=3)
    first, *rest = package().manifests
    bag = package(manifests=(replace(first, lines=(*first.lines, line)), *rest))
    assert run(COMPLETE, holding(bag)) == [("file-missing", "data/\\x1b[2J")]
