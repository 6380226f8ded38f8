"""Which reel it is: own rules. A studio may name things as it likes, and is not asked about it."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.records.carrier import Expectation
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Identifier, Inscription, Reel
from tailsout.records.transfer import Transfer

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
KINDS = "identifiers of one kind"
PACKAGE = "name of the package against identifiers"
INSCRIBED = "box, reel and list against identifiers"
REEL = "data/audio/reel.json#/transfer/reel"


@pytest.fixture
def reel_of(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> Callable[..., Dossier]:
    """Make a reel with these identifiers, words and expectations, in a package of that name."""

    def make(*identifiers: Identifier, name: str = "REEL-1", **reel: object) -> Dossier:
        made = transfer(package_id=name)
        changed: Reel = replace(made.reel, identifiers=identifiers, **reel)  # type: ignore[arg-type]
        return stating(replace(made, reel=changed))

    return make


def mark(value: str, by: str | None = None) -> Identifier:
    return Identifier(value=value, kind="shelf mark", assigned_by=by)


# identifiers-of-one-kind


def test_two_shelf_marks_of_one_archive(run: RunRule, reel_of: Callable[..., Dossier]) -> None:
    dossier = reel_of(mark("HA/SKL/8", "Harbour Archive"), mark("HA/SKL/9", "harbour  archive"))
    assert run(KINDS, dossier) == [("identifiers-of-one-kind", f"{REEL}/identifiers/1")]


@pytest.mark.parametrize(
    "identifiers",
    [
        (),
        (mark("HA/SKL/8"),),
        (mark("HA/SKL/8"), mark("ha/skl/8")),
        (mark("HA/SKL/8", "Harbour Archive"), mark("8", "Skerrow Light Trust")),
        (mark("HA/SKL/8"), Identifier(value="0000418207", kind="barcode")),
        # A reel may hold several catalogued works.
        (
            Identifier(value="C 1", kind="catalogue number"),
            Identifier(value="C 2", kind="catalogue number"),
        ),
        (Identifier(value="1"), Identifier(value="2")),
    ],
)
def test_identifiers_that_live_together(
    run: RunRule, reel_of: Callable[..., Dossier], identifiers: tuple[Identifier, ...]
) -> None:
    assert run(KINDS, reel_of(*identifiers)) == []


# package-id-of-another-reel


@pytest.mark.parametrize(
    ("name", "identifiers", "asked"),
    [
        ("SKL-0009", ("HA/SKL/8",), True),
        ("LL-1962-12", ("LL-1962-11",), True),
        ("SKL-0008", ("HA/SKL/8",), False),
        # The second package of reel 8, and one of two marks.
        ("SKL-0008-2", ("HA/SKL/8",), False),
        ("skl_8", ("HA/SKL/7", "HA/SKL/8"), False),
        # Named in a manner of its own.
        ("JOB-2026-031", ("HA/SKL/8",), False),
        ("SKL-eight", ("HA/SKL/8",), False),
        ("SKL-0009", ("0000418207",), False),
        ("SKL-0009", (), False),
    ],
)
def test_the_name_of_a_package(
    *,
    run: RunRule,
    reel_of: Callable[..., Dossier],
    name: str,
    identifiers: tuple[str, ...],
    asked: bool,
) -> None:
    found = run(PACKAGE, reel_of(*map(mark, identifiers), name=name))
    place = "data/audio/reel.json#/transfer/package_id"
    assert found == [("package-id-of-another-reel", place)] * asked


# identifier-differs-on-reel


@pytest.mark.parametrize(
    ("words", "found", "asked"),
    [
        ("HA/SKL/9  LIGHT LOG", None, True),
        ("(ha/skl/10)", None, True),
        ("0000418208", None, True),
        ("HA/SKL/8  LIGHT LOG", None, False),
        ("HA/SKL/08", None, False),
        ("0000418207", None, False),
        # Somebody said what became of it.
        ("HA/SKL/9", "the box of reel 9; the reel itself bears 8", False),
        # No identifiers by their shape: a date, a speed, an order, another barcode's maker.
        ("LIGHT LOG – DEC. 1961 – 7½ – 12/12/61 – order 2026-11", None, False),
        ("19611212", None, False),
        ("4006381333931", None, False),
        ("", None, False),
    ],
)
def test_what_is_written_on_the_box(
    *,
    run: RunRule,
    reel_of: Callable[..., Dossier],
    words: str,
    found: str | None,
    asked: bool,
) -> None:
    both = (mark("HA/SKL/8"), Identifier(value="0000418207", kind="barcode"))
    on_box = (Inscription(place="box", text=words, found=found),)
    expected = [("identifier-differs-on-reel", f"{REEL}/inscriptions/0")] * asked
    assert run(INSCRIBED, reel_of(*both, inscriptions=on_box)) == expected


@pytest.mark.parametrize(
    ("expectation", "asked"),
    [
        (Expectation(about="shelf mark", expected="HA/SKL/9", said_by="inventory"), True),
        (Expectation(about="shelf mark", expected="ha/skl/8"), False),
        (Expectation(about="shelf mark", expected="HA/SKL/9", found="boxes were swapped"), False),
        (Expectation(about="speed", expected="HA/SKL/9"), False),
    ],
)
def test_what_a_list_calls_it(
    *, run: RunRule, reel_of: Callable[..., Dossier], expectation: Expectation, asked: bool
) -> None:
    found = run(INSCRIBED, reel_of(mark("HA/SKL/8"), expectations=(expectation,)))
    assert found == [("identifier-differs-on-reel", f"{REEL}/expectations/0")] * asked
    # Where nobody gave the reel a name there is nothing to hold it against.
    assert run(INSCRIBED, reel_of(expectations=(expectation,))) == []
