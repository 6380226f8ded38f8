"""The samples against what was stated of them; how far meters may lie apart, from the standards."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.sound import AudioFacts, KeptCourse, KeptOverview, KeptSpectrogram
from tailsout.rules import judge
from tailsout.rules.measured_again import RULES

BEXT_OF = {
    "integrated_lufs": "LoudnessValue",
    "range_lu": "LoudnessRange",
    "true_peak_dbtp": "MaxTruePeakLevel",
    "momentary_max_lufs": "MaxMomentaryLoudness",
    "short_term_max_lufs": "MaxShortTermLoudness",
}
# EBU Tech 3341 v4, Table 1: ±0.1 LU and +0.2/-0.4 dB; Tech 3342, Table 1: ±1 LU. Two meters may be
# off the opposite way, and each figure is rounded to 0.01.
APART = {
    "integrated_lufs": "0.21",
    "momentary_max_lufs": "0.21",
    "short_term_max_lufs": "0.21",
    "range_lu": "2.01",
    "true_peak_dbtp": "0.61",
}


def found(dossier: Dossier) -> list[tuple[str, str]]:
    [rule] = RULES
    return [(one.code, str(one.place)) for one in rule.run(dossier)]


@pytest.fixture
def told(file: Callable[..., FileRecord]) -> Callable[..., FileRecord]:
    """A file with its side-car, and what was measured of it now: other figures if given."""

    def make(**other: Any) -> FileRecord:
        plain = file()
        assert plain.stated is not None
        return replace(plain, measured=replace(plain.stated.measured, **other))

    return make


def moved(facts: AudioFacts, field: str, by: str) -> Decimal:
    value: Decimal = getattr(facts, field)
    return value + Decimal(by)


@pytest.mark.parametrize("sign", ["", "-"])
@pytest.mark.parametrize(("field", "apart"), APART.items())
def test_two_meters_may_lie_so_far_apart_and_no_further(
    received: Callable[..., Dossier],
    told: Callable[..., FileRecord],
    field: str,
    apart: str,
    sign: str,
) -> None:
    facts = told().measured
    assert facts is not None
    just = told(**{field: moved(facts, field, f"{sign}{apart}")})
    over = told(**{field: moved(facts, field, f"{sign}{apart}") + Decimal(f"{sign}0.01")})
    assert found(received(files=(just,))) == []
    place = f"data/audio/reel.json#/this_file/measured/{field}"
    assert found(received(files=(over,))) == [("measured-otherwise", place)]


# Own rule: a stranger's maxima may lie half a unit off, their windows begin elsewhere.
STRANGERS = {**APART, "momentary_max_lufs": "0.51", "short_term_max_lufs": "0.51"}


@pytest.mark.parametrize("sign", ["", "-"])
@pytest.mark.parametrize(("field", "apart"), STRANGERS.items())
def test_a_strangers_meter_is_a_note_within_and_a_question_beyond(
    received: Callable[..., Dossier],
    told: Callable[..., FileRecord],
    field: str,
    apart: str,
    sign: str,
) -> None:
    facts = told().measured
    assert facts is not None

    def alone(by: str) -> list[tuple[str, str]]:
        other = told(**{field: moved(facts, field, f"{sign}{by}")})
        return found(received(files=(replace(other, sidecar=None),)))

    # Half a tenth is rounding, and the figures themselves are rounded to a hundredth.
    assert alone("0.06") == []
    assert alone("0.07") == [("bext-loudness-near", "data/audio/reel.wav#bext")]
    assert alone(apart) == [("bext-loudness-near", "data/audio/reel.wav#bext")]
    beyond = str(Decimal(apart) + Decimal("0.01"))
    inside = f"data/audio/reel.wav#bext.{BEXT_OF[field]}"
    assert alone(beyond) == [("bext-loudness-measured-otherwise", inside)]


def test_what_is_near_is_told_once_a_file(
    received: Callable[..., Dossier], told: Callable[..., FileRecord]
) -> None:
    facts = told().measured
    assert facts is not None
    other = told(
        integrated_lufs=moved(facts, "integrated_lufs", "0.1"),
        true_peak_dbtp=moved(facts, "true_peak_dbtp", "0.1"),
    )
    assert len(found(received(files=(replace(other, sidecar=None),)))) == 1


def test_a_sample_peak_is_one_number(
    received: Callable[..., Dossier], told: Callable[..., FileRecord]
) -> None:
    other = told(sample_peak_dbfs=Decimal("-1.01"))
    [(code, place)] = found(received(files=(other,)))
    assert (code, place.rpartition("/")[2]) == ("measured-otherwise", "sample_peak_dbfs")


@pytest.mark.parametrize("field", ["integrated_lufs", "range_lu"])
def test_a_figure_where_there_is_none(
    received: Callable[..., Dossier], told: Callable[..., FileRecord], field: str
) -> None:
    assert len(found(received(files=(told(**{field: None}),)))) == 1


def test_a_chunk_that_leaves_it_open_states_nothing(
    received: Callable[..., Dossier], told: Callable[..., FileRecord]
) -> None:
    one = told(integrated_lufs=Decimal(-40))
    assert one.embedded is not None
    silent = replace(one.embedded, loudness_value=None)
    assert found(received(files=(replace(one, sidecar=None, embedded=silent),))) == []
    old = replace(one.embedded, version=1)
    assert found(received(files=(replace(one, sidecar=None, embedded=old),))) == []
    bare = replace(one, sidecar=None, embedded=None)
    assert found(received(files=(bare,))) == []


def test_what_was_not_measured_is_not_compared(received: Callable[..., Dossier]) -> None:
    assert found(received()) == []


def test_a_meter_that_is_a_little_off_is_no_edited_chunk(
    received: Callable[..., Dossier], told: Callable[..., FileRecord]
) -> None:
    """Chunk and side-car were written from one measurement: they are held to each other alone."""
    facts = told().measured
    assert facts is not None
    near = told(integrated_lufs=moved(facts, "integrated_lufs", "0.05"))
    assert judge(received(files=(near,))).findings == ()


SEEN = KeptOverview(
    seconds_a_column=Decimal("0.2"),
    channels=(KeptCourse(low="-500 -40 0", high="480 40 0", rms="210 9 0"),),
    spectrogram=KeptSpectrogram(
        seconds_a_column=Decimal("0.4"), bands_hz="40 4000", levels=("60 119", "121 255")
    ),
)


def waveform(**lines: str) -> KeptOverview:
    return replace(SEEN, channels=(replace(SEEN.channels[0], **lines),))


def spectrogram(**more: Any) -> KeptOverview:
    return replace(SEEN, spectrogram=replace(SEEN.spectrogram, **more))


@pytest.fixture
def drawn(
    file: Callable[..., FileRecord], received: Callable[..., Dossier]
) -> Callable[[KeptOverview | None, KeptOverview | None], Dossier]:
    """A package whose side-car keeps one overview, where another is measured now."""

    def make(said: KeptOverview | None, found: KeptOverview | None) -> Dossier:
        plain = file()
        assert plain.sidecar is not None
        assert plain.stated is not None
        this = replace(plain.stated, overview=said)
        car = replace(plain.sidecar, this_file=this)
        now = replace(plain, sidecar=car, measured=this.measured, overview=found)
        return received(files=(now,))

    return make


@pytest.mark.parametrize(
    "said",
    [
        SEEN,
        None,
        waveform(low="-501 -39 -1", rms="211 8 1"),
        spectrogram(levels=("61 118", "254 122")),
        replace(SEEN, seconds_a_column=Decimal("0.20")),
    ],
)
def test_an_overview_within_what_rounding_does(
    drawn: Callable[..., Dossier], said: KeptOverview | None
) -> None:
    assert found(drawn(said, SEEN)) == []


@pytest.mark.parametrize(
    ("said", "part", "text"),
    [
        (
            waveform(high="480 42 0"),
            "channels",
            "one number differs, first in high of channel 1, column 2: it states 42, measured now",
        ),
        (
            waveform(rms="0 0 9"),
            "channels",
            "3 numbers differ, first in rms of channel 1, column 1: it states 0, measured",
        ),
        (waveform(low="-500 -40"), "channels", "its columns are not those"),
        (replace(SEEN, channels=()), "channels", "its columns are not those"),
        (replace(SEEN, channels=SEEN.channels * 2), "channels", "its columns are not those"),
        (replace(SEEN, seconds_a_column=Decimal("0.4")), "channels", "its columns are not those"),
        (spectrogram(levels=("60 117", "121 255")), "spectrogram", "band 1, column 2"),
        (spectrogram(levels=("60 119", "119 255")), "spectrogram", "band 2, column 1"),
        (spectrogram(levels=("60 119", "121 120")), "spectrogram", "band 2, column 2"),
        (spectrogram(levels=("60 119",)), "spectrogram", "its columns are not those"),
        (spectrogram(bands_hz="40 4001"), "spectrogram", "its columns are not those"),
        (spectrogram(seconds_a_column=Decimal(1)), "spectrogram", "its columns are not those"),
    ],
)
def test_an_overview_that_the_samples_do_not_show(
    drawn: Callable[..., Dossier], said: KeptOverview, part: str, text: str
) -> None:
    [rule] = RULES
    [finding] = rule.run(drawn(said, SEEN))
    assert finding.code == "overview-measured-otherwise"
    assert str(finding.place) == f"data/audio/reel.json#/this_file/overview/{part}"
    assert text in finding.text


def test_an_overview_of_what_shows_none(drawn: Callable[..., Dossier]) -> None:
    places = [place for _, place in found(drawn(SEEN, None))]
    assert places == [
        f"data/audio/reel.json#/this_file/overview/{part}" for part in ("channels", "spectrogram")
    ]
