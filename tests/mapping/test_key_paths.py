"""Keys of the side-car as recipients' forms write them."""

from typing import Any

import pytest

from tailsout.mapping import key_paths
from tailsout.mapping.key_paths import met

REEL: dict[str, Any] = {
    "reel": {
        "absent": {"hub": "unknown", "stock": "not recorded"},
        "sides": [
            {"id": "A", "regions": [{"id": "r", "kind": "programme", "speed_ips": 7}]},
            {"id": "B", "regions": [{"id": "s", "kind": "leader"}, {"id": "t", "kind": "slate"}]},
        ],
    },
    "absent": {"recording": "withheld"},
}


@pytest.mark.parametrize(
    "key",
    ["reel", "reel.sides[]", "reel.sides", "this_file.pcm.channels", "people[].role", "captures"],
)
def test_keys_that_there_are(key: str) -> None:
    assert key_paths.is_known(key)


@pytest.mark.parametrize(
    ("key", "near"),
    [
        ("reel.sides[].regions[].speed", "reel.sides[].regions[].speed_ips"),
        ("machine.serial", "machines[].serial"),
        ("reel.sides.id", "reel.sides[].id"),
        ("reel.absent", ""),
        ("absent", ""),
        ("x" * 5000, ""),
    ],
)
def test_keys_that_there_are_not(key: str, near: str) -> None:
    assert not key_paths.is_known(key)
    found = key_paths.nearest(key)
    assert found == near if near else not found or key_paths.is_known(found)


def test_every_place_of_a_key_is_met_with_its_value_or_why_there_is_none() -> None:
    assert [(one.pointer, one.value) for one in met(REEL, "reel.sides[].id")] == [
        ("/reel/sides/0/id", "A"),
        ("/reel/sides/1/id", "B"),
    ]
    [hub] = met(REEL, "reel.hub")
    assert (hub.value, hub.absence) == (None, "unknown")
    [rights] = met(REEL, "recording.rights.holder")
    assert (rights.value, rights.absence) == (None, "withheld")
    [title] = met(REEL, "reel.title")
    assert (title.value, title.absence) == (None, "")


def test_a_list_that_is_meant_as_a_whole() -> None:
    [stock] = met(REEL, "reel.stock[]")
    assert (stock.pointer, stock.value, stock.absence) == ("/reel/stock", None, "not recorded")
    [sides] = met(REEL, "reel.sides[]")
    assert len(sides.value) == 2
    assert list(met(REEL, "reel.stock[].base")) == []


def test_of_leader_only_what_every_region_has() -> None:
    found = [one.pointer for one in met(REEL, "reel.sides[].regions[].speed_ips")]
    assert found == ["/reel/sides/0/regions/0/speed_ips", "/reel/sides/1/regions/1/speed_ips"]
    assert len(list(met(REEL, "reel.sides[].regions[].kind"))) == 3


@pytest.mark.parametrize("broken", [{}, {"reel": 7}, {"reel": {"sides": "A"}}, {"reel": None}])
def test_nothing_relies_on_what_it_is_given(broken: dict[str, Any]) -> None:
    assert list(met(broken, "reel.sides[].id")) == []
    assert [one.value for one in met(broken, "reel.hub")] == [None]


def test_the_words_of_a_closed_list_and_what_may_be_left_out() -> None:
    assert "polyester" in key_paths.words_of("reel.stock[].base")
    assert "tear" in key_paths.words_of("reel.stock[].base_told_by")
    assert key_paths.words_of("reel.hub") == ()
    assert key_paths.may_be_left_out("reel.hub")
    assert not key_paths.may_be_left_out("reel.stock[].id")
    assert key_paths.is_plain("reel.stock[].base_told_by")
    assert not key_paths.is_plain("reel.stock")
    assert not key_paths.is_plain("reel.stock[]")
    assert not key_paths.is_plain("recording")
