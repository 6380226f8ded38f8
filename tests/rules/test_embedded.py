"""What a file says of itself against side-car, form and audio."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from tailsout.ground.findings import Place
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded, EmbeddedHistoryLine
from tailsout.records.playing import SetUp
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import SideCar, Transfer
from tailsout.records.vocab import Absence
from tailsout.rules import judge
from tailsout.rules.embedded import RULES

Run = Callable[[str, Dossier], list[tuple[str, str]]]
FIRST_RUN = "p1"
CLAIMS, DATES, HISTORY = (rule.name for rule in RULES)
AUDIO, BESIDE = "data/audio/reel.wav", "data/audio/reel.json"
WITH_LOUDNESS = {
    "loudness_value": "LoudnessValue",
    "loudness_range": "LoudnessRange",
    "max_true_peak_level": "MaxTruePeakLevel",
    "max_momentary_loudness": "MaxMomentaryLoudness",
    "max_short_term_loudness": "MaxShortTermLoudness",
}


@pytest.fixture
def saying(
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
) -> Callable[..., Dossier]:
    """Make the package with another bext chunk in its master."""
    return lambda **changes: received(files=(file(embedded=embedded(**changes)),))


@pytest.mark.parametrize("rule", [CLAIMS, DATES, HISTORY])
def test_a_chunk_that_fits_yields_nothing(
    run: Run, received: Callable[..., Dossier], rule: str
) -> None:
    assert run(rule, received()) == []


# bext-missing


def test_a_master_of_ours_without_a_chunk(
    run: Run, received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    assert run(CLAIMS, received(files=(file(embedded=None),))) == [("bext-missing", AUDIO)]


def test_anybody_elses_audio_may_lack_it(
    run: Run, received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    assert run(CLAIMS, received(files=(file(embedded=None, sidecar=None),))) == []


# bext-loudness-differs


@pytest.mark.parametrize(("name", "title"), WITH_LOUDNESS.items())
@pytest.mark.parametrize("value", [Decimal("-11.11"), None])
def test_each_figure_is_compared(
    run: Run, saying: Callable[..., Dossier], name: str, title: str, value: Decimal | None
) -> None:
    found = run(CLAIMS, saying(**{name: value}))
    assert found == [("bext-loudness-differs", f"{AUDIO}#bext.{title}")]


def test_zeros_behind_the_point_are_no_difference(run: Run, saying: Callable[..., Dossier]) -> None:
    assert run(CLAIMS, saying(loudness_value=Decimal("-23.100"))) == []
    assert run(CLAIMS, saying(loudness_value=Decimal("-23.101"))) != []


def test_both_figures_are_told(saying: Callable[..., Dossier]) -> None:
    one, other = judge(saying(loudness_value=None, loudness_range=Decimal("5.00"))).findings
    assert one.text == "it reads 5.00, measured: 4.20."
    assert other.text == "it reads unknown, measured: -23.10."


@pytest.mark.parametrize("version", [0, 1])
def test_versions_without_loudness_say_nothing_of_it(
    run: Run, saying: Callable[..., Dossier], version: int
) -> None:
    assert run(CLAIMS, saying(version=version, **dict.fromkeys(WITH_LOUDNESS))) == []


def test_what_was_measured_in_this_run_is_another_rules_business(
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    measured: Callable[..., AudioFacts],
) -> None:
    now = measured(integrated_lufs=Decimal("-23.20"))
    found = run(CLAIMS, received(files=(file(measured=now),)))
    assert found == []


@pytest.mark.parametrize(
    ("fact", "claim"),
    [
        # EBU Tech 3285 v2 §2.4: beyond ±99.99 the field reads as not known.
        (Decimal("-99.99"), Decimal("-99.99")),
        (Decimal("99.99"), Decimal("99.99")),
        (Decimal("-100.00"), None),
        (Decimal("100.00"), None),
        (None, None),
    ],
)
def test_what_the_chunk_cannot_hold_is_unknown_there(
    *,
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
    beside: Callable[..., SideCar],
    measured: Callable[..., AudioFacts],
    fact: Decimal | None,
    claim: Decimal | None,
) -> None:
    facts = measured(integrated_lufs=fact)
    one = file(embedded=embedded(loudness_value=claim), sidecar=beside(measured=facts))
    assert run(CLAIMS, received(files=(one,))) == []


# bext-date-differs


@pytest.mark.parametrize("day", ["2026-03-13", "2025-03-14", "2026/03/15"])
def test_another_day_in_the_chunk(run: Run, saying: Callable[..., Dossier], day: str) -> None:
    found = run(DATES, saying(origination_date=day))
    assert found == [("bext-date-differs", f"{AUDIO}#bext.OriginationDate")]


@pytest.mark.parametrize("day", ["2026-03-14", "2026/03/14", "2026:03:14", "", "14.3.2026"])
def test_the_same_day_or_none_in_the_chunk(
    run: Run, saying: Callable[..., Dossier], day: str
) -> None:
    # Tech 3285 leaves the separator free; what is not a date is the container rule's business.
    assert run(DATES, saying(origination_date=day)) == []


# capture-date-unknown


def undated(
    transfer: Callable[..., Transfer],
    *,
    ran_on: str | None = None,
    pass_id: str | None = FIRST_RUN,
    absent: Absence | None = None,
) -> Transfer:
    capture = replace(
        transfer().captures[0],
        started=None,
        pass_id=pass_id,
        absent={"started": absent} if absent else {},
    )
    return transfer(captures=(capture,), passes=(replace(transfer().passes[0], on=ran_on),))


@pytest.fixture
def dateless(
    stating: Callable[[Transfer], Dossier], embedded: Callable[..., Embedded]
) -> Callable[[Transfer], Dossier]:
    """Make the package with a chunk that has no day either."""

    def make(transfer: Transfer) -> Dossier:
        dossier = stating(transfer)
        one = replace(dossier.files[0], embedded=embedded(origination_date=""))
        return replace(dossier, files=(one,))

    return make


def test_no_day_anywhere(
    run: Run,
    transfer: Callable[..., Transfer],
    dateless: Callable[[Transfer], Dossier],
) -> None:
    expected = [("capture-date-unknown", f"{BESIDE}#/transfer/captures/0")]
    assert run(DATES, dateless(undated(transfer))) == expected
    # A pass that the capture does not belong to tells nothing.
    other = undated(transfer, pass_id=None, ran_on="2026-03-14")
    assert run(DATES, dateless(other)) == expected


def test_a_day_from_the_pass_or_the_recorder_is_enough(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
    dateless: Callable[[Transfer], Dossier],
) -> None:
    assert run(DATES, dateless(undated(transfer, ran_on="2026-03-14"))) == []
    assert run(DATES, stating(undated(transfer))) == []


def test_a_day_said_not_to_be_recorded_is_no_question(
    run: Run, transfer: Callable[..., Transfer], dateless: Callable[[Transfer], Dossier]
) -> None:
    assert run(DATES, dateless(undated(transfer, absent="not recorded"))) == []


def test_dates_are_judged_when_closing_out_too(
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
) -> None:
    one = file(sidecar=None, embedded=embedded(origination_date="2026-03-13"))
    dossier = received(
        origin="closing",
        package=None,
        files=(one,),
        examined=frozenset({"statements", "headers"}),
        places={"": Place(file="job.toml")},
    )
    assert run(DATES, dossier) == [("bext-date-differs", f"{AUDIO}#bext.OriginationDate")]


# history-format-differs


def lines(*texts: str) -> tuple[EmbeddedHistoryLine, ...]:
    split = (tuple(part.split("=", 1) for part in text.split(",")) for text in texts)
    return tuple(
        EmbeddedHistoryLine(parameters=tuple((key, value) for key, value in one)) for one in split
    )


ANALOGUE = "A=ANALOGUE,M=mono,T=Tidewright Mark 3; 19.05 cm/s"
PLACE = f"{AUDIO}#bext.CodingHistory"


@pytest.mark.parametrize(
    ("digital", "count"),
    [
        ("A=PCM,F=96000,W=24,T=Thwart C2", 1),
        ("A=PCM,F=48000,W=16,T=Thwart C2", 1),
        ("A=PCM,F=96000,W=16,T=Thwart C2", 2),
        ("A=PCM,F= 48000 ,W=24,T=Thwart C2", 0),
        ("A=PCM,T=Thwart C2", 0),
    ],
)
def test_the_last_digital_line_fits_the_audio(
    run: Run, saying: Callable[..., Dossier], digital: str, count: int
) -> None:
    found = run(HISTORY, saying(coding_history=lines(ANALOGUE, digital)))
    assert found == [("history-format-differs", PLACE)] * count


def test_what_a_stranger_wrote_there_is_cut_and_safe_to_print(
    saying: Callable[..., Dossier],
) -> None:
    digital = lines(f"A=PCM,F=\x1b{'9' * 60},W=24,T=Thwart C2")
    [finding] = judge(saying(coding_history=(*lines(ANALOGUE), *digital))).findings
    shown = "\\x1b" + "9" * 39 + "…(21 more)"
    assert finding.text == f"its last line says F={shown}, the audio has 48000."


def test_earlier_digital_lines_may_be_otherwise(run: Run, saying: Callable[..., Dossier]) -> None:
    history = lines(ANALOGUE, "A=PCM,F=96000,W=24,T=Thwart C2", "A=PCM,F=48000,W=24,T=Mill")
    assert run(HISTORY, saying(coding_history=history)) == []


def test_a_format_that_could_not_be_read_is_not_compared(
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
) -> None:
    said = embedded(coding_history=lines(ANALOGUE, "A=PCM,F=1,W=1,T=Thwart C2"))
    assert run(HISTORY, received(files=(file(pcm=None, embedded=said),))) == []


# history-chain-differs


@pytest.mark.parametrize(
    "history",
    [
        lines("A=ANALOGUE,T=Foreland 8; 19.05 cm/s", "A=PCM,F=48000,W=24,T=Thwart C2"),
        lines("A=ANALOGUE,T=Tidewright Mark 3; 38.1 cm/s", "A=PCM,F=48000,W=24,T=Thwart C2"),
        lines(ANALOGUE, "A=PCM,F=48000,W=24,T=Shoal AD1"),
        lines(ANALOGUE),
    ],
    ids=["machine", "speed", "device", "no digital line"],
)
def test_what_is_stated_and_no_line_says(
    run: Run, saying: Callable[..., Dossier], history: tuple[EmbeddedHistoryLine, ...]
) -> None:
    found = run(HISTORY, saying(coding_history=history))
    assert found == [("history-chain-differs", PLACE)]


def test_a_name_is_looked_for_as_the_history_writes_it(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
) -> None:
    # EBU R 98 is ASCII, and a comma ends a parameter.
    chain = transfer().chain
    assert chain is not None
    step = replace(chain.steps[1], device="Thwart C2, ½ rack")
    dossier = stating(transfer(chain=replace(chain, steps=(step,))))
    said = dossier.files[0].embedded
    assert said is not None
    assert run(HISTORY, dossier) == [("history-chain-differs", PLACE)]
    written = lines(ANALOGUE, "A=PCM,F=48000,W=24,T=Thwart C2; 1/2 rack")
    one = replace(dossier.files[0], embedded=replace(said, coding_history=written))
    assert run(HISTORY, replace(dossier, files=(one,))) == []


def test_devices_of_the_analogue_part_need_no_line(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
) -> None:
    chain = transfer().chain
    assert chain is not None
    step = replace(chain.steps[0], device="Another Coil")
    assert run(HISTORY, stating(transfer(chain=replace(chain, steps=(step,))))) == []
    assert run(HISTORY, stating(transfer(chain=None))) == []


def test_a_step_without_a_device_needs_no_line(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
) -> None:
    unnamed = Chain(steps=(ChainStep(kind="recorder", signal="digital"),))
    assert run(HISTORY, stating(transfer(chain=unnamed))) == []


def test_a_machine_of_no_pass_or_without_a_name_needs_no_line(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
) -> None:
    [left] = transfer().machines
    other = replace(left, id="right", maker="Foreland", model="8")
    assert run(HISTORY, stating(transfer(machines=(left, other)))) == []
    nameless = replace(left, maker=None, model=None)
    assert run(HISTORY, stating(transfer(machines=(nameless,)))) == []


def test_the_speed_of_the_pass_counts_where_the_region_is_silent(
    run: Run,
    transfer: Callable[..., Transfer],
    stating: Callable[[Transfer], Dossier],
) -> None:
    reel = transfer().reel
    [side] = reel.sides
    silent = replace(side.regions[0], speed_ips=None, tracks="full-track mono")
    reel = replace(reel, sides=(replace(side, regions=(silent,)),))
    [one_pass] = transfer().passes
    fast = replace(one_pass, set_up=SetUp(speed_ips=Decimal(15)))
    assert run(HISTORY, stating(transfer(reel=reel))) == []
    found = run(HISTORY, stating(transfer(reel=reel, passes=(fast,))))
    assert found == [("history-chain-differs", PLACE)]


def test_a_master_without_side_car_or_chunk_has_no_history_to_judge(
    run: Run,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    embedded: Callable[..., Embedded],
) -> None:
    bare = embedded(coding_history=())
    assert run(HISTORY, received(files=(file(embedded=bare),))) != []
    assert run(HISTORY, received(files=(file(sidecar=None, embedded=bare),))) == []
    assert run(HISTORY, received(files=(file(embedded=None),))) == []
    assert run(HISTORY, received(files=(file(capture="another", embedded=bare),))) == []
