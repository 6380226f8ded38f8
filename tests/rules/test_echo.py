"""Possible print-through is told, and never more than a note."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.echo import EchoSide, PrintThrough
from tailsout.records.vocab import End, PackEnd

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
FILE = "data/audio/reel.wav"
SOME = EchoSide(
    tried=9, found=4, delay_s=Decimal("1.2"), level_db=Decimal("-48.1"), z=Decimal("20.1")
)


@pytest.fixture
def heard(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> Callable[..., Dossier]:
    def make(arrived: End | None = None, **given: Any) -> Dossier:
        fields: dict[str, Any] = {"before": EchoSide(tried=9), "after": EchoSide(tried=3)}
        found = PrintThrough(
            shortest_s=Decimal("0.7"), longest_s=Decimal("2.8"), **(fields | given)
        )
        dossier = received(files=(file(print_through=found),))
        assert dossier.transfer is not None
        reel = replace(dossier.transfer.reel, end_out_on_arrival=arrived)
        return replace(dossier, transfer=replace(dossier.transfer, reel=reel))

    return make


@pytest.mark.parametrize("side", ["before", "after"])
def test_echoes_are_told(run: RunRule, heard: Callable[..., Dossier], side: str) -> None:
    assert run("print-through", heard(**{side: SOME})) == [("print-through-possible", FILE)]


def test_one_echo_alone_is_not_told(run: RunRule, heard: Callable[..., Dossier]) -> None:
    assert run("print-through", heard(before=replace(SOME, found=1))) == []
    assert run("print-through", heard(before=replace(SOME, found=2))) != []


def test_none_found_and_none_looked_for(
    run: RunRule, heard: Callable[..., Dossier], received: Callable[..., Dossier]
) -> None:
    assert run("print-through", heard()) == []
    assert run("print-through", received()) == []


@pytest.mark.parametrize(
    ("end", "arrived", "is_told"),
    [
        ("tail", "heads", True),
        ("head", "tails", True),
        ("tail", "tails", False),
        ("head", "heads", False),
        ("tail", None, False),
        (None, "heads", False),
    ],
)
def test_which_end_was_out(
    run: RunRule,
    heard: Callable[..., Dossier],
    end: PackEnd | None,
    arrived: End | None,
    *,
    is_told: bool,
) -> None:
    told = [("print-through-other-end", FILE)] if is_told else []
    assert run("print-through", heard(arrived, end_out=end)) == told
