"""Packages with FLAC in them: walked here, decoded in a process of its own, then judged."""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.records.dossier import Depth
from tailsout.work import limited
from tailsout.work.check import check
from tailsout.work.close_out import close


@pytest.fixture
def flac_bag(
    bench: Any, around: Callable[..., Any], reseal: Callable[[Path], None]
) -> Callable[..., list[tuple[str, str]]]:
    """What is found in a package whose master was exchanged for a FLAC file."""

    def found(content: bytes, *, name: str = "a.flac", alone: bool = True) -> list[tuple[str, str]]:
        bench.fill(bench.wave(own=bench.own_bext()))
        close(bench.job, bench.out, around())
        audio = bench.package / "data" / "audio"
        (audio / name).write_bytes(content)
        if alone:
            (audio / "a.wav").unlink()
        reseal(bench.package)
        findings = check(bench.package, Silent(), depth=Depth.DEEP).judgement.findings
        return [(f.code, str(f.place)) for f in findings]

    return found


def master_of(bench: Any, around: Callable[..., Any]) -> bytes:
    bench.fill(bench.wave(own=bench.own_bext()))
    close(bench.job, bench.root / "before", around())
    content: bytes = (bench.root / "before/TT-1/data/audio/a.wav").read_bytes()
    return content


def test_a_master_made_flac_is_held_against_its_side_car(
    bench: Any, around: Callable[..., Any], flac_bag: Callable[..., list[tuple[str, str]]]
) -> None:
    """Another file lies there than the side-car names; its samples and its bext are the same."""
    found = dict.fromkeys(flac_bag(bench.flac(master_of(bench, around))))
    assert {code for code, _ in found} == {"sidecar-audio-differs", "oxum-differs"}
    assert ("sidecar-audio-differs", "data/audio/a.json#/this_file/path") in found
    assert ("sidecar-audio-differs", "data/audio/a.json#/this_file/measured/frames") not in found


def test_other_samples_in_flac_are_told(
    bench: Any, flac_bag: Callable[..., list[tuple[str, str]]]
) -> None:
    found = flac_bag(bench.flac(bench.wave(frames=bench.frames - 1)))
    assert ("essence-differs", "data/audio/a.flac#data") in found


@pytest.mark.parametrize(
    ("changed", "code", "verdict"),
    [
        ({}, None, Verdict.PASS),
        ({26: bytes(16)}, "flac-unproved", Verdict.PASS),
        ({26: b"sixteen octets.."}, "flac-samples-differ", Verdict.FAIL),
        ({-1: b"\0"}, "flac-frame-broken", Verdict.FAIL),
        ({18: bytes(3)}, "flac-structure-broken", Verdict.FAIL),
        ({21: b"\x30"}, "flac-not-decoded", Verdict.NOT_EXAMINED),
        ({0: b"RIFF"}, "flac-structure-broken", Verdict.FAIL),
    ],
)
def test_flac_in_somebody_elses_bag(
    bench: Any,
    bag_of: Callable[..., Path],
    changed: dict[int, bytes],
    code: str | None,
    verdict: Verdict,
) -> None:
    place = bag_of({"data/reel.flac": bench.flac(bench.wave(), changed=changed)})
    judgement = check(place, Silent(), depth=Depth.DEEP).judgement
    found = {f.code for f in judgement.findings} - {"sidecar-missing"}
    assert code in found if code else not found
    assert judgement.verdict is verdict


def test_flac_beside_the_wave_file_leaves_the_side_car_to_it(
    bench: Any, around: Callable[..., Any], flac_bag: Callable[..., list[tuple[str, str]]]
) -> None:
    found = flac_bag(bench.flac(bench.wave()), alone=False)
    assert {code for code, _ in found} == {"oxum-differs", "sidecar-missing"}


def test_flac_that_states_no_length_is_counted(bench: Any, bag_of: Callable[..., Path]) -> None:
    content = bench.flac(bench.wave(), changed={21: b"\x70", 22: bytes(4)})
    checked = check(bag_of({"data/reel.flac": content}), Silent(), depth=Depth.DEEP)
    [file] = checked.dossier.files
    assert (file.frames, file.container.form) == (bench.frames, "FLAC")
    audio = bench.samples(bench.pcm, bench.frames)
    assert file.essence_sha256 == hashlib.sha256(audio).hexdigest()


def test_a_decoder_that_breaks_down_leaves_the_package_unjudged(
    bench: Any, bag_of: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limited, "_START", "import os; os.abort()")
    place = bag_of({"data/reel.flac": bench.flac(bench.wave())})
    judgement = check(place, Silent(), depth=Depth.DEEP).judgement
    assert judgement.verdict is Verdict.NOT_EXAMINED
    [finding] = [f for f in judgement.findings if f.code == "flac-not-proved"]
    assert finding.text == "the process that decodes it broke down (exit -6)."
