"""Versions: the list of amendments against the chain, the manifests kept, and what stands now."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.ground.findings import Place
from tailsout.mapping.amendments import AMENDMENTS_UNREADABLE
from tailsout.records.amendment import Amendment, FileChange, StatementChange
from tailsout.records.dossier import Dossier
from tailsout.records.facts import FoundFile, InfoLine, Manifest, ManifestLine
from tailsout.records.transfer import Transfer
from tailsout.rules import judge

Run = Callable[[str, Dossier], list[tuple[str, str]]]
Amending = Callable[..., Dossier]
VERSIONS, SIDE_CARS = "versions of the package", "amendments in the side-cars"
STATEMENTS = "statements as amended"
LIST, TITLE = "metadata/amendments.json", "/transfer/reel/title"
PIN = "5" * 128


def amendment(version: int, **changes: Any) -> Amendment:
    given: dict[str, Any] = {
        "version": version,
        "supersedes": "REEL-1" if version == 2 else f"REEL-1.v{version - 1}",
        "manifests": {"manifest-sha512.txt": PIN},
        "by": "isolde",
        "on": "2026-05-02",
        "why": "the owner's letter",
        "written": "2026-05-02T08:00:00Z",
        "software": "tailsout test",
    } | changes
    return Amendment(**given)


def kept(version: int, digest: str = PIN) -> ManifestLine:
    path = f"metadata/superseded/v{version}/manifest-sha512.txt"
    return ManifestLine(path=path, digest=digest, line=version)


@pytest.fixture
def amended(received: Callable[..., Dossier], transfer: Callable[..., Transfer]) -> Amending:
    """A third version; `said` are its amendments."""

    def make(
        *said: Amendment,
        title: str | None = None,
        bag_info: str | None = "REEL-1.v2",
        lines: tuple[ManifestLine, ...] = (kept(1), kept(2)),
        extra: tuple[str, ...] = (),
        in_sidecar: tuple[Amendment, ...] | None = None,
    ) -> Dossier:
        said = said or (amendment(2), amendment(3))
        now = transfer(reel=replace(transfer().reel, title=title))
        dossier = received()
        (one,) = dossier.files
        assert one.sidecar is not None
        assert dossier.package is not None
        told = said if in_sidecar is None else in_sidecar
        car = replace(one.sidecar, transfer=now, amendments=told)
        tags = Manifest(name="tagmanifest-sha512.txt", algorithm="sha512", is_tag=True, lines=lines)
        package = replace(
            dossier.package,
            bag_info=tuple(
                InfoLine(label="Supersedes", value=value, line=3)
                for value in ([bag_info] if bag_info else [])
            ),
            manifests=(*dossier.package.manifests, tags),
            files=(*dossier.package.files, *(FoundFile(path=p, octets=1) for p in extra)),
        )
        return replace(
            dossier,
            transfer=now,
            files=(replace(one, sidecar=car),),
            package=package,
            amendments=said,
        )

    return make


@pytest.mark.parametrize("rule", [VERSIONS, SIDE_CARS, STATEMENTS, "list of amendments"])
def test_a_third_version_that_fits_yields_nothing(run: Run, amended: Amending, rule: str) -> None:
    assert run(rule, amended()) == []


def test_what_the_reader_of_the_list_met_is_told_once(amended: Amending) -> None:
    met = AMENDMENTS_UNREADABLE.at(Place(file=LIST), "it is not JSON.")
    found = judge(replace(amended(), amendments=None, reading=(met,))).findings
    # What the rest does not fit any more: the list that it was held against is not known.
    assert [one.code for one in found].count("amendments-unreadable") == 1
    assert "amendments-disagree" not in {one.code for one in found}


# amendments-disagree


@pytest.mark.parametrize("told", [(), (amendment(2),), (amendment(2), amendment(3, why="x"))])
def test_a_side_car_that_tells_of_others(
    run: Run, amended: Amending, told: tuple[Amendment, ...]
) -> None:
    found = run(SIDE_CARS, amended(in_sidecar=told))
    assert found == [("amendments-disagree", "data/audio/reel.json#/amendments")]


def test_a_list_that_is_lost_is_missed(run: Run, amended: Amending) -> None:
    found = run(SIDE_CARS, replace(amended(), amendments=None))
    assert [code for code, _ in found] == ["amendments-disagree"]


def test_the_side_car_of_a_reel_that_was_not_played_is_held_against_the_list_too(
    run: Run, amended: Amending
) -> None:
    dossier = amended()
    car = dossier.files[0].sidecar
    assert car is not None
    silent = replace(dossier, files=(), record_only=car)
    assert run(SIDE_CARS, silent) == []
    other = replace(silent, record_only=replace(car, amendments=()))
    assert [code for code, _ in run(SIDE_CARS, other)] == ["amendments-disagree"]


# version-chain-broken


@pytest.mark.parametrize(
    ("said", "places"),
    [
        ((amendment(2), amendment(4)), ["/amendments/1", "/amendments/1"]),
        ((amendment(3),), ["/amendments/0"]),
        ((amendment(2), amendment(3, supersedes="REEL-2.v2")), ["/amendments/1"]),
        ((amendment(2), amendment(3, supersedes="REEL-1")), ["/amendments/1"]),
    ],
    ids=["a gap", "no second", "another package", "not the last"],
)
def test_a_chain_that_is_broken(
    run: Run, amended: Amending, said: tuple[Amendment, ...], places: list[str]
) -> None:
    lines = tuple(kept(one.version - 1) for one in said)
    found = run(VERSIONS, amended(*said, bag_info=said[-1].supersedes, lines=lines))
    assert found == [("version-chain-broken", f"{LIST}#{place}") for place in places]


@pytest.mark.parametrize("bag_info", ["REEL-1", None])
def test_bag_info_names_the_version_superseded(
    run: Run, amended: Amending, bag_info: str | None
) -> None:
    found = run(VERSIONS, amended(bag_info=bag_info))
    assert found == [("version-chain-broken", "bag-info.txt")]


def test_a_first_version_of_ours_supersedes_nothing(run: Run, amended: Amending) -> None:
    first = replace(amended(), amendments=None)
    assert run(VERSIONS, first) == [("version-chain-broken", "bag-info.txt:3")]


def test_what_a_stranger_says_to_supersede_is_the_strangers(run: Run, amended: Amending) -> None:
    assert run(VERSIONS, replace(amended(), amendments=None, transfer=None)) == []


# superseded-differs


@pytest.mark.parametrize("lines", [(kept(2),), (kept(1, "6" * 128), kept(2))])
def test_a_kept_manifest_that_is_lost_or_another_one(
    run: Run, amended: Amending, lines: tuple[ManifestLine, ...]
) -> None:
    found = run(VERSIONS, amended(lines=lines))
    assert found == [("superseded-differs", "metadata/superseded/v1/manifest-sha512.txt")]


def test_capital_hex_is_the_same_digest(run: Run, amended: Amending) -> None:
    pin = "ab" * 64
    said = amendment(2, manifests={"manifest-sha512.txt": pin})
    lines = (kept(1, pin.upper()),)
    assert run(VERSIONS, amended(said, bag_info="REEL-1", lines=lines)) == []


# amended-differs and taken-back-stands


def said_of(at: str, change: Any, now: str | None = None) -> StatementChange:
    return StatementChange(at=at, change=change, now=now)


def test_a_statement_that_is_what_was_made_of_it(run: Run, amended: Amending) -> None:
    said = amendment(2, statements=(said_of(TITLE, "corrected", "Log of the winter"),))
    assert run(STATEMENTS, amended(said, title="Log of the winter")) == []


def test_a_statement_that_was_changed_past_its_amendment(run: Run, amended: Amending) -> None:
    said = amendment(2, statements=(said_of(TITLE, "corrected", "Log of the winter"),))
    (found,) = run(STATEMENTS, amended(said, title="Log of the summer"))
    assert found[0] == "amended-differs"
    assert found[1].endswith("/reel/title")


@pytest.mark.parametrize("later", ["/transfer/reel/title", "/transfer/reel"])
def test_only_the_last_change_of_a_statement_counts(
    run: Run, amended: Amending, later: str
) -> None:
    changes = (
        said_of(TITLE, "corrected", "Log of the winter"),
        said_of(later, "corrected", "Log of the summer"),
    )
    found = run(STATEMENTS, amended(amendment(2, statements=changes), title="Log of the summer"))
    assert ("reel/title" in later) == (found == [])


def test_a_change_inside_a_table_leaves_the_table_unjudged(run: Run, amended: Amending) -> None:
    changes = (said_of("/transfer/reel", "corrected", "{}"), said_of(TITLE, "added", "Log"))
    assert run(STATEMENTS, amended(amendment(2, statements=changes), title="Log")) == []


@pytest.mark.parametrize("title", [None, "withheld"])
def test_a_statement_that_is_withheld(run: Run, amended: Amending, title: str | None) -> None:
    said = amendment(2, statements=(said_of(TITLE, "withheld"),))
    assert run(STATEMENTS, amended(said, title=title)) == []


def test_a_statement_that_was_withheld_and_stands(run: Run, amended: Amending) -> None:
    said = amendment(2, statements=(said_of(TITLE, "withheld"),))
    (found,) = run(STATEMENTS, amended(said, title="Log of the winter"))
    assert found[0] == "taken-back-stands"


def test_a_file_that_was_withdrawn_and_is_there(run: Run, amended: Amending) -> None:
    gone = FileChange(path="data/images/box.jpg", change="withdrawn")
    said = (amendment(2, files=(gone,)), amendment(3))
    there = ("data/images/box.jpg",)
    assert run(VERSIONS, amended(*said)) == []
    found = run(VERSIONS, amended(*said, extra=there))
    assert found == [("taken-back-stands", "data/images/box.jpg")]
    back = FileChange(path="data/images/box.jpg", change="added")
    assert run(VERSIONS, amended(said[0], amendment(3, files=(back,)), extra=there)) == []


def test_very_many_amendments_take_no_time_beyond_their_number(run: Run, amended: Amending) -> None:
    # Quadratic work on so many would take minutes.
    changes = tuple(said_of(f"/transfer/x/{n}", "withheld") for n in range(50_000))
    assert run(STATEMENTS, amended(amendment(2, statements=changes))) == []
