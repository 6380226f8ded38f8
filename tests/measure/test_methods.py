from dataclasses import fields
from typing import Any

from tailsout.measure.methods import METHODS
from tailsout.records.sound import AudioFacts, ChannelFacts, Gap, Hum, PairFacts

PLAIN = {
    "frames",
    "sample_rate_hz",
    "channels",
    "clipped_runs",
    "dropouts",
    "gaps",
    "gaps.end",
    "gaps.start",
    "hum",
    "hum.harmonics",
    "hum.mains_hz",
    "hum.start",
    "pairs",
    "pairs.channel",
}


def keys(record: type[Any], under: str = "") -> set[str]:
    return {under + one.name for one in fields(record)}


def test_every_measured_figure_states_its_method() -> None:
    of_file = keys(AudioFacts) | keys(ChannelFacts, "channels.") | keys(PairFacts, "pairs.")
    wanted = of_file | keys(Gap, "gaps.") | keys(Hum, "hum.")
    assert set(METHODS) == wanted - PLAIN
    assert wanted > PLAIN


def test_methods_are_in_order_and_are_sentences() -> None:
    assert list(METHODS) == sorted(METHODS)
    assert all(text.endswith(".") for text in METHODS.values())
