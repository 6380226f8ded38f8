"""Damage to wave files: harmless or not, and audio without samples."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Verdict
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.rules import judge
from tailsout.rules.containers import HARMLESS

Run = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "containers"
AUDIO = "data/audio/reel.wav"


@pytest.fixture
def damaged(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> Callable[[str], Dossier]:
    def make(word: str) -> Dossier:
        fault = Damage(kind=word, offset=36, text="It is \x07 wrong.")
        return received(files=(file(container=replace(file().container, damage=(fault,))),))

    return make


@pytest.mark.parametrize("word", sorted(HARMLESS))
def test_harmless_damage_is_a_note(run: Run, damaged: Callable[[str], Dossier], word: str) -> None:
    assert run(RULE, damaged(word)) == [("wave-untidy", f"{AUDIO}#octet 36")]
    assert judge(damaged(word)).verdict is Verdict.PASS


@pytest.mark.parametrize("word", ["truncated", "riff-size", "bext-short", "a word that is new"])
def test_all_other_damage_must_be_mended(
    run: Run, damaged: Callable[[str], Dossier], word: str
) -> None:
    assert run(RULE, damaged(word)) == [("wave-damaged", f"{AUDIO}#octet 36")]
    assert judge(damaged(word)).verdict is Verdict.FAIL


def test_an_undamaged_file_yields_nothing(run: Run, received: Callable[..., Dossier]) -> None:
    assert run(RULE, received()) == []


def test_every_damage_is_told_in_the_readers_words(damaged: Callable[[str], Dossier]) -> None:
    [finding] = judge(damaged("truncated")).findings
    assert finding.text == "It is \\x07 wrong."


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
    assert run(RULE, received(files=(one,))) == [("wave-damaged", f"{AUDIO}#octet 0")]
