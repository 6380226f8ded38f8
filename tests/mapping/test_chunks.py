"""Which chunks a master gets, and which of the capture's own give way (RIFF 1991 chapters 2, 3)."""

from dataclasses import replace
from typing import Any

import pytest

from tailsout.ground.findings import Place
from tailsout.mapping import axml, ixml, xml
from tailsout.mapping.chunks import Embedding, OwnChunks, Subject, embedding_for
from tailsout.mapping.embedded import Master
from tailsout.records.listening import SignalNote
from tailsout.records.playing import Channel
from tailsout.records.recipient import InfoEntry, Recipient
from tailsout.wave import cue, info, marks
from tailsout.wave.bext import Bext
from tailsout.wave.info import Entry
from tailsout.wave.lists import Part
from tailsout.wave.marks import Mark
from tailsout.wave.riff import Chunk

FRAMES = 1000
FILE_ID = "f728b4fa-4248-5e3a-8a5d-2f346baa9455"


def subject(make: Any, transfer: Any, **more: Any) -> Subject:
    given: dict[str, Any] = {
        "transfer": transfer,
        "capture": make.capture,
        "master": Master(path="data/audio/a.wav", stem="a", file_id=FILE_ID),
        "bext": Bext(originator="Saltpan Row", origination_date="2026-03-14"),
        "pcm": make.pcm(),
        "frames": FRAMES,
        "software": "tailsout test",
    }
    return Subject(**{**given, **more})


def chunk(name: bytes, payload: bytes, at: int = 100) -> tuple[Chunk, bytes]:
    found = Chunk(id=name, header_offset=at, offset=at + 8, octets=len(payload), pad=0)
    return found, payload


def asking(make: Any, *wishes: Any, **more: Any) -> Any:
    return make.transfer(
        make.region(0, end=400, title="entry one"),
        make.region(400, kind="leader"),
        title="Spoken log",
        recipient=Recipient(id="archive", marks=wishes),
        signal_notes=(SignalNote(capture="side-a", start=7, heard="Türknarren"),),
        **more,
    )


def read_back(embedding: Embedding) -> list[Mark]:
    (points,) = (payload for name, payload in embedding.behind if name == b"cue ")
    labels = [
        Part(id=b"LIST", offset=0, payload=payload)
        for name, payload in embedding.behind
        if name == b"LIST"
    ]
    found, damage = marks.read(Part(id=b"cue ", offset=0, payload=points), labels, frames=FRAMES)
    assert damage == ()
    return list(found)


def test_without_a_wish_nothing_is_written(make: Any) -> None:
    for transfer in (make.transfer(), asking(make)):
        assert embedding_for(subject(make, transfer), OwnChunks()) == (Embedding(), ())


def test_cue_points_are_written_where_they_are_wanted(make: Any) -> None:
    embedding, findings = embedding_for(subject(make, asking(make, "cue")), OwnChunks())
    assert [name for name, _ in embedding.behind] == [b"cue ", b"LIST"]
    assert (embedding.before, embedding.without, embedding.kept) == ((), (), ())
    assert read_back(embedding) == [
        Mark(frame=0, frames=400, label="side A: programme, entry one"),
        Mark(frame=7, label="Turknarren"),
        Mark(frame=400, frames=600, label="side A: leader"),
    ]
    assert [(f.code, f.text) for f in findings] == [
        ("marks-text-reduced", "the mark 'Türknarren' reads 'Turknarren'.")
    ]


def test_the_captures_own_marks_are_kept_among_ours(make: Any) -> None:
    theirs = [Mark(frame=3, label="take"), Mark(frame=400, frames=600, label="side A: leader")]
    points, labels = marks.write(theirs, FRAMES)
    own = OwnChunks(cue=(chunk(b"cue ", points),), adtl=(chunk(b"LIST", labels, 200),))
    embedding, _ = embedding_for(subject(make, asking(make, "cue")), own)

    found = read_back(embedding)
    assert [(mark.frame, mark.label) for mark in found] == [
        (0, "side A: programme, entry one"),
        (3, "take"),
        (7, "Turknarren"),
        (400, "side A: leader"),  # once, though both had it
    ]
    assert embedding.without == (own.cue[0][0], own.adtl[0][0])
    assert embedding.kept == (("cue", points), ("adtl", labels))
    without_wish, _ = embedding_for(subject(make, asking(make)), own)
    assert without_wish == Embedding()


def test_marks_that_no_cue_point_can_hold_are_told(make: Any) -> None:
    points = cue.encode([cue.Point(number=1, position=0, sample_offset=FRAMES + 5)])
    own = OwnChunks(cue=(chunk(b"cue ", points),))
    embedding, findings = embedding_for(subject(make, asking(make, "cue")), own)
    assert len(read_back(embedding)) == 3
    assert [f.code for f in findings] == ["marks-left-out", "marks-text-reduced"]

    far = (1 << 32) + 5
    late = make.transfer(
        make.region(0, end=10),
        make.region(far),
        recipient=Recipient(id="archive", marks=("cue",)),
    )
    _, findings = embedding_for(subject(make, late, frames=far + 9), OwnChunks())
    assert [f.text for f in findings] == [
        f"the mark 'side A: programme' from sample {far} on cannot be a cue point."
    ]


def test_no_marks_make_no_chunk(make: Any) -> None:
    transfer = make.transfer(recipient=Recipient(id="archive", marks=("cue",)))
    assert embedding_for(subject(make, transfer), OwnChunks())[0].behind == ()


def test_xml_documents_are_written_where_they_are_wanted(make: Any) -> None:
    one_pass = make.one_pass(channels=(Channel(channel=2, track="right"), Channel(channel=1)))
    transfer = asking(make, "axml", "iXML", passes=(one_pass,))
    embedding, findings = embedding_for(subject(make, transfer), OwnChunks())
    assert findings == ()
    assert [name for name, _ in embedding.behind] == [b"axml", b"iXML"]
    pages = [xml.read(payload, Place(file="a"))[0] for _, payload in embedding.behind]
    assert pages[0] is not None
    assert pages[1] is not None
    assert axml.name_of(pages[0]) == ("ebuCoreMain", axml.EBUCORE)
    text = embedding.behind[0][1].decode()
    for wanted in ("Spoken log", f"urn:uuid:{FILE_ID}", "entry one", "Türknarren"):
        assert wanted in text
    found, _ = ixml.parse(pages[1], Place(file="a"))
    assert found is not None
    assert (found.project, found.tape, found.file_uid) == ("Spoken log", "SKL-0007", FILE_ID)
    assert [one.name for one in found.tracks] == ["", "right"]
    assert [one.samples for one in found.sync_points] == [0, 7, 400]


@pytest.mark.parametrize("name", ["axml", "iXML"])
def test_a_recorders_own_document_is_never_replaced(make: Any, name: str) -> None:
    own = OwnChunks(ids=frozenset({name.encode(), b"fmt "}))
    embedding, findings = embedding_for(subject(make, asking(make, "axml", "iXML")), own)
    assert name.encode() not in dict(embedding.behind)
    assert len(embedding.behind) == 1
    assert [(f.code, f.text) for f in findings] == [
        ("marks-left-out", f"the capture has an {name} chunk of its own, which is kept as it is.")
    ]


def test_info_is_written_anew_in_front_and_the_old_one_kept(make: Any) -> None:
    first = info.encode([Entry(id="INAM", text="Take 7")])
    second = info.encode([Entry(id="ISFT", text="Groyne")])
    own = OwnChunks(info=(chunk(b"LIST", first), chunk(b"LIST", second, 300)))
    embedding, findings = embedding_for(subject(make, make.transfer()), own)
    assert findings == ()
    assert embedding.before == (
        (b"LIST", info.encode([Entry(id="INAM", text="Take 7"), Entry(id="ISFT", text="Groyne")])),
    )
    assert embedding.kept == (("INFO", first), ("INFO-2", second))
    assert embedding.without == (own.info[0][0], own.info[1][0])


def test_info_of_which_nothing_can_be_read_stays(make: Any) -> None:
    own = OwnChunks(info=(chunk(b"LIST", b"INFOx"),))
    assert embedding_for(subject(make, make.transfer()), own) == (Embedding(), ())


def test_info_is_written_where_a_recipient_maps_keys_to_it(make: Any) -> None:
    recipient = Recipient(id="archive", info=(InfoEntry(id="IARL", says="recipient"),))
    transfer = make.transfer(recipient=replace(recipient, name="Harbour Archive"))
    embedding, _ = embedding_for(subject(make, transfer), OwnChunks())
    assert info.decode(embedding.before[0][1])[0] == (Entry(id="IARL", text="Harbour Archive"),)
