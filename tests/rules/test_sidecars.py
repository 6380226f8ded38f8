"""A side-car against the audio it lies beside."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.findings import Kind, Place, Verdict
from tailsout.ground.pcm import Pcm
from tailsout.mapping.sidecar import SIDECAR_NEWER, SIDECAR_NOT_JSON, SIDECAR_SCHEMA
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.transfer import SideCar
from tailsout.rules import judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
SCHEMA, PRESENT, AGAINST = "side-car schema", "side-cars present", "side-cars against audio"
AUDIO, BESIDE = "data/audio/reel.wav", "data/audio/reel.json"


@pytest.fixture
def having(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> Callable[..., Dossier]:
    return lambda **changes: received(files=(file(**changes),))


@pytest.mark.parametrize("rule", [SCHEMA, PRESENT, AGAINST])
def test_a_side_car_that_fits_yields_nothing(
    run: Run, received: Callable[..., Dossier], rule: str
) -> None:
    assert run(rule, received()) == []


# sidecar-not-json, sidecar-schema, sidecar-newer: found by the reader, spoken for by a rule


@pytest.mark.parametrize(
    ("kind", "code", "verdict"),
    [
        (SIDECAR_NOT_JSON, "sidecar-not-json", Verdict.FAIL),
        (SIDECAR_SCHEMA, "sidecar-schema", Verdict.FAIL),
        (SIDECAR_NEWER, "sidecar-newer", Verdict.NOT_EXAMINED),
    ],
)
def test_what_the_reader_of_side_cars_met_is_told_once(
    run: Run, having: Callable[..., Dossier], kind: Kind, code: str, verdict: Verdict
) -> None:
    met = kind.at(Place(file=BESIDE), "it cannot be taken.")
    dossier = replace(having(sidecar=None), reading=(met,))
    assert run(SCHEMA, dossier) == [(code, BESIDE)]
    judgement = judge(dossier)
    # Nor is the file said to have no side-car.
    assert judgement.findings == (met,)
    assert judgement.verdict is verdict


def test_the_check_of_the_schema_fails_with_what_the_reader_met(
    having: Callable[..., Dossier],
) -> None:
    met = SIDECAR_SCHEMA.at(Place(file=BESIDE), "it cannot be taken.")
    outcomes = {c.name: c.outcome for c in judge(replace(having(), reading=(met,))).checks}
    assert outcomes[SCHEMA] == "failed"
    assert outcomes[PRESENT] == "passed"


# sidecar-missing


def test_audio_without_a_side_car_is_noted(run: Run, having: Callable[..., Dossier]) -> None:
    assert run(PRESENT, having(sidecar=None)) == [("sidecar-missing", AUDIO)]
    assert judge(having(sidecar=None)).verdict is Verdict.PASS


def test_anothers_broken_side_car_does_not_stand_for_a_missing_one(
    run: Run, having: Callable[..., Dossier]
) -> None:
    met = SIDECAR_SCHEMA.at(Place(file="data/audio/other.json"), "it cannot be taken.")
    dossier = replace(having(sidecar=None), reading=(met,))
    assert run(PRESENT, dossier) == [("sidecar-missing", AUDIO)]


# sidecar-audio-differs


def pcm(**changes: Any) -> Pcm:
    plain = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)
    return replace(plain, **changes)


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"path": "data/audio/reel-2.wav"}, "path"),
        ({"octets": 144_701}, "octets"),
        ({"pcm": pcm(sample_rate_hz=44_100)}, "pcm/sample_rate_hz"),
        ({"pcm": pcm(channels=2)}, "pcm/channels"),
        ({"pcm": pcm(valid_bits=20)}, "pcm/valid_bits"),
        ({"pcm": pcm(is_float=True)}, "pcm/is_float"),
        ({"sha256": "0" * 64}, "sha256"),
        ({"sha512": "0" * 128}, "sha512"),
    ],
)
def test_a_fact_of_the_file_stated_otherwise(
    run: Run,
    having: Callable[..., Dossier],
    beside: Callable[..., SideCar],
    changes: dict[str, Any],
    pointer: str,
) -> None:
    found = run(AGAINST, having(sidecar=beside(**changes)))
    assert found == [("sidecar-audio-differs", f"{BESIDE}#/this_file/{pointer}")]


def test_another_length(
    run: Run, having: Callable[..., Dossier], beside: Callable[..., SideCar]
) -> None:
    measured = replace(beside().this_file.measured, frames=47_999)
    found = run(AGAINST, having(sidecar=beside(measured=measured)))
    assert found == [("sidecar-audio-differs", f"{BESIDE}#/this_file/measured/frames")]


@pytest.mark.parametrize(
    "changes",
    [
        {"capture_sha256": "0" * 64},
        {"pcm": pcm(channel_mask=4)},
        {"methods": {"frames": "counted"}},
        {"id": "00000000-0000-0000-0000-000000000000"},
    ],
)
def test_what_cannot_be_seen_of_the_file_is_not_compared(
    run: Run,
    having: Callable[..., Dossier],
    beside: Callable[..., SideCar],
    changes: dict[str, Any],
) -> None:
    assert run(AGAINST, having(sidecar=beside(**changes))) == []


def test_a_format_that_could_not_be_read_is_not_compared(
    run: Run, having: Callable[..., Dossier]
) -> None:
    found = run(AGAINST, having(pcm=None, frames=None))
    assert found == [("sidecar-audio-differs", f"{BESIDE}#/this_file/measured/frames")]


def test_digests_that_were_not_taken_are_not_compared(
    run: Run, received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    package = received().package
    assert package is not None
    unread = replace(package, files=tuple(replace(f, digests={}) for f in package.files))
    assert run(AGAINST, received(package=unread)) == []
    assert run(AGAINST, received(package=replace(package, files=()))) == []
    assert run(AGAINST, received(package=None)) == []


# essence-differs


def test_other_samples_than_were_measured(run: Run, having: Callable[..., Dossier]) -> None:
    found = run(AGAINST, having(essence_sha256="0" * 64))
    assert found == [("essence-differs", f"{AUDIO}#data")]


def test_samples_that_were_not_digested_are_not_compared(
    run: Run, having: Callable[..., Dossier]
) -> None:
    assert run(AGAINST, having(essence_sha256="")) == []


def test_other_measurements_are_no_matter_of_this_rule(
    run: Run, having: Callable[..., Dossier], beside: Callable[..., SideCar]
) -> None:
    measured = replace(beside().this_file.measured, integrated_lufs=Decimal(-5))
    assert run(AGAINST, having(sidecar=beside(measured=measured))) == []
