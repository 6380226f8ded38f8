from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.mapping.history import (
    ascii_reduced,
    equalisation_text,
    history_for,
    is_analogue,
    machine_name,
    settings_of,
    step_name,
)
from tailsout.records.chain import ChainStep
from tailsout.records.machine import Machine
from tailsout.records.playing import SetUp
from tailsout.records.reel import Equalisation
from tailsout.wave import history
from tailsout.wave.history import Line, parse


def lines(text: str) -> tuple[Line, ...]:
    return parse(text)[0]


@pytest.mark.parametrize(
    ("text", "reduced"),
    [
        ("7½ ips", "7 1/2 ips"),
        ("3¾", "3 3/4"),
        ("1⅞ ips", "1 7/8 ips"),
        ("15⁄16", "15/16"),
        ("½", "1/2"),
        ("50 µs", "50 us"),
        ("50 μs", "50 us"),
        ("Café – Zoë’s “log”…", 'Cafe - Zoe\'s "log"...'),
        ("Straße, Ærø, Łódź, œuvre", "Strasse, AEro, Lodz, oeuvre"),
        ("±3 dB × 2", "+/-3 dB x 2"),
        ("20 °C", "20 deg C"),
        ("ﬁne ①", "fine 1"),
        ("„a“ ‚b‘ «c» ‹d›", "\"a\" 'b' \"c\" 'd'"),
        ("a\tb\r\nc\u00a0d", "a b c d"),
        ("日本", "??"),
        ("\x1b[2J\u202e", "?[2J?"),
        ("  plain  ", "plain"),
        ("", ""),
    ],
)
def test_text_is_reduced_to_ascii(text: str, reduced: str) -> None:
    assert ascii_reduced(text) == reduced


@given(st.text())
def test_reduced_text_is_printable_ascii_on_one_line(text: str) -> None:
    reduced = ascii_reduced(text)
    assert all(" " <= character <= "~" for character in reduced)
    assert reduced == reduced.strip()
    assert ascii_reduced(reduced) == reduced


@pytest.mark.parametrize(
    ("curve", "text"),
    [
        (
            Equalisation(standard="NAB", t1_us=Decimal(3180), t2_us=Decimal("50.0")),
            "NAB 3180+50 us",
        ),
        (Equalisation(standard="IEC 1", t2_us=Decimal(35)), "IEC 1 35 us"),
        (Equalisation(t2_us=Decimal("17.5")), "17.5 us"),
        (Equalisation(standard="AES"), "AES"),
        (Equalisation(), ""),
    ],
)
def test_a_curve_in_words(curve: Equalisation, text: str) -> None:
    assert equalisation_text(curve) == text


def test_names_of_machines_and_devices() -> None:
    assert machine_name(Machine(id="m", maker="Tidewright", model="Mark 3, left")) == (
        "Tidewright Mark 3; left"
    )
    assert machine_name(Machine(id="m")) == ""
    assert step_name(ChainStep(kind="converter", device="Thwart C2")) == "Thwart C2"
    assert step_name(ChainStep(kind="converter")) == "converter"
    assert step_name(ChainStep(kind="converter", device="\u0301")) == "converter"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("A=ANALOGUE", True),
        ("A=ANALOG", True),
        ("a=analogue ", True),
        ("A=PCM", False),
        ("T=ANALOGUE", False),
    ],
)
def test_what_counts_as_analogue(text: str, told: bool) -> None:
    assert is_analogue(lines(f"{text}\r\n")[0]) is told


def test_one_analogue_line_for_each_setting_then_the_digital_steps(make: Any) -> None:
    slow = {"speed_ips": Decimal("3.75"), "tracks": "half-track mono"}
    fast = {"speed_ips": Decimal("7.5"), "tracks": "half-track mono"}
    transfer = make.transfer(
        make.region(900, **fast, equalisation=make.nab),
        make.region(0, kind="leader"),
        make.region(500, **slow, id="A1"),
        make.region(100, **fast, equalisation=make.nab),
        make.region(100, capture="side-b", speed_ips=Decimal(15)),
        chain=make.chain(
            ChainStep(kind="reproduce head", device="half-track", signal="analogue"),
            make.converter,
            make.recorder,
        ),
    )
    made = history_for(transfer, make.capture, make.pcm(channels=1), ())
    assert history.render(made) == (
        "A=ANALOGUE,M=mono,T=Tidewright Mark 3; SN 0412; 19.05 cm/s; NAB 3180+50 us; "
        "half-track mono\r\n"
        "A=ANALOGUE,M=mono,T=Tidewright Mark 3; SN 0412; 9.525 cm/s; half-track mono\r\n"
        "A=PCM,F=96000,W=24,M=mono,T=Thwart C2; SN C2-118; A/D\r\n"
        "A=PCM,F=96000,W=24,M=mono,T=Groyne recorder 4.2\r\n"
    )


def test_what_a_region_leaves_unsaid_comes_from_its_pass(make: Any) -> None:
    set_up = SetUp(speed_ips=Decimal("7.5"), equalisation=make.nab)
    transfer = make.transfer(
        make.region(0, tracks="full-track mono"), passes=(make.one_pass(set_up=set_up),)
    )
    (line,) = history_for(transfer, make.capture, make.pcm(channels=1), ())
    wanted = "Tidewright Mark 3; SN 0412; 19.05 cm/s; NAB 3180+50 us; full-track mono"
    assert line.get("T") == wanted


def test_the_same_speed_and_curve_with_tracks_unsaid_is_no_setting_of_its_own(make: Any) -> None:
    speed = Decimal(15)
    transfer = make.transfer(
        make.region(0, speed_ips=speed), make.region(5, speed_ips=speed, tracks="full-track mono")
    )
    assert [r.id for r in settings_of(transfer, make.capture)] == ["r5"]


def test_a_pass_without_regions_still_has_its_line(make: Any) -> None:
    set_up = SetUp(speed_ips=Decimal(15), equalisation=make.nab)
    transfer = make.transfer(passes=(make.one_pass(set_up=set_up),))
    (line,) = history_for(transfer, make.capture, make.pcm(), ())
    assert line.parameters == (
        ("A", "ANALOGUE"),
        ("M", "stereo"),
        ("T", "Tidewright Mark 3; SN 0412; 38.1 cm/s; NAB 3180+50 us"),
    )


def test_nothing_known_of_the_machine(make: Any) -> None:
    transfer = make.transfer(machines=())
    (line,) = history_for(transfer, make.capture, make.pcm(), ())
    assert line.get("T") == "tape machine not recorded"


def test_nothing_stated_and_nothing_embedded_is_no_history(make: Any) -> None:
    assert history_for(make.transfer(passes=()), make.capture, make.pcm(), ()) == ()


@pytest.mark.parametrize(
    ("channels", "tracks", "mode"),
    [
        (1, "half-track mono", "mono"),
        (1, None, "mono"),
        (2, "half-track stereo", "stereo"),
        (2, "half-track mono", "dual-mono"),
        (2, "quarter-track mono", "dual-mono"),
        (2, None, "stereo"),
        (4, "multitrack", "multitrack"),
        (8, None, "multitrack"),
    ],
)
def test_the_mode_follows_tracks_and_channels(
    make: Any, channels: int, tracks: str | None, mode: str
) -> None:
    # EBU R 98: M is mono, stereo, dual-mono or joint-stereo; `multitrack` is common practice.
    transfer = make.transfer(make.region(0, speed_ips=Decimal(15), tracks=tracks))
    (line,) = history_for(transfer, make.capture, make.pcm(channels=channels), ())
    assert line.get("M") == mode


OWN = lines(
    "A=ANALOG,M=stereo,T=some deck\r\n"
    "A=PCM,F=48000,W=24,M=stereo,T=Groyne recorder 4.2\r\n"
    "A=PCM,F=48000,W=16,M=stereo,T=archive transfer\r\n"
)


def test_the_recorders_own_lines_stand_where_the_chain_names_their_device(make: Any) -> None:
    transfer = make.transfer(chain=make.chain(make.converter, make.recorder))
    made = history_for(transfer, make.capture, make.pcm(), OWN)
    assert [line.get("T") for line in made] == [
        "Tidewright Mark 3; SN 0412",
        "archive transfer",
        "Thwart C2; SN C2-118; A/D",
        "Groyne recorder 4.2",
    ]
    assert made[-1] == OWN[1]


def test_without_a_chain_the_recorders_own_lines_are_kept_in_order(make: Any) -> None:
    made = history_for(make.transfer(), make.capture, make.pcm(), OWN)
    assert made[1:] == OWN[1:]


def test_the_recorders_own_analogue_line_stays_where_nothing_is_stated(make: Any) -> None:
    assert history_for(make.transfer(passes=()), make.capture, make.pcm(), OWN) == OWN


def test_one_own_line_that_speaks_of_two_steps_is_told_once(make: Any) -> None:
    own = lines("A=PCM,F=48000,W=24,M=stereo,T=Thwart C2; Groyne recorder 4.2\r\n")
    chain = make.chain(make.converter, make.recorder)
    made = history_for(make.transfer(passes=(), chain=chain), make.capture, make.pcm(), own)
    assert made == own


@pytest.mark.parametrize(
    ("own", "kept"),
    [
        ("A=PCM,F=48000,T=Recorder, version 4\r\n", "A=PCM,F=48000,T=Recorder; version 4\r\n"),
        ("A=PCM,F=48000,T=\r\n", "A=PCM,F=48000\r\n"),
        ("A=PCM,A=MPEG1L2,T=x\r\n", "A=PCM,T=x\r\n"),
        ("a=PCM,t=Büro 7½\r\n", "A=PCM,T=Buro 7 1/2\r\n"),
        ("A=PCM,T=\x1b[2J\n", "A=PCM,T=?[2J\r\n"),
        ("T=\r\nA=PCM\r\n", "A=PCM\r\n"),
        ("A=PCM,X=own key,T=y\r\n", "A=PCM,T=y,X=own key\r\n"),
    ],
)
def test_a_careless_line_of_a_recorder_can_be_written_again(make: Any, own: str, kept: str) -> None:
    made = history_for(make.transfer(passes=()), make.capture, make.pcm(), lines(own))
    assert history.render(made) == kept


_STEPS = st.builds(
    ChainStep,
    kind=st.sampled_from(["converter", "recorder"]),
    device=st.none() | st.text(min_size=1, max_size=8),
    serial=st.none() | st.text(min_size=1, max_size=8),
    signal=st.just("digital"),
)


@given(
    st.lists(_STEPS, max_size=3),
    st.text(max_size=60),
    st.text(min_size=1, max_size=8),
    st.text(min_size=1, max_size=8),
)
def test_whatever_is_stated_or_found_can_be_written(
    make: Any, steps: list[ChainStep], own: str, maker: str, standard: str
) -> None:
    set_up = SetUp(equalisation=Equalisation(standard=standard))
    transfer = make.transfer(
        machines=(make.machine(maker=maker, serial=maker),),
        passes=(make.one_pass(set_up=set_up),),
        chain=make.chain(*steps),
    )
    found = lines(f"A=PCM,T={own}\r\n{own}")
    rendered = history.render(history_for(transfer, make.capture, make.pcm(), found))
    again, remarks = parse(rendered)
    assert history.render(again) == rendered
    assert not [one for one in remarks if "R 98" not in one]
