"""Captures of several files, from the form to the package and back: parts and mono files.

That TimeReference counts samples since midnight: EBU Tech 3285 v2 §2.3.
"""

import hashlib
import io
import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.wave import bext
from tailsout.wave.riff import read_layout
from tailsout.work import replaced
from tailsout.work.check import check
from tailsout.work.close_out import Outcome, close
from tailsout.work.show import show

REGION = """
[[reel.sides]]
id = "A"
[[reel.sides.regions]]
id = "A1"
kind = "programme"
capture = "a"
start = {start}
end = {end}
"""


def put(
    bench: Any, names: list[str], references: list[int | None], **wave: Any
) -> dict[str, bytes]:
    """Lay files into the job; each sounds different and has chunks around its samples."""
    content = {}
    for number, (name, reference) in enumerate(zip(names, references, strict=True)):
        own = bench.own_bext(time_reference=reference) if reference is not None else None
        octets = bench.wave(
            own=own, before=[(b"JUNK", bytes(5))], after=[(b"note", b"of the recorder")], **wave
        )
        octets = octets.replace(
            bench.samples(wave.get("pcm", bench.pcm), wave.get("frames", bench.frames)),
            bench.samples(wave.get("pcm", bench.pcm), wave.get("frames", bench.frames), number + 1),
        )
        bench.put(name, octets)
        content[name] = octets
    return content


def form(
    bench: Any, files: str, *, first: str = "captures/1.wav", top: str = "", more: str = ""
) -> None:
    bench.form({"a": first}, top=top, more=more)
    with (bench.job / "job.toml").open("a") as out:
        out.write(files)


PARTS = 'parts = [{ file = "captures/1.wav" }, { file = "captures/2.wav" }]\n'
TRACKS = 'mono_files = ["captures/1.wav", "captures/2.wav"]\n'
NAMES = ["captures/1.wav", "captures/2.wav"]


def closed(bench: Any, around: Callable[..., Any], **how: Any) -> Outcome:
    before = bench.sources()
    outcome = close(bench.job, bench.out, around(), **how)
    # Only the logbook is written to.
    after = {name: facts for name, facts in bench.sources().items() if "/logbook" not in name}
    assert after == before
    return outcome


def audio_of(octets: bytes) -> bytes:
    layout = read_layout(io.BytesIO(octets))
    assert layout.data is not None
    return octets[layout.data.offset : layout.data.offset + layout.data.octets]


def masters(bench: Any) -> dict[str, bytes]:
    folder = bench.package / "data/audio"
    return {path.name: path.read_bytes() for path in sorted(folder.glob("*.wav"))}


def this_file(bench: Any, name: str) -> Any:
    return json.loads((bench.package / "data/audio" / name).read_text())["this_file"]


def codes(outcome: Outcome) -> set[str]:
    return {finding.code for finding in outcome.judgement.findings}


def test_parts_proved_gapless_become_one_master(bench: Any, around: Callable[..., Any]) -> None:
    sources = put(bench, NAMES, [1000, 1000 + bench.frames])
    form(bench, PARTS, more=REGION.format(start=10, end=2 * bench.frames))
    outcome = closed(bench, around)

    assert outcome.judgement.verdict is Verdict.PASS, codes(outcome)
    (octets,) = masters(bench).values()
    essence = b"".join(audio_of(one) for one in sources.values())
    assert audio_of(octets) == essence
    told = this_file(bench, "1.json")
    assert told["made"] == "joined"
    assert told["measured"]["frames"] == 2 * bench.frames
    assert told["measured"]["essence_sha256"] == hashlib.sha256(essence).hexdigest()
    assert told["sources"] == [
        {
            "file": name,
            "octets": len(content),
            "sha256": hashlib.sha256(content).hexdigest(),
            "frames": bench.frames,
            "time_reference": reference,
        }
        for (name, content), reference in zip(
            sources.items(), [1000, 1000 + bench.frames], strict=True
        )
    ]
    layout = read_layout(io.BytesIO(octets))
    own, damage = bext.decode(octets[layout.chunks[0].offset :][: layout.chunks[0].octets])
    assert own is not None
    assert (damage, own.time_reference, own.origination_date) == ((), 1000, "2026-03-14")
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS


def test_what_was_joined_can_be_taken_apart_again(bench: Any, around: Callable[..., Any]) -> None:
    """Octet for octet, with nothing but the package."""
    sources = put(bench, NAMES, [0, bench.frames])
    form(bench, PARTS)
    closed(bench, around)

    (octets,) = masters(bench).values()
    audio, kept = audio_of(octets), bench.package / "metadata/as-captured"
    half = len(audio) // 2
    for number, content in enumerate(sources.values(), start=1):
        before = (kept / f"{number}.before-audio").read_bytes()
        behind = (kept / f"{number}.behind-audio").read_bytes()
        assert before + audio[(number - 1) * half : number * half] + behind == content


@pytest.mark.parametrize("second", [None, 5])
def test_parts_without_proof_are_masters_of_their_own(
    bench: Any, around: Callable[..., Any], second: int | None
) -> None:
    sources = put(bench, NAMES, [0, second])
    form(bench, PARTS, more=REGION.format(start=bench.frames + 5, end=2 * bench.frames))
    outcome = closed(bench, around)

    assert outcome.judgement.verdict is Verdict.OPEN
    assert codes(outcome) == {"parts-not-joined"}
    assert {name: audio_of(octets) for name, octets in masters(bench).items()} == {
        "1.wav": audio_of(sources["captures/1.wav"]),
        "2.wav": audio_of(sources["captures/2.wav"]),
    }
    first, then = this_file(bench, "1.json"), this_file(bench, "2.json")
    assert (first["made"], then["made"]) == ("part", "part")
    assert ("starts_at" in first, then["starts_at"]) == (False, bench.frames)
    found = check(bench.package, Silent()).judgement
    assert (found.verdict, [one.code for one in found.findings]) == (
        Verdict.OPEN,
        ["parts-not-joined"],
    )
    (bench.package / "metadata/as-captured/1.bext").read_bytes()


def test_a_region_past_the_last_part_is_told(bench: Any, around: Callable[..., Any]) -> None:
    put(bench, NAMES, [0, 0])
    form(bench, PARTS, more=REGION.format(start=5, end=2 * bench.frames + 1))
    assert "region-outside" in codes(closed(bench, around))


def test_the_question_about_parts_can_be_answered(bench: Any, around: Callable[..., Any]) -> None:
    put(bench, NAMES, [0, None])
    answer = (
        '[[answers]]\ncode = "parts-not-joined"\nplace = "captures[1]"\n'
        'decision = "accepted as is"\nreason = "the recorder was restarted"\n'
        'by = "isolde"\non = 2026-03-15\n'
    )
    form(bench, PARTS, more=answer)
    assert closed(bench, around).judgement.verdict is Verdict.PASS
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS


def test_mono_files_are_kept_as_they_are(bench: Any, around: Callable[..., Any]) -> None:
    sources = put(bench, NAMES, [7, 7])
    form(bench, TRACKS)
    outcome = closed(bench, around)

    assert outcome.judgement.verdict is Verdict.PASS, codes(outcome)
    assert {name: audio_of(octets) for name, octets in masters(bench).items()} == {
        "1.wav": audio_of(sources["captures/1.wav"]),
        "2.wav": audio_of(sources["captures/2.wav"]),
    }
    told = [this_file(bench, name) for name in ("1.json", "2.json")]
    assert [(one["made"], one["track"], one["capture"]) for one in told] == [
        ("track", 1, "a"),
        ("track", 2, "a"),
    ]
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS


def wishing(bench: Any, more: str = "") -> str:
    path = bench.studio / "recipients" / "archive.toml"
    path.write_text(f"{path.read_text()}interleave = true\n{more}")
    return 'recipient = "archive"'


def test_mono_files_are_interleaved_on_request(bench: Any, around: Callable[..., Any]) -> None:
    sources = put(bench, NAMES, [7, 7])
    form(bench, TRACKS, top=wishing(bench))
    outcome = closed(bench, around)

    assert outcome.judgement.verdict is Verdict.PASS, codes(outcome)
    (octets,) = masters(bench).values()
    layout = read_layout(io.BytesIO(octets))
    assert layout.pcm == replace(bench.pcm, channels=2)
    first, second = (audio_of(content) for content in sources.values())
    frames = zip(*[iter(first)] * 3, *[iter(second)] * 3, strict=True)
    assert audio_of(octets) == b"".join(map(bytes, frames))
    told = this_file(bench, "1.json")
    assert told["made"] == "interleaved"
    assert [one["file"] for one in told["sources"]] == NAMES
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS


@pytest.mark.parametrize("wished", ["", 'master_format = "FLAC"\n'])
@pytest.mark.parametrize("first", ["captures/1.wav", "captures/left/side A. (mono).wav"])
def test_what_was_answered_of_interleaved_files_stays_answered_in_their_master(
    bench: Any, around: Callable[..., Any], first: str, wished: str
) -> None:
    """Whichever of the files it is about, they are one by the name of the first."""
    sources = put(bench, [first, NAMES[1]], [7, 7])
    second = sources[NAMES[1]]
    bench.put(NAMES[1], second.replace(audio_of(second), bytes(len(audio_of(second)))))
    top = wishing(bench, wished)
    tracks = f'mono_files = ["{first}", "{NAMES[1]}"]\n'
    form(bench, tracks, first=first, top=top)
    (asked,) = close(bench.job, bench.root / "asked", around()).judgement.findings
    assert (asked.code, asked.answered) == ("channel-silent", "")

    answer = (
        f'[[answers]]\ncode = "channel-silent"\nplace = "{asked.answer_at}"\n'
        'decision = "accepted as is"\nreason = "the second track is blank"\n'
        'by = "isolde"\non = 2026-03-15\n'
    )
    form(bench, tracks, first=first, top=top, more=answer)
    assert closed(bench, around).judgement.verdict is Verdict.PASS
    judgement = check(bench.package, Silent()).judgement
    assert judgement.verdict is Verdict.PASS
    (packed,) = judgement.findings
    assert (packed.code, packed.answer_at) == (asked.code, asked.answer_at)
    assert "the second track is blank" in packed.answered


def test_mono_files_that_do_not_fit_are_asked_about(bench: Any, around: Callable[..., Any]) -> None:
    put(bench, NAMES, [7, 8])
    form(bench, TRACKS, top=wishing(bench))
    outcome = closed(bench, around)
    assert codes(outcome) == {"tracks-not-interleaved"}
    assert sorted(masters(bench)) == ["1.wav", "2.wav"]
    assert [one.code for one in check(bench.package, Silent()).judgement.findings] == [
        "tracks-not-interleaved"
    ]


def test_a_damaged_part_stops_the_close(bench: Any, around: Callable[..., Any]) -> None:
    sources = put(bench, NAMES, [0, bench.frames])
    bench.put("captures/2.wav", sources["captures/2.wav"][:-500])
    form(bench, PARTS)
    outcome = closed(bench, around)
    assert outcome.judgement.verdict is Verdict.FAIL
    assert "wave-cut-short" in codes(outcome)
    assert not bench.out.exists()


FAULTS = {
    "not there": (
        'parts = [{ file = "captures/1.wav" }, { file = "captures/3.wav" }]\n',
        "captures[1].parts[2].file",
        "there is no capture 'captures/3.wav'",
    ),
    "outside": (
        'mono_files = ["captures/1.wav", "../x.wav"]\n',
        "captures[1].mono_files[2]",
        "must lie in the job folder",
    ),
    "another first": (
        'parts = [{ file = "captures/2.wav" }, { file = "captures/1.wav" }]\n',
        "captures[1].file",
        "the first of the parts must be the capture's own file, 'captures/2.wav'",
    ),
    "another first track": (
        'mono_files = ["captures/2.wav"]\n',
        "captures[1].file",
        "the first of the mono files must be the capture's own file",
    ),
    "twice the same": (
        'mono_files = ["captures/1.wav", "captures/1.wav"]\n',
        "captures[1].mono_files[2]",
        "would have one name in the package",
    ),
    "both": (PARTS + TRACKS, "captures[1]", "name one of the two"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_files_that_cannot_be_are_told_at_their_place(
    bench: Any, around: Callable[..., Any], name: str
) -> None:
    files, place, text = FAULTS[name]
    put(bench, NAMES, [0, bench.frames])
    form(bench, files)
    outcome = closed(bench, around)
    (told,) = [(f.code, f.place.part, f.text) for f in outcome.judgement.findings]
    assert told[:2] == ("form-reference", place)
    assert text in told[2]
    assert all(f.place.line is not None for f in outcome.judgement.findings)
    assert not bench.out.exists()


def test_a_part_that_still_grows_is_waited_for(bench: Any, around: Callable[..., Any]) -> None:
    put(bench, NAMES, [0, bench.frames])
    form(bench, PARTS)
    os.utime(bench.job / "captures/2.wav")
    with pytest.raises(SurroundingsError, match=r"captures/2\.wav changed within"):
        close(bench.job, bench.out, around())


@pytest.mark.parametrize("when", ["Measuring", "Reading", "Writing"])
def test_a_part_changed_meanwhile_is_told(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any], when: str
) -> None:
    put(bench, NAMES, [0, bench.frames])
    form(bench, PARTS)
    progress = acting(when, lambda: os.utime(bench.job / "captures/2.wav", (1, 1)))
    with pytest.raises(SurroundingsError, match=r"captures/2\.wav was changed while"):
        close(bench.job, bench.out, around(progress=progress))
    assert progress.acted
    assert bench.left() == []


def test_too_much_around_the_samples_is_refused(
    bench: Any, around: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(replaced, "MAX_AROUND_OCTETS", 100)
    put(bench, NAMES, [0, bench.frames])
    form(bench, PARTS)
    with pytest.raises(MaterialError, match=r"captures/1\.wav holds 718 octets around"):
        close(bench.job, bench.out, around())


def test_a_job_of_parts_is_shown_as_it_will_be(bench: Any) -> None:
    put(bench, NAMES, [0, bench.frames])
    form(bench, PARTS)
    page = show(bench.job, Silent()).page.decode()
    assert f"({2 * bench.frames} samples a channel)" in page


def test_the_readme_names_every_master(bench: Any, around: Callable[..., Any]) -> None:
    put(bench, NAMES, [0, 0])
    form(bench, PARTS)
    closed(bench, around)
    text = Path(bench.package / "metadata/README.txt").read_text()
    for name in ("1.wav", "1.json", "2.wav", "2.json"):
        assert f"data/audio/{name}\n" in text
