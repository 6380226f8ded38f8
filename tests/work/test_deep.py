"""Packages looked into to the last sample: measured again, FLAC by the child that decodes it."""

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.records.dossier import Depth, FileRecord
from tailsout.work import limited
from tailsout.work.check import Checked, check
from tailsout.work.close_out import close


def deep(package: Path) -> Checked:
    return check(package, Silent(), depth=Depth.DEEP)


def outcome(checked: Checked) -> str:
    [told] = [c for c in checked.judgement.checks if c.name == "samples measured again"]
    return told.outcome


@pytest.fixture
def package(bench: Any, around: Callable[..., Any]) -> Path:
    bench.fill(bench.wave(frames=48_000, own=bench.own_bext()))
    assert close(bench.job, bench.out, around()).built is not None
    place: Path = bench.package
    return place


def only(checked: Checked) -> FileRecord:
    [file] = checked.dossier.files
    return file


def test_our_own_package_shows_what_it_states(package: Path) -> None:
    checked = deep(package)
    assert checked.judgement.findings == ()
    assert outcome(checked) == "passed"
    file = only(checked)
    assert file.stated is not None
    assert file.measured == file.stated.measured
    assert file.overview == file.stated.overview is not None


def test_at_the_usual_depth_nothing_is_measured(package: Path) -> None:
    checked = check(package, Silent())
    assert only(checked).measured is None
    assert outcome(checked) == "not examined"


def test_a_side_car_that_lies_of_the_samples(package: Path, reseal: Callable[[Path], None]) -> None:
    car = package / "data/audio/a.json"
    told = json.loads(car.read_text())
    told["this_file"]["measured"]["sample_peak_dbfs"] = -40.0
    car.write_text(json.dumps(told))
    reseal(package)
    usual = {f.code for f in check(package, Silent()).judgement.findings}
    assert {f.code for f in deep(package).judgement.findings} - usual == {"measured-otherwise"}


def test_a_waveform_that_was_falsified_is_found(
    package: Path, reseal: Callable[[Path], None]
) -> None:
    car = package / "data/audio/a.json"
    told = json.loads(car.read_text())
    course = told["this_file"]["overview"]["channels"][0]
    course["rms"] = " ".join("0" for _ in course["rms"].split())
    car.write_text(json.dumps(told))
    reseal(package)
    usual = {f.code for f in check(package, Silent()).judgement.findings}
    assert {f.code for f in deep(package).judgement.findings} - usual == {
        "overview-measured-otherwise"
    }


@pytest.mark.parametrize("suffix", ["wav", "flac"])
def test_a_strangers_file_is_measured(bench: Any, bag_of: Callable[..., Path], suffix: str) -> None:
    content = bench.wave(frames=48_000)
    bag = bag_of({f"data/reel.{suffix}": bench.flac(content) if suffix == "flac" else content})
    checked = deep(bag)
    facts = only(checked).measured
    assert facts is not None
    audio = bench.samples(bench.pcm, 48_000)
    assert (facts.frames, facts.essence_sha256) == (48_000, hashlib.sha256(audio).hexdigest())
    assert only(checked).essence_sha256 == facts.essence_sha256
    assert {f.code for f in checked.judgement.findings} == {"sidecar-missing"}


def test_flac_and_wave_of_one_sound_measure_alike(bench: Any, bag_of: Callable[..., Path]) -> None:
    content = bench.wave(frames=48_000)
    bag = bag_of({"data/a.wav": content, "data/b.flac": bench.flac(content)})
    one, other = deep(bag).dossier.files
    assert one.measured is not None
    assert one.measured == other.measured
    assert one.overview == other.overview is not None


@pytest.mark.parametrize(
    ("path", "make", "verdict"),
    [
        ("data/a.wav", lambda bench: bench.wave()[:-500], Verdict.FAIL),
        ("data/a.wav", lambda _: b"Dear archive", Verdict.FAIL),
        ("data/a.flac", lambda b: b.flac(b.wave(), changed={-1: b"\0"}), Verdict.FAIL),
    ],
)
def test_what_cannot_be_measured_is_told_and_no_more(
    bench: Any,
    bag_of: Callable[..., Path],
    path: str,
    make: Callable[[Any], bytes],
    verdict: Verdict,
) -> None:
    bag = bag_of({path: make(bench)})
    checked = deep(bag)
    assert only(checked).measured is None
    assert "samples-not-measured" in {f.code for f in checked.judgement.findings}
    usual = check(bag, Silent()).judgement
    assert checked.judgement.verdict is verdict
    assert "samples-not-measured" not in {f.code for f in usual.findings}


def test_flac_of_samples_that_no_meter_takes_is_proved_all_the_same(
    bench: Any, bag_of: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    from tailsout.ground.errors import MaterialError  # noqa: PLC0415  used here alone
    from tailsout.measure import onepass  # noqa: PLC0415  numpy is loaded where it is wanted

    def refuses(*_: object, **__: object) -> None:
        raise MaterialError("Nobody measures such samples.")

    monkeypatch.setattr(onepass, "measure", refuses)
    checked = deep(bag_of({"data/reel.flac": bench.flac(bench.wave())}))
    audio = bench.samples(bench.pcm, bench.frames)
    assert only(checked).essence_sha256 == hashlib.sha256(audio).hexdigest()
    [finding] = [f for f in checked.judgement.findings if f.code == "samples-not-measured"]
    assert finding.text == "Nobody measures such samples."
    assert checked.judgement.verdict is Verdict.PASS


ENDS_IN_A_BLOCK = "import sys; sys.stdout.write('12\\nabc')"
SAYS_TOO_MUCH = "import sys; sys.stdout.write('9' * 30 + '\\n')"
SAYS_NOTHING = ""


@pytest.mark.parametrize("code", [ENDS_IN_A_BLOCK, SAYS_TOO_MUCH, SAYS_NOTHING])
def test_a_child_that_sends_something_else(
    bench: Any, bag_of: Callable[..., Path], monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    monkeypatch.setattr(limited, "_START", code)
    checked = deep(bag_of({"data/reel.flac": bench.flac(bench.wave())}))
    [finding] = [f for f in checked.judgement.findings if f.code == "flac-not-proved"]
    assert finding.text == "what the process that decodes it answered makes no sense."
    assert only(checked).measured is None
    assert checked.judgement.verdict is Verdict.NOT_EXAMINED
