"""Fixity (RFC 8493 §3), each kind with a case that yields it and a near miss."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.dossier import Dossier
from tailsout.records.facts import InfoLine, Manifest, ManifestLine, PackageFacts
from tailsout.rules import judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
FIXITY = "fixity"
AUDIO, BESIDE = "data/audio/reel.wav", "data/audio/reel.json"


@pytest.fixture
def holding(received: Callable[..., Dossier]) -> Callable[[PackageFacts], Dossier]:
    return lambda package: received(package=package)


Holding = Callable[[PackageFacts], Dossier]
Package = Callable[..., PackageFacts]


def without_file(package: PackageFacts, path: str) -> PackageFacts:
    return replace(package, files=tuple(f for f in package.files if f.path != path))


def with_file(package: PackageFacts, path: str, **changes: object) -> PackageFacts:
    files = tuple(
        replace(f, **changes) if f.path == path else f  # type: ignore[arg-type]  # fields by name
        for f in package.files
    )
    return replace(package, files=files)


def stating_oxum(package: PackageFacts, *values: str, label: str = "Payload-Oxum") -> PackageFacts:
    lines = (InfoLine(label=label, value=v, line=n) for n, v in enumerate(values, start=1))
    rest = (line for line in package.bag_info if line.label.lower() != "payload-oxum")
    return replace(package, bag_info=(*lines, *rest))


def test_a_sound_bag_yields_nothing(run: Run, received: Callable[..., Dossier]) -> None:
    assert run(FIXITY, received()) == []


# digest-differs


def test_one_wrong_digest_is_told_with_its_line(holding: Holding, package: Package) -> None:
    changed = {"sha256": "2" * 64, "sha512": "f" * 128}
    [found, *_] = [
        f
        for f in judge(holding(with_file(package(), AUDIO, digests=changed))).findings
        if f.code == "digest-differs"
    ]
    assert str(found.place) == AUDIO
    wrong, _, right = found.text.partition("; it is the one in ")
    assert wrong == "its digest is not the one in manifest-sha512.txt:1"
    assert right == "manifest-sha256.txt:1."


def test_sound_that_is_whole_under_a_changed_header_is_told(
    holding: Holding, package: Package
) -> None:
    changed = with_file(package(), AUDIO, digests={"sha256": "f" * 64, "sha512": "f" * 128})
    [found] = [f for f in judge(holding(changed)).findings if f.code == "digest-differs"]
    assert found.text.endswith("; its samples have the SHA-256 that the side-car states.")


def test_a_file_with_two_wrong_digests_is_told_once(
    run: Run, holding: Holding, package: Package
) -> None:
    changed = {"sha256": "f" * 64, "sha512": "f" * 128}
    bag = with_file(package(), AUDIO, digests=changed)
    assert run(FIXITY, holding(bag)) == [("digest-differs", AUDIO)]


def test_letter_case_of_a_digest_is_no_difference(
    run: Run, holding: Holding, package: Package
) -> None:
    # RFC 8493 §2.1.3: hexadecimal digits may be of either case.
    upper = tuple(
        replace(m, lines=tuple(line._replace(digest=line.digest.upper()) for line in m.lines))
        for m in package().manifests
    )
    assert run(FIXITY, holding(package(manifests=upper))) == []


def test_a_file_that_is_not_there_has_no_digest_to_differ(
    run: Run, holding: Holding, package: Package
) -> None:
    assert run(FIXITY, holding(without_file(package(), AUDIO))) == []


def test_a_digest_of_no_known_algorithm_is_not_compared(
    run: Run, holding: Holding, package: Package
) -> None:
    line = ManifestLine(path=AUDIO, digest="0", line=1)
    other = Manifest(name="manifest-crc.txt", algorithm="crc", is_tag=False, lines=(line,))
    bag = package(manifests=(*package().manifests, other))
    assert run(FIXITY, holding(bag)) == []


# fixity-not-verifiable


def test_only_unknown_algorithms_leave_nothing_verified(
    run: Run, holding: Holding, package: Package
) -> None:
    unknown = Manifest(name="manifest-crc.txt", algorithm="crc", is_tag=False, lines=())
    tags = tuple(m for m in package().manifests if m.is_tag)
    bag = package(manifests=(unknown, *tags))
    assert run(FIXITY, holding(bag)) == [("fixity-not-verifiable", "manifest-crc.txt")]


def test_without_any_payload_manifest_nothing_is_compared(
    run: Run, holding: Holding, package: Package
) -> None:
    assert run(FIXITY, holding(package(manifests=()))) == []


# algorithm-weak


@pytest.mark.parametrize(
    ("algorithms", "is_weak"),
    [(["md5"], True), (["md5", "sha1"], True), (["md5", "sha256"], False), (["crc"], False)],
)
def test_nothing_but_md5_or_sha1(
    run: Run, holding: Holding, package: Package, algorithms: list[str], *, is_weak: bool
) -> None:
    manifests = (
        Manifest(name=f"manifest-{one}.txt", algorithm=one, is_tag=False, lines=())
        for one in algorithms
    )
    codes = [code for code, _ in run(FIXITY, holding(package(manifests=tuple(manifests))))]
    assert ("algorithm-weak" in codes) is is_weak


# file-unreadable


def test_a_file_in_trouble_is_not_judged(run: Run, holding: Holding, package: Package) -> None:
    bag = with_file(package(), AUDIO, digests={}, trouble="It changed while it was read.")
    assert run(FIXITY, holding(bag)) == [("file-unreadable", AUDIO)]
    assert judge(holding(bag)).verdict is Verdict.NOT_EXAMINED
