"""Bad input: one clear sentence, the right exit code, sources untouched, nothing left behind."""

import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

Cli = Callable[..., Any]
REGION = """
[[reel.sides]]
id = "A"
[[reel.sides.regions]]
id = "A1"
kind = "programme"
capture = "a"
start = "{start}"
"""


def stopped(cli: Cli, bench: Any, *options: str) -> Any:
    """Close; nothing of the sources may have changed, nothing may be left."""
    before = bench.sources()
    standing = bench.left()
    ran = cli("close", bench.job, "-o", bench.out, *options)
    assert bench.sources() == before
    assert bench.left() == standing
    return ran


def found(cli: Cli, bench: Any) -> list[tuple[str, str, str]]:
    """Code, place and text of what stopped a close: exit 1, and nothing on standard error."""
    ran = stopped(cli, bench)
    assert (ran.code, ran.err) == (1, "")
    assert "Nothing was written. Mend what is listed above" in ran.out
    told: list[tuple[str, str, str]] = []
    for block in ran.out.split("\n\n")[1:]:
        if block.startswith("  mend "):
            head, place, *rest = block.splitlines()
            text = " ".join(line.strip() for line in rest).partition(" → ")[0]
            told.append((head.split()[1], place.strip().removeprefix("at "), text))
    return told


def error(ran: Any, code: int) -> str:
    """The one sentence on standard error, without its remedy's line breaks."""
    assert ran.code == code
    assert ran.err.startswith("tailsout: ")
    assert ran.err.count("\n") == 1
    return str(ran.err.removeprefix("tailsout: ").rstrip("\n"))


# Forms


def test_a_missing_key(cli: Cli, bench: Any) -> None:
    bench.fill(more='[[reel.identifiers]]\nkind = "barcode"')
    assert found(cli, bench) == [
        (
            "form-value",
            "job.toml:7 reel.identifiers[1].value",
            "'value' is missing; it is needed here.",
        )
    ]


def test_a_misspelt_key_gets_the_nearest_one(cli: Cli, bench: Any) -> None:
    bench.fill(more='end_out_on_leavin = "tails"')
    ((code, place, text),) = found(cli, bench)
    assert (code, place) == ("form-value", "job.toml:7 reel.end_out_on_leavin")
    assert text == ("there is no key 'end_out_on_leavin' here; did you mean 'end_out_on_leaving'?")


def test_a_misspelt_word_gets_the_nearest_one(cli: Cli, bench: Any) -> None:
    bench.fill(more='last_motion = "heads to tail"')
    ((_, place, text),) = found(cli, bench)
    assert place == "job.toml:7 reel.last_motion"
    assert text == (
        "found 'heads to tail'; allowed: head to tail, tail to head; did you mean 'head to tail'?"
    )


def test_a_wrong_type(cli: Cli, bench: Any) -> None:
    bench.fill(top="note = 7")
    assert found(cli, bench) == [
        ("form-value", "job.toml:4 note", 'found 7; allowed is text in quotes: write note = "7".')
    ]


def test_an_unknown_machine(cli: Cli, bench: Any) -> None:
    bench.fill(more='[[passes]]\nid = "p1"\nmachine = "right"')
    assert found(cli, bench) == [
        (
            "form-reference",
            "job.toml:9 passes[1].machine",
            "there is no machine 'right'; known: left.",
        )
    ]


def test_a_line_that_is_no_toml(cli: Cli, bench: Any) -> None:
    bench.fill(top="note = ")
    ((code, place, _),) = found(cli, bench)
    assert (code, place) == ("form-syntax", "job.toml:4")


def test_every_fault_of_every_form_is_told_at_once(cli: Cli, bench: Any) -> None:
    (bench.studio / "studio.toml").write_text("name = 1\n")
    bench.form({"a": "captures/none.wav"}, top="colour = 1\nnote = 7")
    places = [place for _, place, _ in found(cli, bench)]
    assert places == [
        "job.toml:4 colour",
        "job.toml:5 note",
        "job.toml:11 captures[1].file",
        "studio/studio.toml:1 name",
    ]


def test_no_job(cli: Cli, bench: Any) -> None:
    assert "There is no job.toml in" in error(stopped(cli, bench), 2)


def test_a_job_without_captures(cli: Cli, bench: Any) -> None:
    bench.form({})
    assert "names no capture, so there is nothing to pack" in error(stopped(cli, bench), 1)


@pytest.mark.parametrize(
    "epoch", ["", "yesterday", "-1", "1.5", "1e9", "١", "99999999999999999999"]
)
def test_an_epoch_that_is_none(
    cli: Cli, bench: Any, monkeypatch: pytest.MonkeyPatch, epoch: str
) -> None:
    bench.fill()
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    assert "SOURCE_DATE_EPOCH is" in error(stopped(cli, bench), 2)


def test_an_epoch_that_is_none_where_nothing_is_loaded_yet(process: Cli, bench: Any) -> None:
    """numpy's own modules read it as they load, and break."""
    ran = process("measure", bench.fill(), SOURCE_DATE_EPOCH="1e9")
    assert "SOURCE_DATE_EPOCH is '1e9'" in error(ran, 2)


# Captures


@pytest.mark.parametrize(
    "content",
    [b"", b"Dear archive,\nhere is the tape.\n", b"OggS\0\0\0\x22" + bytes(200), b"RIFF"],
    ids=["empty", "text", "Ogg", "stub"],
)
def test_a_capture_that_is_no_wave_file(cli: Cli, bench: Any, content: bytes) -> None:
    bench.fill(content)
    ((code, place, text),) = found(cli, bench)
    assert (code, place) == ("wave-unknown-form", "captures/a.wav#octet 0")
    assert text.startswith("The file is not a RIFF, RF64 or BW64 wave file but")


def test_a_truncated_capture(cli: Cli, bench: Any) -> None:
    bench.fill(bench.wave()[:-1000])
    ((code, place, text),) = found(cli, bench)
    assert (code, place) == ("wave-cut-short", "captures/a.wav#octet 36")
    assert text.startswith("The data chunk declares 28800 octets, the file holds 27800")


def test_a_capture_of_no_frames(cli: Cli, bench: Any) -> None:
    bench.fill(bench.wave(frames=0))
    assert found(cli, bench) == [("no-audio", "captures/a.wav", "it holds zero frames.")]


@pytest.mark.parametrize("other", ["captures/again/a.wav", "captures/A.WAV"])
def test_two_captures_of_one_name(cli: Cli, bench: Any, other: str) -> None:
    bench.put("captures/a.wav", bench.wave())
    bench.put(other, bench.wave())
    bench.form({"a": "captures/a.wav", "b": other})
    ((code, place, text),) = found(cli, bench)
    assert (code, place) == ("form-reference", "job.toml:14 captures[2].file")
    assert "would have one name in the package" in text


@pytest.mark.parametrize("name", ["../elsewhere.wav", "/elsewhere.wav"])
def test_a_capture_outside_the_job(cli: Cli, bench: Any, name: str) -> None:
    (bench.root / "elsewhere.wav").write_bytes(bench.wave())
    bench.form({"a": name})
    ((code, _, text),) = found(cli, bench)
    assert (code, text) == ("form-reference", f"the capture {name!r} must lie in the job folder.")


def test_a_capture_that_is_not_there(cli: Cli, bench: Any) -> None:
    bench.form({"a": "captures/a.wav"})
    ((code, _, text),) = found(cli, bench)
    assert code == "form-reference"
    assert text == "there is no capture 'captures/a.wav' in the job folder."


@pytest.mark.parametrize(
    ("start", "more"), [("0:00.2", ""), ("0:00.1", 'end = "0:00.3"')], ids=["start", "end"]
)
def test_a_region_past_the_end(cli: Cli, bench: Any, start: str, more: str) -> None:
    bench.fill(more=REGION.format(start=start) + more)
    ((code, place, text),) = found(cli, bench)
    assert code == "region-outside"
    assert place.startswith("job.toml:")
    assert "region 'A1' reaches sample" in text
    assert "ends at sample 9600 (0:00.200)" in text


def test_a_region_up_to_the_very_end_is_inside(cli: Cli, bench: Any) -> None:
    bench.fill(more=REGION.format(start="0:00.1") + 'end = "0:00.2"')
    assert cli("close", bench.job, "-o", bench.out).code == 0


def test_a_growing_capture(cli: Cli, bench: Any) -> None:
    os.utime(bench.fill())
    told = error(stopped(cli, bench), 4)
    assert told.startswith("The capture captures/a.wav changed within the last 5 seconds.")
    assert "--wait" in told


def test_a_growing_capture_is_waited_for(
    cli: Cli, bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    capture = bench.fill()
    os.utime(capture)

    def sleep(_seconds: float) -> None:
        os.utime(capture, (capture.stat().st_mtime - 1,) * 2)

    monkeypatch.setattr(time, "sleep", sleep)
    ran = cli("close", bench.job, "-o", bench.out, "--wait")
    assert ran.code == 0
    assert ran.err.startswith("Waiting for captures/a.wav to stop changing.\n")
    assert bench.package.is_dir()


# Destination


@pytest.mark.parametrize("what", ["file", "folder", "link"])
@pytest.mark.parametrize("which", ["package", "receipt"])
def test_a_destination_that_is_there(cli: Cli, bench: Any, what: str, which: str) -> None:
    bench.fill()
    bench.out.mkdir()
    place = getattr(bench, which)
    if what == "file":
        place.write_bytes(b"precious")
    elif what == "folder":
        place.mkdir()
    else:
        place.symlink_to("nowhere")
    assert f"{place} is there already; nothing was written." in error(stopped(cli, bench), 3)
    assert bench.left() == [place.name]


def test_a_package_is_never_written_over(cli: Cli, bench: Any) -> None:
    bench.fill()
    assert cli("close", bench.job, "-o", bench.out).code == 0
    before = bench.tree(bench.out, times=True)
    error(cli("close", bench.job, "-o", bench.out), 3)
    assert bench.tree(bench.out, times=True) == before


@pytest.mark.parametrize("below", [".", "captures", "out/deep"])
def test_a_destination_inside_the_job(cli: Cli, bench: Any, below: str) -> None:
    bench.fill()
    bench.out = bench.job / below
    assert "lies inside the job" in error(stopped(cli, bench), 3)


CLOSE = """
import os, resource, sys
from tailsout.doors.cli import run
{before}
sys.exit(run(["close", sys.argv[1], "-o", sys.argv[2]]))
"""


@pytest.fixture
def open_to_all(bench: Any) -> Iterator[Any]:
    """A bench that others may look into.

    Every run of pytest that begins shuts the folder that all runs have in common to others.
    """
    with tempfile.TemporaryDirectory() as place:
        root = Path(place)
        for one in (root, *root.parents):
            if one.stat().st_uid == os.getuid() and one != Path("/"):
                one.chmod(one.stat().st_mode | 0o055)
        yield type(bench)(root)


def test_a_read_only_destination(process: Cli, open_to_all: Any) -> None:
    """Root may write anywhere, so that the child becomes somebody else."""
    bench = open_to_all
    bench.fill()
    bench.out.mkdir()
    bench.out.chmod(0o555)
    before = bench.sources()
    # Closed once as itself: whoever it becomes may not look where its modules lie.
    become = "assert run(['close', sys.argv[1], '-o', sys.argv[2] + '-first']) == 0\n"
    if os.getuid() == 0:
        become += "os.setgid(65534); os.setuid(65534)\n"
    ran = process(bench.job, bench.out, code=CLOSE.format(before=become))
    told = error(ran, 4)
    assert "Permission denied" in told
    assert told.endswith("Permission is refused: ask for it, or choose another place.")
    assert bench.sources() == before
    assert bench.left() == []


def test_a_limit_on_the_size_of_files(process: Cli, bench: Any) -> None:
    bench.fill()
    before = bench.sources()
    limit = "resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))"
    ran = process(bench.job, bench.out, code=CLOSE.format(before=limit))
    assert "does not take files so large" in error(ran, 4)
    assert bench.sources() == before
    assert bench.left() == []


def test_a_full_disk(process: Cli, bench: Any) -> None:
    """A disk that is known to be too small is not begun."""
    bench.fill()
    before = bench.sources()
    patch = (
        "import shutil, collections\n"
        "usage = collections.namedtuple('usage', 'total used free')\n"
        "shutil.disk_usage = lambda path: usage(2, 1, 1)\n"
    )
    ran = process(bench.job, bench.out, code=CLOSE.format(before=patch))
    assert "has 1 octet free" in error(ran, 4)
    assert bench.sources() == before
    assert bench.left() == []


def test_a_job_on_a_disk_that_may_only_be_read(process: Cli, bench: Any) -> None:
    """Nothing is ever written beside the captures."""
    bench.fill()
    for path in (bench.job, bench.studio):
        for place in (path, *path.rglob("*")):
            place.chmod(0o555 if place.is_dir() else 0o444)
    assert process("close", bench.job, "-o", bench.out).code == 0
    for path in (bench.job, bench.studio):
        path.chmod(0o755)


def test_a_closed_job_can_be_closed_again_elsewhere(cli: Cli, bench: Any) -> None:
    bench.fill()
    assert cli("close", bench.job, "-o", bench.out).code == 0
    shutil.move(bench.out, bench.root / "first")
    assert cli("close", bench.job, "-o", bench.out).code == 0
