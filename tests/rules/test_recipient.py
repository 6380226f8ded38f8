"""What a recipient wants told, in which words, and what must not travel.

Asked for by published delivery specifications: fields that may not be empty, terms from lists only,
unknown only where it is taken (New York Public Library, audio and moving image metadata).
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any, cast

import pytest

from tailsout.ground.findings import Severity, Verdict
from tailsout.records.amendment import Amendment, StatementChange
from tailsout.records.dossier import Dossier
from tailsout.records.recipient import KeyAsked, Recipient, TermList
from tailsout.records.reel import Reel, Region, Side, StockSection
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import Absence, AskedLevel
from tailsout.rules import judge

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
ASKED, TERMS = "what the recipient asks", "words that the recipient takes"
WITHHELD, FORM = "what is not to travel", "copy of the recipient's form"
AT = "data/audio/reel.json#/transfer"


@pytest.fixture
def asking(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> Callable[..., Dossier]:
    """Make a package whose recipient asks something; other words are changes of the transfer."""

    def make(*keys: KeyAsked, changes: dict[str, Any] | None = None, **asked: Any) -> Dossier:
        recipient = Recipient(id="archive", asked=keys, **asked)
        return stating(transfer(recipient=recipient, **(changes or {})))

    return make


def key(name: str, *absences: Absence, level: AskedLevel = "required", **more: Any) -> KeyAsked:
    return KeyAsked(key=name, level=level, absences=absences, **more)


# asked-not-told


def test_a_required_key_that_nobody_filled_in_is_a_query(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    dossier = asking(key("machines[].serial"))
    assert run(ASKED, dossier) == [("asked-not-told", f"{AT}/machines/0/serial")]
    assert judge(dossier).verdict is Verdict.OPEN


def test_a_recommended_key_is_a_note(run: RunRule, asking: Callable[..., Dossier]) -> None:
    dossier = asking(key("machines[].serial", level="recommended"))
    assert run(ASKED, dossier) == [("wished-not-told", f"{AT}/machines/0/serial")]
    assert judge(dossier).verdict is Verdict.PASS


def test_what_the_reel_itself_would_tell_is_sorted_first(
    asking: Callable[..., Dossier],
) -> None:
    found = judge(asking(key("machines[].serial"), key("reel.hub"))).findings
    assert [one.code for one in found] == ["asked-of-reel-not-told", "asked-not-told"]
    assert found[0].kind.needs_reel
    assert all(one.severity is Severity.QUERY for one in found)


@pytest.mark.parametrize(
    "name",
    [
        "machines[].maker",
        "reel.sides[].regions[].speed_ips",
        "passes[].tape_ran",
        "this_file.pcm.sample_rate_hz",
        "chain.steps[]",
        "studio.name",
    ],
)
def test_what_is_told_is_no_finding(
    run: RunRule, asking: Callable[..., Dossier], name: str
) -> None:
    assert run(ASKED, asking(key(name))) == []


@pytest.mark.parametrize(
    "name", ["reel.stock[].base", "listening[].by", "sessions[].settings[].tape"]
)
def test_of_a_list_without_entries_nothing_is_asked_of_each(
    run: RunRule, asking: Callable[..., Dossier], name: str
) -> None:
    assert run(ASKED, asking(key(name))) == []


def test_entries_themselves_can_be_asked_for(run: RunRule, asking: Callable[..., Dossier]) -> None:
    dossier = asking(key("reel.stock[]"))
    assert run(ASKED, dossier) == [("asked-of-reel-not-told", f"{AT}/reel/stock")]


def test_each_entry_that_lacks_it_is_told_by_itself(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    stock = (StockSection(id="s1", base="polyester"), StockSection(id="s2"), StockSection(id="s3"))
    dossier = asking(key("reel.stock[].base"), changes={"reel": Reel(stock=stock)})
    assert [place for _, place in run(ASKED, dossier)] == [
        f"{AT}/reel/stock/1/base",
        f"{AT}/reel/stock/2/base",
    ]


@pytest.mark.parametrize(
    ("word", "taken", "is_found"),
    [
        ("unknown", ("unknown",), False),
        ("unknown", ("none found", "unknown"), False),
        ("unknown", ("none found",), True),
        ("unknown", (), True),
        ("withheld", ("withheld",), False),
    ],
)
def test_only_the_absence_words_that_they_take_will_do(
    run: RunRule,
    asking: Callable[..., Dossier],
    word: Absence,
    taken: tuple[Absence, ...],
    is_found: bool,
) -> None:
    reel = Reel(absent={"hub": word})
    assert bool(run(ASKED, asking(key("reel.hub", *taken), changes={"reel": reel}))) is is_found


def test_the_word_for_a_table_counts_for_what_would_stand_in_it(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    assert run(ASKED, asking(key("recording.what", "unknown"))) != []
    absent = {"recording": "unknown"}
    one = key("recording.what", "unknown")
    assert run(ASKED, asking(one, changes={"absent": absent})) == []


def test_a_transfer_told_afterwards_lacks_what_was_not_recorded(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    one, later = key("reel.hub", "not recorded"), {"kind": "retrospective"}
    assert run(ASKED, asking(one, changes=later)) == []
    assert run(ASKED, asking(one)) != []


@pytest.mark.parametrize(
    ("kind", "name", "is_asked"),
    [
        ("leader", "equalisation", False),
        ("blank", "tracks", False),
        ("speed change", "speed_ips", False),
        ("leader", "end", True),
        ("programme", "equalisation", True),
        ("line-up tone", "equalisation", True),
    ],
)
def test_how_a_recording_was_made_is_not_asked_of_leader_and_blank_tape(
    run: RunRule, asking: Callable[..., Dossier], kind: Any, name: str, is_asked: bool
) -> None:
    region = Region(id="r", kind=kind, capture="reel", start=0)
    reel = Reel(sides=(Side(id="A", regions=(region,)),))
    dossier = asking(key(f"reel.sides[].regions[].{name}"), changes={"reel": reel})
    assert bool(run(ASKED, dossier)) is is_asked


def test_a_key_that_is_none_is_told_when_the_form_is_read_and_not_here(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    assert run(ASKED, asking(key("reel.colour"), withheld=("reel.smell",))) == []


def test_the_text_says_what_is_taken_and_what_for(
    told: Callable[[str, Dossier], list[str]], asking: Callable[..., Dossier]
) -> None:
    [text] = told(ASKED, asking(key("reel.hub", "unknown", why="their shelves are of two widths.")))
    assert text == (
        "required: reel.hub; nothing is said, and they take a value or 'unknown'. Their reason: "
        "their shelves are of two widths."
    )


# term-not-taken


@pytest.mark.parametrize(
    ("name", "words", "is_found"),
    [
        ("reel.sides[].regions[].kind", ("programme",), False),
        ("reel.sides[].regions[].kind", ("silence",), True),
        ("reel.sides[].regions[].kind", (), True),
        ("reel.sides[].regions[].speed_ips", ("7.5", "15"), False),
        ("reel.sides[].regions[].speed_ips", ("15",), True),
        ("reel.sides[].regions[].tracks", ("multitrack",), False),  # nothing stands there
        ("machines[].maker", ("Tidewright",), False),
        ("machines[].maker", ("tidewright",), True),
    ],
)
def test_a_value_off_the_list_is_a_query(
    run: RunRule,
    asking: Callable[..., Dossier],
    name: str,
    words: tuple[str, ...],
    is_found: bool,
) -> None:
    dossier = asking(terms=(TermList(key=name, words=words),))
    assert [code for code, _ in run(TERMS, dossier)] == ["term-not-taken"] * is_found
    assert judge(dossier).verdict is (Verdict.OPEN if is_found else Verdict.PASS)


def test_every_entry_of_a_list_is_held_against_the_words(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    side = Side(
        id="A",
        regions=(
            Region(id="r", kind="programme", capture="reel", start=0, basis=("label", "a guess")),
        ),
    )
    terms = (TermList(key="reel.sides[].regions[].basis", words=("label", "hum")),)
    dossier = asking(terms=terms, changes={"reel": Reel(sides=(side,))})
    assert run(TERMS, dossier) == [("term-not-taken", f"{AT}/reel/sides/0/regions/0/basis")]


# withheld-travels


def test_what_must_not_travel_and_stands_there_must_be_mended(
    run: RunRule, told: Callable[[str, Dossier], list[str]], asking: Callable[..., Dossier]
) -> None:
    dossier = asking(withheld=("machines[].maker",))
    assert run(WITHHELD, dossier) == [("withheld-travels", f"{AT}/machines/0/maker")]
    assert judge(dossier).verdict is Verdict.FAIL
    # What it says is not told again.
    assert "Tidewright" not in told(WITHHELD, dossier)[0]


def test_what_is_withheld_as_it_should_be_is_no_finding(
    run: RunRule, asking: Callable[..., Dossier], transfer: Callable[..., Transfer]
) -> None:
    [machine] = transfer().machines
    gone = replace(machine, maker=None, absent={"maker": "withheld"})
    dossier = asking(withheld=("machines[].maker",), changes={"machines": (gone,)})
    assert run(WITHHELD, dossier) == []


# recipient-form-differs


def test_the_copy_of_the_form_says_what_the_side_cars_hold(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    dossier = asking(version="2026-03")
    assert dossier.transfer is not None
    stated = cast("Recipient", dossier.transfer.recipient)
    assert run(FORM, replace(dossier, recipient_form=stated)) == []
    assert run(FORM, dossier) == []  # a package made before copies were
    other = replace(stated, version="2026-04", umid=True)
    assert run(FORM, replace(dossier, recipient_form=other)) == [
        ("recipient-form-differs", "metadata/recipient.toml")
    ]


def test_the_keys_that_differ_are_named(
    told: Callable[[str, Dossier], list[str]], asking: Callable[..., Dossier]
) -> None:
    other = Recipient(id="archive", version="2", umid=True)
    assert told(FORM, replace(asking(version="1"), recipient_form=other)) == [
        "the side-cars hold otherwise: version, umid."
    ]


def test_a_form_without_a_recipient(run: RunRule, received: Callable[..., Dossier]) -> None:
    dossier = received(recipient_form=Recipient(id="archive"))
    assert [code for code, _ in run(FORM, dossier)] == ["recipient-form-differs"]


@pytest.mark.parametrize(
    ("at", "is_found"), [("/transfer/recipient/version", False), ("/transfer/reel/hub", True)]
)
def test_an_amended_recipient_may_differ_from_the_form(
    run: RunRule, asking: Callable[..., Dossier], at: str, is_found: bool
) -> None:
    change = StatementChange(at=at, change="corrected", was="1", now="2")
    amendment = Amendment(
        version=2,
        supersedes="REEL-1",
        manifests={},
        by="isolde",
        on="2026-04-01",
        why="a slip",
        written="2026-04-01T08:00:00Z",
        software="tailsout test",
        statements=(change,),
    )
    dossier = replace(
        asking(version="2"),
        recipient_form=Recipient(id="archive", version="1"),
        amendments=(amendment,),
    )
    assert bool(run(FORM, dossier)) is is_found


def test_nothing_is_asked_without_a_recipient(
    run: RunRule, received: Callable[..., Dossier]
) -> None:
    for name in (ASKED, TERMS, WITHHELD, FORM):
        assert run(name, received()) == []


def test_three_hundred_answers_lacking_are_sorted_and_counted(
    asking: Callable[..., Dossier],
) -> None:
    stock = tuple(StockSection(id=f"s{n}", thickness_um=Decimal(52)) for n in range(300))
    dossier = asking(key("reel.stock[].base"), changes={"reel": Reel(stock=stock)})
    found = judge(dossier).findings
    assert len(found) == 300
    assert {one.code for one in found} == {"asked-of-reel-not-told"}
    assert len({str(one.place) for one in found}) == 300
