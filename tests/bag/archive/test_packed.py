"""A packed tar, unpacked as a stream only: hostile cases C14 and C15, and what is kept of it."""

import gzip
import io
import lzma
import random
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.bag.archive.kept import Kept
from tailsout.bag.archive.limits import LIMITS
from tailsout.bag.archive.open import ArchivedBag, open_archive
from tailsout.bag.archive.source import Plain, StoppedError, Unpacked, take
from tailsout.bag.prove import prove
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Silent
from tailsout.work import descriptions, papers
from tailsout.work.check import check

Found = Callable[..., dict[str, str]]
PACK: dict[str, Callable[[bytes], bytes]] = {
    "tar.gz": lambda octets: gzip.compress(octets, mtime=0),
    "tar.xz": lambda octets: lzma.compress(octets, preset=0),
}
FORMS = tuple(PACK)


def codes(judgement: Judgement) -> set[str]:
    return {finding.code for finding in judgement.findings}


def unpacked(octets: bytes, packing: Any = "gzip") -> Unpacked:
    plain = Plain(io.BufferedReader(io.BytesIO(octets)), len(octets))
    return Unpacked(plain, packing, LIMITS)


@pytest.mark.parametrize("form", FORMS)
def test_a_packed_tar_is_judged_like_its_folder(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], form: str
) -> None:
    judgement = judged(PACK[form](good_tar + tar.END), f"reel-0001.{form}")
    # Its one document of plain text is read of the folder alone.
    assert codes(judgement) == {"archive-digest-missing", "description-unread"}
    assert judgement.verdict is Verdict.PASS


@pytest.mark.parametrize("form", FORMS)
def test_every_change_of_its_files_is_found(
    content: dict[str, bytes], tar: Any, judged: Callable[..., Judgement], form: str
) -> None:
    for path in content:
        changed = {**content, path: content[path][:-2] + b"?\n"}
        judgement = judged(PACK[form](tar.files(changed) + tar.END), f"reel-0001.{form}")
        assert judgement.verdict is Verdict.FAIL or path.startswith("tagmanifest"), path


def test_a_digest_is_taken_of_a_large_file_too(
    content: dict[str, bytes], tar: Any, put: Callable[..., Path]
) -> None:
    """It is larger than all that is kept of it."""
    audio = random.Random(1).randbytes(5 * LIMITS.window_octets)
    whole = tar.files({**content, "data/audio/reel.dat": audio, "data/a.wav": audio}) + tar.END
    for form in FORMS:
        path = put(PACK[form](whole), f"reel-0001.{form}")
        with open_archive(path, Silent()) as bag:
            assert list(bag.order) == [*content, "data/a.wav"]
            facts = prove(bag, spans={"data/a.wav": (7, len(audio) - 7)}, progress=Silent())
            with open_archive(put(whole), Silent()) as plain:
                spans = {"data/a.wav": (7, len(audio) - 7)}
                assert facts.files == prove(plain, spans=spans, progress=Silent()).files
        assert all(not file.trouble for file in facts.files)


def test_what_is_kept_can_be_read_anywhere_and_the_rest_in_one_go(
    content: dict[str, bytes], tar: Any, put: Callable[..., Path]
) -> None:
    audio = random.Random(2).randbytes(1000)
    limits = replace(LIMITS, window_octets=100)
    whole = gzip.compress(tar.files({**content, "data/a.wav": audio}) + tar.END)
    with open_archive(put(whole, "reel-0001.tar.gz"), Silent(), limits=limits) as bag:
        raw: Any = bag.stream("data/a.wav").raw
        for start, end in ((900, 1000), (0, 100), (950, 970), (300, 500), (500, 900)):
            raw.seek(start)
            got = b""
            while len(got) < end - start:
                got += raw.read(end - start - len(got)) or b""
            assert got == audio[start:end]
        raw.seek(250)
        with pytest.raises(io.UnsupportedOperation, match="in one go"):
            raw.read(1)


def test_it_is_begun_anew_only_so_often(
    good_tar: bytes, tar: Any, put: Callable[..., Path]
) -> None:
    limits = replace(LIMITS, kept_octets=0, rereads=1)
    path = put(gzip.compress(good_tar + tar.END), "reel-0001.tar.gz")
    with open_archive(path, Silent(), limits=limits) as bag:
        # Each step back to an earlier tag file begins it anew.
        observed = {one.kind for one in bag.facts.observations}
    assert "unreadable" in observed


def test_an_audio_header_out_of_reach_is_told(
    content: dict[str, bytes], tar: Any, put: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        ArchivedBag, "stream", _refusing(ArchivedBag.stream, "data/a.wav"), raising=True
    )
    whole = gzip.compress(tar.files({**content, "data/a.wav": b"RIFF"}) + tar.END)
    judgement = check(put(whole, "reel-0001.tar.gz"), Silent()).judgement
    (finding,) = (one for one in judgement.findings if one.code == "archive-header-unread")
    assert finding.verdict is Verdict.NOT_EXAMINED
    assert finding.place.file == "data/a.wav"


PREMIS = (
    b'<premis xmlns="http://www.loc.gov/premis/v3" version="3.0"><event>'
    b"<eventDateTime>tuesday</eventDateTime></event></premis>"
)


def test_descriptions_are_looked_into_in_every_form(
    content: dict[str, bytes], tar: Any, put: Callable[..., Path]
) -> None:
    # The large one goes beyond what is kept, so that it is unpacked once more.
    large = PREMIS + b" " * (3 * LIMITS.window_octets)
    files = {**content, "metadata/a.xml": PREMIS, "metadata/b.xml": large}
    whole = tar.files(files) + tar.END
    for form in ("tar", *FORMS):
        packed = whole if form == "tar" else PACK[form](whole)
        judgement = check(put(packed, f"reel-0001.{form}"), Silent()).judgement
        dates = [one.place.file for one in judgement.findings if one.code == "description-date"]
        assert dates == ["metadata/a.xml", "metadata/b.xml"], form


def test_a_small_description_is_kept_and_a_large_one_out_of_reach_is_told(
    content: dict[str, bytes], tar: Any, put: Callable[..., Path]
) -> None:
    large = PREMIS + b" " * (3 * LIMITS.window_octets)
    files = {"metadata/a.xml": PREMIS, "metadata/b.xml": large, **content}
    path = put(gzip.compress(tar.files(files) + tar.END), "reel-0001.tar.gz")
    with open_archive(path, Silent(), limits=replace(LIMITS, rereads=0)) as bag:
        told, met = descriptions.read(bag)
    assert [one.path for one in told] == ["metadata/a.xml"]
    assert [(one.code, one.place.file) for one in met] == [("description-unread", "metadata/b.xml")]


def test_more_descriptions_than_are_read_are_told(
    content: dict[str, bytes], tar: Any, put: Callable[..., Path]
) -> None:
    files = {f"metadata/{number:03d}.xml": PREMIS for number in range(52)}
    path = put(tar.files({**content, **files}) + tar.END)
    with open_archive(path, Silent()) as bag:
        told, met = descriptions.read(bag)
    assert len(told) == 50
    (one,) = met
    assert (one.code, one.place.file) == ("description-unread", "metadata/050.xml")
    assert "one of 2 beyond the 50" in one.text


def test_papers_are_read_where_one_file_can_be_had_alone(
    content: dict[str, bytes], tar: Any, put: Callable[..., Path]
) -> None:
    letter, table = "data/letter.txt", "data/table.csv"
    more = {letter: "Größe".encode("utf-16"), table: b"x" * 100_001, "data/a.pdf": b"%PDF"}
    numbered = {f"data/z{number:02}.md": b"z" for number in range(50)}
    whole = tar.files({**content, **more, **numbered}) + tar.END
    with open_archive(put(whole, "reel-0001.tar"), Silent()) as bag:
        texts, met = papers.read(bag)
    assert len(texts) == 50
    assert texts[letter] == "Größe"
    assert texts[table] == "x" * 100_000
    assert {one.code for one in met} == {"description-unread"}
    beyond, cut = met
    assert "beyond the 50 that are read" in beyond.text
    assert (cut.place.file, "the first 100000 were read" in cut.text) == (table, True)
    with open_archive(put(gzip.compress(whole), "reel-0001.tar.gz"), Silent()) as bag:
        texts, (one,) = papers.read(bag)
    assert (texts, "not looked into in a packed tar" in one.text) == ({}, True)


def _refusing(stream: Callable[..., io.BufferedReader], path: str) -> Callable[..., Any]:
    class _Blank(io.RawIOBase):
        def readable(self) -> bool:
            return True

        def seekable(self) -> bool:
            return True

        def seek(self, offset: int, whence: int = 0) -> int:
            return offset

        def readinto(self, buffer: Any) -> int:
            raise io.UnsupportedOperation("in one go")

    def opening(bag: ArchivedBag, wanted: str) -> io.BufferedReader:
        return io.BufferedReader(_Blank()) if wanted == path else stream(bag, wanted)

    return opening


def test_what_lies_beside_the_bag_is_not_in_its_order(
    good_tar: bytes, tar: Any, content: dict[str, bytes], opened: Callable[..., ArchivedBag]
) -> None:
    whole = tar.member(b"a/x", b"x") + tar.member(b"y", b"y") + good_tar + tar.END
    with opened(gzip.compress(whole), "reel-0001.tar.gz") as bag:
        assert list(bag.order) == list(content)


# Bombs


@pytest.mark.parametrize("form", FORMS)
def test_c14_a_bomb_is_not_set_off(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], form: str
) -> None:
    bomb = tar.header(b"reel-0001/data/zeros", 30 << 20) + bytes(30 << 20)
    judgement = judged(PACK[form](good_tar + bomb + tar.END), f"reel-0001.{form}")
    assert judgement.verdict is Verdict.NOT_EXAMINED
    assert codes(judgement) >= {"bag-archive-beyond-limits"}
    assert "file-unlisted" not in codes(judgement)


def test_c14_what_is_small_may_be_packed_well(good_tar: bytes, tar: Any, found: Found) -> None:
    zeros = tar.header(b"reel-0001/data/zeros", 4 << 20) + bytes(4 << 20)
    assert found(gzip.compress(good_tar + zeros + tar.END), "reel-0001.tar.gz") == {}


def test_c14_the_sum_has_a_cap_too(good_tar: bytes, tar: Any, found: Found) -> None:
    limits = replace(LIMITS, unpacked_octets=9_000)
    words = found(gzip.compress(good_tar + tar.END), "reel-0001.tar.gz", limits)
    assert words["archive-beyond-limits"] == "It came to more than 9000 octets."


def test_c15_an_xz_that_wants_too_much_memory(good_tar: bytes, tar: Any, found: Found) -> None:
    octets = bytearray(lzma.compress(good_tar + tar.END, preset=0))
    # The .xz File Format 1.2, §3.1, §5.3.1: size, flags, filter id, its properties: the dictionary;
    # 40 stands for 4 GiB less one octet. The header's own CRC-32 is put right.
    size = (octets[12] + 1) * 4
    at = octets.index(b"\x21\x01", 12) + 2
    octets[at] = 40
    octets[12 + size - 4 : 12 + size] = zlib.crc32(octets[12 : 12 + size - 4]).to_bytes(4, "little")
    words = found(bytes(octets), "reel-0001.tar.xz")
    assert words["archive-beyond-limits"] == f"Unpacking it takes more than {128 << 20} octets."


# Streams of packed octets


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("tail", [b"", b"x", bytes(512), b"\x1f", b"\xfd7zX"])
def test_what_stands_after_it_is_asked_about(
    good_tar: bytes, tar: Any, found: Found, form: str, tail: bytes
) -> None:
    words = found(PACK[form](good_tar + tar.END) + tail, f"reel-0001.{form}")
    is_padding = form == "tar.xz" and tail == bytes(512)
    assert set(words) == ({"archive-trailing"} if tail and not is_padding else set())


@pytest.mark.parametrize("form", FORMS)
def test_one_after_the_other_is_one(good_tar: bytes, tar: Any, found: Found, form: str) -> None:
    parts = [(good_tar + tar.END)[at : at + 3000] for at in range(0, len(good_tar), 3000)]
    parts[-1] += tar.END
    padding = bytes(8) if form == "tar.xz" else b""
    whole = padding.join(PACK[form](part) for part in parts) + padding
    assert found(whole, f"reel-0001.{form}") == {}


@pytest.mark.parametrize("form", FORMS)
def test_cut_at_any_octet_it_is_damaged(tar: Any, found: Found, form: str) -> None:
    whole = PACK[form](tar.member(b"reel-0001/bagit.txt", b"BagIt-Version: 1.0\n") + tar.END)
    for octets in range(len(whole)):
        assert "archive-damaged" in found(whole[:octets], f"reel-0001.{form}"), octets


@pytest.mark.parametrize("form", FORMS)
def test_any_bit_flipped_is_seen_or_no_matter(
    content: dict[str, bytes], tar: Any, judged: Callable[..., Judgement], form: str
) -> None:
    whole = PACK[form](tar.files(content) + tar.END)
    chance = random.Random(f"bits of {form}")
    for _ in range(60):
        place = chance.randrange(14, len(whole))
        changed = bytearray(whole)
        changed[place] ^= 1 << chance.randrange(8)
        assert judged(bytes(changed), f"reel-0001.{form}").verdict is not Verdict.PASS, place


@given(st.binary(max_size=5000), st.lists(st.integers(1, 700), max_size=30))
def test_any_steps_give_the_same_octets(octets: bytes, steps: list[int]) -> None:
    for packing, pack in (("gzip", PACK["tar.gz"]), ("xz", PACK["tar.xz"])):
        source = unpacked(pack(octets), packing)
        got = b"".join(source.some(step) for step in steps)
        assert octets.startswith(got)
        at = len(got)
        skipped = source.skip(100)
        assert skipped == min(100, len(octets) - at)
        assert take(source, 10_000) == octets[at + skipped :]
        assert source.position == len(octets)
        assert source.some(1) == b""


def test_deflated_octets_with_more_behind_them() -> None:
    packer = zlib.compressobj(wbits=-15)
    octets = packer.compress(b"tails out") + packer.flush()
    for tail in (b"", b"x"):
        source = unpacked(octets + tail, "deflate")
        assert take(source, 100) == b"tails out"
        assert source.has_tail is bool(tail)
    with pytest.raises(StoppedError, match="cut short"):
        take(unpacked(octets[:-1], "deflate"), 100)


@given(st.lists(st.binary(max_size=50), max_size=10), st.integers(0, 40), st.sampled_from("ab"))
def test_what_is_kept_are_both_ends(blocks: list[bytes], window: int, name: str) -> None:
    whole = b"".join(blocks)
    kept = Kept(replace(LIMITS, window_octets=window, kept_octets=1000))
    path = f"reel/data/{name}.wav"
    assert kept.take(path, len(whole), blocks) == len(whole)
    ends = kept.ends(path)
    assert ends.head == whole[:window]
    assert ends.tail == whole[max(window, len(whole) - window) :]


def test_what_has_no_room_or_no_reader_is_not_kept() -> None:
    kept = Kept(replace(LIMITS, window_octets=10, kept_octets=30))
    for path, is_kept in (
        ("reel/data/a.wav", True),
        ("reel/data/a.txt", False),
        ("reel/metadata/mets.XML", False),
        ("reel/data/b.flac", False),
        ("reel/bagit.txt", False),
    ):
        assert kept.take(path, 40, [b"x" * 40]) == 40
        assert bool(kept.ends(path).head) is is_kept
    assert kept.take("reel/x.txt", 10, [b"y" * 10]) == 10
    assert kept.ends("reel/x.txt").head == b"y" * 10
