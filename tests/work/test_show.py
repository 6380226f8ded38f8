"""A page for a stranger: of a package, a job or a file; nothing is read through or written."""

import os
import random
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.digests import BLOCK_OCTETS
from tailsout.ground.errors import MaterialError, SurroundingsError, TailsoutError, UsageError
from tailsout.ground.progress import Silent
from tailsout.work.check import check
from tailsout.work.close_out import close
from tailsout.work.show import payload_of, show


def page(path: Path) -> str:
    return show(path, Silent()).page.decode()


def test_a_package(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(bench.wave(own=bench.own_bext()))
    close(bench.job, bench.out, around())
    before = bench.tree(bench.root, times=True)
    text = page(bench.package)
    assert bench.tree(bench.root, times=True) == before
    assert text.startswith("Package TT-1\n")
    assert "The reel: Reel 1" in text
    assert "Audio data/audio/a.wav" in text
    assert "48000 Hz, 24-bit PCM, 1 channel" in text
    assert "0:00.200 (9600 samples a channel)" in text
    assert "A=PCM,F=48000,W=24,M=mono,T=Groyne recorder 4.2" in text


def test_a_strangers_bag(bench: Any, bagit: Any) -> None:
    place = bench.root / "foreign"
    place.mkdir()
    (place / "take.wav").write_bytes(bench.wave())
    bagit.make_bag(str(place), {"Source-Organization": "Harbour Archive"}, checksums=["sha256"])
    text = page(place)
    assert "No side-car of ours" in text
    assert "Source-Organization   Harbour Archive" in text
    assert "Audio data/take.wav" in text
    for form in ("tar", "zip"):
        archive = Path(shutil.make_archive(str(place), form, place.parent, place.name))
        assert page(archive) == text


@pytest.mark.parametrize(("form", "kept"), [("tar", 40_000), ("zip", 100)])
def test_an_archive_that_is_cut_short_is_not_shown_as_if_it_were_all(
    bench: Any, bagit: Any, form: str, kept: int
) -> None:
    place = bench.root / "foreign"
    place.mkdir()
    (place / "take.wav").write_bytes(bench.wave(frames=20_000))
    bagit.make_bag(str(place), checksums=["sha256"])
    archive = Path(shutil.make_archive(str(place), form, place.parent, place.name))
    assert "read as a whole" not in page(archive)
    with archive.open("r+b") as stream:
        stream.truncate(kept)
    text = " ".join(page(archive).split())
    assert f"foreign.{form}: not read as a whole, so that files may be missing here" in text


def test_a_job_with_its_captures(bench: Any) -> None:
    region = '[[reel.sides]]\nid = "A"\n[[reel.sides.regions]]\nid = "A1"\nkind = "programme"\n'
    bench.fill(more=region + 'capture = "a"\nstart = "0:00"\nspeed_ips = 7.5\n')
    before = bench.tree(bench.root, times=True)
    text = page(bench.job)
    assert bench.tree(bench.root, times=True) == before
    assert "The reel: Reel 1" in text
    assert "Side A" in text
    assert "7.5 ips (19.05 cm/s)" in text
    assert "Audio captures/a.wav" in text
    assert "Findings" not in text


def test_a_job_shows_what_is_wrong_with_it(bench: Any) -> None:
    bench.form({"a": "captures/missing.wav"}, top="colour = 1")
    text = " ".join(page(bench.job).split())
    assert "Findings" in text
    assert "there is no key 'colour' here" in text
    assert "there is no capture 'captures/missing.wav'" in text


def test_a_job_that_is_no_toml(bench: Any) -> None:
    (bench.job / "job.toml").write_text("job_id =\n")
    assert "job.toml:1: " in page(bench.job)


def test_a_wave_file(bench: Any) -> None:
    text = page(bench.fill(bench.wave(own=bench.own_bext())))
    assert "originator            Groyne recorder 4.2" in text
    assert "RIFF" in text


def test_a_cut_wave_file_shows_its_damage(bench: Any) -> None:
    assert "declares 28800 octets" in page(bench.fill(bench.wave()[:-10]))


def test_a_file_of_another_kind(bench: Any) -> None:
    bench.form({})
    with pytest.raises(MaterialError, match="is not a package, job or audio file"):
        show(bench.job / "job.toml", Silent())


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"", "it is empty"),
        (b"Dear archive,", "its first octets are of no form known"),
        (b"RIFX\x10\0\0\0WAVEfmt ", "it is RIFX"),
        (b"FORM\0\0\0\x10AIFFCOMM", "it is AIFF"),
        (b"ID3\x04\0\0\0\0\0\0", "it is MP3"),
        (b"OggS" + bytes(20), "it is Ogg"),
        (b"riff" + bytes(20), "of no form known"),
        (bytes.fromhex("72696666 2E91CF11 A5D628DB 04C10000") + bytes(24), "it is Wave64"),
    ],
)
def test_what_else_a_file_is_named_for_what_it_is(
    tmp_path: Path, content: bytes, what: str
) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    with pytest.raises(MaterialError, match=what):
        show(path, Silent())


def test_a_pipe_is_never_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.wav")
    for call in (lambda path: show(path, Silent()), lambda path: payload_of(path, "fmt")):
        with pytest.raises(UsageError, match="is not a regular file"):
            call(tmp_path / "pipe.wav")


def test_a_file_is_judged_by_its_chunks_and_a_package_is_not(
    bench: Any, around: Callable[..., Any]
) -> None:
    good = bench.fill(bench.wave(own=bench.own_bext()))
    assert not show(good, Silent()).needs_mending
    close(bench.job, bench.out, around())
    master = bench.package / "data/audio/a.wav"
    master.write_bytes(master.read_bytes()[:-300])
    shown = show(master, Silent())
    assert shown.needs_mending
    assert [finding.code for finding in shown.findings] == ["wave-cut-short"]
    assert not show(bench.package, Silent()).needs_mending


def test_what_is_wrong_with_a_document_is_shown_of_file_and_job(bench: Any) -> None:
    bomb = b"<!DOCTYPE a><BWFXML/>"
    path = bench.fill(bench.wave(after=((b"iXML", bomb),)))
    assert show(path, Silent()).needs_mending
    assert "iXML: it begins with a DOCTYPE." in page(path)
    assert "captures/a.wav#iXML: it begins with a DOCTYPE." in " ".join(page(bench.job).split())


def test_findings_of_documents_stop_a_close(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(bench.wave(after=((b"iXML", b"<!DOCTYPE a><BWFXML/>"),)))
    outcome = close(bench.job, bench.out, around())
    assert [finding.code for finding in outcome.judgement.findings] == ["xml-unsafe"]
    assert bench.left() == []


def test_a_document_that_is_no_xml_is_asked_about_and_packed(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill(bench.wave(after=((b"axml", b"<a"),)))
    outcome = close(bench.job, bench.out, around())
    assert [(f.code, f.answer_at) for f in outcome.judgement.findings] == [
        ("xml-malformed", "a axml")
    ]
    assert outcome.built is not None
    found = check(bench.package, Silent()).judgement.findings
    assert [(f.code, f.answer_at) for f in found] == [("xml-malformed", "a axml")]


# Octets of one chunk


CHUNKS = ((b"LIST", b"INFO"), (b"odd ", b"xyz"), (b"LIST", b"adtl"), (b"a:2 ", b"colon"))


@pytest.mark.parametrize(
    ("wanted", "octets"),
    [
        ("LIST", b"INFO"),
        ("LIST:1", b"INFO"),
        ("LIST:2", b"adtl"),
        ("odd", b"xyz"),
        ("odd ", b"xyz"),
        ("odd :1", b"xyz"),
        ("a:2 ", b"colon"),
        ("a:2", b"colon"),
        ("a:2:1", b"colon"),
    ],
)
def test_a_chunk_is_found_by_its_id(bench: Any, wanted: str, octets: bytes) -> None:
    path = bench.put("a.wav", bench.wave(frames=4, after=CHUNKS))
    payload = payload_of(path, wanted)
    assert b"".join(payload.blocks()) == octets
    assert payload.missing == 0


@pytest.mark.parametrize(
    "wanted", ["LIST:3", "LIST:0", "LIST:", "list", "", "odd:٢", "odd:" + "9" * 5000, "\x1b"]
)
def test_a_chunk_that_is_not_there_is_told_with_those_that_are(bench: Any, wanted: str) -> None:
    path = bench.put("a.wav", bench.wave(frames=4, after=CHUNKS))
    with pytest.raises(MaterialError, match=r"it has fmt, data, LIST, odd, a:2[.]") as caught:
        payload_of(path, wanted)
    assert str(caught.value).isprintable()


def test_a_large_payload_comes_in_blocks(bench: Any) -> None:
    octets = random.Random(3).randbytes(3_000_001)
    path = bench.put("a.wav", bench.wave(frames=4, after=((b"blob", octets),)))
    blocks = list(payload_of(path, "blob").blocks())
    assert b"".join(blocks) == octets
    assert max(map(len, blocks)) <= BLOCK_OCTETS


def test_the_audio_of_rf64_is_copied_by_its_size_in_64_bits(bench: Any) -> None:
    path = bench.put("a.wav", bench.wave(frames=480, rf64=True))
    assert b"".join(payload_of(path, "data").blocks()) == bench.samples(bench.pcm, 480)


def test_of_a_cut_chunk_what_is_there(bench: Any) -> None:
    path = bench.put("a.wav", bench.wave(frames=480)[:-10])
    payload = payload_of(path, "data")
    assert b"".join(payload.blocks()) == bench.samples(bench.pcm, 480)[:-10]
    assert payload.missing == 10


def test_a_folder_has_no_chunks(bench: Any) -> None:
    with pytest.raises(UsageError, match="is a folder"):
        payload_of(bench.root, "fmt")


@pytest.mark.parametrize(
    ("name", "error"), [("nothing", UsageError), ("x" * 300, SurroundingsError)]
)
def test_nothing_there(tmp_path: Path, name: str, error: type[TailsoutError]) -> None:
    with pytest.raises(error):
        show(tmp_path / name, Silent())
