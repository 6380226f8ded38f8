"""Chunks with XML and channel tables, between us and two others: wavinfo and the EBU's own reader.

Sources: the iXML specification (open, by its makers), EBU Tech 3285 s5 (axml), ITU-R BS.2088-1
(chna).
"""

import io
import struct
from pathlib import Path
from typing import Any

import pytest
import wavinfo

from tailsout.ground.findings import Place
from tailsout.ground.pcm import Pcm
from tailsout.mapping import axml, ixml, xml
from tailsout.wave import bext, chna, fmt, xmlchunks
from tailsout.wave.bext import Bext
from tailsout.wave.chna import Row
from tailsout.wave.embed import NewChunk, copy, plan
from tailsout.wave.marks import Mark
from tailsout.wave.riff import read_layout

HERE = Place(file="a.wav", part="axml")
PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=2, container_bits=16, valid_bits=16)
MARKS = (Mark(frame=5, frames=3, label="side A", note="wind & sea"), Mark(frame=9, label="splice"))
FRAMES = 12


def a_file(
    path: Path, *, before: tuple[NewChunk, ...] = (), behind: tuple[NewChunk, ...] = ()
) -> Path:
    """Write a file with chunks of ours around the audio."""
    form, data = fmt.encode(PCM), bytes(range(FRAMES * PCM.frame_octets))
    body = b"WAVE" + b"".join(
        one + struct.pack("<I", len(payload)) + payload
        for one, payload in ((b"fmt ", form), (b"data", data))
    )
    source = io.BytesIO(b"RIFF" + struct.pack("<I", len(body)) + body)
    recipe = plan(read_layout(source), bext=bext.encode(Bext()), before=before, behind=behind)
    with path.open("wb") as out:
        copy(source, recipe, out.write, essence=lambda _: None, advance=lambda _: None)
    return path


@pytest.mark.parametrize("note", ["even", "odd.", "ö — 灯"])
def test_wavinfo_reads_our_ixml(tmp_path: Path, note: str) -> None:
    document = ixml.build(
        project="Skerrow Light", tape="SKL-0007", note=note, tracks=("left", "right"), marks=MARKS
    )
    chunk = (b"iXML", xmlchunks.encode(document))
    found = wavinfo.WavInfoReader(a_file(tmp_path / "a.wav", behind=(chunk,))).ixml

    assert found is not None
    assert (found.project, found.tape) == ("Skerrow Light", "SKL-0007")
    assert found.raw_xml.findtext("./NOTE") == note
    assert [(t.channel_index, t.interleave_index, t.name) for t in found.track_list] == [
        ("1", "1", "left"),
        ("2", "2", "right"),
    ]
    points = found.raw_xml.findall("./SYNC_POINT_LIST/SYNC_POINT")
    assert [point.findtext("SYNC_POINT_LOW") for point in points] == ["5", "9"]


@pytest.mark.oracles
@pytest.mark.parametrize("title", ["even", "odd.", "ö — 灯"])
def test_ear_reads_our_axml(tmp_path: Path, ear: Any, title: str) -> None:
    document = axml.build(
        title=title, identifier="SKL-0007", created="", pcm=PCM, frames=FRAMES, marks=MARKS
    )
    chunk = (b"axml", xmlchunks.encode(document))
    with a_file(tmp_path / "a.wav", behind=(chunk,)).open("rb") as stream:
        reader = ear.Bw64Reader(stream)
        assert reader.axml.rstrip(b" ") == document
        assert len(reader) == FRAMES


def table(ear: Any) -> Any:
    """The rows of one stereo pair and of a third track without a pack."""
    row = ear.chunks.AudioID
    return ear.chunks.ChnaChunk(
        [
            row(1, "ATU_00000001", "AT_00010001_01", "AP_00010002"),
            row(2, "ATU_00000002", "AT_00010002_01", "AP_00010002"),
            row(2, "ATU_00000003", "AT_00010003_01", None),
        ]
    )


@pytest.mark.oracles
def test_we_read_the_table_and_the_document_that_ear_writes(tmp_path: Path, ear: Any) -> None:
    path = tmp_path / "a.wav"
    with path.open("wb") as stream:
        form = ear.chunks.FormatInfoChunk(channelCount=2, sampleRate=48_000, bitsPerSample=24)
        writer = ear.Bw64Writer(stream, form, chna=table(ear), axml=b"<ebuCoreMain/>")
        writer.write([[0.5, -0.5]] * 4)
        writer.close()
    with path.open("rb") as stream:
        layout = read_layout(stream)
        payloads = {}
        for one in layout.chunks:
            stream.seek(one.offset)
            payloads[one.id] = stream.read(one.octets)

    found, damage = chna.decode(payloads[b"chna"])
    assert damage == ()
    assert found is not None
    assert found.tracks == 2
    assert found.rows == (
        Row(track=1, uid="ATU_00000001", track_format="AT_00010001_01", pack_format="AP_00010002"),
        Row(track=2, uid="ATU_00000002", track_format="AT_00010002_01", pack_format="AP_00010002"),
        Row(track=2, uid="ATU_00000003", track_format="AT_00010003_01", pack_format=""),
    )
    document, damage = xmlchunks.content(payloads[b"axml"], len(payloads[b"axml"]))
    root, findings = xml.read(document, HERE)
    assert (damage, findings) == ((), ())
    assert root is not None
    assert axml.name_of(root) == ("ebuCoreMain", "")


@pytest.mark.oracles
def test_a_table_that_we_carry_over_is_read_by_ear(tmp_path: Path, ear: Any) -> None:
    payload = table(ear).asByteArray()[8:]
    with a_file(tmp_path / "a.wav", before=((b"chna", payload),)).open("rb") as stream:
        rows = ear.Bw64Reader(stream).chna.audioIDs
    found, _ = chna.decode(payload)

    assert found is not None
    assert [
        (r.trackIndex, r.audioTrackUID, r.audioTrackFormatIDRef, r.audioPackFormatIDRef or "")
        for r in rows
    ] == [(r.track, r.uid, r.track_format, r.pack_format) for r in found.rows]
