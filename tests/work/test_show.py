"""A page for a stranger: of a package, a job or a file; nothing is read through or written."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError, UsageError
from tailsout.ground.progress import Silent
from tailsout.work.close_out import close
from tailsout.work.show import show


def page(path: Path) -> str:
    return show(path, Silent()).decode()


def test_a_package(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(bench.wave(own=bench.own_bext()))
    close(bench.job, bench.out, around())
    before = bench.tree(bench.root, times=True)
    text = page(bench.package)
    assert bench.tree(bench.root, times=True) == before
    assert text.startswith("Package TT-1\n")
    assert "The reel: Reel 1" in text
    assert "Audio data/audio/a.wav" in text
    assert "48000 Hz, 24-bit PCM, 1 channel" in text
    assert "0:00.200 (9600 samples a channel)" in text
    assert "A=PCM,F=48000,W=24,M=mono,T=Groyne recorder 4.2" in text


def test_a_strangers_bag(bench: Any, bagit: Any) -> None:
    place = bench.root / "foreign"
    place.mkdir()
    (place / "take.wav").write_bytes(bench.wave())
    bagit.make_bag(str(place), {"Source-Organization": "Harbour Archive"}, checksums=["sha256"])
    text = page(place)
    assert "No side-car of ours" in text
    assert "Source-Organization   Harbour Archive" in text
    assert "Audio data/take.wav" in text


def test_a_job_with_its_captures(bench: Any) -> None:
    region = '[[reel.sides]]\nid = "A"\n[[reel.sides.regions]]\nid = "A1"\nkind = "programme"\n'
    bench.fill(more=region + 'capture = "a"\nstart = "0:00"\nspeed_ips = 7.5\n')
    before = bench.tree(bench.root, times=True)
    text = page(bench.job)
    assert bench.tree(bench.root, times=True) == before
    assert "The reel: Reel 1" in text
    assert "Side A" in text
    assert "7.5 ips (19.05 cm/s)" in text
    assert "Audio captures/a.wav" in text
    assert "Findings" not in text


def test_a_job_shows_what_is_wrong_with_it(bench: Any) -> None:
    bench.form({"a": "captures/missing.wav"}, top="colour = 1")
    text = " ".join(page(bench.job).split())
    assert "Findings" in text
    assert "there is no key 'colour' here" in text
    assert "there is no capture 'captures/missing.wav'" in text


def test_a_job_that_is_no_toml(bench: Any) -> None:
    (bench.job / "job.toml").write_text("job_id =\n")
    assert "job.toml:1: " in page(bench.job)


def test_a_wave_file(bench: Any) -> None:
    text = page(bench.fill(bench.wave(own=bench.own_bext())))
    assert "originator            Groyne recorder 4.2" in text
    assert "RIFF" in text


def test_a_cut_wave_file_shows_its_damage(bench: Any) -> None:
    assert "declares 28800 octets" in page(bench.fill(bench.wave()[:-10]))


def test_a_file_of_another_kind(bench: Any) -> None:
    bench.form({})
    with pytest.raises(MaterialError, match="is no package, job or wave file"):
        show(bench.job / "job.toml", Silent())


@pytest.mark.parametrize(
    ("name", "error"), [("nothing", UsageError), ("x" * 300, SurroundingsError)]
)
def test_nothing_there(tmp_path: Path, name: str, error: type[TailsoutError]) -> None:
    with pytest.raises(error):
        show(tmp_path / name, Silent())
