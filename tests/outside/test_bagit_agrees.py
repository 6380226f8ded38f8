"""What we build is valid to others, and what others build we read.

Others: the library `bagit` (the Library of Congress), and `sha512sum`, `sha256sum` of coreutils.
"""

import importlib
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.build import build
from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.bag.plan import Made, Streamed, Written, make_plan
from tailsout.bag.prove import prove
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.records.facts import PackageFacts

LONG = "Transferred from the reel as found, " * 8 + "end"
INFO = (
    ("Source-Organization", "Schallarchiv Ä"),
    ("External-Description", LONG),
    ("Contact-Name", "b"),
    ("Contact-Name", "a"),
    ("External-Identifier", "urn:uuid:00000000-0000-0000-0000-000000000000"),
)


@pytest.fixture
def bagit() -> Any:
    return importlib.import_module("bagit")


@pytest.fixture
def ours(tmp_path: Path) -> Path:
    def listing(written: Mapping[str, Written]) -> bytes:
        return "\n".join(written).encode()

    plan = make_plan(
        name="reel-0001",
        payload=[
            Streamed(
                path="data/audio/a b.wav", octets=6, write=lambda take: _ignore(take(b"octets"))
            ),
            Made(path="data/audio/Ä#.json", make=listing),
            Made(path="data/audio/empty", make=lambda _written: b""),
            Made(path="data/audio-2/c", make=listing),
        ],
        tags=[Made(path="metadata/list.txt", make=listing)],
        bag_info=INFO,
        algorithms=("sha512", "sha256", "md5"),
    )
    return build(
        plan, tmp_path / "out", disk=Disk(), judge=lambda _stage: Verdict.PASS, progress=Silent()
    ).path


def _ignore(_result: object) -> None:
    return None


def facts_of(base: Path) -> PackageFacts:
    with open_bag(base) as bag:
        return prove(bag, spans={}, progress=Silent())


def mismatches(facts: PackageFacts) -> list[str]:
    found = {f.path: f.digests for f in facts.files}
    return [
        f"{manifest.name}:{line.line}"
        for manifest in facts.manifests
        for line in manifest.lines
        if found.get(line.path, {}).get(manifest.algorithm) != line.digest
    ]


def test_the_library_validates_what_we_build(ours: Path, bagit: Any) -> None:
    bag = bagit.Bag(str(ours))
    bag.validate(processes=1)
    assert bag.version_info == (1, 0)


def test_the_library_reads_the_values_we_wrote(ours: Path, bagit: Any) -> None:
    """A value is not folded: the library would hand it back with a line break in it."""
    info = bagit.Bag(str(ours)).info
    assert info["Contact-Name"] == ["b", "a"]
    assert info["External-Description"] == LONG
    assert [(i.label, i.value) for i in facts_of(ours).bag_info][: len(INFO)] == list(INFO)


def test_the_library_sees_the_same_damage(ours: Path, bagit: Any) -> None:
    place = ours / "data/audio/a b.wav"
    place.write_bytes(b"Octets")
    with pytest.raises(bagit.BagValidationError):
        bagit.Bag(str(ours)).validate(processes=1)
    # sha512, sha256 and md5 manifests: "data/audio/a b.wav" is the second line in order of path.
    assert len(mismatches(facts_of(ours))) == 3


@pytest.mark.parametrize("algorithm", ["sha512", "sha256", "md5"])
@pytest.mark.parametrize("kind", ["manifest", "tagmanifest"])
def test_coreutils_verify_every_manifest(ours: Path, kind: str, algorithm: str) -> None:
    command = [f"{algorithm}sum", "--check", "--strict", f"{kind}-{algorithm}.txt"]
    done = subprocess.run(command, cwd=ours, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.count(b": OK") == {"manifest": 4, "tagmanifest": 6}[kind]
    (ours / "data/audio/empty").write_bytes(b"x")
    (ours / "bagit.txt").write_bytes(b"x")
    assert subprocess.run(command, cwd=ours, capture_output=True, check=False).returncode == 1


@pytest.mark.parametrize("algorithms", [["md5"], ["sha1", "sha256"], ["sha512", "sha256"]])
def test_we_read_and_prove_what_the_library_builds(
    tmp_path: Path, bagit: Any, algorithms: list[str]
) -> None:
    base = tmp_path / "theirs"
    (base / "sub").mkdir(parents=True)
    (base / "a b.wav").write_bytes(b"octets")
    (base / "sub" / "Ä.txt").write_bytes(b"")
    (base / "100% [1].txt").write_bytes(b"x")
    bagit.make_bag(str(base), {"Contact-Name": ["b", "a"]}, checksums=algorithms)
    facts = facts_of(base)
    assert (facts.bagit_version, facts.encoding) == ("0.97", "UTF-8")
    assert facts.observations == ()
    assert mismatches(facts) == []
    assert [m.algorithm for m in facts.manifests if not m.is_tag] == sorted(algorithms)
    assert [i.value for i in facts.bag_info if i.label == "Contact-Name"] == ["b", "a"]
    (base / "data" / "a b.wav").write_bytes(b"Octets")
    assert len(mismatches(facts_of(base))) == len(algorithms)


def test_line_breaks_in_names_as_the_library_spells_them(tmp_path: Path, bagit: Any) -> None:
    """The library writes percent codes although it states 0.97, which has none."""
    base = tmp_path / "theirs"
    base.mkdir()
    (base / "a\nb").write_bytes(b"x")
    bagit.make_bag(str(base), checksums=["sha256"])
    facts = facts_of(base)
    assert {o.kind for o in facts.observations} == {"percent-raw", "name-controls"}
    assert mismatches(facts) == []
