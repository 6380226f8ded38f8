from dataclasses import replace
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest

from tailsout.ground.damage import Damage
from tailsout.mapping.embedded import Master, bext_for, container_of, embedded_of
from tailsout.records.capture import Capture
from tailsout.records.facts import ChunkFacts, EmbeddedHistoryLine
from tailsout.records.recipient import Recipient
from tailsout.records.transfer import Studio
from tailsout.wave import bext
from tailsout.wave.bext import Bext
from tailsout.wave.riff import Chunk, Layout

FILE_ID = "f728b4fa-4248-5e3a-8a5d-2f346baa9455"


def master(stem: str = "skl7-side-a", **more: Any) -> Master:
    return Master(path=f"data/audio/{stem}.wav", stem=stem, file_id=FILE_ID, **more)


def made(make: Any, transfer: Any, capture: Capture, own: Bext | None = None, **more: Any) -> Bext:
    chunk, _ = bext_for(
        transfer,
        capture,
        master=more.get("master", master()),
        pcm=make.pcm(),
        facts=more.get("facts", make.facts()),
        own=own,
    )
    bext.encode(chunk)  # whatever is made can be written
    return chunk


def moment(
    make: Any, started: str | None, own: Bext | None, pass_on: str | None
) -> tuple[str, str]:
    capture = replace(make.capture, started=started)
    transfer = make.transfer(passes=(make.one_pass(on=pass_on),))
    chunk = made(make, transfer, capture, own)
    return chunk.origination_date, chunk.origination_time


OWN = Bext(
    originator="Groyne recorder 4.2",
    origination_date="2026-03-14",
    origination_time="10:21:07",
    time_reference=1_788_816_000,
    umid=bytes(range(32)),
    coding_history="A=PCM,F=96000,W=24,M=stereo,T=Groyne recorder 4.2\r\n",
)


@pytest.mark.parametrize(
    ("started", "day", "hour"),
    [
        ("2026-03-15", "2026-03-15", ""),
        ("2026-03-15T09:08", "2026-03-15", "09:08:00"),
        ("2026-03-15T09:08Z", "2026-03-15", "09:08:00"),
        ("2026-03-15T09:08+05:45", "2026-03-15", "09:08:00"),
        ("2026-03-15T09:08:07", "2026-03-15", "09:08:07"),
        ("2026-03-15T09:08:07+00:00", "2026-03-15", "09:08:07"),
        ("2026-03-15T23:59:59-11:30", "2026-03-15", "23:59:59"),
    ],
)
def test_the_stated_start_goes_before_all_else(
    make: Any, started: str, day: str, hour: str
) -> None:
    assert moment(make, started, OWN, "2026-03-16") == (day, hour)


def test_then_what_the_recorder_wrote_then_the_day_of_the_pass(make: Any) -> None:
    assert moment(make, None, OWN, "2026-03-16") == ("2026-03-14", "10:21:07")
    assert moment(make, None, Bext(), "2026-03-16T11:00:00Z") == ("2026-03-16", "11:00:00")
    assert moment(make, None, None, "2026-03-16") == ("2026-03-16", "")
    assert moment(make, None, None, None) == ("", "")


@pytest.mark.parametrize(
    ("day", "hour", "taken"),
    [
        ("2026/03/14", "10.21.07", ("2026/03/14", "10.21.07")),
        ("2026-03-14", "", ("2026-03-14", "")),
        ("2026-03-14", "25:00:00", ("2026-03-14", "")),
        ("2026-03-14", "10:21", ("2026-03-14", "")),
        ("2026-02-30", "10:21:07", ("2026-03-16", "")),
        ("0000-00-00", "00:00:00", ("2026-03-16", "")),
        ("14.03.2026", "10:21:07", ("2026-03-16", "")),
        ("2026-+3-14", "10:21:07", ("2026-03-16", "")),
        ("2026\x0103\x0114", "10:21:07", ("2026-03-16", "")),
    ],
)
def test_a_day_that_the_recorder_garbled_tells_nothing(
    make: Any, day: str, hour: str, taken: tuple[str, str]
) -> None:
    # EBU Tech 3285 v2 §2.3: yyyy-mm-dd and hh-mm-ss, any separator.
    own = Bext(origination_date=day, origination_time=hour)
    assert moment(make, None, own, "2026-03-16") == taken


def test_a_capture_whose_pass_is_not_stated_has_no_day(make: Any) -> None:
    capture = Capture(id="side-a", file="a.wav")
    transfer = make.transfer(passes=(make.one_pass(on="2026-03-16"),))
    assert made(make, transfer, capture).origination_date == ""


def test_what_only_the_recorder_knows_is_taken_over(make: Any) -> None:
    chunk = made(make, make.transfer(studio=Studio()), make.capture, OWN)
    assert chunk.time_reference == OWN.time_reference
    assert chunk.umid == OWN.umid
    assert chunk.originator == "Groyne recorder 4.2"
    assert "T=Groyne recorder 4.2" in chunk.coding_history


def test_the_studio_is_the_originator_where_it_is_named(make: Any) -> None:
    assert made(make, make.transfer(), make.capture, OWN).originator == "Saltpan Row"
    nobody = make.transfer(studio=Studio())
    assert made(make, nobody, make.capture).originator == "not recorded"


def test_loudness_goes_into_the_chunk(make: Any) -> None:
    facts = make.facts(
        integrated_lufs=Decimal("-23.04"),
        range_lu=Decimal("7.10"),
        true_peak_dbtp=Decimal("-1.50"),
        momentary_max_lufs=Decimal("-15.00"),
        short_term_max_lufs=Decimal("-18.25"),
    )
    chunk = made(make, make.transfer(), make.capture, facts=facts)
    assert chunk.version == 2
    assert (chunk.loudness_value, chunk.loudness_range) == (Decimal("-23.04"), Decimal("7.10"))
    assert chunk.max_true_peak_level == Decimal("-1.50")
    assert chunk.max_momentary_loudness == Decimal("-15.00")
    assert chunk.max_short_term_loudness == Decimal("-18.25")
    silent = made(make, make.transfer(), make.capture)
    assert silent.loudness_value is None
    assert silent.max_true_peak_level is None


def test_the_description_names_package_side_title_and_owners_names(make: Any) -> None:
    transfer = make.transfer(
        make.region(0), title="Log of the keeper", identifiers=("SKL-0007", "HA/SKL/7")
    )
    chunk = made(make, transfer, make.capture)
    assert chunk.description == "SKL-0007; side A; Log of the keeper; HA/SKL/7"
    assert made(make, make.transfer(), make.capture).description == "SKL-0007; side-a"


@pytest.mark.parametrize(("length", "notes"), [(238, 0), (239, 1), (1000, 1)])
def test_a_description_ends_at_256_characters(make: Any, length: int, notes: int) -> None:
    # EBU Tech 3285 v2 §2.3; "SKL-0007; side-a; " takes 18 of them.
    chunk, found = bext_for(
        make.transfer(title="t" * length),
        make.capture,
        master=master(),
        pcm=make.pcm(),
        facts=make.facts(),
        own=None,
    )
    assert chunk.description == ("SKL-0007; side-a; " + "t" * length)[:256]
    assert len(found) == notes


@pytest.mark.parametrize(("octets", "noted"), [(10_240, []), (10_241, ["bext-long"])])
def test_a_chunk_that_a_widespread_reader_passes_over_is_noted(
    make: Any, octets: int, noted: list[str]
) -> None:
    def long(filler: int) -> tuple[int, list[str]]:
        chunk, notes = bext_for(
            make.transfer(),
            make.capture,
            master=master(),
            pcm=make.pcm(),
            facts=make.facts(),
            own=Bext(coding_history=f"A=PCM,M=stereo,T={'x' * filler}\r\n"),
        )
        told = [one.code for one in notes if one.place.part == "bext.CodingHistory"]
        return bext.FIXED_OCTETS + len(chunk.coding_history), told

    shortest, _ = long(1)
    # How far libsndfile 1.2.2 reads: tried in tests/outside/test_bext_both_ways.
    assert long(1 + octets - shortest) == (octets, noted)


def test_what_is_cut_or_respelled_is_noted(make: Any) -> None:
    chunk, notes = bext_for(
        make.transfer(title="7½ ips, Zoë", studio=Studio(name="Café " + "x" * 40)),
        make.capture,
        master=master(),
        pcm=make.pcm(),
        facts=make.facts(),
        own=None,
    )
    assert chunk.originator == "Cafe " + "x" * 27
    assert chunk.description == "SKL-0007; side-a; 7 1/2 ips, Zoe"
    assert {note.code for note in notes} == {"bext-text-reduced"}
    assert [(note.place.file, note.place.part) for note in notes] == [
        ("data/audio/skl7-side-a.wav", "bext.Description"),
        ("data/audio/skl7-side-a.wav", "bext.Originator"),
    ]


@pytest.mark.parametrize(
    ("stem", "reference"),
    [
        ("skl7-side-a", "skl7-side-a"),
        ("s" * 32, "s" * 32),
        ("s" * 33, FILE_ID.replace("-", "")),
        ("æ" * 16, "ae" * 16),
        ("æ" * 17, FILE_ID.replace("-", "")),
        ("Zoë 7½", "Zoe 7 1/2"),
    ],
)
def test_the_reference_is_the_name_or_a_uuid_that_just_fits(
    make: Any, stem: str, reference: str
) -> None:
    chunk = made(make, make.transfer(), make.capture, master=master(stem))
    assert chunk.originator_reference == reference
    assert len(reference) <= 32


def test_careless_history_of_a_recorder_does_not_stop_the_work(make: Any) -> None:
    own = Bext(coding_history="A=PCM,F=96000,T=Recorder, v4 – ½\r\nT=\r\nnonsense\r\n")
    chunk = made(make, make.transfer(passes=()), make.capture, own)
    assert chunk.coding_history == "A=PCM,F=96000,T=Recorder; v4 - 1/2\r\n"


def test_a_chunk_becomes_a_record() -> None:
    record = embedded_of(
        Bext(
            version=1,
            description="d",
            originator="o",
            originator_reference="r",
            origination_date="2026-03-14",
            origination_time="10:21:07",
            time_reference=7,
            umid=b"\x06\x0a" + b"\0" * 30,
            loudness_value=Decimal("-23.00"),
            coding_history="A=PCM,F=48000\r\nA=PCM,T=x\r\n",
        )
    )
    assert record.version == 1
    assert (record.description, record.originator, record.originator_reference) == ("d", "o", "r")
    assert (record.origination_date, record.origination_time) == ("2026-03-14", "10:21:07")
    assert record.time_reference == 7
    assert record.umid == "060a" + "00" * 30
    assert record.loudness_value == Decimal("-23.00")
    assert record.max_true_peak_level is None
    assert record.coding_history == (
        EmbeddedHistoryLine(parameters=(("A", "PCM"), ("F", "48000"))),
        EmbeddedHistoryLine(parameters=(("A", "PCM"), ("T", "x"))),
    )


@pytest.mark.parametrize("umid", [b"", b"\0" * 32, b"\0" * 64])
def test_a_umid_of_noughts_is_none(umid: bytes) -> None:
    assert embedded_of(Bext(umid=umid)).umid == ""


def test_a_layout_becomes_a_record() -> None:
    damage = (Damage(kind="pad-not-zero", offset=52, text="x"),)
    chunk = Chunk(id=b"fmt ", header_offset=12, offset=20, octets=16, pad=0)
    odd = Chunk(id=b"\xe4bc\x00", header_offset=36, offset=44, octets=7, pad=1)
    layout = Layout(
        form="RIFF", file_octets=52, chunks=(chunk, odd), damage=damage, pcm=None, data=None
    )
    record = container_of(layout)
    assert record.form == "RIFF"
    assert record.chunks == (
        ChunkFacts(id="fmt ", offset=20, octets=16),
        ChunkFacts(id="äbc\x00", offset=44, octets=7, pad=1),
    )
    assert record.damage == damage


# What a recipient asks of the chunk


def test_a_recipients_originator_goes_before_the_studio(make: Any) -> None:
    transfer = make.transfer(recipient=Recipient(id="archive", originator="IE, HARBOUR"))
    assert made(make, transfer, make.capture).originator == "IE, HARBOUR"
    wordy = make.transfer(recipient=Recipient(id="archive", originator="Café " + "x" * 40))
    assert made(make, wordy, make.capture).originator == "Cafe " + "x" * 27


def test_a_umid_is_made_on_request_and_never_replaces_one(make: Any) -> None:
    """SMPTE ST 330, basic: 16 octets of material number at the end (layout from memory)."""
    for wish, octets in ((None, 0), (False, 0), (True, 32)):
        transfer = make.transfer(recipient=Recipient(id="archive", umid=wish))
        assert len(made(make, transfer, make.capture).umid) == octets
        own = Bext(umid=bytes(range(32)))
        assert made(make, transfer, make.capture, own).umid == own.umid
    transfer = make.transfer(recipient=Recipient(id="archive", umid=True))
    assert made(make, transfer, make.capture).umid[16:] == UUID(FILE_ID).bytes


def test_the_fadgi_guideline_makes_description_a_list_of_identifiers(make: Any) -> None:
    """FADGI 2012: identifiers, the most important first; the forms as quoted by others."""
    recipient = Recipient(id="archive", embedding_guideline="FADGI")
    transfer = make.transfer(recipient=recipient, identifiers=("HA/SKL/7", "SKL-0007"))
    chunk = made(make, transfer, make.capture)
    assert chunk.description == f"skl7-side-a; SKL-0007; HA/SKL/7; UUID: {FILE_ID}"
    assert chunk.originator_reference == "skl7-side-a"
    long = made(make, transfer, make.capture, master=master("x" * 33))
    assert long.originator_reference == "See Description for identifiers"
    plain = make.transfer(recipient=Recipient(id="archive", embedding_guideline="EBU"))
    assert made(make, plain, make.capture).description == "SKL-0007; side-a"


def test_a_part_or_track_says_so(make: Any) -> None:
    chunk = made(make, make.transfer(), make.capture, master=master(track=2))
    assert chunk.description == "SKL-0007; side-a, track 2"
    later = master(is_part=True, starts_at=4800)
    capture = replace(make.capture, started="2026-03-14T10:21:07Z")
    chunk = made(make, make.transfer(), capture, master=later)
    assert chunk.description == "SKL-0007; side-a, from sample 4800"
    # Common practice, no source: each part goes on counting; when it began nobody said.
    assert (chunk.time_reference, chunk.origination_date, chunk.origination_time) == (4800, "", "")
    own = Bext(time_reference=9, origination_date="2026-03-14", origination_time="10:50:00")
    chunk = made(make, make.transfer(), capture, own, master=later)
    assert (chunk.time_reference, chunk.origination_time) == (9, "10:50:00")
