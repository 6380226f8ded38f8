"""Two versions of a recipient's form, told apart in plain words."""

from decimal import Decimal
from typing import Any

import pytest

from tailsout.mapping.recipient_changes import changes
from tailsout.records.recipient import (
    BagAsked,
    CopyAsked,
    EmbeddedText,
    InfoEntry,
    KeyAsked,
    OverlapAsked,
    Recipient,
    RoleAsked,
    TermList,
)


def form(**more: Any) -> Recipient:
    return Recipient(id="archive", **more)


def hub(level: Any, *absences: Any) -> Recipient:
    return form(asked=(KeyAsked(key="reel.hub", level=level, absences=absences),))


def terms(*words: str) -> Recipient:
    return form(terms=(TermList(key="reel.hub", words=words),))


def role(**more: Any) -> Recipient:
    return form(roles=(RoleAsked(role="access", **more),))


FIVE = OverlapAsked(seconds=Decimal(5), at=("speed change",))
SEVEN = OverlapAsked(seconds=Decimal("7.5"), at=("speed change", "parts"))

CASES: list[tuple[Recipient, Recipient, list[tuple[str, str, str]]]] = [
    (
        form(),
        hub("required", "unknown", "none found"),
        [
            (
                "asked reel.hub",
                "more",
                "it is required now; they take a value or 'unknown' or 'none found'.",
            )
        ],
    ),
    (hub("required"), form(), [("asked reel.hub", "less", "it is asked no longer.")]),
    (
        hub("recommended", "unknown"),
        hub("required", "withheld"),
        [
            ("asked reel.hub", "more", "it is required now, and was recommended."),
            ("asked reel.hub", "more", "'unknown' will no longer do."),
            ("asked reel.hub", "less", "'withheld' will do now."),
        ],
    ),
    (
        form(),
        hub("recommended"),
        [("asked reel.hub", "more", "it is wished for now; they take a value only.")],
    ),
    (
        form(),
        terms("a", "b"),
        [("terms reel.hub", "more", "only these words are taken now: a, b.")],
    ),
    (terms("a"), form(), [("terms reel.hub", "less", "any word is taken now.")]),
    (
        terms("a", "b"),
        terms("b", "c"),
        [
            ("terms reel.hub", "more", "taken no longer: a."),
            ("terms reel.hub", "less", "taken now, too: c."),
        ],
    ),
    (form(), role(required=True), [("roles access", "more", "access files are required.")]),
    (
        role(required=True),
        role(),
        [("roles access", "less", "access files are no longer required.")],
    ),
    (
        role(folder="Service"),
        role(folder="Access", suffix="sc"),
        [
            (
                "roles access folder",
                "otherwise",
                "it is 'Access' now, and was 'Service'.",
            ),
            (
                "roles access suffix",
                "more",
                "it is 'sc' now; nothing was asked.",
            ),
        ],
    ),
    (form(), role(), []),
    (
        form(extra_algorithms=("md5",)),
        form(extra_algorithms=("sha1",)),
        [
            ("extra_algorithms", "more", "a sha1 manifest is wanted now."),
            ("extra_algorithms", "less", "no md5 manifest is wanted any more."),
        ],
    ),
    (
        form(),
        form(withheld=("commission",), images=("box",)),
        [
            ("images", "more", "a photograph of the box is wanted now."),
            ("withheld", "more", "commission must not travel any more."),
        ],
    ),
    (
        form(overlap=FIVE),
        form(overlap=SEVEN),
        [
            ("overlap.seconds", "otherwise", "it is 7.5 now, and was 5."),
            (
                "overlap.at",
                "otherwise",
                "it is 'speed change', 'parts' now, and was 'speed change'.",
            ),
        ],
    ),
    (
        form(bag=BagAsked(version="0.97"), umid=True),
        form(bag=BagAsked(version="1.0")),
        [
            ("umid", "less", "it was true, and is asked no longer."),
            ("bag.version", "otherwise", "it is '1.0' now, and was '0.97'."),
        ],
    ),
    (
        form(
            embedded=(EmbeddedText(chunk="bext", field="Description", text="{package}"),),
            info=(InfoEntry(id="IARL", says="recipient"),),
        ),
        form(info=(InfoEntry(id="IARL", says="studio"),)),
        [
            (
                "info IARL says",
                "otherwise",
                "it is 'studio' now, and was 'recipient'.",
            ),
            (
                "embedded bext Description",
                "less",
                "it was '{package}', and is asked no longer.",
            ),
        ],
    ),
    (
        form(copies=(CopyAsked(format="MP3"), CopyAsked(format="FLAC", bits=24))),
        form(copies=(CopyAsked(format="Opus", per="side"), CopyAsked(format="FLAC", bits=16))),
        [
            ("copies MP3 for each file", "less", "no such access copy is wanted any more."),
            ("copies FLAC for each file", "otherwise", "another one is wanted: bits differ."),
            ("copies Opus for each side", "more", "such an access copy is wanted now."),
        ],
    ),
    (
        form(version="1"),
        form(version="2", source="their page"),
        [
            ("version", "otherwise", "it is '2' now, and was '1'."),
            ("source", "otherwise", "it is 'their page' now; nothing was asked."),
        ],
    ),
]


@pytest.mark.parametrize(("old", "new", "told"), CASES)
def test_each_difference_is_one_sentence(
    old: Recipient, new: Recipient, told: list[tuple[str, str, str]]
) -> None:
    found = changes(old, new)
    assert [(one.part, one.asks, one.text) for one in found] == told
    assert all(one.text.endswith(".") for one in found)


@pytest.mark.parametrize("one", [new for _, new, _ in CASES])
def test_a_form_does_not_differ_from_itself(one: Recipient) -> None:
    assert changes(one, one) == ()


def test_every_key_of_a_form_is_looked_at() -> None:
    """A form with everything against an empty one: each key is told."""
    full = form(
        name="Harbour",
        version="1",
        source="page",
        extra_algorithms=("md5",),
        originator="IE, H",
        embedding_guideline="FADGI",
        umid=True,
        marks=("cue",),
        interleave=True,
        info=(InfoEntry(id="IARL", text="x"),),
        master_format="FLAC",
        names=None,
        roles=(RoleAsked(role="edit", required=True),),
        asked=(KeyAsked(key="reel.hub", level="required"),),
        terms=(TermList(key="reel.hub", words=("x",)),),
        embedded=(EmbeddedText(chunk="INFO", field="INAM", text="x"),),
        bag=BagAsked(serialisation="tar"),
        overlap=FIVE,
        stop_at_speed_change=False,
        house_rule_end_out="tails",
        images=("box",),
        views=("METS",),
        copies=(CopyAsked(format="MP3"),),
        withheld=("note",),
    )
    parts = {one.part.partition(".")[0].partition(" ")[0] for one in changes(form(), full)}
    assert parts == set(Recipient.__dataclass_fields__) - {
        "id", "absent", "names", "care_intervals", "listening_sample", "drive",
    }  # fmt: skip
