"""Marks and INFO that we write, read by wavinfo, libsndfile and FFmpeg; and theirs read by us.

Source: RIFF 1991 chapters 2 and 3 (INFO, CSET, cue, adtl), as each of these programs reads it.
"""

import io
from pathlib import Path
from typing import Any

import pytest
import wavinfo

from tailsout.wave import info, marks
from tailsout.wave.info import TITLES, Entry
from tailsout.wave.lists import Part
from tailsout.wave.marks import Mark
from tailsout.wave.riff import Chunk, read_chunk, read_layout

MARKS = (
    Mark(frame=0),
    Mark(frame=10, label="Splice", note="the tape was joined here"),
    Mark(frame=20, label="Side B", frames=48, text="a stretch"),
    Mark(frame=40, note="odd", frames=5, purpose=b"scrp"),
    Mark(frame=100, label="End of reel"),
)
FRAMES = 100
ENTRIES = (
    Entry(id="IARL", text="Skerrow Light"),
    Entry(id="INAM", text="Fog signal, first trial"),
    Entry(id="ICRD", text="1961-05-09"),
    Entry(id="ICOP", text="Not known"),
    Entry(id="ICMT", text="Odd!!"),
    Entry(id="ISFT", text="tailsout"),
    Entry(id="IENG", text="Row, Saltpan"),
    Entry(id="ITCH", text="Row, Saltpan"),
    Entry(id="ISRC", text="Keeper's store"),
    Entry(id="IKEY", text="fog; signal"),
)


@pytest.fixture(params=["before", "after"])
def written(request: pytest.FixtureRequest, tmp_path: Path, bench: Any) -> Path:
    """A file of ours, the chunks before or after the audio."""
    cues, said = marks.write(MARKS, FRAMES)
    chunks = b"".join(
        name + len(payload).to_bytes(4, "little") + payload
        for name, payload in (
            (b"cue ", cues),
            (b"LIST", said),
            (b"LIST", info.encode(ENTRIES)),
        )
    )
    plain = bench.wave(frames=FRAMES)
    at = plain.index(b"data") if request.param == "before" else len(plain)
    size = len(plain) - 8 + len(chunks)
    path = tmp_path / "ours.wav"
    path.write_bytes(b"RIFF" + size.to_bytes(4, "little") + plain[8:at] + chunks + plain[at:])
    with path.open("rb") as stream:
        assert read_layout(stream).damage == ()
    return path


def test_wavinfo_reads_every_mark(written: Path) -> None:
    found = wavinfo.WavInfoReader(str(written)).cues

    assert [(one.sample_offset, one.position, one.chunk_id) for one in found.cues] == [
        (mark.frame, mark.frame, b"data") for mark in MARKS
    ]
    for number, mark in enumerate(MARKS, start=1):
        label, note = found.label_and_note(number)
        assert (label or "", note or "") == (mark.label, mark.note)
        assert found.range(number) == mark.frames
    assert [(one.name, one.purpose, one.text) for one in found.ranges] == [
        (3, "rgn ", "a stretch"),
        (4, "scrp", ""),
    ]


def test_libsndfile_reads_every_mark_and_its_label(written: Path, sndfile: Any) -> None:
    assert [
        (one.indx, one.sample_offset, one.position, one.name.decode(), one.fcc_chunk)
        for one in sndfile.cues(written)
    ] == [
        (number, mark.frame, mark.frame, mark.label, int.from_bytes(b"data", "little"))
        for number, mark in enumerate(MARKS, start=1)
    ]


def test_wavinfo_reads_every_entry(written: Path) -> None:
    found = wavinfo.WavInfoReader(str(written), info_encoding="ascii").info

    texts = {entry.id: entry.text for entry in ENTRIES}
    assert {
        "IARL": found.archival_location,
        "INAM": found.title,
        "ICRD": found.created_date,
        "ICOP": found.copyright,
        "ICMT": found.comment,
        "ISFT": found.software,
        "IENG": found.engineer,
        "ITCH": found.technician,
        "ISRC": found.source,
        "IKEY": found.keywords,
    } == texts


def test_libsndfile_reads_the_entries_that_it_knows(written: Path, sndfile: Any) -> None:
    known = {e.id: e.text for e in ENTRIES if e.id in sndfile.STRINGS}

    assert sndfile.strings(written) == known
    assert len(known) == 5


def ours_of(path: Path) -> tuple[tuple[Mark, ...], tuple[Entry, ...], list[str]]:
    """Read marks and entries of a file, and every fault."""
    stream = io.BytesIO(path.read_bytes())
    layout = read_layout(stream)
    damage = [*layout.damage]

    def part(chunk: Chunk) -> Part:
        return Part(id=chunk.id, offset=chunk.offset, payload=read_chunk(stream, chunk, 1 << 20))

    parts = [part(chunk) for chunk in layout.named(b"LIST")]
    cues = next((part(chunk) for chunk in layout.named(b"cue ")), None)
    said = [one for one in parts if one.payload.startswith(b"adtl")]
    found, faults = marks.read(cues, said, frames=layout.frames)
    damage += faults
    (infos,) = [one for one in parts if one.payload.startswith(b"INFO")]
    entries, faults = info.decode(infos.payload, offset=infos.offset)
    return found, entries, [fault.kind for fault in (*damage, *faults)]


def test_we_read_our_own(written: Path) -> None:
    assert ours_of(written) == (MARKS, ENTRIES, [])


def test_we_read_marks_and_entries_of_libsndfile(tmp_path: Path, sndfile: Any) -> None:
    path = tmp_path / "theirs.wav"
    texts = {"INAM": "Reel 7", "ICOP": "Not known", "ICMT": "even", "ICRD": "1961", "IGNR": "fog"}
    sndfile.write_told(path, [0] * 100, [0, 17, 99], texts)
    found, entries, kinds = ours_of(path)

    assert [mark.frame for mark in found] == [0, 17, 99]
    assert {entry.id: entry.text for entry in entries} == texts
    # It counts the pad octet of a text into its size.
    assert b"IGNR\x04\0\0\0fog\0" in path.read_bytes()
    assert b"INAM\x08\0\0\0Reel 7\0\0" in path.read_bytes()
    assert kinds == []


def test_text_of_libsndfile_that_is_not_ascii_is_read_and_told(
    tmp_path: Path, sndfile: Any
) -> None:
    path = tmp_path / "theirs.wav"
    sndfile.write_told(path, [0] * 100, [3], {"INAM": "Læsø"})

    assert ours_of(path) == (
        (Mark(frame=3),),
        (Entry(id="INAM", text="Læsø"),),
        ["info-not-ascii"],
    )


@pytest.mark.oracles
def test_ffmpeg_reads_marks_as_chapters_and_the_entries(written: Path) -> None:
    av = pytest.importorskip("av")
    with av.open(str(written)) as container:
        chapters = container.chapters()
        tags = dict(container.metadata)

    assert [(one["start"], one["metadata"].get("title", "")) for one in chapters] == [
        (mark.frame, mark.label) for mark in MARKS
    ]
    # FFmpeg has names of its own for some ids.
    assert (tags["title"], tags["date"], tags["comment"], tags["copyright"], tags["encoder"]) == (
        "Fog signal, first trial",
        "1961-05-09",
        "Odd!!",
        "Not known",
        "tailsout",
    )
    assert (tags["IARL"], tags["IENG"], tags["IKEY"]) == (
        "Skerrow Light",
        "Row, Saltpan",
        "fog; signal",
    )


@pytest.mark.oracles
def test_we_read_entries_of_ffmpeg(tmp_path: Path) -> None:
    av = pytest.importorskip("av")
    path = tmp_path / "theirs.wav"
    with av.open(str(path), "w") as container:
        container.metadata.update(title="Reel 7", date="1961-05-09", comment="Læsø", IARL="shelf")
        stream = container.add_stream("pcm_s16le", rate=48_000, layout="mono")
        frame = av.AudioFrame(format="s16", layout="mono", samples=100)
        frame.planes[0].update(bytes(frame.planes[0].buffer_size))
        frame.sample_rate = 48_000
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    _, entries, kinds = ours_of(path)

    texts = {entry.id: entry.text for entry in entries}
    assert texts.pop("ISFT").startswith("Lavf")
    assert texts == {"INAM": "Reel 7", "ICRD": "1961-05-09", "ICMT": "Læsø", "IARL": "shelf"}
    assert kinds == ["info-not-ascii"]
    assert set(texts) < set(TITLES)
