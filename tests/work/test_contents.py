"""What goes into a package and in which order; a side-car speaks of the master as written."""

import hashlib
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest

from tailsout.bag.plan import Made, Plan, Streamed, Written
from tailsout.mapping.strict_json import load
from tailsout.work import close_out, commit
from tailsout.work.contents import Contents


class _EnoughError(Exception):
    pass


@pytest.fixture
def contents(
    bench: Any, around: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Contents]:
    """The contents that a close of the bench's job would make, without building them."""

    def stop(*_given: Any, **_named: Any) -> None:
        raise _EnoughError

    def make() -> Contents:
        caught: list[Contents] = []

        def catch(**given: Any) -> Contents:
            caught.append(Contents(**given))
            return caught[-1]

        with monkeypatch.context() as patch:
            patch.setattr(close_out, "Contents", catch)
            patch.setattr(commit, "commit", stop)
            with suppress(_EnoughError):
                close_out.close(bench.job, bench.out, around())
        return caught[0]

    return make


def plan_of(contents: Contents) -> Plan:
    return contents.plan(None)[0]


def written_of(item: Streamed) -> tuple[bytes, Written]:
    taken = bytearray()
    item.write(taken.extend)
    digests = {name: hashlib.new(name, taken).hexdigest() for name in ("sha256", "sha512")}
    return bytes(taken), Written(path=item.path, octets=len(taken), digests=digests)


def test_every_master_is_followed_by_its_side_car(
    bench: Any, contents: Callable[..., Contents]
) -> None:
    bench.put("captures/b.wav", bench.wave())
    bench.put("captures/a.WAV", bench.wave(own=bench.own_bext()))
    bench.form({"b": "captures/b.wav", "a": "captures/a.WAV"})
    plan = plan_of(contents())
    paths = [item.path for item in plan.payload]
    assert paths == [f"data/audio/{n}" for n in ("b.wav", "b.json", "a.wav", "a.json")]
    assert [item.path for item in plan.tags] == [
        "metadata/checks.json",
        "metadata/schemas/sidecar-0.1.schema.json",
        "metadata/premis.xml",
        "metadata/mets.xml",
        "metadata/report.html",
        "metadata/as-captured/a.bext",
        "metadata/README.txt",
    ]


def test_a_master_has_the_octets_it_was_planned_with(
    bench: Any, contents: Callable[..., Contents]
) -> None:
    bench.fill(bench.wave(own=bench.own_bext()))
    master = plan_of(contents()).payload[0]
    assert isinstance(master, Streamed)
    taken, _ = written_of(master)
    assert len(taken) == master.octets
    assert bench.samples(bench.pcm, bench.frames) in taken


def test_a_side_car_quotes_the_master_as_written(
    bench: Any, contents: Callable[..., Contents]
) -> None:
    """Digests point one way: what the side-car says cannot come from the capture."""
    bench.fill()
    master, car = plan_of(contents()).payload
    assert isinstance(master, Streamed)
    assert isinstance(car, Made)
    _, written = written_of(master)
    told = load(car.make({master.path: written}))["this_file"]
    stated = (told["octets"], told["sha256"], told["sha512"])
    assert stated == (written.octets, written.digests["sha256"], written.digests["sha512"])
    other = Written(path=master.path, octets=7, digests={"sha256": "a" * 64, "sha512": "b" * 128})
    assert load(car.make({master.path: other}))["this_file"]["sha256"] == "a" * 64


def test_what_a_bext_field_cannot_hold_is_noted_in_the_package_too(
    bench: Any, contents: Callable[..., Contents]
) -> None:
    (bench.studio / "studio.toml").write_text(
        'name = "Zum Trockenen Döckle am alten Hafenbecken"\n'
    )
    bench.fill()
    made = contents()
    plan, judgement = made.plan(None)
    notes = [(f.code, str(f.place)) for f in judgement.findings]
    assert notes == [("bext-text-reduced", "data/audio/a.wav#bext.Originator")]
    checks = next(t for t in plan.tags if t.path == "metadata/checks.json")
    assert isinstance(checks, Made)
    told = [(f["code"], f["place"]) for f in load(checks.make({}))["findings"]]
    assert told == notes
    assert [f.code for f in made.judgement.findings] == []


def test_bag_info_is_ordered_and_dated_by_the_one_instant(
    bench: Any, contents: Callable[..., Contents]
) -> None:
    bench.fill()
    info = plan_of(contents()).bag_info
    assert info == (
        ("Source-Organization", "Saltpan Row"),
        ("External-Description", "Reel 1"),
        ("Bagging-Date", "2026-03-15"),
        ("External-Identifier", "TT-1"),
        ("Internal-Sender-Identifier", "TT-1"),
    )


def test_ids_derive_from_the_job_alone(bench: Any, contents: Callable[..., Contents]) -> None:
    def file_id() -> str:
        master, car = plan_of(contents()).payload
        assert isinstance(master, Streamed)
        assert isinstance(car, Made)
        return str(load(car.make({master.path: written_of(master)[1]}))["this_file"]["id"])

    bench.fill()
    first = file_id()
    assert file_id() == first
    form = bench.job / "job.toml"
    form.write_text(form.read_text().replace('job_id = "0', 'job_id = "1'))
    assert file_id() != first
