"""A watch at the gate: captures arrive, grow, come to rest and are read; nothing sleeps here."""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import UsageError
from tailsout.work.watch import POLL_SECONDS, Told, watch

SIDE = "[[reel.sides]]\nid = 'A'\n\n[[passes]]\nid = 'p1'\nsides = ['A']\n"


@dataclass
class Hours:
    """A clock that runs only while somebody sleeps, and what happens at which second."""

    happens: Mapping[int, Callable[[], object]]
    now: float = 100.0
    slept: int = 0
    most: int = 60
    done: set[int] = field(default_factory=set)

    def sleep(self, seconds: float) -> None:
        self.now += seconds
        self.slept += 1
        if self.slept > self.most:
            raise KeyboardInterrupt
        for second, act in self.happens.items():
            if self.now >= 100 + second and second not in self.done:
                self.done.add(second)
                act()


@pytest.fixture
def follow(bench: Any, around: Callable[..., Any]) -> Callable[..., list[Told]]:
    def call(
        happens: Mapping[int, Callable[[], object]] | None = None,
        captures: Mapping[str, str] | None = None,
        *,
        until_stopped: bool = False,
    ) -> list[Told]:
        bench.form(captures or {"a": "captures/a.wav"}, more=SIDE)
        form = bench.job / "job.toml"
        form.write_text(form.read_text().replace("started =", 'pass_id = "p1"\nstarted ='))
        hours = Hours(happens or {})
        told: list[Told] = []
        try:
            for one in watch(bench.job, around(), steady=lambda: hours.now, sleep=hours.sleep):
                told.append(one)  # noqa: PERF402  what came before an interruption counts
        except KeyboardInterrupt:
            assert until_stopped
        else:
            assert not until_stopped
        return told

    return call


def lines(told: list[Told]) -> list[str]:
    return [one.line for one in told]


def words(told: list[Told]) -> list[str]:
    return [one.gate.word for one in told if one.gate is not None]


def test_a_capture_that_is_there_is_read_once_it_was_seen_at_rest(
    bench: Any, follow: Callable[..., Any]
) -> None:
    bench.put("captures/a.wav", bench.wave())
    told = follow()
    assert lines(told) == [
        "a: arriving",
        "KEEP THE REEL ON",
        "a: at rest, being read",
        "a: 0:00",
        "THE REEL MAY COME OFF",
    ]
    assert [one.rings for one in told] == [False, False, False, True, True]


def test_captures_arrive_one_after_the_other(bench: Any, follow: Callable[..., Any]) -> None:
    def arrives(name: str) -> Callable[[], object]:
        return lambda: bench.put(f"captures/{name}.wav", bench.wave())

    told = follow(
        {3: arrives("a"), 20: arrives("b")}, {"a": "captures/a.wav", "b": "captures/b.wav"}
    )
    assert words(told) == ["KEEP", "KEEP", "OFF"]
    read = [one.line for one in told if one.rings]
    assert read == ["a: 0:00", "b: 0:00", "THE REEL MAY COME OFF"]


def test_a_capture_that_grows_is_not_opened(
    bench: Any, follow: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = bench.wave()
    path = bench.put("captures/a.wav", whole[:400]).resolve()
    opened: list[float] = []
    real = Path.open
    grown: list[int] = []

    def see(one: Path, *arguments: Any, **more: Any) -> Any:
        if one == path and arguments and arguments[0] == "rb":
            opened.append(len(grown))
        return real(one, *arguments, **more)

    def grow(octets: int) -> Callable[[], object]:
        def act() -> None:
            grown.append(octets)
            with open(path, "wb") as stream:  # noqa: PTH123  what is watched is `Path.open`
                stream.write(whole[:octets])
            # A clock that stands still: only the size tells.
            os.utime(path, (1_700_000_000, 1_700_000_000))

        return act

    monkeypatch.setattr(Path, "open", see)
    told = follow({4: grow(800), 8: grow(9000), 12: grow(len(whole))})
    assert opened
    assert set(opened) == {3}
    assert words(told)[-1] == "OFF"


@pytest.mark.parametrize("hours", [-1, 1])
def test_a_disk_whose_clock_is_an_hour_off_is_watched_all_the_same(
    bench: Any, follow: Callable[..., Any], hours: int
) -> None:
    path = bench.put("captures/a.wav", bench.wave())

    def touched(second: int) -> Callable[[], object]:
        at = 1_700_000_000 + hours * 3600 + second
        return lambda: os.utime(path, (at, at))

    told = follow({second: touched(second) for second in (2, 4, 6, 8)})
    # Five seconds after the last change, not after the first look.
    assert lines(told)[-1] == "THE REEL MAY COME OFF"
    assert lines(told).count("a: at rest, being read") == 1


def test_a_capture_that_vanishes_is_told_and_waited_for(
    bench: Any, follow: Callable[..., Any]
) -> None:
    path = bench.put("captures/a.wav", bench.wave())
    told = follow(
        {2: path.unlink, 9: lambda: bench.put("captures/a.wav", bench.wave())},
    )
    assert "a: gone" in lines(told)
    assert words(told)[-1] == "OFF"


def test_a_form_that_is_being_saved_stops_no_watch(bench: Any, follow: Callable[..., Any]) -> None:
    form = bench.job / "job.toml"
    kept: list[str] = []

    def saving() -> None:
        kept.append(form.read_text())
        form.unlink()

    told = follow(
        {
            2: saving,
            4: lambda: form.write_text(kept[0]),
            6: lambda: bench.put("captures/a.wav", bench.wave()),
        }
    )
    assert sum("no job.toml" in one for one in lines(told)) == 1
    assert words(told)[-1] == "OFF"


def test_a_form_that_is_put_right_is_read_again(bench: Any, follow: Callable[..., Any]) -> None:
    bench.put("captures/a.wav", bench.wave())
    form = bench.job / "job.toml"
    whole: list[str] = []

    def broken() -> None:
        whole.append(form.read_text())
        form.write_text(whole[0] + "\nnonsense = \n")

    told = follow({1: broken, 12: lambda: form.write_text(whole[0])})
    assert words(told) == ["KEEP", "KEEP", "OFF"]


def test_nothing_arrives_and_nothing_is_told_twice(follow: Callable[..., Any]) -> None:
    told = follow(until_stopped=True)
    assert lines(told) == ["KEEP THE REEL ON"]


def test_without_a_job_there_is_nothing_to_watch(
    tmp_path: Path, around: Callable[..., Any]
) -> None:
    with pytest.raises(UsageError, match=r"no job\.toml"):
        next(watch(tmp_path, around(), steady=lambda: 0.0, sleep=lambda _: None))


def test_it_looks_often_enough_to_see_a_file_grow() -> None:
    assert POLL_SECONDS < 5
