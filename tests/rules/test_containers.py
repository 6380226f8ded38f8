"""Damage to wave files and how it weighs; audio without samples, or that no tape gave."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Severity, Verdict
from tailsout.ground.pcm import Pcm
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts, Embedded
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import SideCar
from tailsout.rules import judge
from tailsout.rules.damage import HARMLESS, KIND_OF

Run = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "containers"
AUDIO = "data/audio/reel.wav"

# The words that each kind of finding stands for.
WORDS = {
    "wave-unknown-form": {"not-wave"},
    "wave-cut-short": {"never-finished", "riff-ends-early", "size-wrapped", "truncated"},
    "wave-structure-broken": {
        "bad-chunk-id",
        "duplicate-data",
        "duplicate-fmt",
        "fmt-after-data",
        "missing-pad",
        "no-data",
        "no-fmt",
    },
    "wave-ds64-broken": {"ds64-mismatch", "ds64-missing", "ds64-short", "ds64-table"},
    "wave-format-broken": {"fmt-inconsistent", "fmt-short"},
    "wave-coding-refused": {"fmt-coding"},
    "wave-bext-broken": {"bext-short", "duplicate-bext"},
    "wave-too-many-chunks": {"too-many-chunks"},
    "wave-size-differs": {"riff-size"},
    "wave-octets-behind-end": {"trailing-octets"},
    "wave-frame-incomplete": {"incomplete-frame"},
    "wave-format-contradicts": {"fmt-byte-rate", "fmt-extension", "fmt-mask", "fmt-valid-bits"},
    "wave-bext-faulty": {
        "bext-after-nul",
        "bext-control",
        "bext-date",
        "bext-loudness",
        "bext-loudness-zero",
        "bext-not-ascii",
        "bext-reserved",
        "bext-space-padded",
        "bext-time",
        "bext-version",
    },
    "wave-chunk-faulty": {"chna-rows", "levl-format", "umid-label", "cart-text"},
    "wave-chunk-unread": {"bext-oversize", "xml-oversize"},
    "flac-structure-broken": {
        "flac-block-type",
        "flac-duplicate-streaminfo",
        "flac-streaminfo",
        "not-flac",
    },
    "flac-cut-short": {"flac-ends-early", "flac-length", "flac-no-audio", "flac-truncated"},
    "flac-frame-broken": {"flac-frame"},
    "flac-samples-differ": {"flac-md5-differs"},
    "flac-not-decoded": {"flac-bits", "flac-too-many-blocks"},
    "flac-chunks-contradict": {"flac-chunks"},
    "flac-unproved": {"flac-length-unstated", "flac-md5-unstated"},
    "flac-untidy": {"flac-application", "flac-comment", "flac-tag-in-front"},
    "wave-untidy": {
        "ds64-row-unused",
        "ds64-samples",
        "ds64-unused",
        "id-case",
        "missing-final-pad",
        "pad-not-zero",
    },
}
VERDICTS = {
    Severity.MEND: Verdict.FAIL,
    Severity.QUERY: Verdict.OPEN,
    Severity.NOTE: Verdict.PASS,
}


@pytest.fixture
def damaged(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> Callable[[str], Dossier]:
    def make(word: str) -> Dossier:
        fault = Damage(kind=word, offset=36, text="It is \x07 wrong.")
        return received(files=(file(container=replace(file().container, damage=(fault,))),))

    return make


@pytest.mark.parametrize("code", WORDS)
def test_the_words_of_a_kind(code: str) -> None:
    assert WORDS[code] <= {word for word, kind in KIND_OF.items() if kind.code == code}


@pytest.mark.parametrize("word", sorted(KIND_OF))
def test_every_word_is_told_as_its_kind(
    run: Run, damaged: Callable[[str], Dossier], word: str
) -> None:
    kind = KIND_OF[word]
    asked = kind.severity is Severity.QUERY and kind.leads_to is None
    # A query is answered by its place, so that must not move when the file is packed.
    assert run(RULE, damaged(word)) == [(kind.code, f"{AUDIO}#{word if asked else 'octet 36'}")]
    expected = kind.leads_to or VERDICTS[kind.severity]
    assert judge(damaged(word)).verdict is expected


def test_a_limit_of_ours_is_no_fault_of_the_file(damaged: Callable[[str], Dossier]) -> None:
    assert judge(damaged("too-many-chunks")).verdict is Verdict.NOT_EXAMINED


def test_harmless_is_what_leaves_every_sample_in_its_place() -> None:
    assert {"pad-not-zero", "riff-size", "bext-date"} <= HARMLESS
    assert not {"truncated", "fmt-coding", "too-many-chunks"} & HARMLESS


def test_an_undamaged_file_yields_nothing(run: Run, received: Callable[..., Dossier]) -> None:
    assert run(RULE, received()) == []


def test_every_damage_is_told_in_the_readers_words(damaged: Callable[[str], Dossier]) -> None:
    [finding] = judge(damaged("truncated")).findings
    assert finding.text == "It is \\x07 wrong."
    [finding] = judge(damaged("riff-size")).findings
    assert finding.text == "at octet 36: It is \\x07 wrong."


def test_audio_without_a_frame(
    run: Run, received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    assert run(RULE, received(files=(file(frames=0),))) == [("no-audio", AUDIO)]
    assert run(RULE, received(files=(file(frames=1),))) == []


def test_a_length_that_is_not_known_is_told_by_its_damage_alone(
    run: Run, received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    fault = Damage(kind="not-wave", offset=0, text="It is FLAC.")
    container = ContainerFacts(form="FLAC", chunks=(), damage=(fault,))
    one = file(frames=None, pcm=None, container=container)
    assert run(RULE, received(files=(one,))) == [("wave-unknown-form", f"{AUDIO}#octet 0")]


@pytest.mark.parametrize(
    ("rate", "channels", "told"),
    [
        (8_000, 1, False),
        (7_999, 1, True),
        (768_000, 64, False),
        (768_001, 1, True),
        (4_000_000_000, 1, True),
        (48_000, 65, True),
        (48_000, 65_535, True),
    ],
)
def test_a_format_that_no_transfer_has(
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    rate: int,
    channels: int,
    *,
    told: bool,
) -> None:
    pcm = Pcm(
        is_float=False, sample_rate_hz=rate, channels=channels, container_bits=8, valid_bits=8
    )
    expected = [("wave-format-unlikely", f"{AUDIO}#fmt")] if told else []
    assert run(RULE, received(files=(file(pcm=pcm),))) == expected


@pytest.mark.parametrize(("seconds", "told"), [(86_399, False), (86_400, True), (10**9, True)])
def test_a_first_sample_a_day_after_midnight(
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
    seconds: int,
    *,
    told: bool,
) -> None:
    one = file(embedded=embedded(time_reference=seconds * 48_000 + 47_999))
    expected = [("bext-time-reference-late", f"{AUDIO}#bext.TimeReference")] if told else []
    assert run(RULE, received(files=(one,))) == expected


def test_samples_that_are_no_numbers_measured_or_stated(
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    beside: Callable[..., SideCar],
    measured: Callable[..., AudioFacts],
) -> None:
    wild, finite = measured(non_finite_samples=3), measured()
    expected = [("samples-not-finite", f"{AUDIO}#data")]
    assert run(RULE, received(files=(file(measured=wild, sidecar=None),))) == expected
    assert run(RULE, received(files=(file(sidecar=beside(measured=wild)),))) == expected
    # What was measured in this run goes before what a side-car says.
    both = file(measured=finite, sidecar=beside(measured=wild))
    assert run(RULE, received(files=(both,))) == []
