"""`tailsout compare` on files."""

import json
import math
import random
import struct
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.mapping import schemas

Cli = Callable[..., Any]


def words(seed: int, *, gain: float = 1.0, late: int = 0, rate: int = 8_000) -> bytes:
    """Ten seconds of beeps of chance lengths, 16 bits."""
    chance = random.Random(seed)
    values: list[float] = [0.0] * late
    while len(values) < 10 * rate:
        hertz, length = chance.uniform(300, 1500), chance.randrange(400, 1600)
        values += [0.3 * math.sin(2 * math.pi * hertz * n / rate) for n in range(length)]
        values += [0.0] * chance.randrange(200, 3000)
    noise = random.Random(seed + late)
    return b"".join(
        struct.pack("<h", round(32767 * (gain * one + noise.gauss(0, 0.0005)))) for one in values
    )


def wave(bench: Any, audio: bytes) -> bytes:
    pcm = replace(bench.pcm, sample_rate_hz=8_000, container_bits=16, valid_bits=16)
    from tailsout.wave import fmt  # noqa: PLC0415

    body = b"WAVEfmt " + struct.pack("<I", len(fmt.encode(pcm))) + fmt.encode(pcm)
    body += b"data" + struct.pack("<I", len(audio)) + audio
    return b"RIFF" + struct.pack("<I", len(body)) + body


@pytest.fixture
def passes(bench: Any) -> tuple[Any, Any]:
    first = bench.put("a.wav", wave(bench, words(1)))
    return first, bench.put("b.wav", wave(bench, words(1, gain=0.5, late=4_000)))


def test_two_passes_for_people(cli: Cli, passes: tuple[Any, Any], bench: Any) -> None:
    before = bench.sources()
    ran = cli("compare", *passes)
    assert (ran.code, ran.err) == (0, "")
    assert "  offset              0.50" in ran.out
    assert "  level               second -" in ran.out
    assert "  speed               second +0.000 %" in ran.out or "-0.000 %" in ran.out
    assert "noise floor" in ran.out
    assert bench.sources() == before


def test_two_passes_for_programs(cli: Cli, passes: tuple[Any, Any]) -> None:
    (line,) = cli("compare", *passes, "--json").out.splitlines()
    told = json.loads(line)
    assert schemas.faults(told, "compare-0.1") == ()
    assert told["offset_s"] == pytest.approx(0.5, abs=0.001)
    assert told["level_difference_db"] == pytest.approx(-6.02, abs=0.05)
    assert told["first_path"].endswith("a.wav")


def test_flac_is_read_too(cli: Cli, passes: tuple[Any, Any], bench: Any) -> None:
    packed = bench.put("b.flac", bench.flac(passes[1].read_bytes()))
    told = json.loads(cli("compare", passes[0], packed, "--json").out)
    assert told["offset_s"] == pytest.approx(0.5, abs=0.001)


def test_strangers_give_one_sentence(cli: Cli, passes: tuple[Any, Any], bench: Any) -> None:
    other = bench.put("c.wav", wave(bench, words(2)))
    ran = cli("compare", passes[0], other, "--json")
    assert ran.code == 1
    told = json.loads(ran.out)
    assert schemas.faults(told, "compare-0.1") == ()
    assert "are not seen to hold the same recording." in told["error"]
    assert "are not seen to hold the same recording." in ran.err


@pytest.mark.parametrize(("name", "code"), [("nothing.wav", 2), ("text.wav", 1)])
def test_what_cannot_be_read(
    cli: Cli, passes: tuple[Any, Any], bench: Any, name: str, code: int
) -> None:
    bench.put("text.wav", b"Dear archive,\n")
    for pair in ((passes[0], bench.job / name), (bench.job / name, passes[0])):
        ran = cli("compare", *pair)
        assert (ran.code, ran.out) == (code, "")
        assert name in ran.err


def test_a_line_that_the_schema_does_not_allow_would_be_seen() -> None:
    assert schemas.faults({"schema": schemas.urn("compare-0.1")}, "compare-0.1") != ()
