"""The demonstration: a whole transfer that is closed out and passes, short or as shipped."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import RefusedError, SurroundingsError
from tailsout.ground.findings import Verdict
from tailsout.wave import bext
from tailsout.wave.riff import read_chunk, read_layout
from tailsout.work.demo import run as demo
from tailsout.work.demo import scenario


def test_it_is_closed_out_and_passes(tmp_path: Path, around: Callable[..., Any]) -> None:
    """The real one, as a new user runs it."""
    shown = demo.run(tmp_path / "demo", around())
    assert shown.checked is not None
    # The two jottings are packed as they stand.
    assert [f.code for f in shown.outcome.judgement.findings] == ["jotting-unfiled"] * 2
    assert [f.code for f in shown.checked.judgement.findings] == ["jotting-unfiled"] * 2
    assert shown.checked.judgement.verdict is Verdict.PASS
    assert sorted(p.name for p in (tmp_path / "demo").iterdir()) == ["job", "packages", "studio"]
    package = tmp_path / "demo/packages" / "SKL-0007"
    assert sorted(p.name for p in (package / "data/audio").iterdir()) == [
        "skl7-side-a.json",
        "skl7-side-a.wav",
        "skl7-side-b.json",
        "skl7-side-b.wav",
    ]


def test_its_history_tells_of_both_speeds(short_demo_made: Path) -> None:
    """EBU R 98: one line for each process; side B was played at two speeds."""
    master = short_demo_made / "packages/SKL-0007/data/audio/skl7-side-b.wav"
    with master.open("rb") as stream:
        (chunk,) = read_layout(stream).named(b"bext")
        made, damage = bext.decode(read_chunk(stream, chunk, chunk.octets))
    assert damage == ()
    assert made is not None
    lines = [one for one in made.coding_history.splitlines() if one.startswith("A=ANALOGUE")]
    assert ["19.05 cm/s" in lines[0], "9.525 cm/s" in lines[1]] == [True, True]
    assert made.origination_time == "10:51:30"


@pytest.mark.usefixtures("short_demo")
def test_it_is_the_same_every_time(
    short_demo_made: Path, tmp_path: Path, around: Callable[..., Any], bench: Any
) -> None:
    demo.run(tmp_path / "two", around())
    one = bench.tree(short_demo_made, times=False)
    assert one == bench.tree(tmp_path / "two", times=False)
    assert len(one) > 20


@pytest.mark.usefixtures("short_demo")
def test_captures_have_the_times_of_their_day(tmp_path: Path, around: Callable[..., Any]) -> None:
    """Else they would count as growing, and the demonstration would not close."""
    demo.write(tmp_path, around())
    ages = [p.stat().st_mtime for p in sorted((tmp_path / "job/captures").iterdir())]
    assert [int(age) for age in ages] == [1773483670, 1773485493]


@pytest.mark.usefixtures("short_demo")
def test_findings_stop_it_without_a_package(
    tmp_path: Path, around: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    forms = [(n, text.replace(b'"PVC"', b'"vinyl"')) for n, text in scenario.forms()]
    monkeypatch.setattr(scenario, "forms", lambda: forms)
    shown = demo.run(tmp_path, around())
    assert shown.checked is None
    assert [f.code for f in shown.outcome.judgement.findings] == ["form-value"]
    assert not (tmp_path / "packages").exists()


@pytest.mark.parametrize("name", ["studio", "job", "packages"])
def test_nothing_is_written_over(tmp_path: Path, around: Callable[..., Any], name: str) -> None:
    (tmp_path / name).symlink_to("nowhere")
    with pytest.raises(RefusedError, match=f"{name} is there already"):
        demo.run(tmp_path, around())
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_a_file_in_place_of_the_folder(tmp_path: Path, around: Callable[..., Any]) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(SurroundingsError, match="Not a directory"):
        demo.run(tmp_path / "file", around())


def test_the_side_cars_hold_what_the_forms_say(short_demo_made: Path) -> None:
    car = json.loads(
        (short_demo_made / "packages/SKL-0007/data/audio/skl7-side-b.json").read_text()
    )
    region = car["transfer"]["reel"]["sides"][1]["regions"][1]
    assert (region["speed_ips"], region["start"]) == (3.75, 144_000)
    assert car["transfer"]["machines"][0]["inherited_from"] == "studio/machines/mk3-left.toml"
    stock = car["transfer"]["reel"]["stock"][0]
    assert (stock["absent"], "number" in stock) == ({"number": "unknown"}, False)
