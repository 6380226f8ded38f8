"""PRONOM identifiers as in signature file 109 (The National Archives)."""

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.mapping import pronom
from tailsout.records.access import AccessCopy
from tailsout.records.dossier import FileRecord
from tailsout.records.facts import ChunkFacts, ContainerFacts, Embedded
from tailsout.records.vocab import CopyFormat
from tailsout.views import formats
from tailsout.views.formats import format_of
from tailsout.views.packaged import Copied, PayloadFile


def wave(
    form: str = "RIFF", *, version: int | None = None, fmt: int = 16, is_float: bool = False
) -> PayloadFile:
    told = None
    if version is not None:
        told = Embedded(
            version=version,
            description="",
            originator="",
            originator_reference="",
            origination_date="",
            origination_time="",
            time_reference=0,
            umid="",
        )
    chunks = (ChunkFacts(id="fmt ", offset=20, octets=fmt),)
    record = FileRecord(
        path="data/a.wav",
        octets=1,
        container=ContainerFacts(form=form, chunks=chunks),
        pcm=Pcm(
            is_float=is_float,
            sample_rate_hz=48_000,
            channels=1,
            container_bits=32 if is_float else 24,
            valid_bits=32 if is_float else 24,
        ),
        embedded=told,
    )
    return PayloadFile(path="data/a.wav", octets=1, digests=(), record=record)


@pytest.mark.parametrize(
    ("file", "puid", "name"),
    [
        (wave(version=0), "fmt/703", "Broadcast WAVE"),
        (wave(version=1), "fmt/704", "Broadcast WAVE"),
        (wave(version=2), "fmt/705", "Broadcast WAVE"),
        (wave(version=0, fmt=40), "fmt/709", "Broadcast WAVE"),
        (wave(version=1, fmt=40), "fmt/710", "Broadcast WAVE"),
        (wave(version=2, fmt=40), "fmt/711", "Broadcast WAVE"),
        (wave(version=0, fmt=18), "fmt/1", "Broadcast WAVE"),
        (wave(version=1, is_float=True), "fmt/2", "Broadcast WAVE"),
        (wave(version=2, is_float=True), "fmt/527", "Broadcast WAVE"),
        (wave(version=3), "", "Broadcast WAVE"),
        (wave(), "fmt/141", "WAVE"),
        (wave(fmt=18), "fmt/142", "WAVE"),
        (wave(fmt=40), "fmt/143", "WAVE"),
        (wave(is_float=True), "", "WAVE"),
        (wave("RF64"), "fmt/712", "RF64"),
        (wave("RF64", version=2), "fmt/713", "RF64"),
        (wave("BW64", version=2), "", "BW64"),
        (wave("FLAC"), "fmt/279", "FLAC"),
    ],
)
def test_audio_is_told_by_what_was_read(file: PayloadFile, puid: str, name: str) -> None:
    known = format_of(file)
    assert (known.pronom, known.name) == (puid, name)


@pytest.mark.parametrize(
    ("path", "media_type", "puid"),
    [
        ("data/images/box.JPG", "image/jpeg", ""),
        ("data/documents/order.pdf", "application/pdf", ""),
        # In file 109 these three have no signature of octets and no other versions.
        ("data/audio/a.json", "application/json", "fmt/817"),
        ("data/documents/list.csv", "text/csv", "x-fmt/18"),
        ("data/documents/letter.txt", "text/plain", "x-fmt/111"),
        ("data/unread.wav", "audio/vnd.wave", ""),
        ("data/unread.flac", "application/octet-stream", ""),
        ("data/without-ending", "application/octet-stream", ""),
    ],
)
def test_other_files_are_told_by_their_ending(path: str, media_type: str, puid: str) -> None:
    known = format_of(PayloadFile(path=path, octets=1, digests=()))
    assert (known.media_type, known.pronom) == (media_type, puid)


@pytest.mark.parametrize(
    ("form", "media_type", "puid"),
    [
        ("WAV", "audio/vnd.wave", "fmt/141"),
        ("FLAC", "audio/flac", "fmt/279"),
        ("MP3", "audio/mpeg", "fmt/134"),
        ("Opus", "audio/ogg", "fmt/946"),
    ],
)
def test_an_access_copy_is_told_by_its_masters_side_car(
    form: CopyFormat, media_type: str, puid: str
) -> None:
    told = AccessCopy(
        path="data/access/a",
        octets=1,
        sha256="",
        sha512="",
        format=form,
        start=0,
        end=1,
        regions=(),
        sample_rate_hz=48_000,
        channels=1,
        frames=1,
        clipped_samples=0,
        steps=(),
    )
    copied = Copied(of="data/audio/a.wav", told=told, when="2026")
    known = format_of(PayloadFile(path="data/access/a", octets=1, digests=(), copied=copied))
    assert (known.media_type, known.pronom) == (media_type, puid)


@pytest.mark.parametrize(
    ("puid", "name", "version"),
    [
        ("fmt/18", "PDF", "1.4"),
        ("fmt/43", "JPEG", "JFIF 1.01"),
        ("x-fmt/391", "JPEG", "Exif 2.2"),
        ("fmt/13", "PNG", "1.2"),
        ("fmt/353", "TIFF", ""),
    ],
)
def test_a_picture_is_told_by_its_octets_whatever_it_is_called(
    puid: str, name: str, version: str
) -> None:
    file = PayloadFile(path="data/images/box.gif", octets=1, digests=(), pronom=puid)
    known = format_of(file)
    assert (known.name, known.version, known.pronom) == (name, version, puid)


def test_every_identifier_that_octets_give_has_a_name() -> None:
    tables = (pronom._PDFS, pronom._JFIFS, pronom._EXIFS, pronom._WHOLE)
    given = {puid for table in tables for puid in table.values()}
    assert given | {puid for puid, _ in pronom._PNGS} == set(formats._BY_OCTETS)
