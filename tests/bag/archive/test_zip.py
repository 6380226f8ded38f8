"""A stranger's zip, judged by its directory and its local headers: hostile cases D01 to D13.

The layout is that of APPNOTE 6.3, from memory; well-formed ones are made by Python's zipfile too.
"""

import io
import struct
import subprocess
import zipfile
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.archive.limits import LIMITS
from tailsout.bag.archive.open import ArchivedBag
from tailsout.bag.prove import prove
from tailsout.doors.cli import run
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Silent

Found = Callable[..., dict[str, str]]
Judged = Callable[..., Judgement]
NAME = "reel-0001.zip"


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One member to be; what is None comes out right."""

    name: bytes
    content: bytes = b"x"
    method: int = 0
    flags: int = 0
    mode: int = 0
    extra: bytes = b""
    local: dict[str, Any] | None = None
    """What its local header says otherwise."""
    crc32: int | None = None
    octets: int | None = None
    packed: bytes | None = None
    behind: bytes = b""
    offset: int | None = None

    def data(self) -> bytes:
        if self.packed is not None:
            return self.packed
        if self.method != 8:
            return self.content
        packer = zlib.compressobj(wbits=-15)
        return packer.compress(self.content) + packer.flush()

    def figures(self) -> tuple[int, int, int]:
        crc32 = zlib.crc32(self.content) if self.crc32 is None else self.crc32
        octets = len(self.content) if self.octets is None else self.octets
        return crc32, len(self.data()), octets

    def local_octets(self) -> bytes:
        says: dict[str, Any] = {"flags": self.flags, "method": self.method, "name": self.name}
        says["extra"] = self.extra
        says["figures"] = (0, 0, 0) if self.flags & 8 else self.figures()
        says |= self.local or {}
        head = struct.pack(
            *("<4s5H3I2H", b"PK\3\4", 20, says["flags"], says["method"], 0, 33),
            *(*says["figures"], len(says["name"]), len(says["extra"])),
        )
        return b"".join((head, says["name"], says["extra"], self.data(), self.behind))

    def central_octets(self, offset: int) -> bytes:
        at = offset if self.offset is None else self.offset
        head = struct.pack(
            *("<4s6H3I5H2I", b"PK\1\2", 0x031E, 20, self.flags, self.method, 0, 33),
            *(*self.figures(), len(self.name), len(self.extra), 0, 0, 0, self.mode << 16, at),
        )
        return head + self.name + self.extra


def made(
    pieces: Sequence[Piece],
    *,
    before: bytes = b"",
    between: bytes = b"",
    comment: bytes = b"",
    entries: int | None = None,
    shift: int = 0,
    wide: bytes = b"",
) -> bytes:
    body, offsets = before, []
    for piece in pieces:
        offsets.append(len(body))
        body += piece.local_octets()
    body += between
    directory = b"".join(p.central_octets(at) for p, at in zip(pieces, offsets, strict=True))
    count = len(pieces) if entries is None else entries
    end = struct.pack(
        *("<4s4H2IH", b"PK\5\6", 0, 0, count, count, len(directory), len(body) + shift),
        len(comment),
    )
    return body + directory + wide + end + comment


@pytest.fixture
def pieces(content: dict[str, bytes]) -> list[Piece]:
    return [
        Piece(name=f"reel-0001/{name}".encode(), content=octets, method=8 * (number % 2))
        for number, (name, octets) in enumerate(content.items())
    ]


def codes(judgement: Judgement) -> set[str]:
    return {finding.code for finding in judgement.findings}


def test_a_good_zip_is_judged_like_its_folder(pieces: list[Piece], judged: Judged) -> None:
    judgement = judged(made(pieces), NAME)
    assert codes(judgement) == {"archive-digest-missing"}
    assert judgement.verdict is Verdict.PASS


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
@pytest.mark.parametrize("how", ["file", "pipe", "wide"])
def test_what_python_writes_is_read(
    content: dict[str, bytes], opened: Callable[..., ArchivedBag], method: int, how: str
) -> None:
    class Pipe(io.BytesIO):
        def seekable(self) -> bool:
            return False

        def tell(self) -> int:
            raise io.UnsupportedOperation

    target = Pipe() if how == "pipe" else io.BytesIO()
    with zipfile.ZipFile(target, "w", method) as other:
        other.mkdir("reel-0001/data")
        for name, octets in content.items():
            info = zipfile.ZipInfo(f"reel-0001/{name}")
            info.compress_type = method
            with other.open(info, "w", force_zip64=how == "wide") as file:
                file.write(octets)
    with opened(target.getvalue(), NAME) as bag:
        assert bag.facts.observations == ()
        for name, octets in content.items():
            with bag.stream(name) as stream:
                assert stream.read() == octets
        assert bag.order == ()


@pytest.mark.apt
def test_what_info_zip_writes_is_read(good_bag: Path, put: Callable[..., Path]) -> None:
    place = put(b"")
    subprocess.run(
        ["zip", "-q", "-r", place.with_name(NAME), "reel-0001"], cwd=good_bag.parent, check=True
    )
    assert run(["check", str(place.with_name(NAME))]) == 0


def test_digests_of_large_members_are_taken(
    content: dict[str, bytes], opened: Callable[..., ArchivedBag]
) -> None:
    audio = bytes(range(256)) * 5000
    content["data/a.wav"] = audio
    some = [
        Piece(name=f"reel-0001/{name}".encode(), content=octets, method=8)
        for name, octets in content.items()
    ]
    with opened(made(some), NAME) as bag:
        facts = prove(bag, spans={"data/a.wav": (10, 100)}, progress=Silent())
        (file,) = (one for one in facts.files if one.path == "data/a.wav")
        assert not file.trouble
        assert file.essence_sha256


@pytest.mark.parametrize(
    "name",
    [
        *(b"../x", b"/x", b"C:\\x", b"..\\x", b"reel-0001\\x", b"reel-0001/a\\b", b"a/../../x"),
        *(b"reel-0001//x", b"//x", b"", b".."),
    ],
)
def test_d01_d12_a_path_that_leads_out(pieces: list[Piece], judged: Judged, name: bytes) -> None:
    judgement = judged(made([*pieces, Piece(name=name)]), NAME)
    assert judgement.verdict is Verdict.REFUSED
    assert "bag-archive-escape" in codes(judgement)


def test_d02_a_bomb_is_not_set_off(pieces: list[Piece], judged: Judged, found: Found) -> None:
    bomb = Piece(name=b"reel-0001/data/zeros", content=bytes(30 << 20), method=8)
    judgement = judged(made([*pieces, bomb]), NAME)
    assert judgement.verdict is Verdict.NOT_EXAMINED
    assert "bag-archive-beyond-limits" in codes(judgement)
    many = [Piece(name=b"reel-0001/%d" % n, content=bytes(9000), method=8) for n in range(9)]
    limits = replace(LIMITS, ratio=5, ratio_after=50_000)
    assert list(found(made(many), NAME, limits)) == ["archive-beyond-limits"]


def test_d03_two_entries_on_the_same_octets(pieces: list[Piece], judged: Judged) -> None:
    first = len(made([])) - 22
    for other in (
        replace(pieces[0], offset=first),
        replace(pieces[0], name=b"reel-0001/again", offset=first, local=None),
    ):
        octets = made([pieces[0], pieces[1]])
        # A central record more, for octets that another has already.
        directory = octets.index(b"PK\1\2")
        end = octets.index(b"PK\5\6")
        more = other.central_octets(first)
        whole = (
            octets[:end]
            + more
            + struct.pack(
                *("<4s4H2IH", b"PK\5\6", 0, 0, 3, 3, end - directory + len(more), directory, 0)
            )
        )
        judgement = judged(whole, NAME)
        assert judgement.verdict is Verdict.REFUSED
        assert codes(judgement) & {"bag-archive-overlap", "bag-archive-ambiguous"}


def test_d03_an_entry_quoted_by_the_one_before_it(judged: Judged) -> None:
    """The class of bombs in which a stored member holds the headers of the next ones."""
    inner = Piece(name=b"reel-0001/b", content=b"x" * 50)
    outer = Piece(name=b"reel-0001/a", content=inner.local_octets())
    start = 30 + len(outer.name)
    octets = outer.local_octets()
    directory = outer.central_octets(0) + inner.central_octets(start)
    end = struct.pack("<4s4H2IH", b"PK\5\6", 0, 0, 2, 2, len(directory), len(octets), 0)
    judgement = judged(octets + directory + end, NAME)
    assert judgement.verdict is Verdict.REFUSED
    assert "bag-archive-overlap" in codes(judgement)


@pytest.mark.parametrize("method", [0, 8])
@pytest.mark.parametrize("octets", [0, 1, 3, 5, 100_000, 0xFFFF_FFFE])
def test_d04_a_size_that_is_not_so(
    pieces: list[Piece], judged: Judged, method: int, octets: int
) -> None:
    piece = Piece(name=b"reel-0001/x", content=b"four", method=method, octets=octets)
    judgement = judged(made([*pieces, piece]), NAME)
    assert judgement.verdict in {Verdict.FAIL, Verdict.REFUSED}
    assert codes(judgement) & {"bag-archive-damaged", "bag-archive-ambiguous"}


@pytest.mark.parametrize(
    "says",
    [
        {"name": b"reel-0001/y"},
        {"name": b"../y"},
        {"method": 8},
        {"figures": (1, 1, 1)},
        {"figures": (zlib.crc32(b"x"), 1, 2)},
        {"figures": (0, 0, 0)},
        {"flags": 8},
        {"flags": 1},
        {"flags": 1 << 11},
    ],
)
def test_d05_directory_and_local_header_differ(
    pieces: list[Piece], judged: Judged, says: dict[str, Any]
) -> None:
    judgement = judged(made([*pieces, Piece(name=b"reel-0001/x", local=says)]), NAME)
    assert judgement.verdict is Verdict.REFUSED
    assert "bag-archive-ambiguous" in codes(judgement)


def test_d06_what_stands_where_nothing_may(pieces: list[Piece], found: Found) -> None:
    good = made(pieces)
    hidden = Piece(name=b"reel-0001/y").local_octets()
    for octets in (
        b"#!/bin/sh\n" + good,
        made(pieces, before=b"#!/bin/sh\n"),
        made(pieces, between=hidden),
        good + b"x",
        good + good,
        made(pieces, comment=b"PK\5\6" + bytes(18)),
        made(pieces, comment=good[-22:]),
        made(pieces, shift=1),
        made(pieces, shift=-1),
        made(pieces, entries=len(pieces) - 1),
        made(pieces, entries=len(pieces) + 1),
        made([replace(pieces[0], behind=b"x"), *pieces[1:]]),
    ):
        words = set(found(octets, NAME))
        assert words & {"archive-ambiguous", "archive-damaged"}, octets[:20]
    assert found(made(pieces, comment=b"from the lighthouse"), NAME) == {}


def wide_end(octets: bytes, entries: int, *, at: int | None = None, more: int = 0) -> bytes:
    """A 64-bit end record and its locator for a zip whose directory ends at the end of `octets`."""
    directory = octets.index(b"PK\1\2")
    record = struct.pack(
        *("<4sQ2H2I4Q", b"PK\6\6", 44 + more, 45, 45, 0, 0, entries, entries),
        *(len(octets) - directory, directory),
    )
    where = len(octets) if at is None else at
    return record + struct.pack("<4sIQI", b"PK\6\7", 0, where, 1)


def test_d06_a_64_bit_end_must_be_where_it_is_said_to_be(pieces: list[Piece], found: Found) -> None:
    """CVE-2025-8291, from its title: a locator's offset that is not checked."""
    bare = made(pieces)[:-22]
    count = len(pieces)
    full = struct.pack("<4s4H2IH", b"PK\5\6", 0, 0, 0xFFFF, 0xFFFF, 0xFFFF_FFFF, 0xFFFF_FFFF, 0)
    assert found(bare + wide_end(bare, count) + full, NAME) == {}
    assert found(bare + wide_end(bare, count) + made(pieces)[-22:], NAME) == {}
    for octets in (
        bare + wide_end(bare, count, at=0) + full,
        bare + wide_end(bare, count, at=len(bare) - 1) + full,
        bare + wide_end(bare, count, at=2**63) + full,
        bare + wide_end(bare, count, more=1) + full,
        bare + wide_end(bare, count + 1) + full,
        bare + wide_end(bare, count - 1) + made(pieces)[-22:],
        bare + b"x" + wide_end(bare, count, at=len(bare) + 1) + full,
        bare + full,
    ):
        assert set(found(octets, NAME)) & {"archive-ambiguous", "archive-damaged"}


@pytest.mark.parametrize(
    ("mode", "name", "word"),
    [
        (0o120777, b"reel-0001/x", "archive-link"),
        (0o120777, b"reel-0001/x/", "archive-link"),
        (0o010644, b"reel-0001/x", "archive-special"),
        (0o020644, b"reel-0001/x", "archive-special"),
        (0o040755, b"reel-0001/x", "archive-special"),
        (0o100644, b"reel-0001/x/", "archive-special"),
        (0o106777, b"reel-0001/x", ""),
        (0o000600, b"reel-0001/x", ""),
        (0o040755, b"reel-0001/x/", ""),
    ],
)
def test_d07_what_the_mode_says_it_is(
    pieces: list[Piece], found: Found, mode: int, name: bytes, word: str
) -> None:
    content = b"" if name.endswith(b"/") else b"x"
    words = found(made([*pieces, Piece(name=name, content=content, mode=mode)]), NAME)
    assert set(words) - {"empty-directory"} == ({word} if word else set())


@pytest.mark.parametrize(
    "name", [b"reel-0001/data/note.txt", b"reel-0001/data/note.txt/x", b"reel-0001/data"]
)
def test_d08_two_members_in_each_others_way(
    pieces: list[Piece], judged: Judged, name: bytes
) -> None:
    judgement = judged(made([*pieces, Piece(name=name)]), NAME)
    assert judgement.verdict is Verdict.REFUSED
    assert "bag-archive-twice" in codes(judgement)


@pytest.mark.parametrize(
    ("method", "flags"),
    [*((0, 1 << bit) for bit in (0, 5, 6, 13)), *((one, 0) for one in (1, 9, 12, 14, 93, 95, 99))],
)
def test_d09_what_is_encrypted_or_packed_otherwise(
    pieces: list[Piece], judged: Judged, method: int, flags: int
) -> None:
    piece = Piece(name=b"reel-0001/x", method=method, flags=flags)
    judgement = judged(made([*pieces, piece]), NAME)
    assert judgement.verdict is Verdict.FAIL
    assert "bag-archive-method" in codes(judgement)


def test_d09_what_needs_a_later_reader(pieces: list[Piece], judged: Judged) -> None:
    octets = bytearray(made(pieces))
    octets[octets.index(b"PK\1\2") + 6] = 64
    judgement = judged(bytes(octets), NAME)
    assert judgement.verdict is Verdict.FAIL
    assert "bag-archive-method" in codes(judgement)


def test_d10_an_archive_inside_is_a_file_like_any(
    pieces: list[Piece], content: dict[str, bytes], found: Found
) -> None:
    inner = made(pieces)
    for method in (0, 8):
        nested = Piece(name=b"reel-0001/data/inner.zip", content=inner, method=method)
        assert found(made([nested, *pieces]), NAME) == {}
        assert found(made([*pieces, nested]), NAME) == {}


@pytest.mark.parametrize(
    ("piece", "path", "words"),
    [
        (Piece(name=b"reel-0001/\xc3\xa4", flags=1 << 11), "\u00e4", set()),
        (Piece(name=b"reel-0001/\xc3\xa4"), "\u00e4", {"archive-name-encoding"}),
        (Piece(name=b"reel-0001/\x84"), "\u00e4", {"archive-name-encoding"}),
    ],
)
def test_d11_names_beyond_ascii(
    opened: Callable[..., ArchivedBag],
    pieces: list[Piece],
    piece: Piece,
    path: str,
    words: set[str],
) -> None:
    with opened(made([*pieces, piece]), NAME) as bag:
        assert path in {file.path for file in bag.facts.files}
        assert {one.kind for one in bag.facts.observations} == words


def test_d11_a_name_that_is_not_in_the_encoding_it_states(
    judged: Callable[..., Judgement], pieces: list[Piece]
) -> None:
    """APPNOTE 6.3.10 §4.4.4 and D.1: bit 11 says UTF-8. Python's reader stops at such a name."""
    piece = Piece(name=b"reel-0001/\x84\xcc\x88", flags=1 << 11)
    judgement = judged(made([*pieces, piece]), NAME)
    assert judgement.verdict is Verdict.FAIL
    (damage,) = (one for one in judgement.findings if one.code == "bag-archive-damaged")
    assert "said to be UTF-8 and is not" in damage.text


def test_d11_the_other_name_of_info_zip(
    pieces: list[Piece], opened: Callable[..., ArchivedBag]
) -> None:
    raw, real = b"reel-0001/data/\x84", "reel-0001/data/\u00e4".encode()
    for crc32, path in ((zlib.crc32(raw), "data/\u00e4"), (7, "data/\u00e4")):
        field = b"\1" + crc32.to_bytes(4, "little") + real
        extra = struct.pack("<2H", 0x7075, len(field)) + field
        with opened(made([*pieces, Piece(name=raw, extra=extra)]), NAME) as bag:
            assert path in {file.path for file in bag.facts.files}
            assert bool(bag.facts.observations) is (crc32 == 7)


def test_d11_a_zero_in_a_name_is_damage(pieces: list[Piece], judged: Judged) -> None:
    judgement = judged(made([*pieces, Piece(name=b"reel-0001/x\0.txt")]), NAME)
    assert judgement.verdict is Verdict.FAIL
    assert "bag-archive-damaged" in codes(judgement)


def test_d13_cut_at_any_octet_it_is_not_read_as_whole(found: Found) -> None:
    whole = made([Piece(name=b"reel-0001/bagit.txt", content=b"BagIt-Version: 1.0\n", method=8)])
    for octets in range(len(whole)):
        words = set(found(whole[:octets], NAME))
        assert words & {"archive-damaged", "archive-ambiguous"}, octets


def test_d13_octets_that_do_not_fit_their_crc32(pieces: list[Piece], judged: Judged) -> None:
    for method in (0, 8):
        piece = Piece(name=b"reel-0001/x", method=method, crc32=1)
        judgement = judged(made([*pieces, piece]), NAME)
        assert judgement.verdict is Verdict.FAIL
        assert "bag-archive-damaged" in codes(judgement)
    spoilt = Piece(name=b"reel-0001/x", method=8, packed=b"\xff" * 9)
    assert "bag-archive-damaged" in codes(judged(made([*pieces, spoilt]), NAME))
    more = Piece(name=b"reel-0001/x", method=8)
    more = replace(more, packed=more.data() + b"x")
    assert "bag-archive-damaged" in codes(judged(made([*pieces, more]), NAME))


def test_d13_a_zip_of_nothing(judged: Judged) -> None:
    judgement = judged(made([]), NAME)
    assert judgement.verdict is Verdict.FAIL
    assert "bag-archive-base" in codes(judgement)


def test_too_many_entries_are_not_read(found: Found) -> None:
    many = [Piece(name=b"reel-0001/%d" % n) for n in range(9)]
    limits = replace(LIMITS, members=8)
    assert found(made(many), NAME, limits)["too-many"].startswith("It has more than 8 members")
    limits = replace(LIMITS, zip_directory_octets=100)
    assert list(found(made(many), NAME, limits)) == ["archive-beyond-limits"]


@pytest.mark.parametrize(
    "behind",
    [
        lambda figures: struct.pack("<3I", *figures),
        lambda figures: b"PK\7\x08" + struct.pack("<3I", *figures),
        lambda figures: struct.pack("<I2Q", *figures),
        lambda figures: b"PK\7\x08" + struct.pack("<I2Q", *figures),
    ],
)
def test_a_record_that_follows_the_octets(
    pieces: list[Piece], found: Found, behind: Callable[..., bytes]
) -> None:
    piece = Piece(name=b"reel-0001/x", method=8, flags=8)
    good = replace(piece, behind=behind(piece.figures()))
    assert found(made([good, *pieces]), NAME) == {}
    for bad in (b"", behind((1, 2, 3)), good.behind + b"x", good.behind[:-1]):
        words = found(made([replace(good, behind=bad), *pieces]), NAME)
        assert set(words) & {"archive-ambiguous", "archive-overlap"}


@pytest.mark.parametrize(
    "extra",
    [b"\1", b"\1\0\x08\0", b"\1\0\x04\0abcd" * 2, b"\x75\x70\0\0" * 2, b"xx\xff\xff"],
)
def test_an_extra_field_that_is_none(pieces: list[Piece], found: Found, extra: bytes) -> None:
    words = found(made([*pieces, Piece(name=b"reel-0001/x", extra=extra)]), NAME)
    assert set(words) & {"archive-damaged", "archive-ambiguous"}


def test_filling_in_an_extra_field_is_no_matter(pieces: list[Piece], found: Found) -> None:
    for extra in (b"\0", b"\0\0\0", b"xx\2\0ab\0"):
        assert found(made([*pieces, Piece(name=b"reel-0001/x", extra=extra)]), NAME) == {}


def test_no_bad_zip_ends_in_a_traceback(
    put: Callable[..., Path], capsys: pytest.CaptureFixture[str], pieces: list[Piece]
) -> None:
    for octets in (b"", b"PK", b"PK\5\6", b"PK\3\4" + bytes(40), made(pieces)[:-1]):
        assert run(["check", str(put(octets, NAME))]) in {1, 3}
        assert run(["unpack", str(put(octets, NAME)), "-o", str(put(b"").parent / "out")]) in {1, 3}
        assert "Traceback" not in "".join(capsys.readouterr())


def test_a_zip_is_unpacked(
    pieces: list[Piece], put: Callable[..., Path], good_bag: Path, tmp_path: Path
) -> None:
    assert run(["unpack", str(put(made(pieces), NAME)), "-o", str(tmp_path / "out")]) == 0
    for path in good_bag.rglob("*"):
        other = tmp_path / "out" / "reel-0001" / path.relative_to(good_bag)
        assert other.is_dir() if path.is_dir() else other.read_bytes() == path.read_bytes()
