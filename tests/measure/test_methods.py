from dataclasses import fields

from tailsout.measure.methods import METHODS
from tailsout.records.sound import AudioFacts, ChannelFacts

PLAIN = {"frames", "sample_rate_hz", "channels", "clipped_runs"}


def test_every_measured_figure_states_its_method() -> None:
    of_file = {one.name for one in fields(AudioFacts)} - PLAIN
    of_channel = {f"channels.{one.name}" for one in fields(ChannelFacts)}
    assert set(METHODS) == of_file | of_channel


def test_methods_are_in_order_and_are_sentences() -> None:
    assert list(METHODS) == sorted(METHODS)
    assert all(text.endswith(".") for text in METHODS.values())
