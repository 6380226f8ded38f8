"""What one chunk says against another: iXML against bext and format, an identifier's time."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.ground.findings import Place
from tailsout.mapping import ixml, xml
from tailsout.records.dossier import Dossier
from tailsout.records.ixml import Ixml
from tailsout.records.tags import SourceIdentifier, Tags, XmlDocument
from tailsout.rules import RULES

Run = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "embedded metadata against itself"
FILE = "data/audio/reel.wav"


def nothing_said() -> Ixml:
    root, _ = xml.read(b"<BWFXML/>", Place(file=FILE))
    assert root is not None
    said, _ = ixml.parse(root, Place(file=FILE))
    assert said is not None
    return said


def saying(dossier: Dossier, *, ours: bool = False, **said: Any) -> Dossier:
    """That file with an iXML chunk; with or without the side-car that makes it one of ours."""
    told = replace(nothing_said(), **said)
    document = XmlDocument(chunk="iXML", octets=9, root="BWFXML", namespace="", ixml=told)
    (file,) = dossier.files
    sidecar = file.sidecar if ours else None
    file = replace(file, tags=Tags(documents=(document,)), sidecar=sidecar)
    return replace(dossier, files=(file,))


def named(dossier: Dossier, tags: Tags, **bext: Any) -> Dossier:
    """That file with some of its bext changed, and what was made of it."""
    (file,) = dossier.files
    assert file.embedded is not None
    file = replace(file, embedded=replace(file.embedded, **bext), tags=tags)
    return replace(dossier, files=(file,))


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({}, []),
        ({"sample_rate_hz": 48_000, "bit_depth": 24}, []),
        ({"sample_rate_hz": 96_000}, [("ixml-format-differs", f"{FILE}#iXML.SPEED")]),
        ({"bit_depth": 16}, [("ixml-format-differs", f"{FILE}#iXML.SPEED")]),
        ({"timestamp": 0}, []),
        ({"timestamp": 48_000}, [("ixml-bext-differs", f"{FILE}#iXML.SPEED")]),
        ({"timestamp": 48_000, "timestamp_sample_rate_hz": 44_100}, []),
        (
            {"timestamp": 48_000, "timestamp_sample_rate_hz": 48_000},
            [("ixml-bext-differs", f"{FILE}#iXML.SPEED")],
        ),
    ],
)
def test_speed(
    run: Run, received: Callable[..., Dossier], said: dict[str, Any], found: list[tuple[str, str]]
) -> None:
    assert run(RULE, saying(received(), **said)) == found


@pytest.mark.parametrize(
    ("copied", "count"),
    [
        ((), 0),
        ((("ORIGINATOR", "Saltpan Row"), ("ORIGINATION_TIME", "")), 0),
        ((("ORIGINATOR", "Groyne"),), 1),
        ((("DESCRIPTION", "x"), ("ORIGINATION_DATE", "x"), ("ORIGINATOR_REFERENCE", "x")), 3),
        ((("TIME_REFERENCE_LOW", "0"), ("TIME_REFERENCE_HIGH", "0")), 0),
        ((("TIME_REFERENCE_LOW", "1"),), 1),
        ((("TIME_REFERENCE_LOW", "0"), ("TIME_REFERENCE_HIGH", "1")), 1),
        ((("TIME_REFERENCE_LOW", "none"),), 0),
    ],
)
def test_the_copy_of_bext(
    run: Run, received: Callable[..., Dossier], copied: tuple[tuple[str, str], ...], count: int
) -> None:
    found = [("ixml-bext-differs", f"{FILE}#iXML.BEXT")] * count
    assert run(RULE, saying(received(), bext=copied)) == found
    # In a master of ours the bext chunk is a new one, and the copy was true of the old.
    assert run(RULE, saying(received(), bext=copied, ours=True)) == []


def test_a_document_that_is_no_ixml_contradicts_nothing(
    run: Run, received: Callable[..., Dossier]
) -> None:
    document = XmlDocument(chunk="axml", octets=9, root="a", namespace="")
    assert run(RULE, named(received(), Tags(documents=(document,)))) == []


@pytest.mark.parametrize(
    ("time", "began", "differs"),
    [
        ("124001", "12:40:00", False),
        ("124000", "12-40-01", False),
        ("000000", "23:59:59", False),
        ("124002", "12:40:00", True),
        ("004000", "12:40:00", True),
        ("124002", "", False),
        ("124002", "12:40", False),
    ],
)
def test_the_time_in_an_identifier(
    run: Run, received: Callable[..., Dossier], time: str, began: str, *, differs: bool
) -> None:
    source = SourceIdentifier(
        country="XX", organisation="SPR", serial="GRY42  00017", time=time, random="008206301"
    )
    found = [("source-time-differs", f"{FILE}#bext.OriginatorReference")] if differs else []
    assert run(RULE, named(received(), Tags(source=source), origination_time=began)) == found


def test_an_identifier_that_nobody_filled_in(run: Run, received: Callable[..., Dossier]) -> None:
    dossier = named(received(), Tags(reference_remark="It was not filled in."))
    assert run(RULE, dossier) == [("source-unfilled", f"{FILE}#bext.OriginatorReference")]


def test_texts_of_strangers_are_safe_to_print(received: Callable[..., Dossier]) -> None:
    dossier = saying(received(), bext=(("ORIGINATOR", "\x1b[2J"),))
    (rule,) = (one for one in RULES if one.name == RULE)
    assert [finding.text.isprintable() for finding in rule.run(dossier)] == [True]
