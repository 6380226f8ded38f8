"""Side-cars: against the audio they lie beside, and against each other."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.ground.findings import Kind, Place, Verdict
from tailsout.ground.pcm import Pcm
from tailsout.mapping.sidecar import (
    SIDECAR_NEWER,
    SIDECAR_NOT_JSON,
    SIDECAR_SCHEMA,
    SIDECAR_TOO_LARGE,
)
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ManifestLine, PackageFacts
from tailsout.records.machine import Machine
from tailsout.records.recipient import Recipient
from tailsout.records.reel import Reel
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import SideCar, SourceFile, Transfer
from tailsout.records.vocab import MasterFormat
from tailsout.rules import judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
SCHEMA, PRESENT, AGAINST = "side-car schema", "side-cars present", "side-cars against audio"
TWINS = "side-cars against each other"
AUDIO, BESIDE = "data/audio/reel.wav", "data/audio/reel.json"


@pytest.fixture
def having(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> Callable[..., Dossier]:
    return lambda **changes: received(files=(file(**changes),))


@pytest.mark.parametrize("rule", [TWINS, SCHEMA, PRESENT, AGAINST])
def test_a_side_car_that_fits_yields_nothing(
    run: Run, received: Callable[..., Dossier], rule: str
) -> None:
    assert run(rule, received()) == []


# sidecar-not-json, -schema, -newer, -too-large: found by the reader, spoken for by a rule


@pytest.mark.parametrize(
    ("kind", "code", "verdict"),
    [
        (SIDECAR_NOT_JSON, "sidecar-not-json", Verdict.FAIL),
        (SIDECAR_SCHEMA, "sidecar-schema", Verdict.FAIL),
        (SIDECAR_NEWER, "sidecar-newer", Verdict.NOT_EXAMINED),
        (SIDECAR_TOO_LARGE, "sidecar-too-large", Verdict.NOT_EXAMINED),
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


def test_audio_without_a_side_car_is_noted(run: Run, foreign: Dossier) -> None:
    assert run(PRESENT, foreign) == [("sidecar-missing", AUDIO)]
    assert judge(foreign).verdict is Verdict.PASS


def test_anothers_broken_side_car_does_not_stand_for_a_missing_one(
    run: Run, foreign: Dossier
) -> None:
    met = SIDECAR_SCHEMA.at(Place(file="data/audio/other.json"), "it cannot be taken.")
    assert run(PRESENT, replace(foreign, reading=(met,))) == [("sidecar-missing", AUDIO)]


# sidecar-lost


def test_a_master_that_another_side_car_tells_of_has_one_of_its_own(
    run: Run, having: Callable[..., Dossier]
) -> None:
    assert run(PRESENT, having(sidecar=None)) == [("sidecar-lost", AUDIO)]
    assert judge(having(sidecar=None)).verdict is Verdict.FAIL


def test_a_flac_master_is_ours_where_the_recipient_wants_it(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    file: Callable[..., FileRecord],
) -> None:
    path = "data/audio/reel.flac"
    told_of: dict[MasterFormat, str] = {"FLAC": "sidecar-lost", "WAV": "sidecar-missing"}
    for wanted, code in told_of.items():
        recipient = Recipient(id="archive", master_format=wanted)
        dossier = stating(transfer(recipient=recipient))
        told = replace(dossier, files=(file(sidecar=None, path=path),))
        assert run(PRESENT, told) == [(code, path)]


def test_audio_that_no_side_car_tells_of_was_added_to_the_package(
    run: Run, having: Callable[..., Dossier]
) -> None:
    for path in ("data/audio/reel-2.wav", "data/edit/reel.wav", "data/audio/reel.wave"):
        assert run(PRESENT, having(sidecar=None, path=path)) == [("sidecar-missing", path)]


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
    run: Run,
    having: Callable[..., Dossier],
    beside: Callable[..., SideCar],
    measured: Callable[..., AudioFacts],
) -> None:
    found = run(AGAINST, having(sidecar=beside(measured=measured(frames=47_999))))
    assert found == [("sidecar-audio-differs", f"{BESIDE}#/this_file/measured/frames")]


@pytest.mark.parametrize(
    "changes",
    [
        {"sources": (SourceFile(file="x.wav", octets=1, frames=2, sha256="0" * 64),)},
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


def test_a_side_car_that_says_nothing_of_the_file_beside_it(
    run: Run, having: Callable[..., Dossier], beside: Callable[..., SideCar]
) -> None:
    """As that of a reel which was not played."""
    found = run(AGAINST, having(sidecar=replace(beside(), this_file=None)))
    assert found == [("sidecar-audio-differs", BESIDE)]


# Digests: the manifests', for fixity tells whether the file is the one they list


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"sha256": "0" * 64}, "another sha256 for"),
        ({"sha512": "0" * 128}, "another sha512 for"),
        ({"sha256": "0" * 64, "sha512": "0" * 128}, "another sha256 and sha512 for"),
    ],
)
def test_digests_stated_otherwise_than_the_manifests_list_are_one_finding(
    run: Run,
    having: Callable[..., Dossier],
    beside: Callable[..., SideCar],
    changes: dict[str, str],
    words: str,
) -> None:
    dossier = having(sidecar=beside(**changes))
    assert run(AGAINST, dossier) == [("sidecar-audio-differs", f"{BESIDE}#/this_file")]
    [one] = judge(dossier).findings
    assert one.text == f"the manifests list {words} {AUDIO}."


def relisting(package: PackageFacts, change: Callable[[ManifestLine], ManifestLine]) -> Any:
    manifests = tuple(
        replace(one, lines=tuple(change(line) for line in one.lines)) for one in package.manifests
    )
    return replace(package, manifests=manifests)


def test_a_digest_in_upper_case_is_the_same(
    run: Run, received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> None:
    def upper(line: ManifestLine) -> ManifestLine:
        return line._replace(digest=line.digest.upper())

    assert run(AGAINST, received(package=relisting(package(), upper))) == []


def test_it_is_the_list_of_this_very_file_that_counts(
    run: Run, received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> None:
    def other(line: ManifestLine, about: str) -> ManifestLine:
        digest = "0" * len(line.digest)
        return line._replace(digest=digest) if line.path == about else line

    beside_it = relisting(package(), lambda line: other(line, BESIDE))
    assert run(AGAINST, received(package=beside_it)) == []
    itself = relisting(package(), lambda line: other(line, AUDIO))
    expected = [("sidecar-audio-differs", f"{BESIDE}#/this_file")]
    assert run(AGAINST, received(package=itself)) == expected


def test_a_changed_file_is_told_by_fixity_alone(
    run: Run, received: Callable[..., Dossier], package: Callable[..., PackageFacts]
) -> None:
    found = tuple(
        replace(f, digests=dict.fromkeys(f.digests, "0" * 64)) if f.path == AUDIO else f
        for f in package().files
    )
    dossier = received(package=package(files=found))
    assert run(AGAINST, dossier) == []
    assert [f.code for f in judge(dossier).findings] == ["digest-differs"]


def test_digests_that_no_manifest_lists_are_not_compared(
    run: Run,
    received: Callable[..., Dossier],
    having: Callable[..., Dossier],
    package: Callable[..., PackageFacts],
    beside: Callable[..., SideCar],
) -> None:
    """A bag may have one manifest, of another algorithm."""
    lying = having(sidecar=beside(sha256="0" * 64, sha512="0" * 128))
    assert run(AGAINST, replace(lying, package=package(manifests=()))) == []
    assert run(AGAINST, replace(lying, package=None)) == []
    assert run(AGAINST, received(package=package(files=()))) == []


# essence-differs


def test_other_samples_than_were_measured(run: Run, having: Callable[..., Dossier]) -> None:
    found = run(AGAINST, having(essence_sha256="0" * 64))
    assert found == [("essence-differs", f"{AUDIO}#data")]


def test_samples_that_were_not_digested_are_not_compared(
    run: Run, having: Callable[..., Dossier]
) -> None:
    assert run(AGAINST, having(essence_sha256="")) == []


def test_other_measurements_are_no_matter_of_this_rule(
    run: Run,
    having: Callable[..., Dossier],
    beside: Callable[..., SideCar],
    measured: Callable[..., AudioFacts],
) -> None:
    louder = measured(integrated_lufs=Decimal(-5))
    assert run(AGAINST, having(sidecar=beside(measured=louder))) == []


# sidecars-disagree


@pytest.fixture
def telling(
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    beside: Callable[..., SideCar],
) -> Callable[..., Dossier]:
    """Make a package of one file and side-car for each transfer; None: a file without one."""

    def make(*transfers: Transfer | None) -> Dossier:
        return received(
            files=tuple(
                file(
                    path=f"data/audio/{n}.wav",
                    sidecar=None if one is None else replace(beside(), transfer=one),
                )
                for n, one in enumerate(transfers)
            )
        )

    return make


def test_side_cars_that_tell_one_history(
    run: Run, telling: Callable[..., Dossier], transfer: Callable[..., Transfer]
) -> None:
    assert run(TWINS, telling()) == []
    assert run(TWINS, telling(transfer())) == []
    assert run(TWINS, telling(transfer(), transfer(), transfer())) == []
    assert run(TWINS, telling(None, transfer(), None, transfer())) == []


def test_this_file_and_what_wrote_it_may_differ(
    run: Run, received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    one = file()
    assert one.sidecar is not None
    other = replace(one.sidecar, software="tailsout 9", written="2027-01-01T00:00:00Z")
    files = (one, file(sidecar=replace(other, extensions={"x": 1}, this_file=None)))
    assert run(TWINS, received(files=files)) == []


@pytest.mark.parametrize(
    "changes",
    [
        {"note": "another"},
        {"package_id": "REEL-2"},
        {"reel": Reel(width_mm=Decimal("6.3"))},
        {"absent": {"note": "unknown"}},
        {"passes": ()},
        {"captures": ()},
    ],
)
def test_any_difference_in_what_is_stated_is_found(
    run: Run,
    telling: Callable[..., Dossier],
    transfer: Callable[..., Transfer],
    changes: dict[str, Any],
) -> None:
    dossier = telling(transfer(), transfer(**changes), transfer())
    assert run(TWINS, dossier) == [("sidecars-disagree", "data/audio/1.json#/transfer")]
    findings = judge(dossier).findings
    [one] = [f for f in findings if f.code == "sidecars-disagree"]
    assert one.text == "it tells another history than data/audio/0.json."
    assert judge(dossier).verdict is Verdict.FAIL


def test_the_first_one_is_what_the_others_are_held_against(
    run: Run, telling: Callable[..., Dossier], transfer: Callable[..., Transfer]
) -> None:
    dossier = telling(None, transfer(note="another"), transfer(), transfer())
    assert run(TWINS, dossier) == [
        ("sidecars-disagree", "data/audio/2.json#/transfer"),
        ("sidecars-disagree", "data/audio/3.json#/transfer"),
    ]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        # RFC 8785 §3.2.2.3: numbers are compared as IEEE 754 doubles, not as typed.
        ("7.5", "7.50", True),
        ("15", "15.0", True),
        ("1.5e1", "15", True),
        ("7.5", "7.500000000000001", False),
        ("7.5", "3.75", False),
    ],
)
def test_numbers_are_compared_by_their_worth(
    *,
    run: Run,
    telling: Callable[..., Dossier],
    transfer: Callable[..., Transfer],
    one: str,
    other: str,
    same: bool,
) -> None:
    def speeds(text: str) -> Transfer:
        return transfer(machines=(Machine(id="left", speeds_ips=(Decimal(text),)),))

    assert (run(TWINS, telling(speeds(one), speeds(other))) == []) is same


@pytest.mark.parametrize(("one", "other"), [("\u00e4", "a\u0308"), ("ß", "ss"), ("a", "a ")])
def test_text_is_compared_to_the_letter(
    run: Run,
    telling: Callable[..., Dossier],
    transfer: Callable[..., Transfer],
    one: str,
    other: str,
) -> None:
    """RFC 8785 §3.1: no form of Unicode is turned into another."""
    assert run(TWINS, telling(transfer(note=one), transfer(note=other))) != []
