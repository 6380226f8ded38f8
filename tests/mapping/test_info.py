"""What LIST INFO says (RIFF 1991 chapter 2): what a recipient wants, and what the capture said."""

from typing import Any, get_args

import pytest

from tailsout.ground.findings import Place
from tailsout.mapping.info import entries_for
from tailsout.records.playing import SetUp
from tailsout.records.recipient import InfoEntry, Recipient
from tailsout.records.recording import Recording, Rights
from tailsout.records.reel import Reel, StockSection
from tailsout.records.transfer import Person
from tailsout.records.vocab import InfoSource
from tailsout.wave.bext import Bext
from tailsout.wave.info import Entry, encode

PLACE = Place(file="data/audio/a.wav")
MADE = Bext(originator="IE, HARBOUR", origination_date="2026-03-14")


def said(make: Any, transfer: Any, *own: Entry) -> tuple[dict[str, str], list[str]]:
    entries, findings = entries_for(
        transfer,
        make.capture,
        made=MADE,
        software="tailsout test",
        asked={},
        own=own,
        place=PLACE,
    )
    encode(entries)  # whatever is made can be written
    assert {finding.code for finding in findings} <= {"info-text-reduced"}
    return {one.id: one.text for one in entries}, [finding.text for finding in findings]


def wanting(*entries: InfoEntry, **more: Any) -> Recipient:
    return Recipient(id="archive", name="Harbour Archive", info=entries, **more)


def full(make: Any, recipient: Recipient) -> Any:
    return make.transfer(
        recipient=recipient,
        reel=Reel(
            title="Spoken log",
            stock=(StockSection(id="s1", maker="Selvedge", number="S 12"), StockSection(id="s2")),
        ),
        recording=Recording(
            when="1967-11", rights=Rights(statement="in copyright", holder="the keepers' estate")
        ),
        people=(Person(id="isolde", name="Marram, Isolde"),),
        passes=(make.one_pass(by="isolde", set_up=SetUp()),),
        note="flat",
    )


SAYS: dict[InfoSource, str] = {
    "studio": "Saltpan Row",
    "recipient": "Harbour Archive",
    "title": "Spoken log",
    "identifiers": "SKL-0007",
    "recorded": "1967-11",
    "rights": "in copyright; the keepers' estate",
    "operator": "Marram, Isolde",
    "machine": "Tidewright Mark 3",
    "stock": "Selvedge S 12",
    "software": "tailsout test",
    "made on": "2026-03-14",
    "note": "flat",
}


def test_every_source_is_known() -> None:
    assert set(SAYS) == set(get_args(InfoSource))


@pytest.mark.parametrize("source", SAYS)
def test_each_source_says_what_the_record_has(make: Any, source: Any) -> None:
    recipient = wanting(InfoEntry(id="ICMT", says=source))
    assert said(make, full(make, recipient)) == ({"ICMT": SAYS[source]}, [])


def test_what_is_not_known_is_left_out(make: Any) -> None:
    wanted = [InfoEntry(id=f"IT{n:02}", says=source) for n, source in enumerate(SAYS)]
    transfer = make.transfer(recipient=wanting(*wanted), passes=(), machines=())
    found, _ = said(make, transfer)
    assert set(found.values()) == {
        "Saltpan Row", "Harbour Archive", "SKL-0007", "tailsout test", "2026-03-14",
    }  # fmt: skip
    assert said(make, make.transfer(recipient=wanting(InfoEntry(id="ICMT")))) == ({}, [])


def test_without_wishes_the_captures_own_is_said_again(make: Any) -> None:
    assert said(make, make.transfer()) == ({}, [])
    own = [Entry(id="INAM", text="Take 7"), Entry(id="ICOP", text="a"), Entry(id="ICOP", text="b")]
    own += [Entry(id="ICOP", text="a"), Entry(id="ICMT", text="")]
    assert said(make, make.transfer(), *own) == ({"INAM": "Take 7", "ICOP": "a; b"}, [])


def test_a_wish_goes_before_what_the_capture_said(make: Any) -> None:
    recipient = wanting(InfoEntry(id="INAM", text="Fixed"), InfoEntry(id="ISFT", says="note"))
    own = [Entry(id="INAM", text="Take 7"), Entry(id="ISFT", text="Groyne")]
    assert said(make, make.transfer(recipient=recipient), *own) == (
        {"INAM": "Fixed", "ISFT": "Groyne"},
        [],
    )


def test_text_is_reduced_and_that_is_told(make: Any) -> None:
    recipient = wanting(InfoEntry(id="INAM", text="Café – 7½"))
    found, notes = said(make, make.transfer(recipient=recipient), Entry(id="ICMT", text="a\nb"))
    assert found == {"INAM": "Cafe - 7 1/2", "ICMT": "a b"}
    assert notes == [
        "ICMT reads 'a b' for 'a\\x0ab'.",
        "INAM reads 'Cafe - 7 1/2' for 'Café – 7½'.",
    ]


def test_the_fadgi_guideline_repeats_the_originator(make: Any) -> None:
    """Its IARL is recommended (FADGI 2012, contents pages; the form as quoted by others)."""
    recipient = wanting(embedding_guideline="FADGI")
    assert said(make, make.transfer(recipient=recipient)) == ({"IARL": "IE, HARBOUR"}, [])
    assert said(make, make.transfer(recipient=wanting(embedding_guideline="EBU"))) == ({}, [])
    recipient = wanting(InfoEntry(id="IARL", says="recipient"), embedding_guideline="FADGI")
    assert said(make, make.transfer(recipient=recipient))[0] == {"IARL": "Harbour Archive"}
