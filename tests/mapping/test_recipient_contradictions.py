"""Recipients' forms that ask for what they forbid, or for what no side-car can say."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tailsout.mapping.recipient_contradictions import contradictions, unknown
from tailsout.records.machine import CareIntervals
from tailsout.records.recipient import (
    DriveRules,
    EmbeddedText,
    InfoEntry,
    KeyAsked,
    ListeningSample,
    NamesAsked,
    OverlapAsked,
    Recipient,
    RoleAsked,
    TermList,
)


def asked(key: str, *absences: Any, level: Any = "required") -> KeyAsked:
    return KeyAsked(key=key, level=level, absences=absences)


def form(**more: Any) -> Recipient:
    return Recipient(id="archive", **more)


HUB, OWNER = "reel.hub", "commission.asked_by"
LOWER = NamesAsked(allowed="lower-case portable")
MASTER = RoleAsked(role="master", folder="Audio", suffix="pm")

BY_OWNER = NamesAsked(template="{package}[_{identifier:barcode}]")
SAID = EmbeddedText(chunk="bext", field="Description", text="{studio}, {package}")

CONTRADICTORY: list[tuple[Recipient, str, str]] = [
    (form(names=BY_OWNER, withheld=("reel.identifiers",)), "/names/template", "must not travel"),
    (form(embedded=(SAID,), withheld=("studio.name",)), "/embedded/0/text", "'studio.name'"),
    (form(asked=(asked(OWNER),), withheld=(OWNER,)), "/asked/0/key", "must not travel"),
    (form(asked=(asked(OWNER),), withheld=("commission",)), "/asked/0/key", "must not travel"),
    (form(asked=(asked(HUB), asked(HUB))), "/asked/1/key", "stands twice"),
    (
        form(asked=(asked(HUB), asked(HUB, level="recommended"))),
        "/asked/1/key",
        "stands twice",
    ),
    (form(asked=(asked(HUB),), terms=(TermList(key=HUB, words=()),)), "/asked/0/key", "no word"),
    (form(terms=(TermList(key=HUB, words=()),)), "/terms/0/words", "no word"),
    (form(terms=(TermList(key=HUB, words=("x",)),) * 2), "/terms/1/key", "stands twice"),
    (form(terms=(TermList(key="recording", words=("x",)),)), "/terms/0/key", "is a table"),
    (form(withheld=(OWNER, OWNER)), "/withheld/1", "stands twice"),
    (form(withheld=("captures",)), "/withheld/0", "every side-car"),
    (form(withheld=("machines[].id",)), "/withheld/0", "every side-car"),
    (form(withheld=("studio",)), "/withheld/0", "every side-car"),
    (form(withheld=("this_file.pcm",)), "/withheld/0", "every side-car"),
    (form(withheld=("listening[]",)), "/withheld/0", "every side-car"),
    (form(withheld=("reel.images",), images=("box",)), "/images", "must not travel"),
    (
        form(withheld=("listening",), listening_sample=ListeningSample(share_percent=Decimal(9))),
        "/listening_sample",
        "must not travel",
    ),
    (
        form(withheld=("machines",), care_intervals=CareIntervals(clean_hours=Decimal(4))),
        "/care_intervals",
        "must not travel",
    ),
    (form(roles=(MASTER, replace(MASTER, role="access"))), "/roles/1/folder", "one suffix"),
    (
        form(roles=(MASTER, RoleAsked(role="edit", folder="Audio", suffix="PM"))),
        "/roles/1/folder",
        "one suffix",
    ),
    (form(roles=(MASTER, replace(MASTER, folder="Other"))), "/roles/1/role", "stands twice"),
    (form(roles=(replace(MASTER, suffix="PM"),), names=LOWER), "/roles/0/suffix", "capitals"),
    (
        form(overlap=OverlapAsked(seconds=Decimal(5), at=())),
        "/overlap/at",
        "names no place",
    ),
    (
        form(
            overlap=OverlapAsked(seconds=Decimal(5), at=("speed change",)),
            stop_at_speed_change=False,
        ),
        "/overlap/at",
        "one file",
    ),
    (form(listening_sample=ListeningSample(seconds=Decimal(30))), "/listening_sample/seconds", ""),
    (
        form(names=NamesAsked(max_length=64), drive=DriveRules(max_path_octets=60)),
        "/names/max_length",
        "no path",
    ),
    (
        form(embedded=(EmbeddedText(chunk="bext", field="UMID", text="x"),)),
        "/embedded/0/field",
        "no field",
    ),
    (
        form(embedded=(EmbeddedText(chunk="INFO", field="name", text="x"),)),
        "/embedded/0/field",
        "not an id",
    ),
    (
        form(
            embedded=(EmbeddedText(chunk="INFO", field="IARL", text="x"),),
            info=(InfoEntry(id="IARL", says="recipient"),),
        ),
        "/embedded/0/field",
        "stands in info",
    ),
    (
        form(
            embedded=(EmbeddedText(chunk="bext", field="Originator", text="x"),),
            originator="IE, HARBOUR",
        ),
        "/embedded/0/field",
        "another text",
    ),
    (
        form(embedded=(EmbeddedText(chunk="bext", field="Description", text="x"),) * 2),
        "/embedded/1/field",
        "stands twice",
    ),
]


@pytest.mark.parametrize(("one", "pointer", "words"), CONTRADICTORY)
def test_each_contradiction_is_told_once_at_its_place(
    one: Recipient, pointer: str, words: str
) -> None:
    [(at, text)] = contradictions(one)
    assert at == pointer
    assert words in text
    assert text.endswith(".")


IN_ORDER: list[Recipient] = [
    form(names=BY_OWNER, embedded=(SAID,), withheld=("reel.condition", "reel.title")),
    form(names=NamesAsked(template="{identifier"), withheld=("reel.identifiers",)),
    form(),
    form(asked=(asked(OWNER, "withheld"),), withheld=(OWNER,)),
    form(asked=(asked("commission.purpose"),), withheld=(OWNER,)),
    form(asked=(asked("machines[].serial"),), withheld=("machines[].serial_of_head",)),
    form(asked=(asked(HUB, "unknown"),), terms=(TermList(key=HUB, words=()),)),
    form(roles=(MASTER, RoleAsked(role="access", folder="Audio", suffix="sc"))),
    form(roles=(MASTER, RoleAsked(role="access", folder="Service", suffix="pm"))),
    form(roles=(RoleAsked(role="master"), RoleAsked(role="access"))),
    form(roles=(replace(MASTER, suffix="PM"),)),
    form(overlap=OverlapAsked(seconds=Decimal(5), at=("speed change",))),
    form(
        overlap=OverlapAsked(seconds=Decimal(5), at=("parts",)),
        stop_at_speed_change=False,
    ),
    form(images=("box",), withheld=("reel.inscriptions",)),
    form(names=NamesAsked(max_length=64), drive=DriveRules(max_path_octets=240)),
]


@pytest.mark.parametrize("one", IN_ORDER)
def test_what_nearly_is_a_contradiction(one: Recipient) -> None:
    assert list(contradictions(one)) == []


def test_keys_and_words_that_there_are_not_are_told_with_the_nearest() -> None:
    one = form(
        asked=(asked("reel.sides[].regions[].speed"), asked(HUB)),
        terms=(
            TermList(key="reel.stock[].base", words=("polyester", "glass")),
            TermList(key="reel.hub", words=("anything goes",)),
            TermList(key="reel.colour", words=("x",)),
        ),
        withheld=("commission.asked",),
    )
    told = dict(unknown(one))
    assert set(told) == {"/asked/0/key", "/terms/0/words/1", "/terms/2/key", "/withheld/0"}
    assert told["/asked/0/key"] == (
        "the side-car has no key 'reel.sides[].regions[].speed'; did you mean "
        "'reel.sides[].regions[].speed_ips'?"
    )
    assert "known: cellulose acetate, polyester" in told["/terms/0/words/1"]
    assert told["/withheld/0"].endswith("did you mean 'commission.asked_by'?")
