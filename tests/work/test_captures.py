"""Captures are found, seen to be finished, and looked into; never written to."""

import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.ground.progress import Silent
from tailsout.mapping.forms.form import places_in
from tailsout.mapping.forms.job_forms import JobForms, read_job
from tailsout.work import captures, located
from tailsout.work.captures import Taken
from tailsout.work.located import find
from tailsout.work.settling import SETTLING_SECONDS, Waiting, settle


def forms_of(bench: Any) -> JobForms:
    forms, findings = read_job(bench.job)
    assert forms is not None, findings
    return forms


def found(bench: Any, files: dict[str, str]) -> tuple[dict[str, Path], list[tuple[str, str]]]:
    bench.form(files)
    captures_found, findings = find(bench.job, forms_of(bench))
    assert {f.code for f in findings} <= {"form-reference"}
    assert {one.way for one in captures_found.values()} <= {"one file"}
    paths = {one_id: one.files[0] for one_id, one in captures_found.items()}
    return paths, [(f.place.part, f.text) for f in findings]


def looked(bench: Any, **changed: Any) -> tuple[Taken, ...]:
    captures_found, _ = find(bench.job, forms_of(bench))
    given: dict[str, Any] = {
        "seconds_now": lambda: 0.0,
        "wait": False,
        "progress": Silent(),
    } | changed
    settle(captures_found, bench.job, Waiting(**given))
    return captures.look(captures_found, bench.job, interleave=False)


def test_stated_captures_are_found(bench: Any) -> None:
    bench.put("captures/a.wav", bench.wave())
    bench.put("captures/deep/b.wav", bench.wave())
    paths, faults = found(bench, {"a": "captures/a.wav", "b": "captures/deep/b.wav"})
    assert paths == {
        "a": bench.job / "captures/a.wav",
        "b": bench.job / "captures/deep/b.wav",
    }
    assert faults == []


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("../out.wav", "must lie in the job folder"),
        ("captures/../../out.wav", "must lie in the job folder"),
        ("/out.wav", "must lie in the job folder"),
        ("captures\\out.wav", "stands /, no backslash"),
    ],
)
def test_a_capture_outside_the_job_is_none(bench: Any, name: str, why: str) -> None:
    (bench.root / "out.wav").write_bytes(bench.wave())
    paths, faults = found(bench, {"a": name})
    assert paths == {}
    assert [part for part, _ in faults] == ["captures[1].file"]
    assert why in faults[0][1]


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("reel side1.wav", "did you mean 'captures/reel side1.wav'?"),
        ("capture/reel side1.wav", "did you mean 'captures/reel side1.wav'?"),
        ("captures\reel side1.wav", "between the folders of a path stands /"),
    ],
)
def test_a_capture_in_another_folder_is_found(bench: Any, name: str, hint: str) -> None:
    (bench.job / "captures/reel side1.wav").write_bytes(bench.wave())
    paths, faults = found(bench, {"a": name})
    assert paths == {}
    assert hint in faults[0][1]


def test_a_capture_that_is_not_there_gets_the_nearest_name(bench: Any) -> None:
    bench.put("captures/side-a.wav", bench.wave())
    _, faults = found(bench, {"a": "captures/side-q.wav"})
    assert "there is no capture 'captures/side-q.wav'" in faults[0][1]
    assert faults[0][1].endswith("did you mean 'captures/side-a.wav'?")


def test_a_folder_is_no_capture(bench: Any) -> None:
    _, faults = found(bench, {"a": "captures"})
    assert "there is no capture 'captures'" in faults[0][1]


def test_a_name_no_system_takes_is_told_in_one_sentence(bench: Any) -> None:
    bench.form({"a": f"captures/{'x' * 300}.wav"})
    with pytest.raises(SurroundingsError, match="longer than this file system takes"):
        find(bench.job, forms_of(bench))


@pytest.mark.parametrize("other", ["captures/deep/a.wav", "captures/A.wav", "captures/a.bwf"])
def test_captures_that_would_share_a_name(bench: Any, other: str) -> None:
    bench.put("captures/a.wav", bench.wave())
    bench.put(other, bench.wave())
    paths, faults = found(bench, {"a": "captures/a.wav", "b": other})
    assert list(paths) == ["a"]
    told = f"'captures/a.wav' and {other!r} would have one name in the package; "
    assert faults == [("captures[2].file", told + "rename one of the captures.")]


def test_the_form_is_taken_apart_once_for_all_faults(
    bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    times: list[int] = []

    def counted(form: Any, pointers: Any) -> Any:
        asked = tuple(pointers)
        times.append(len(asked))
        return places_in(form, asked)

    monkeypatch.setattr(located, "places_in", counted)
    _, faults = found(bench, {f"c{n}": f"captures/{n}.wav" for n in range(40)})
    assert len(faults) == 40
    assert times == [40]
    assert [part for part, _ in faults[:2]] == ["captures[1].file", "captures[2].file"]


def test_stems_apart_share_no_name(bench: Any) -> None:
    bench.put("captures/a.wav", bench.wave())
    bench.put("captures/a.2.wav", bench.wave())
    assert found(bench, {"a": "captures/a.wav", "b": "captures/a.2.wav"})[1] == []


@pytest.mark.parametrize(("age", "is_growing"), [(0, True), (4.9, True), (5, False), (-60, False)])
def test_a_capture_just_written_counts_as_growing(bench: Any, age: float, is_growing: bool) -> None:
    """A time in the future comes from a wrong clock, not from a running recorder."""
    written = bench.fill().stat().st_mtime
    if not is_growing:
        assert len(looked(bench, seconds_now=lambda: written + age)) == 1
        return
    with pytest.raises(SurroundingsError, match=r"captures/a\.wav changed within the last 5") as e:
        looked(bench, seconds_now=lambda: written + age)
    assert "--wait" in e.value.remedy


def test_waiting_lasts_until_the_capture_is_quiet(
    bench: Any, acting: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    capture = bench.fill()
    started = capture.stat().st_mtime
    clock = [started]

    def sleep(seconds: float) -> None:
        clock[0] += seconds
        if clock[0] == started + 3:  # the recorder writes once more
            os.utime(capture, (clock[0], clock[0]))

    monkeypatch.setattr(time, "sleep", sleep)
    progress = acting("", lambda: None)
    assert len(looked(bench, seconds_now=lambda: clock[0], wait=True, progress=progress)) == 1
    assert clock[0] == started + 3 + SETTLING_SECONDS
    assert progress.lines == ["Waiting for captures/a.wav to stop changing."] * 8


def test_looking_takes_header_and_mark(bench: Any) -> None:
    capture = bench.fill(bench.wave(own=bench.own_bext()))
    before = bench.sources()
    (taken,) = looked(bench)
    status = capture.stat()
    assert taken.files[0].mark == (status.st_size, status.st_mtime_ns, status.st_ino)
    assert taken.survey.record.path == "captures/a.wav"
    assert taken.survey.record.capture == "a"
    assert taken.survey.record.frames == bench.frames
    assert taken.survey.raw_bext == bench.own_bext()
    assert bench.sources() == before


def test_a_bext_chunk_too_large_to_keep_is_refused(bench: Any) -> None:
    """It would be cut beside the master without a word."""
    bench.fill(bench.wave(own=bench.own_bext() + bytes(1 << 20)))
    with pytest.raises(MaterialError, match=r"bext chunk of captures/a\.wav"):
        looked(bench)
    bench.fill(bench.wave(own=bench.own_bext() + bytes((1 << 20) - 1000)))
    assert len(looked(bench)) == 1


def test_a_capture_that_is_gone_cannot_be_opened(bench: Any) -> None:
    with pytest.raises(
        SurroundingsError, match="Opening the capture a\\\\x1b failed: No such file"
    ):
        captures.opened(bench.job / "a", "a\x1b")


def test_a_capture_that_went_away_meanwhile(bench: Any) -> None:
    bench.fill()
    captures_found, _ = find(bench.job, forms_of(bench))
    captures_found["a"].files[0].unlink()
    waiting = Waiting(seconds_now=lambda: 0.0, wait=False, progress=Silent())
    with pytest.raises(SurroundingsError, match=r"Looking at captures/a\.wav failed"):
        settle(captures_found, bench.job, waiting)


def test_any_change_is_seen_by_its_mark(bench: Any) -> None:
    capture = bench.fill()
    (taken,) = looked(bench)
    with captures.reading(taken) as source:
        assert source.stream.read(4) == b"RIFF"
    with (
        pytest.raises(SurroundingsError, match=r"captures/a\.wav was changed while"),
        captures.reading(taken),
    ):
        os.utime(capture, (1, 1))
    with (
        pytest.raises(SurroundingsError, match=r"captures/a\.wav was changed while"),
        captures.reading(taken),
    ):
        raise AssertionError("opened although it was changed")


def test_another_file_under_the_same_name_is_seen(bench: Any) -> None:
    capture = bench.fill()
    (taken,) = looked(bench)
    copy = bench.put("captures/copy.wav", capture.read_bytes())
    copy.rename(capture)
    with (
        pytest.raises(SurroundingsError, match="was changed"),
        captures.reading(taken),
    ):
        raise AssertionError("opened although it is another file")
