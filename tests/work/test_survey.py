"""What the header and the small chunks of a wave file say, and hostile ones through to a verdict.

E10 to E12 and E19 to E25 are hostile wave files; each is put into a small bag and checked. The list
they come from speaks of invalid, warning and limit; here that is fail or a note of what was met,
for no reader loses the audio over any of them, but where a document is unsafe.
"""

import hashlib
import io
import struct
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.records.tags import Tags
from tailsout.rules.damage import KIND_OF
from tailsout.wave import adtl, bext, chunk_limits, cue, info, umid
from tailsout.wave import marks as wave_marks
from tailsout.work.check import check
from tailsout.work.survey import Survey, survey

Chunks = tuple[tuple[bytes, bytes], ...]
PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)
PASS, OPEN, FAIL = Verdict.PASS, Verdict.OPEN, Verdict.FAIL

ONE_POINT = [cue.Point(number=1, position=0, sample_offset=0)]
LAUGHS = b"".join(
    b'<!ENTITY l%d "%s">' % (n, b"&l%d;" % (n - 1) * 10 if n else b"ha" * 10) for n in range(9)
)
BOMB = b"<!DOCTYPE BWFXML [" + LAUGHS + b"]><BWFXML><NOTE>&l8;</NOTE></BWFXML>"
FRAME = zlib.compress(bytes(1 << 20), 9)
ID3_BOMB = (
    # ID3v2.4: a compressed frame; the size of the tag is of seven bits an octet.
    b"ID3\x04\0\0"
    + bytes((len(FRAME) + 14 >> shift) & 0x7F for shift in (21, 14, 7, 0))
    + b"APIC"
    + struct.pack(">I", len(FRAME) + 4)
    + b"\0\x09"
    + struct.pack(">I", 1 << 30)
    + FRAME
)


def part(name: bytes, payload: bytes, octets: int | None = None) -> bytes:
    stated = len(payload) if octets is None else octets
    return struct.pack("<4sI", name, stated) + payload + b"\0" * (len(payload) % 2)


def seen(bench: Any, *chunks: tuple[bytes, bytes], own: bytes | None = None) -> Survey:
    return survey(io.BytesIO(bench.wave(frames=480, own=own, after=chunks)), "a.wav")


def tags(bench: Any, *chunks: tuple[bytes, bytes], own: bytes | None = None) -> Tags:
    found = seen(bench, *chunks, own=own)
    assert found.record.container.damage == ()
    assert found.findings == ()
    assert found.record.tags is not None
    return found.record.tags


def told(found: Survey) -> list[str]:
    return [one.kind for one in found.record.container.damage]


def bag(place: Path, content: bytes) -> Path:
    """A bag of RFC 8493 with one file in it."""
    (place / "data").mkdir(parents=True)
    (place / "data/a.wav").write_bytes(content)
    (place / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    digest = hashlib.sha512(content).hexdigest()
    (place / "manifest-sha512.txt").write_text(f"{digest}  data/a.wav\n")
    return place


# What is read


def test_a_plain_file_has_nothing_to_say(bench: Any) -> None:
    assert tags(bench) == Tags()


def test_a_file_that_is_no_wave_has_no_tags() -> None:
    assert survey(io.BytesIO(b"fLaC" + bytes(40)), "a.wav").record.tags is None


def test_every_chunk_and_its_place(bench: Any) -> None:
    content = bench.wave(frames=480, after=((b"LIST", b"INFO"), (b"odd ", b"xyz")))
    chunks = survey(io.BytesIO(content), "a.wav").record.container.chunks
    assert [(c.id, c.octets, c.pad) for c in chunks] == [
        ("fmt ", 16, 0),
        ("data", 1440, 0),
        ("LIST", 4, 0),
        ("odd ", 3, 1),
    ]
    for one in chunks:
        assert content[one.offset - 8 : one.offset - 4] == one.id.encode("ascii")


def test_info_of_every_list_in_file_order(bench: Any) -> None:
    entries = [info.Entry(id="INAM", text="Log book one"), info.Entry(id="IARL", text="Skerrow")]
    found = tags(bench, (b"LIST", info.encode(entries)))
    assert [(one.id, one.text) for one in found.info] == [
        ("INAM", "Log book one"),
        ("IARL", "Skerrow"),
    ]
    assert set(found.list_types.values()) == {"INFO"}


def test_a_second_info_list_is_told_and_read(bench: Any) -> None:
    one, two = (info.encode([info.Entry(id="INAM", text=text)]) for text in ("one", "two"))
    found = seen(bench, (b"LIST", one), (b"LIST", two))
    assert told(found) == ["chunk-duplicate"]
    assert found.record.container.damage[0].text.startswith("There is another LIST chunk of type")
    assert found.record.tags is not None
    assert [entry.text for entry in found.record.tags.info] == ["one", "two"]


def test_text_is_read_in_the_code_page_of_the_file(bench: Any) -> None:
    """Windows-1252 has the euro sign at 0x80 (Unicode's own mapping table)."""
    listed = b"INFO" + part(b"ICMT", b"5 \x80\0")
    found = seen(bench, (b"CSET", struct.pack("<HHHH", 1252, 0, 0, 0)), (b"LIST", listed))
    assert found.record.tags is not None
    assert found.record.tags.code_page == 1252
    assert found.record.tags.info[0].text == "5 €"
    assert told(found) == ["info-not-ascii"]


def test_marks_with_labels_notes_and_lengths(bench: Any) -> None:
    given = [
        wave_marks.Mark(frame=96, label="fog signal", note="twice"),
        wave_marks.Mark(frame=0, label="slate", frames=48, text="spoken"),
    ]
    cues, labels = wave_marks.write(given, 480)
    found = tags(bench, (b"cue ", cues), (b"LIST", labels))
    assert [(m.frame, m.label, m.note, m.frames, m.purpose, m.text) for m in found.marks] == [
        (0, "slate", "", 48, "rgn ", "spoken"),
        (96, "fog signal", "twice", None, "", ""),
    ]


def test_a_mark_past_the_end_is_told(bench: Any) -> None:
    cues = cue.encode([cue.Point(number=1, position=0, sample_offset=481)])
    assert told(seen(bench, (b"cue ", cues))) == ["cue-past-end"]


def test_a_label_of_no_point_is_told(bench: Any) -> None:
    labels = adtl.encode([adtl.Label(number=7, text="lost")])
    assert told(seen(bench, (b"LIST", labels))) == ["adtl-orphan"]


@pytest.mark.parametrize(("frames", "words"), [(480, []), (479, ["fact-differs"])])
def test_frames_that_fact_states(bench: Any, frames: int, words: list[str]) -> None:
    found = seen(bench, (b"fact", frames.to_bytes(4, "little")))
    assert told(found) == words
    assert found.record.tags is not None
    assert found.record.tags.fact_frames == frames


def test_what_the_bext_says_by_itself(bench: Any) -> None:
    """The identifier is one that R 99's readers give as an example; the UMID is of ST 330."""
    own = bench.own_bext(
        umid=umid.basic(bytes(range(16))),
        originator_reference="USSDVGR1112089007124001008206301",
        coding_history="A=PCM,F=48000,W=24,M=mono,T=Groyne\r\nleft by hand\r\n",
    )
    found = tags(bench, own=own)
    assert found.umid is not None
    assert (found.umid.material_type, found.umid.material_method) == (0x0F, 2)
    assert found.umid.material_number == bytes(range(16)).hex()
    assert found.source is not None
    assert (found.source.country, found.source.time) == ("US", "124001")
    assert found.reference_remark == ""
    assert found.history_lines == ("A=PCM,F=48000,W=24,M=mono,T=Groyne", "left by hand")
    assert found.history_remarks == ("Line 2: 'left by hand' is not a parameter of EBU R 98.",)


def test_an_identifier_nobody_filled_in(bench: Any) -> None:
    own = bench.own_bext(originator_reference="USJPHNNNNNNNNN202829RRRRRRRRR")
    found = tags(bench, own=own)
    assert found.source is None
    assert "was not filled in" in found.reference_remark


def test_a_umid_of_another_label_is_told_where_it_stands(bench: Any) -> None:
    found = seen(bench, own=bench.own_bext(umid=bytes(range(1, 33))))
    assert [(d.kind, d.offset) for d in found.record.container.damage] == [
        ("umid-label", 20 + bext.LAYOUT["umid"].offset)
    ]


def test_a_table_of_tracks(bench: Any) -> None:
    row = struct.pack("<H12s14s11sx", 1, b"ATU_00000001", b"AT_00010001_01", b"AP_00010001")
    found = tags(bench, (b"chna", struct.pack("<HH", 1, 1) + row))
    assert found.definition_tracks == 1
    assert [(r.track, r.uid, r.track_format) for r in found.definition_rows] == [
        (1, "ATU_00000001", "AT_00010001_01")
    ]


def test_the_head_of_a_peak_envelope(bench: Any) -> None:
    made = b"2026:03:14:10:21:07:000"
    head = struct.pack("<8I28s60x", 0, 2, 1, 256, 1, 2, 0xFFFFFFFF, 128, made)
    found = tags(bench, (b"levl", head + bytes(4)))
    assert found.envelope is not None
    assert (found.envelope.bits, found.envelope.block_frames) == (16, 256)
    assert found.envelope.peak_of_peaks is None
    assert found.envelope.made == made.decode()


def test_a_cart(bench: Any) -> None:
    payload = bytearray(2048)
    payload[:4] = b"0101"
    payload[4:8] = b"Horn"
    payload[684:692] = b"SEGs" + (96).to_bytes(4, "little")
    found = tags(bench, (b"cart", bytes(payload)))
    assert found.cart is not None
    assert found.cart.texts == {"version": "0101", "title": "Horn"}
    assert found.cart.timers == (("SEGs", 96),)


def test_documents_by_root_and_namespace(bench: Any) -> None:
    ixml = b"<BWFXML><TAPE>SKL-7</TAPE></BWFXML>"
    axml = b'<e:ebuCoreMain xmlns:e="urn:ebu:metadata-schema:ebucore"/>'
    found = tags(bench, (b"iXML", ixml + b" "), (b"axml", axml))
    first, second = found.documents
    assert (first.chunk, first.octets, first.root) == ("iXML", len(ixml), "BWFXML")
    assert first.ixml is not None
    assert first.ixml.tape == "SKL-7"
    assert (second.chunk, second.root) == ("axml", "ebuCoreMain")
    assert (second.namespace, second.ixml) == ("urn:ebu:metadata-schema:ebucore", None)


def test_room_kept_for_a_document_is_none(bench: Any) -> None:
    assert tags(bench, (b"iXML", bytes(5000))).documents == ()


def test_a_second_document_is_told_and_read(bench: Any) -> None:
    found = seen(bench, (b"iXML", b"<BWFXML/>"), (b"iXML", b"<BWFXML"))
    assert told(found) == ["chunk-duplicate"]
    assert [(one.code, str(one.place)) for one in found.findings] == [
        ("xml-malformed", "a.wav#iXML 2")
    ]
    assert found.record.tags is not None
    assert [one.root for one in found.record.tags.documents] == ["BWFXML", ""]


def test_what_is_not_looked_into_is_listed_once(bench: Any) -> None:
    found = tags(bench, (b"id3 ", b"ID3"), (b"_PMX", b"<x"), (b"id3 ", b"ID3"))
    assert found.listed == ("id3 ", "_PMX")


def test_a_list_in_small_letters_is_not_read(bench: Any) -> None:
    """As the walk says: it is taken for an unknown chunk."""
    listed = info.encode([info.Entry(id="INAM", text="one")])
    found = seen(bench, (b"list", listed))
    assert told(found) == ["id-case"]
    assert found.record.tags is not None
    assert (found.record.tags.info, found.record.tags.listed) == ((), ("list",))


# How much is read


def test_a_chunk_that_the_file_cuts_short_is_told_once(bench: Any) -> None:
    listed = info.encode([info.Entry(id="INAM", text="x" * 100)])
    for name, payload in (
        (b"LIST", listed),
        (b"iXML", b"<BWFXML>" + b" " * 100 + b"</BWFXML>"),
        (b"cart", bytes(2048)),
        (b"levl", bytes(200)),
        (b"cue ", bytes(100)),
    ):
        content = bench.wave(frames=480, after=((name, payload),))
        found = survey(io.BytesIO(content[:-30]), "a.wav")
        assert told(found) == ["truncated"], name
        assert found.findings == ()
        assert found.record.tags == Tags()


@pytest.mark.parametrize("name", [b"LIST", b"cue ", b"CSET", b"cart"])
def test_a_chunk_too_large_to_be_read_is_told(bench: Any, name: bytes) -> None:
    payload = {b"LIST": b"INFO" + part(b"INAM", bytes(1 << 20))}.get(name, bytes((1 << 20) + 2))
    found = seen(bench, (name, payload))
    assert "chunk-oversize" in told(found)
    assert "list-part-long" not in told(found)
    assert "read." in found.record.container.damage[0].text


def test_points_too_many_to_be_read_make_no_orphans(bench: Any) -> None:
    cues = cue.encode([cue.Point(number=n, position=n, sample_offset=n) for n in range(480)])
    labels = adtl.encode([adtl.Label(number=1, text="x")])
    found = seen(bench, (b"cue ", cues + bytes(1 << 20)), (b"LIST", labels))
    assert told(found) == ["chunk-oversize"]


def test_a_document_too_large_to_be_read_is_told(bench: Any) -> None:
    found = seen(bench, (b"axml", b"<a>" + b" " * (1 << 20) + b"</a>"))
    assert told(found) == ["xml-oversize"]
    assert found.record.tags is not None
    assert found.record.tags.documents == ()


@pytest.mark.parametrize("name", [b"LIST", b"iXML", b"axml"])
def test_of_many_chunks_alike_a_few_are_read(bench: Any, name: bytes) -> None:
    payload = b"<BWFXML/>" if name != b"LIST" else b"INFO" + part(b"INAM", b"x\0")
    found = seen(bench, *(((name, payload),) * 200))
    words = told(found)
    assert words.count("chunk-too-many") == 1
    assert words.count("chunk-duplicate") == chunk_limits.MAX_ALIKE - 1
    assert found.record.tags is not None
    read = found.record.tags.documents or found.record.tags.info
    assert len(read) == chunk_limits.MAX_ALIKE


@pytest.mark.parametrize("name", [b"cue ", b"fact", b"CSET", b"chna", b"levl", b"cart"])
def test_what_should_come_once_is_told_and_the_first_taken(bench: Any, name: bytes) -> None:
    payloads = {
        b"cue ": bytes(4),
        b"fact": (480).to_bytes(4, "little"),
        b"CSET": bytes(8),
        b"chna": bytes(4),
        b"levl": struct.pack("<8I88x", 0, 1, 1, 256, 1, 0, 0, 128),
        b"cart": bytes(2048),
    }
    found = seen(bench, (name, payloads[name]), (name, b""))
    assert told(found) == ["chunk-duplicate"]


def test_faults_without_end_are_counted(bench: Any) -> None:
    parts = b"".join(part(b"I%03d" % n, b"x") for n in range(1000))
    found = seen(bench, (b"LIST", b"INFO" + parts))
    assert told(found) == ["info-unended"] * (chunk_limits.MAX_FAULTS + 1)
    assert found.record.container.damage[-1].text == "950 more faults of this kind follow."


# Hostile files, through to the verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Chunks behind the audio, what must be told of them, and how the package is judged."""

    chunks: Chunks = ()
    own: Callable[[Any], bytes] | None = None
    told: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    verdict: Verdict = PASS


def with_text(field: str, octets: bytes) -> Callable[[Any], bytes]:
    def make(bench: Any) -> bytes:
        payload: bytes = bench.own_bext()
        at = bext.LAYOUT[field].offset
        return payload[:at] + octets + payload[at + len(octets) :]

    return make


def nested(depth: int) -> bytes:
    inside = b"INFO"
    for _ in range(depth):
        inside = b"INFO" + struct.pack("<4sI", b"LIST", len(inside)) + inside
    return inside


HOSTILE: Mapping[str, Case] = {
    "E10 lists in lists": Case(chunks=((b"LIST", nested(1000)),), told=("list-nested",)),
    "E11 a list of no octets": Case(chunks=((b"LIST", b""),), told=("list-short",)),
    "E11 a list of two octets": Case(chunks=((b"LIST", b"IN"),), told=("list-short",)),
    "E11 a list of three octets": Case(chunks=((b"LIST", b"INF"),), told=("list-short",)),
    "E12 a sub-chunk longer than its list": Case(
        chunks=((b"LIST", b"INFO" + part(b"INAM", b"x\0", octets=999)),), told=("list-part-long",)
    ),
    "E19 four thousand million cue points": Case(
        chunks=((b"cue ", b"\xff" * 4 + cue.encode(ONE_POINT)[4:]),), told=("cue-count",)
    ),
    "E20 a compressed bomb": Case(chunks=((b"id3 ", ID3_BOMB),)),
    "E21 a tag longer than its chunk": Case(chunks=((b"ID3 ", b"ID3\x04\0\0\x7f\x7f\x7f\x7f"),)),
    "E22 entities of entities in iXML": Case(
        chunks=((b"iXML", BOMB),), findings=("xml-unsafe",), verdict=FAIL
    ),
    "M16 iXML filled up with NULs": Case(chunks=((b"iXML", b"<BWFXML/>" + bytes(31)),)),
    "M16 iXML with a bare ampersand": Case(
        chunks=((b"iXML", b"<BWFXML><NOTE>wind & sea</NOTE></BWFXML>"),),
        findings=("xml-malformed",),
        verdict=OPEN,
    ),
    "M16 iXML in another encoding than it says": Case(
        chunks=((b"iXML", b"<?xml version='1.0' encoding='UTF-8'?><BWFXML>\xe9</BWFXML>"),),
        findings=("xml-malformed",),
        verdict=OPEN,
    ),
    "E22 entities of entities in axml": Case(
        chunks=((b"axml", BOMB),), findings=("xml-unsafe",), verdict=FAIL
    ),
    "E22 XML cut off": Case(
        chunks=((b"iXML", b"<BWFXML><NOTE>"),), findings=("xml-malformed",), verdict=OPEN
    ),
    "E23 a description with commands for a terminal": Case(
        own=with_text("description", b"\x1b[2J\x1b]0;x\x07<script>\xff\0left over"),
        told=("bext-after-nul", "bext-not-ascii", "bext-control"),
    ),
    "E24 a date that is none": Case(
        own=with_text("origination_date", b"9999-99-99"), told=("bext-date",)
    ),
    "E24 a time reference of all ones": Case(
        own=with_text("time_reference", b"\xff" * 8), findings=("bext-time-reference-late",)
    ),
    "E24 a version of all ones": Case(
        own=with_text("version", b"\xff\xff"), told=("bext-version",)
    ),
    "E25 a history of two megabytes": Case(
        own=lambda bench: bench.own_bext(coding_history="A=PCM,T=x\r\n" * 190_650),
        told=("bext-oversize",),
        findings=("history-not-r98",),
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_what_is_told_of_a_hostile_file(bench: Any, name: str) -> None:
    case = HOSTILE[name]
    own = case.own(bench) if case.own else None
    found = seen(bench, *case.chunks, own=own)
    assert tuple(told(found)) == case.told
    for one in found.record.container.damage:
        assert one.text.isprintable()


@pytest.mark.parametrize("name", HOSTILE)
def test_how_a_package_with_a_hostile_file_is_judged(bench: Any, tmp_path: Path, name: str) -> None:
    case = HOSTILE[name]
    own = case.own(bench) if case.own else None
    place = bag(tmp_path / "bag", bench.wave(frames=480, own=own, after=case.chunks))
    judgement = check(place, Silent()).judgement
    codes = {finding.code for finding in judgement.findings} - {"sidecar-missing"}
    assert codes == {KIND_OF[word].code for word in case.told} | set(case.findings)
    assert judgement.verdict is case.verdict


def test_a_history_without_end_is_shown_by_its_first_lines(bench: Any) -> None:
    own = bench.own_bext(coding_history="A=PCM,T=x\r\n" * 190_650)
    found = seen(bench, own=own)
    assert found.record.tags is not None
    assert len(found.record.tags.history_lines) == 1000
    assert found.record.tags.history_remarks[-1].startswith("Only the first 1000 of ")


def test_every_truncation_is_told_and_never_raises(bench: Any) -> None:
    cues, labels = wave_marks.write([wave_marks.Mark(frame=0, label="x")], 4)
    content = bench.wave(
        frames=4,
        own=bench.own_bext(),
        after=((b"cue ", cues), (b"LIST", labels), (b"iXML", b"<BWFXML/>"), (b"fact", b"\4\0\0\0")),
    )
    for octets in range(len(content)):
        assert survey(io.BytesIO(content[:octets]), "a.wav").record.octets == octets


def test_the_count_of_a_file_that_was_cut_is_not_called_wrong(bench: Any, tmp_path: Path) -> None:
    fact = bench.frames.to_bytes(4, "little")
    whole = bench.wave(before=[(b"fact", fact)])
    for content, words in ((whole, []), (whole[:-300], ["truncated"])):
        path = tmp_path / "a.wav"
        path.write_bytes(content)
        with path.open("rb") as stream:
            found = survey(stream, "a.wav")
        assert [one.kind for one in found.record.container.damage] == words
        assert found.record.tags is not None
        assert found.record.tags.fact_frames == bench.frames
