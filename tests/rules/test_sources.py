"""Captures of several files: TimeReference of EBU Tech 3285 v2 §2.3 is what proves them whole."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.capture import Capture, Part
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.recipient import Recipient
from tailsout.records.transfer import SourceFile, Transfer
from tailsout.rules import judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "files of a capture"
AT = "data/audio/reel.json#/transfer/captures/0"
FRAMES = 48_000


@pytest.fixture
def holding(
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    file: Callable[..., FileRecord],
) -> Callable[..., Dossier]:
    """A dossier of one capture in as many files as there are TimeReferences."""

    def make(
        made: str,
        references: list[int | None],
        *,
        frames: list[int] | None = None,
        interleave: bool | None = None,
        parts: tuple[Part, ...] = (),
        **more: Any,
    ) -> Dossier:
        capture = Capture(id="reel", file="captures/1.wav", parts=parts)
        recipient = Recipient(id="archive", interleave=interleave)
        stated = stating(transfer(captures=(capture,), recipient=recipient, **more))
        files = []
        for number, reference in enumerate(references, start=1):
            length = frames[number - 1] if frames else FRAMES
            source = SourceFile(
                file=f"captures/{number}.wav",
                octets=1,
                frames=length,
                sha256="1" * 64,
                time_reference=reference,
            )
            files.append(
                file(
                    made=made,
                    frames=length,
                    sources=(source,),
                    starts_at=(number - 1) * FRAMES if made == "part" else 0,
                    track=number if made == "track" else None,
                )
            )
        return replace(stated, files=tuple(files))

    return make


def texts(dossier: Dossier, code: str) -> list[str]:
    return [one.text for one in judge(dossier).findings if one.code == code]


# parts-not-joined


@pytest.mark.parametrize(
    ("references", "reason"),
    [
        ([0, FRAMES + 3], "3 samples are missing"),
        ([0, FRAMES - 3], "3 samples come twice"),
        ([0, None], "part 2 states no TimeReference"),
        ([None, FRAMES], "part 1 states no TimeReference"),
        ([0, FRAMES, 5], "between part 2 and part 3"),
        ([0, FRAMES], "the audio of one is in doubt"),
    ],
)
def test_parts_that_stay_apart(
    run: Run, holding: Callable[..., Dossier], references: list[int | None], reason: str
) -> None:
    dossier = holding("part", references)
    assert run(RULE, dossier) == [("parts-not-joined", AT)]
    assert reason in texts(dossier, "parts-not-joined")[0]


@pytest.mark.parametrize("made", ["joined", "as captured", "interleaved"])
def test_what_is_one_file_stays_silent(
    run: Run, holding: Callable[..., Dossier], made: str
) -> None:
    assert run(RULE, holding(made, [0])) == []
    assert run(RULE, holding("part", [0])) == []


# tracks-not-interleaved


def test_mono_files_are_asked_about_only_where_one_file_is_wanted(
    run: Run, holding: Callable[..., Dossier]
) -> None:
    for wish in (None, False):
        assert run(RULE, holding("track", [0, 9], interleave=wish)) == []
    dossier = holding("track", [0, 9], interleave=True)
    assert run(RULE, dossier) == [("tracks-not-interleaved", AT)]
    assert "begins at TimeReference 9, file 1 at 0" in texts(dossier, "tracks-not-interleaved")[0]
    dossier = holding("track", [0, 0], frames=[FRAMES, 5], interleave=True)
    assert "has 5 samples" in texts(dossier, "tracks-not-interleaved")[0]


# part-differs


def test_typed_figures_are_held_against_the_files(
    run: Run, holding: Callable[..., Dossier]
) -> None:
    parts = (
        Part(file="captures/1.wav", frames=FRAMES, time_reference=0),
        Part(file="captures/2.wav", frames=FRAMES + 1, time_reference=7),
        Part(file="captures/unheard-of.wav", frames=1),
    )
    found = run(RULE, holding("joined", [0], parts=parts))
    assert found == []
    dossier = holding("part", [0, None], parts=parts)
    assert run(RULE, dossier)[1:] == [
        ("part-differs", f"{AT}/parts/1/frames"),
        ("part-differs", f"{AT}/parts/1/time_reference"),
    ]
    assert texts(dossier, "part-differs") == [
        "it says 48001, the file has 48000.",
        "it says 7, the file states none.",
    ]


# flac-restored


def test_what_was_made_of_flac_is_told_when_closing(
    run: Run, holding: Callable[..., Dossier]
) -> None:
    dossier = holding("restored from FLAC", [0])
    assert run(RULE, replace(dossier, origin="closing")) == [("flac-restored", f"{AT}/file")]
    # The side-car says it already.
    assert run(RULE, dossier) == []
    assert run(RULE, replace(holding("as captured", [0]), origin="closing")) == []


def test_parts_that_were_flac_are_told_one_by_one(
    run: Run, holding: Callable[..., Dossier]
) -> None:
    dossier = replace(holding("joined", [0]), origin="closing")
    sources = tuple(
        SourceFile(file=name, octets=1, frames=1, sha256="")
        for name in ("a.flac", "b.wav", "c.FLAC")
    )
    files = tuple(replace(file, sources=sources) for file in dossier.files)
    assert len(run(RULE, replace(dossier, files=files))) == 2
