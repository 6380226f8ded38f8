"""Judging packages: one changed bit is found and the right file named; strangers' bags work too."""

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import UsageError
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Silent
from tailsout.records.dossier import Depth
from tailsout.work.check import Checked, check
from tailsout.work.close_out import close


@pytest.fixture
def package(bench: Any, around: Callable[..., Any]) -> Path:
    bench.fill(bench.wave(frames=48_000, own=bench.own_bext()))
    assert close(bench.job, bench.out, around()).built is not None
    place: Path = bench.package
    return place


def judged(path: Path) -> Judgement:
    return check(path, Silent()).judgement


def found(path: Path) -> dict[str, set[str]]:
    """Places of the findings by code."""
    places: dict[str, set[str]] = {}
    for finding in judged(path).findings:
        places.setdefault(finding.code, set()).add(str(finding.place))
    return places


def flip(path: Path, at: int) -> None:
    content = bytearray(path.read_bytes())
    content[at] ^= 1
    path.write_bytes(content)


def test_our_own_package_passes_every_check(package: Path) -> None:
    judgement = judged(package)
    assert judgement.findings == ()
    left_out = {check.name: check.why for check in judgement.checks if check.outcome != "passed"}
    assert left_out == {
        "BagIt Profile": "no BagIt Profile was given",
        "descriptions by their official schemas": "no official schemas were given",
        "samples measured again": "it was not asked for",
    }
    assert judgement.verdict is Verdict.PASS


def test_nothing_is_written(bench: Any, package: Path) -> None:
    before = bench.tree(bench.root, times=True)
    check(package, Silent())
    assert bench.tree(bench.root, times=True) == before


def test_a_bit_of_the_audio(package: Path) -> None:
    master = package / "data/audio/a.wav"
    flip(master, -100)
    assert found(package) == {
        "digest-differs": {"data/audio/a.wav"},
        "essence-differs": {"data/audio/a.wav#data"},
    }
    assert judged(package).verdict is Verdict.FAIL


def test_a_bit_of_the_bext_chunk(package: Path) -> None:
    """LoudnessValue, at octet 412 of the payload (EBU Tech 3285 v2 §2.3)."""
    flip(package / "data/audio/a.wav", 20 + 412)
    places = found(package)
    assert places["digest-differs"] == {"data/audio/a.wav"}
    assert places["bext-loudness-differs"] == {"data/audio/a.wav#bext.LoudnessValue"}
    assert "essence-differs" not in places


def test_a_bit_of_the_side_car(package: Path) -> None:
    car = package / "data/audio/a.json"
    flip(car, car.read_bytes().index(b"Saltpan Row"))
    assert found(package) == {"digest-differs": {"data/audio/a.json"}}


def test_a_bit_of_a_manifest(package: Path) -> None:
    flip(package / "manifest-sha512.txt", 0)
    assert found(package)["digest-differs"] == {"manifest-sha512.txt", "data/audio/a.json"}


@pytest.mark.parametrize(
    "name", ["bag-info.txt", "metadata/README.txt", "metadata/as-captured/a.bext"]
)
def test_a_bit_of_a_tag_file(package: Path, name: str) -> None:
    flip(package / name, 30)
    assert found(package) == {"digest-differs": {name}}
    assert judged(package).verdict is Verdict.FAIL


@pytest.mark.parametrize("name", ["data/audio/a.wav", "metadata/README.txt"])
def test_a_file_that_is_gone(package: Path, name: str) -> None:
    (package / name).unlink()
    assert found(package)["file-missing"] == {name}


def test_a_side_car_that_lies_is_found_though_all_digests_agree(
    package: Path, reseal: Callable[[Path], None]
) -> None:
    car = package / "data/audio/a.json"
    told = json.loads(car.read_text())
    told["this_file"]["measured"]["frames"] += 1
    car.write_text(json.dumps(told))
    reseal(package)
    places = found(package)
    assert places.pop("oxum-differs") == {"bag-info.txt:7"}
    assert places == {"sidecar-audio-differs": {"data/audio/a.json#/this_file/measured/frames"}}


def test_a_side_car_that_is_no_json(package: Path) -> None:
    (package / "data/audio/a.json").write_bytes(b'{"schema": "urn:tailsout:schema:sidecar:0.1"')
    assert found(package)["sidecar-not-json"] == {"data/audio/a.json"}


def test_somebody_elses_json_beside_audio_is_no_side_car_of_ours(
    package: Path, reseal: Callable[[Path], None]
) -> None:
    (package / "data/audio/a.json").write_bytes(b'{"title": "a list of cues"}')
    reseal(package)
    checked = check(package, Silent())
    assert checked.dossier.transfer is None
    codes = {f.code for f in checked.judgement.findings}
    assert codes == {"oxum-differs", "sidecar-missing"}
    assert outcomes(checked)["side-car schema"] == "not examined"


def test_audio_that_cannot_be_read_is_told_by_the_proof(
    package: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tailsout.bag.open import OpenBag  # noqa: PLC0415  patched here alone
    from tailsout.ground.errors import SurroundingsError  # noqa: PLC0415

    stream = OpenBag.stream

    def fails(self: OpenBag, path: str) -> Any:
        if path.endswith(".wav"):
            raise SurroundingsError("Opening it failed: Input/output error.")
        return stream(self, path)

    monkeypatch.setattr(OpenBag, "stream", fails)
    places = found(package)
    assert places["file-unreadable"] == {"data/audio/a.wav"}
    assert judged(package).verdict is Verdict.NOT_EXAMINED


def test_what_was_answered_of_a_capture_stays_answered_in_its_master(
    bench: Any, around: Callable[..., Any]
) -> None:
    """A fault of the format goes with the audio, octets behind the end stay behind."""
    content = bytearray(bench.wave())
    at = content.index(b"fmt ") + 8 + 8
    content[at : at + 4] = bytes(4)  # nAvgBytesPerSec
    answers = "".join(
        f'[[answers]]\ncode = "{code}"\nplace = "{place}"\ndecision = "accepted as is"\n'
        'reason = "the recorder writes it so"\nby = "M. Quay"\non = 2026-03-16\n'
        for code, place in (
            ("wave-format-contradicts", "a fmt-byte-rate"),
            ("wave-octets-behind-end", "a trailing-octets"),
        )
    )
    bench.fill(bytes(content) + bytes(512), more=answers)

    outcome = close(bench.job, bench.out, around())
    assert outcome.built is not None
    assert outcome.judgement.verdict is Verdict.PASS

    judgement = judged(bench.package)
    assert judgement.verdict is Verdict.PASS
    [finding] = judgement.findings
    assert (finding.code, finding.place.part) == ("wave-format-contradicts", "fmt-byte-rate")
    assert "the recorder writes it so" in finding.answered


# Strangers' bags


@pytest.fixture
def foreign(bench: Any, bagit: Any) -> Path:
    place: Path = bench.root / "foreign"
    (place / "sub").mkdir(parents=True)
    (place / "sub" / "take.wav").write_bytes(bench.wave())
    (place / "notes.txt").write_text("tails out\n")
    bagit.make_bag(str(place), {"Source-Organization": "Harbour Archive"}, checksums=["sha256"])
    return place


def outcomes(checked: Checked) -> dict[str, str]:
    return {one.name: one.outcome for one in checked.judgement.checks}


def test_a_bag_without_a_side_car_is_judged_on_what_it_says(foreign: Path) -> None:
    """Made by the Library of Congress's `bagit`."""
    checked = check(foreign, Silent())
    assert checked.dossier.transfer is None
    findings = [(f.code, str(f.place)) for f in checked.judgement.findings]
    assert findings == [("sidecar-missing", "data/sub/take.wav")]
    assert checked.judgement.verdict is Verdict.PASS
    done = outcomes(checked)
    decided = ("structure of the bag", "completeness", "fixity", "containers")
    assert {name: done[name] for name in decided} == dict.fromkeys(decided, "passed")
    assert done["regions inside the audio"] == "not examined"


def test_damage_to_a_strangers_bag_is_found(foreign: Path) -> None:
    flip(foreign / "data/sub/take.wav", -1)
    assert found(foreign)["digest-differs"] == {"data/sub/take.wav"}


def test_a_wave_file_that_is_none_is_damage(bench: Any, bagit: Any) -> None:
    place = bench.root / "foreign"
    place.mkdir()
    (place / "take.wav").write_bytes(b"fLaC" + bytes(100))
    bagit.make_bag(str(place), checksums=["sha256"])
    assert found(place)["wave-unknown-form"] == {"data/take.wav#octet 0"}


def test_a_folder_that_is_no_bag_fails(bench: Any) -> None:
    (bench.root / "plain").mkdir()
    assert {"bag-no-bagit-txt", "bag-no-payload-manifest"} <= set(found(bench.root / "plain"))


def test_what_is_no_folder_is_no_package(bench: Any) -> None:
    for name, said in (("nothing", "is not a directory"), ("job/job.toml", "is neither a folder")):
        bench.form({})
        with pytest.raises(UsageError, match=said):
            check(bench.root / name, Silent())


def test_a_moved_package_is_the_same(package: Path, bench: Any) -> None:
    shutil.move(package, bench.root / "elsewhere")
    assert judged(bench.root / "elsewhere").findings == ()


# The receipt beside it


def altered_and_sealed_anew(package: Path) -> None:
    """Change a tag file, and list it so that the bag is valid again."""
    info = package / "bag-info.txt"
    before, after = info.read_bytes(), info.read_bytes() + b"Contact-Name: nobody\n"
    info.write_bytes(after)
    for place in package.glob("tagmanifest-*.txt"):
        algorithm = place.name[12:-4]
        old, new = (hashlib.new(algorithm, one).hexdigest() for one in (before, after))
        place.write_text(place.read_text().replace(old, new))


def test_what_only_the_receipt_knows(package: Path) -> None:
    receipt = package.with_name(f"{package.name}.receipt.json")
    assert receipt.is_file()
    assert found(package) == {}
    altered_and_sealed_anew(package)
    assert found(package) == {"receipt-differs": {receipt.name}}
    checked = check(package, Silent())
    assert checked.judgement.verdict is Verdict.FAIL
    # It is a bag in good order all the same.
    assert checked.bag is not None
    assert checked.bag.word == "valid"
    assert check(package, Silent(), depth=Depth.STRUCTURE).judgement.verdict is Verdict.FAIL
    assert check(package, Silent(), bagit_only=True).judgement.verdict is Verdict.PASS
    receipt.unlink()
    assert found(package) == {}


def test_a_receipt_beside_an_archive(package: Path) -> None:
    altered_and_sealed_anew(package)
    archive = package.with_name(f"{package.name}.zip")
    shutil.make_archive(str(package), "zip", package.parent, package.name)
    places = found(archive)
    assert places["receipt-differs"] == {f"{package.name}.receipt.json"}


def test_the_receipt_of_another_package_is_asked_about(package: Path) -> None:
    place = package.rename(package.with_name("TT-9"))
    receipt = package.with_name(f"{package.name}.receipt.json").rename(
        package.with_name("TT-9.receipt.json")
    )
    assert found(place)["receipt-unread"] == {receipt.name}
