"""What side-cars tell of access copies, against what lies in the package."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.access import AccessCopy, CopyStep
from tailsout.records.dossier import Dossier
from tailsout.records.facts import ContainerFacts, FoundFile, ManifestLine
from tailsout.rules.copies import RULES

COPY = AccessCopy(
    path="data/access/reel.flac",
    octets=4_000,
    sha256="a" * 64,
    sha512="b" * 128,
    format="FLAC",
    start=0,
    end=48_000,
    regions=("A1",),
    sample_rate_hz=44_100,
    channels=1,
    frames=44_100,
    clipped_samples=0,
    steps=(CopyStep(step="encoding", software="libsndfile", how="FLAC"),),
)


@pytest.fixture
def listening(received: Callable[..., Dossier]) -> Callable[..., Dossier]:
    def make(
        *, octets: int | None = COPY.octets, sha256: str = "a" * 64, **changed: Any
    ) -> Dossier:
        copy = replace(COPY, **changed)
        dossier = received()
        (file,) = dossier.files
        assert file.sidecar is not None
        assert file.stated is not None
        assert dossier.package is not None
        stated = replace(file.stated, copies=(copy,))
        file = replace(file, sidecar=replace(file.sidecar, this_file=stated))
        line = ManifestLine(path=COPY.path, digest=sha256, line=9)
        manifests = tuple(
            replace(one, lines=(*one.lines, line))
            if (one.algorithm, one.is_tag) == ("sha256", False)
            else one
            for one in dossier.package.manifests
        )
        found = () if octets is None else (FoundFile(path=COPY.path, octets=octets),)
        package = replace(
            dossier.package, manifests=manifests, files=(*dossier.package.files, *found)
        )
        return replace(dossier, files=(file,), package=package)

    return make


def met(dossier: Dossier) -> list[str]:
    return [finding.code for rule in RULES for finding in rule.run(dossier)]


def test_a_copy_as_it_is_told_of_is_no_matter(listening: Callable[..., Dossier]) -> None:
    assert met(listening()) == []


def test_one_that_is_not_there(listening: Callable[..., Dossier]) -> None:
    assert met(listening(octets=None)) == ["copy-missing"]


@pytest.mark.parametrize("how", [{"octets": 3_999}, {"sha256": "c" * 64}])
def test_one_that_is_another(listening: Callable[..., Dossier], how: dict[str, Any]) -> None:
    assert met(listening(**how)) == ["copy-differs"]


@pytest.mark.parametrize(
    ("changed", "kinds"),
    [
        ({"frames": 44_101}, []),
        ({"frames": 44_102}, ["copy-length-differs"]),
        ({"frames": 44_098}, ["copy-length-differs"]),
        ({"end": 48_001}, ["copy-length-differs"]),
        ({"start": 48_000}, ["copy-length-differs"]),
        (
            {
                "frames": 88_200,
                "steps": (CopyStep(step="speed correction", software="soxr", how="2:1"),),
            },
            [],
        ),
    ],
)
def test_one_that_lasts_otherwise(
    listening: Callable[..., Dossier], changed: dict[str, Any], kinds: list[Any]
) -> None:
    assert met(listening(**changed)) == kinds


def test_one_whose_header_says_otherwise(listening: Callable[..., Dossier]) -> None:
    dossier = listening()
    (master,) = dossier.files
    assert master.pcm is not None
    copy = replace(
        master,
        path=COPY.path,
        sidecar=None,
        frames=44_100,
        container=ContainerFacts(form="FLAC", chunks=()),
    )
    for rate, kinds in ((44_100, []), (48_000, ["copy-differs"])):
        pcm = replace(master.pcm, sample_rate_hz=rate)
        assert met(replace(dossier, files=(master, replace(copy, pcm=pcm)))) == kinds
