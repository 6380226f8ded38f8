"""What the samples show, against what is stated: each query with its sample, and a near one."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.calibration import AtRest
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.reel import Side
from tailsout.records.sound import (
    AudioFacts,
    ChannelFacts,
    ClippedRun,
    Hum,
    HumLevel,
    PairFacts,
    RegionFacts,
    RegionSound,
)
from tailsout.records.transfer import Transfer

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
Made = Callable[..., Dossier]
FILE = "data/audio/reel.wav"
REGION = "data/audio/reel.json#/transfer/reel/sides/0/regions/0"


def D(text: str) -> Decimal:  # noqa: N802  stands for the number it makes
    return Decimal(text)


def hum(hz: str, mains: int = 50) -> Hum:
    level = HumLevel(channel=1, level_dbfs=D("-70"))
    return Hum(mains_hz=mains, frequency_hz=D(hz), harmonics=3, levels=(level,), start=0)


@pytest.fixture
def shown(
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    transfer: Callable[..., Transfer],
    measured: Callable[..., AudioFacts],
) -> Made:
    """A package whose one file, and its one region, show what is given."""

    def make(
        facts: dict[str, Any] | None = None,
        sound: dict[str, Any] | None = None,
        region: dict[str, Any] | None = None,
        rest: dict[str, Any] | None = None,
    ) -> Dossier:
        known = transfer()
        (side,) = known.reel.sides
        stated = replace(side.regions[0], **(region or {}))
        known = replace(known, reel=replace(known.reel, sides=(Side(id="A", regions=(stated,)),)))
        part = RegionFacts(
            region="A1",
            side="A",
            sound=RegionSound(start=0, end=48_000, seconds=1, channels=(), **(sound or {})),
        )
        one = file(measured=measured(**(facts or {})), regions=(part,))
        at_rest = AtRest(
            captures=("reel",),
            file="rest.wav",
            path="data/calibration/at-rest/rest.wav",
            octets=1,
            sha256="a" * 64,
            measured=measured(**rest) if rest is not None else None,
        )
        return received(transfer=known, files=(one,), at_rest=(at_rest,) if rest else ())

    return make


@pytest.mark.parametrize(
    ("families", "is_told"),
    [
        (("50.0", "49.2"), True),
        (("50.0", "50.6"), True),
        (("50.0", "49.51"), False),
        (("50.0",), False),
        (("49.2",), False),
        ((), False),
    ],
)
def test_recorded_hum_beside_that_of_the_chain(
    run: RunRule, shown: Made, families: tuple[str, ...], *, is_told: bool
) -> None:
    dossier = shown(sound={"hum": tuple(map(hum, families))})
    told = [("recorded-hum-off", REGION)] if is_told else []
    assert run("speed by recorded hum", dossier) == told


def test_the_chain_at_rest_tells_its_own_hum(run: RunRule, shown: Made) -> None:
    off = {"hum": (hum("49.2"),)}
    still = {"hum": (hum("50.01"),)}
    assert run("speed by recorded hum", shown(sound=off, rest=still)) == [
        ("recorded-hum-off", REGION)
    ]
    assert run("speed by recorded hum", shown(sound=off, rest={"hum": (hum("49.21"),)})) == []
    other = {"hum": (hum("60.0", 60),)}
    assert run("speed by recorded hum", shown(sound=off, rest=other)) == []


def test_hum_of_a_leader_tells_no_speed(run: RunRule, shown: Made) -> None:
    sound = {"hum": (hum("50.0"), hum("49.0"))}
    assert run("speed by recorded hum", shown(sound=sound, region={"kind": "leader"})) == []


@pytest.mark.parametrize(("edge", "is_told"), [("22500.0", False), ("22500.1", True)])
def test_bandwidth_above_what_seven_and_a_half_holds(
    run: RunRule, shown: Made, edge: str, *, is_told: bool
) -> None:
    told = [("bandwidth-above-speed", REGION)] if is_told else []
    assert run("bandwidth by speed", shown(sound={"bandwidth_hz": D(edge)})) == told


def test_bandwidth_of_a_tone_or_without_speed_is_not_asked(run: RunRule, shown: Made) -> None:
    sound = {"bandwidth_hz": D("40000")}
    for region in ({"kind": "line-up tone"}, {"speed_ips": None}):
        assert run("bandwidth by speed", shown(sound=sound, region=region)) == []


def test_a_brick_wall(run: RunRule, shown: Made) -> None:
    wall = shown({"brick_wall_hz": D("16000")})
    assert run("end of the spectrum", wall) == [("brick-wall", FILE)]
    assert run("end of the spectrum", shown()) == []


@pytest.mark.parametrize(
    ("pair", "code"),
    [
        ({"is_inverted": True, "correlation": D("-0.9")}, ["channel-perhaps-inverted"]),
        (
            {"may_be_a_cycle_out": True, "delay_us": D("20"), "rival_delay_us": D("-200")},
            ["azimuth-may-be-a-cycle-out"],
        ),
        ({"is_inverted": True, "correlation": D("-0.29")}, []),
        ({"correlation": D("0.9"), "delay_us": D("20")}, []),
    ],
)
def test_pairs_of_channels(
    run: RunRule, shown: Made, pair: dict[str, Any], code: list[str]
) -> None:
    dossier = shown({"pairs": (PairFacts(channel=1, **pair),)})
    assert run("channels by their sound", dossier) == [(one, FILE) for one in code]


def test_one_track_on_two_channels(run: RunRule, shown: Made) -> None:
    twice = {"pairs": (PairFacts(channel=1, is_dual_mono=True),)}
    for tracks, told in (
        ("half-track stereo", [("one-track-on-two-channels", REGION)]),
        ("full-track mono", []),
        (None, []),
    ):
        dossier = shown(sound=twice, region={"tracks": tracks})
        assert run("channels by their sound", dossier) == told


def test_a_silent_channel(run: RunRule, shown: Made) -> None:
    loud = ChannelFacts(sample_peak_dbfs=D("-3"))
    dossier = shown({"channels": (loud, ChannelFacts())})
    assert run("channels by their sound", dossier) == [("channel-silent", FILE)]
    assert run("channels by their sound", shown({"channels": (loud, loud)})) == []


@pytest.mark.parametrize(("used", "is_told"), [(16, True), (23, True), (24, False), (None, False)])
def test_bits_in_use(run: RunRule, shown: Made, used: int | None, *, is_told: bool) -> None:
    dossier = shown({"channels": (ChannelFacts(effective_bits=used),)})
    assert run("bits in use", dossier) == ([("bits-unused", FILE)] if is_told else [])


@pytest.mark.parametrize(
    ("channel", "codes"),
    [
        (ChannelFacts(clipped_runs=2), ["full-scale-runs"]),
        (ChannelFacts(flat_tops=4, sample_peak_dbfs=D("-2")), ["flat-tops"]),
        (ChannelFacts(dc_offset_dbfs=D("-50"), rms_dbfs=D("-25")), ["dc-offset-high"]),
        (ChannelFacts(dc_offset_dbfs=D("-60"), rms_dbfs=D("-60")), []),
        # 48,000 samples of noise at -5 dBFS give a mean of about -52 dBFS by chance.
        (ChannelFacts(dc_offset_dbfs=D("-45"), rms_dbfs=D("-5")), []),
        (ChannelFacts(), []),
    ],
)
def test_levels_of_the_samples(
    run: RunRule, shown: Made, channel: ChannelFacts, codes: list[str]
) -> None:
    facts = {"channels": (channel,), "clipped_runs": (ClippedRun(channel=1, start=1, length=3),)}
    assert run("levels of the samples", shown(facts)) == [(one, FILE) for one in codes]


@pytest.mark.parametrize(("still", "is_told"), [("-66", False), ("-65.9", True), (None, False)])
def test_the_noise_of_the_chain(
    run: RunRule, shown: Made, still: str | None, *, is_told: bool
) -> None:
    quiet = ChannelFacts(noise_floor_dbfs=D(still) if still else None)
    dossier = shown(
        {"channels": (ChannelFacts(noise_floor_dbfs=D("-60")),)}, rest={"channels": (quiet,)}
    )
    assert run("chain at rest", dossier) == ([("chain-noise-near", FILE)] if is_told else [])


def test_a_job_is_judged_by_what_was_measured_a_package_by_what_its_side_car_says(
    run: RunRule,
    received: Callable[..., Dossier],
    file: Callable[..., FileRecord],
    beside: Callable[..., Any],
    measured: Callable[..., AudioFacts],
) -> None:
    wall = measured(brick_wall_hz=D("16000"))
    told = [("brick-wall", FILE)]
    as_stated = received(files=(file(sidecar=beside(measured=wall)),))
    assert run("end of the spectrum", as_stated) == told
    as_measured = received(files=(file(sidecar=None, measured=wall),))
    assert run("end of the spectrum", as_measured) == told
