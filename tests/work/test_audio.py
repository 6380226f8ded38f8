"""FLAC captures from end to end: looked into, measured, closed as the wave files they stand for."""

import hashlib
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.mapping.strict_json import load
from tailsout.wave.flac import read_flac
from tailsout.wave.riff import read_layout
from tailsout.work.close_out import Outcome, close
from tailsout.work.measure import is_damaged, measure_file
from tailsout.work.show import show

MD5 = 26
"""Where the MD5 lies in a file of ours (RFC 9639 §8.2, from memory)."""
FRAMES = 21
"""Where the 32 lower bits of the number of samples begin; four more stand before."""
UNSTATED = {FRAMES: b"\x70", FRAMES + 1: bytes(4)}
"""24 bits end in the four upper bits of the first of these octets."""


@pytest.fixture
def source(bench: Any) -> bytes:
    """A capture with chunks of the recorder before and behind its audio."""
    content: bytes = bench.wave(own=bench.own_bext(), after=[(b"odd ", b"y"), (b"LIST", b"INFO")])
    return content


def job(bench: Any, content: bytes, name: str = "captures/a.flac", **how: Any) -> Path:
    path: Path = bench.put(name, content)
    bench.form({"a": name}, **how)
    return path


def codes(outcome: Outcome) -> list[str]:
    return [finding.code for finding in outcome.judgement.findings]


# Measured


def test_a_flac_file_is_measured_as_its_wave_file_is(bench: Any, source: bytes) -> None:
    seen, measured = measure_file(bench.put("a.flac", bench.flac(source)), Silent())
    plain, expected = measure_file(bench.put("a.wav", source), Silent())

    assert measured.facts == expected.facts
    assert (seen.layout, seen.bext) == (plain.layout, plain.bext)
    assert (seen.record.container.form, seen.record.container.damage) == ("FLAC", ())
    assert not is_damaged(seen)


def test_one_that_does_not_state_its_length_is_counted(bench: Any, source: bytes) -> None:
    content = bench.flac(source, changed=UNSTATED | {MD5: bytes(16)})
    seen, measured = measure_file(bench.put("a.flac", content), Silent())

    assert measured.facts.frames == bench.frames
    assert seen.bext is not None
    assert [fault.kind for fault in seen.record.container.damage] == [
        "flac-length-unstated",
        "flac-md5-unstated",
    ]


def test_one_that_is_damaged_is_measured_as_far_as_it_goes(bench: Any, source: bytes) -> None:
    content = bench.flac(source, changed={-1: b"\0"})
    seen, measured = measure_file(bench.put("a.flac", content), Silent())

    assert measured.facts.frames == 8192  # two blocks of the encoder's 4096 samples
    assert [fault.kind for fault in seen.record.container.damage] == ["flac-frame"]
    assert seen.record.container.damage[0].text.startswith("After 8192 samples")
    assert is_damaged(seen)


def test_one_whose_samples_are_others_is_told(bench: Any, source: bytes) -> None:
    content = bench.flac(source, changed={MD5: b"sixteen octets.."})
    seen, measured = measure_file(bench.put("a.flac", content), Silent())

    assert measured.facts.frames == bench.frames
    assert [fault.kind for fault in seen.record.container.damage] == ["flac-md5-differs"]


@pytest.mark.parametrize("octets", [0, 3, 30, 50])
def test_one_that_is_cut_in_its_metadata_holds_no_audio(
    bench: Any, source: bytes, octets: int
) -> None:
    path = bench.put("a.flac", bench.flac(source)[:octets])
    with pytest.raises(MaterialError, match="holds no audio that can be measured"):
        measure_file(path, Silent())


def test_one_without_a_frame_that_can_be_decoded_is_refused(bench: Any, source: bytes) -> None:
    content = bench.flac(source)
    start = read_flac(io.BytesIO(content)).audio_offset or 0
    path = bench.put("a.flac", content[: start + 20])
    with pytest.raises(MaterialError, match="After 0 samples the audio cannot be decoded"):
        measure_file(path, Silent())


# Shown


def test_a_flac_file_is_shown(bench: Any, source: bytes) -> None:
    page = show(bench.put("a.flac", bench.flac(source)), Silent()).page.decode()
    assert "FLAC (RFC 9639)" in page
    assert "Groyne recorder 4.2" in page


# Closed


def test_the_master_is_the_one_of_the_wave_file(
    bench: Any, around: Callable[..., Any], source: bytes
) -> None:
    flac = bench.flac(source)
    capture = job(bench, flac)
    outcome = close(bench.job, bench.out, around())

    assert codes(outcome) == ["flac-restored"]
    assert outcome.judgement.verdict is Verdict.PASS
    assert capture.read_bytes() == flac
    made = load((bench.package / "data/audio/a.json").read_bytes())["this_file"]
    assert made["made"] == "restored from FLAC"
    assert made["sources"] == [
        {
            "file": "captures/a.flac",
            "frames": bench.frames,
            "octets": len(flac),
            "sha256": hashlib.sha256(flac).hexdigest(),
            "time_reference": 1_788_816_000,
        }
    ]
    start = read_flac(io.BytesIO(flac)).audio_offset
    kept = bench.package / "metadata/as-captured/a.flac-metadata"
    assert kept.read_bytes() == flac[:start]

    master = (bench.package / "data/audio/a.wav").read_bytes()
    capture.unlink()
    job(bench, source, "captures/a.wav")
    assert codes(close(bench.job, bench.root / "again", around())) == []
    assert (bench.root / "again/TT-1/data/audio/a.wav").read_bytes() == master


def test_a_file_of_somebody_elses_encoder(bench: Any, around: Callable[..., Any]) -> None:
    """Without kept chunks, and 8 bits, which a wave file counts from 0."""
    pcm = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=8, valid_bits=8)
    whole = bench.flac(bench.wave(pcm, 3001))
    layout = read_flac(io.BytesIO(whole))
    plain = whole[:4] + b"\x80" + whole[5:42] + whole[layout.audio_offset :]
    job(bench, plain)
    close(bench.job, bench.out, around())

    with (bench.package / "data/audio/a.wav").open("rb") as stream:
        found = read_layout(stream)
        assert found.damage == ()
        assert found.pcm == pcm
        assert found.data is not None
        stream.seek(found.data.offset)
        assert stream.read(3001) == bench.samples(pcm, 3001)


MENDED: dict[str, tuple[dict[int, bytes], str]] = {
    "samples that are others": ({MD5: b"sixteen octets.."}, "flac-samples-differ"),
    "a frame that is broken": ({-1: b"\0"}, "flac-frame-broken"),
    "a format that cannot be": ({18: bytes(3)}, "flac-structure-broken"),
}


@pytest.mark.parametrize("name", MENDED)
def test_a_damaged_capture_is_not_packed(
    bench: Any, around: Callable[..., Any], source: bytes, name: str
) -> None:
    changed, code = MENDED[name]
    job(bench, bench.flac(source, changed=changed))
    outcome = close(bench.job, bench.out, around())

    assert outcome.judgement.verdict is Verdict.FAIL
    assert code in codes(outcome)
    assert bench.left() == []


def test_a_capture_that_proves_nothing_is_packed_and_told(
    bench: Any, around: Callable[..., Any], source: bytes
) -> None:
    job(bench, bench.flac(source, changed={MD5: bytes(16)}))
    outcome = close(bench.job, bench.out, around())
    assert codes(outcome) == ["flac-unproved", "flac-restored"]
    assert outcome.judgement.verdict is Verdict.PASS


def test_a_capture_of_a_width_that_is_not_decoded(
    bench: Any, around: Callable[..., Any], source: bytes
) -> None:
    # 24 bits become 20: 10111 becomes 10011, across two octets.
    content = bench.flac(source)
    assert content[20] & 1 == 1
    assert content[21] >> 4 == 7
    job(bench, bench.flac(source, changed={21: bytes([0x30 | content[21] & 15])}))
    with pytest.raises(MaterialError, match="Samples of 20 bits, as they lie here"):
        close(bench.job, bench.out, around())


@pytest.mark.parametrize(
    ("name", "code"),
    [("captures/a.wav", "wave-unknown-form"), ("captures/a.flac", "flac-structure-broken")],
)
def test_a_name_that_lies(
    bench: Any, around: Callable[..., Any], source: bytes, name: str, code: str
) -> None:
    job(bench, bench.flac(source) if name.endswith(".wav") else source, name)
    outcome = close(bench.job, bench.out, around())
    assert code in codes(outcome)
    assert outcome.judgement.verdict is Verdict.FAIL


PARTS = """
[[captures.parts]]
file = "captures/a.flac"
[[captures.parts]]
file = "captures/b.flac"
"""


def test_parts_are_joined(bench: Any, around: Callable[..., Any]) -> None:
    starts = [bench.own_bext(time_reference=at) for at in (0, bench.frames)]
    for name, start in zip("ab", starts, strict=True):
        bench.put(f"captures/{name}.flac", bench.flac(bench.wave(own=start)))
    bench.form({"a": "captures/a.flac"})
    form = bench.job / "job.toml"
    form.write_text(form.read_text() + PARTS)
    outcome = close(bench.job, bench.out, around())

    assert codes(outcome) == ["flac-restored", "flac-restored"]
    made = load((bench.package / "data/audio/a.json").read_bytes())["this_file"]
    assert (made["made"], made["measured"]["frames"]) == ("joined", 2 * bench.frames)
    assert [one["sha256"] for one in made["sources"]] == [
        hashlib.sha256((bench.job / f"captures/{name}.flac").read_bytes()).hexdigest()
        for name in "ab"
    ]
    kept = sorted(p.name for p in (bench.package / "metadata/as-captured").iterdir())
    assert kept == ["a.flac-metadata", "b.flac-metadata"]


def test_a_part_whose_samples_are_others_is_named(bench: Any, around: Callable[..., Any]) -> None:
    for name, at in (("a", 0), ("b", bench.frames)):
        content = bench.wave(own=bench.own_bext(time_reference=at))
        changed = {MD5: b"sixteen octets.."} if name == "b" else {}
        bench.put(f"captures/{name}.flac", bench.flac(content, changed=changed))
    bench.form({"a": "captures/a.flac"})
    form = bench.job / "job.toml"
    form.write_text(form.read_text() + PARTS)
    outcome = close(bench.job, bench.out, around())

    [finding] = [f for f in outcome.judgement.findings if f.code == "flac-samples-differ"]
    assert finding.text.startswith("captures/b.flac: The MD5 of the samples is ")


def test_mono_files_are_interleaved(bench: Any, around: Callable[..., Any]) -> None:
    (bench.studio / "recipients" / "archive.toml").write_text(
        'id = "archive"\nname = "Harbour Archive"\ninterleave = true\n'
    )
    for name in "ab":
        bench.put(f"captures/{name}.flac", bench.flac(bench.wave(own=bench.own_bext())))
    bench.form({"a": "captures/a.flac"}, top='recipient = "archive"')
    form = bench.job / "job.toml"
    form.write_text(form.read_text() + 'mono_files = ["captures/a.flac", "captures/b.flac"]\n')
    close(bench.job, bench.out, around())
    made = load((bench.package / "data/audio/a.json").read_bytes())["this_file"]
    assert (made["made"], made["pcm"]["channels"]) == ("interleaved", 2)
    assert made["measured"]["frames"] == bench.frames
