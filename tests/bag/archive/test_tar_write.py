"""Tar as written: POSIX.1-2017, utility pax, read back by our reader and by Python's own."""

import io
import tarfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.bag.archive import tar, tar_header, tar_write
from tailsout.bag.archive.limits import LIMITS
from tailsout.bag.archive.source import Plain
from tailsout.bag.notes import Notes

TIME = 1_773_532_800
PART = st.text(
    st.characters(exclude_characters="/\0", exclude_categories=["Cs"]), min_size=1, max_size=90
).filter(lambda part: part not in {".", ".."})
PATH = st.lists(PART, min_size=1, max_size=4).map("/".join)


def ours(octets: bytes) -> list[tuple[str, str, int]]:
    notes = Notes()
    source = Plain(io.BufferedReader(io.BytesIO(octets)), len(octets))
    members = list(tar.walk(source, LIMITS, notes, "x.tar"))
    assert notes.observations() == ()
    return [(one.path, str(one.sort), one.octets) for one in members]


@given(PATH, st.binary(max_size=1200))
def test_what_is_written_is_read_by_both(path: str, content: bytes) -> None:
    entry = tar_write.entry(path, len(content), TIME)
    folder = tar_write.entry(path + " d", None, TIME)
    octets = folder + entry + content + tar_write.filling(len(content))
    octets += tar_write.end(len(octets))
    assert len(octets) % 10_240 == 0
    assert ours(octets) == [(path + " d/", "directory", 0), (path, "file", len(content))]
    with tarfile.open(fileobj=io.BytesIO(octets), mode="r:") as other:
        directory, file = other.getmembers()
        assert (directory.name, directory.isdir(), directory.mode) == (path + " d", True, 0o755)
        assert (file.name, file.isreg(), file.mode, file.size) == (path, True, 0o644, len(content))
        assert (file.uid, file.gid, file.uname, file.gname, file.mtime) == (0, 0, "", "", TIME)
        stream = other.extractfile(file)
        assert stream is not None
        assert stream.read() == content


@pytest.mark.parametrize(
    ("path", "blocks"),
    [
        ("a" * 100, 1),
        ("a" * 101, 3),
        ("p" * 155 + "/" + "n" * 100, 1),
        ("p" * 156 + "/" + "n" * 99, 3),
        ("p" * 155 + "/" + "n" * 101, 3),
        ("a/" * 60 + "n", 1),
        ("\u00e4", 3),
        ("a\udcff", 3),
    ],
)
def test_an_extended_header_only_where_a_name_needs_it(path: str, blocks: int) -> None:
    octets = tar_write.entry(path, 0, 0)
    assert len(octets) == 512 * blocks
    assert ours(octets + tar_write.end(len(octets))) == [(path, "file", 0)]


def test_octets_that_are_no_utf_8_are_announced() -> None:
    octets = tar_write.entry("a\udcff", 0, 0)
    assert octets[512:].startswith(b"21 hdrcharset=BINARY\n11 path=a\xff\n")
    with tarfile.open(
        fileobj=io.BytesIO(octets + tar_write.end(512 * 3)), mode="r:", errors="surrogateescape"
    ) as other:
        assert other.getnames() == ["a\udcff"]


@pytest.mark.parametrize(("octets", "blocks"), [(8**11 - 1, 1), (8**11, 3), (2**40, 3)])
def test_a_size_beyond_eleven_octal_digits(octets: int, blocks: int) -> None:
    entry = tar_write.entry("a", octets, 0)
    assert len(entry) == 512 * blocks
    header = tar_header.parse(entry[-512:])
    assert isinstance(header, tar_header.Header)
    if blocks == 1:
        assert header.octets == octets
    else:
        assert header.octets == 0
        assert entry[512:].startswith(tar_write.record(b"size", b"%d" % octets))
    assert tarfile.TarInfo.frombuf(entry[-512:], "utf-8", "strict").size == header.octets


@given(st.binary(min_size=1, max_size=120), st.binary(max_size=2000))
def test_a_record_counts_itself(key: bytes, value: bytes) -> None:
    key = key.replace(b"=", b"-")
    record = tar_write.record(key, value)
    assert int(record.partition(b" ")[0]) == len(record)
    assert tar_header.records(record) == {key: value}


@given(st.integers(0, 100_000))
def test_the_end_fills_the_last_record(blocks: int) -> None:
    end = tar_write.end(blocks * 512)
    assert len(end) >= 1024
    assert (blocks * 512 + len(end)) % 10_240 == 0
    assert len(end) < 1024 + 10_240
