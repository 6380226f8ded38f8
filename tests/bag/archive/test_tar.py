"""A stranger's tar, read in place: hostile cases C01 to C13 and C16 to C19.

The layout of a tar is that of POSIX.1-2017, utility pax; what GNU tar adds is from memory of its
manual.
"""

import hashlib
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.archive.limits import LIMITS
from tailsout.bag.archive.open import ArchivedBag, open_archive
from tailsout.bag.prove import prove
from tailsout.doors.cli import run
from tailsout.ground.errors import MaterialError, SurroundingsError, UsageError
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.progress import Silent
from tailsout.records.facts import PackageFacts
from tailsout.work.check import check

WAV = "data/audio/reel.dat"
Found = Callable[..., dict[str, str]]


def codes(judgement: Judgement) -> set[str]:
    return {finding.code for finding in judgement.findings}


def test_a_good_tar_is_judged_like_its_folder(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement]
) -> None:
    judgement = judged(good_tar + tar.END)
    assert codes(judgement) == {"archive-digest-missing"}
    assert {"completeness", "fixity"} <= {
        one.name for one in judgement.checks if one.outcome == "passed"
    }


def test_its_files_are_streams_that_can_be_read_anywhere(
    good_tar: bytes, tar: Any, opened: Callable[..., ArchivedBag], content: dict[str, bytes]
) -> None:
    with opened(good_tar + tar.END) as bag:
        assert [file.path for file in bag.facts.files] == sorted(content)
        for path, octets in content.items():
            with bag.stream(path) as one, bag.stream(path) as other:
                assert (one.read(), one.read()) == (octets, b"")
                one.seek(-3, os.SEEK_END)
                assert (one.read(), other.read(5)) == (octets[-3:], octets[:5])
                one.seek(len(octets) + 9)
                assert one.read() == b""
                with pytest.raises(OSError, match="before the start"):
                    one.seek(-1)
                with pytest.raises(OSError, match="fileno"):
                    one.fileno()
        assert bag.order == ()


ESCAPES = (
    *(b"../x", b"/x", b"a/../../x", b"reel-0001/../../x", b"~/x", b"C:\\x", b"\\\\host\\x"),
    *(b"..", b".", b"", b"reel-0001//x", b"reel-0001/./x", b"reel-0001/a\x1b[2J"),
)


@pytest.mark.parametrize("name", ESCAPES)
def test_c01_a_path_that_leads_out(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], name: bytes
) -> None:
    judgement = judged(good_tar + tar.member(name, b"x") + tar.END)
    assert judgement.verdict is Verdict.REFUSED
    assert "bag-archive-escape" in codes(judgement)


@pytest.mark.parametrize("name", [b"../x", b"/x"])
def test_c01_the_same_by_an_extended_header(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], name: bytes
) -> None:
    for ahead in (tar.records((b"path", name)), tar.member(b"", name + b"\0", b"L")):
        judgement = judged(good_tar + ahead + tar.member(b"reel-0001/x", b"x") + tar.END)
        assert judgement.verdict is Verdict.REFUSED


@pytest.mark.parametrize(
    ("flag", "said"),
    [
        (b"1", "archive-link: It is a hard link."),
        (b"2", "archive-link: It is a symbolic link."),
        (b"3", "archive-special: It is a character device."),
        (b"4", "archive-special: It is a block device."),
        (b"6", "archive-special: It is a pipe."),
        (b"7", "archive-special: It is a contiguous file."),
        (b"S", "archive-special: It is a sparse file."),
        (b"M", "archive-special: It is a member of type 'M'."),
        (b"\x1b", "archive-special: It is a member of type '\\\\x1b'."),
    ],
)
def test_c02_to_c06_links_and_whatever_is_no_file(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], flag: bytes, said: str
) -> None:
    judgement = judged(
        good_tar + tar.member(b"reel-0001/x", b"", flag, link=b"../../etc") + tar.END
    )
    code, _, text = said.partition(": ")
    told = [(one.code, one.text) for one in judgement.findings if one.code.startswith("bag-")]
    assert told == [(f"bag-{code}", text)]
    assert judgement.verdict is Verdict.REFUSED
    # What is refused is not read on: nothing is said of what it lacks or holds.
    (fixity,) = (one for one in judgement.checks if one.name == "fixity")
    assert fixity.why == "not all of the archive could be read, or it is not to be touched"


def test_c02_what_a_link_would_be_written_through_is_a_name_like_any(
    good_tar: bytes, tar: Any, found: Found
) -> None:
    link = tar.member(b"reel-0001/out", b"", b"2", link=b"/tmp")
    words = found(good_tar + link + tar.member(b"reel-0001/out/x", b"x") + tar.END)
    assert list(words) == ["archive-link"]


def test_c06_a_sparse_file_in_extended_records(good_tar: bytes, tar: Any, found: Found) -> None:
    ahead = tar.records((b"GNU.sparse.major", b"1"), (b"GNU.sparse.name", b"x"))
    whole = good_tar + ahead + tar.member(b"reel-0001/GNUSparseFile.1/x", b"1\n0\n") + tar.END
    assert found(whole) == {"archive-special": "It is a sparse file."}


def test_c07_modes_owners_and_times_mean_nothing(
    content: dict[str, bytes], tar: Any, found: Found
) -> None:
    whole = b"".join(
        tar.member(f"reel-0001/{name}".encode(), octets, mode=b"0006777\0", time=b"77777777777\0")
        for name, octets in content.items()
    )
    assert found(whole + tar.END) == {}


@pytest.mark.parametrize(
    "more",
    [
        [(b"reel-0001/data/note.txt", b"other", b"0")],
        [(b"reel-0001/data/note.txt/x", b"x", b"0")],
        [(b"reel-0001/data/audio", b"x", b"0")],
        [(b"reel-0001/data/note.txt/", b"", b"5")],
    ],
)
def test_c08_two_members_in_each_others_way(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], more: list[tuple[bytes, ...]]
) -> None:
    judgement = judged(good_tar + b"".join(tar.member(*one) for one in more) + tar.END)
    assert judgement.verdict is Verdict.REFUSED
    assert "bag-archive-twice" in codes(judgement)


def test_c08_a_directory_may_be_listed_twice(good_tar: bytes, tar: Any, found: Found) -> None:
    again = tar.member(b"reel-0001/data/", b"", b"5") * 2
    assert found(again + good_tar + again + tar.END) == {}


@pytest.mark.parametrize("name", ["data/NOTE.txt", "data/no\u0301te.txt"])
def test_c09_twins_are_asked_about(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], name: str
) -> None:
    twins = [f"reel-0001/{name}", "reel-0001/data/n\u00f3te.txt"]
    whole = good_tar + b"".join(tar.member(one.encode(), b"x") for one in twins) + tar.END
    judgement = judged(whole)
    assert "bag-name-twins" in codes(judgement)
    assert judgement.verdict is Verdict.FAIL  # for they are in no manifest


# Sizes, C11


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (b"\xff" * 12, "a header states the size -1"),
        (b"\xff" * 10 + b"\xfe\0", "a header states the size -512"),
        (b"0000000008\0\0", "which is not a number"),
        (b"-0000000001\0", "which is not a number"),
        (b"0x000000001\0", "which is not a number"),
        (b"1 1\0\0\0\0\0\0\0\0\0", "which is not a number"),
        (b"\x80" + b"\0" * 3 + b"\xff" * 8, "it ends at octet"),
        (b"77777777777\0", "it ends at octet"),
    ],
)
def test_c11_a_size_that_cannot_be(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], size: bytes, said: str
) -> None:
    judgement = judged(good_tar + tar.header(b"reel-0001/x", size=size) + tar.END)
    assert judgement.verdict is Verdict.FAIL
    (finding,) = (one for one in judgement.findings if one.code == "bag-archive-damaged")
    assert said in finding.text


def test_c11_a_binary_size_is_read(good_tar: bytes, tar: Any, found: Found) -> None:
    size = b"\x80" + (3).to_bytes(11, "big")
    whole = good_tar + tar.header(b"reel-0001/x", size=size) + b"abc".ljust(512, b"\0") + tar.END
    assert found(whole) == {}


@pytest.mark.parametrize(
    "more",
    [
        {"mode": b"rw-r--r-"},
        {"time": b"yesterday\0\0\0"},
        {"time": b"\x9f0000000000\0"},
        {"time": b"\xe0" + bytes(11)},
        {"time": b"\x0015000000000"},
        {"size": b"\x0000000000001"},
    ],
)
def test_a_field_that_is_no_number_ends_it_for_some_readers(
    good_tar: bytes, tar: Any, found: Found, more: dict[str, bytes]
) -> None:
    """Python's tarfile stops there without a word: found by mutation."""
    words = found(good_tar + tar.member(b"reel-0001/x", b"x", **more) + tar.END)
    assert "is not a number" in words["archive-damaged"]


# C12, C13: extended headers

GOOD_RECORD = b"18 path=reel-0001/\n"


@pytest.mark.parametrize(
    "octets",
    [
        *(b"0 a=b\n", b"1 a=b\n", b"-6 a=b\n", b"06 a=b\n", b"6 a=b", b"7 a=b\n", b"6  a=b\n"),
        *(b"5 a=b\n", b"6 a b\n", b"4 =b\n", b"9999999999 a=b\n", b"a=b\n", b"\0", b" 6 a=b\n"),
        *(b"9 size=x\n", b"11 size=-1\n", b"6 a=b\n6"),
    ],
)
def test_c12_records_that_are_none(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], octets: bytes
) -> None:
    ahead = tar.member(b"././@PaxHeader", octets, b"x")
    judgement = judged(good_tar + ahead + tar.member(b"reel-0001/x", b"x") + tar.END)
    assert judgement.verdict is Verdict.FAIL
    assert codes(judgement) >= {"bag-archive-damaged"}


@pytest.mark.parametrize("flag", [b"x", b"g", b"L", b"K"])
def test_c13_a_header_of_a_gigabyte(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], flag: bytes
) -> None:
    judgement = judged(good_tar + tar.header(b"x", 1 << 30, flag) + tar.END)
    assert judgement.verdict is Verdict.NOT_EXAMINED
    assert codes(judgement) >= {"bag-archive-beyond-limits"}


def test_c13_the_cap_is_exact(good_tar: bytes, tar: Any, found: Found) -> None:
    for octets, words in (
        (LIMITS.header_octets, set()),
        (LIMITS.header_octets + 1, {"archive-beyond-limits"}),
    ):
        ahead = tar.member(b"", b"reel-0001/x".ljust(octets, b"\0"), b"L")
        assert set(found(good_tar + ahead + tar.member(b"y", b"x") + tar.END)) == words


@pytest.mark.parametrize(
    "ahead",
    [
        [((b"path", b"reel-0001/a"), (b"path", b"reel-0001/b"))],
        [((b"size", b"1"), (b"size", b"1"))],
        [((b"a", b"b"),), ((b"a", b"b"),)],
        [((b"size", b"0"),)],
        [((b"size", b"2"),)],
    ],
)
def test_what_two_readers_take_differently_is_refused(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], ahead: list[Any]
) -> None:
    """CWE-436: a size or path that stands twice, or once in each header."""
    records = b"".join(tar.records(*pairs) for pairs in ahead)
    judgement = judged(good_tar + records + tar.member(b"reel-0001/x", b"x") + tar.END)
    assert judgement.verdict in {Verdict.REFUSED, Verdict.FAIL}
    assert codes(judgement) & {"bag-archive-ambiguous", "bag-archive-damaged"}


@pytest.mark.parametrize("key", [b"path", b"size", b"linkpath"])
def test_a_global_header_may_not_name_all_that_follows(
    good_tar: bytes, tar: Any, found: Found, key: bytes
) -> None:
    assert set(found(tar.records((key, b"1"), flag=b"g") + good_tar + tar.END)) >= {
        "archive-ambiguous"
    }
    comment = tar.records((b"comment", b"made on a quiet evening"), flag=b"g")
    assert found(comment + good_tar + tar.END) == {}


@pytest.mark.parametrize("flag", [b"1", b"2", b"5"])
def test_what_can_have_no_octets_has_none(
    good_tar: bytes, tar: Any, found: Found, flag: bytes
) -> None:
    whole = good_tar + tar.member(b"reel-0001/x/", b"hidden", flag) + tar.END
    assert "archive-ambiguous" in found(whole)


@pytest.mark.parametrize(
    ("flag", "ahead", "short", "octets"),
    [
        (b"0", None, b"reel-0001/x/", b""),
        (b"0", None, b"reel-0001/x/", b"hidden"),
        (b"\0", None, b"reel-0001/x/", b"hidden"),
        (b"\0", b"reel-0001/x/", b"reel-0001/x", b""),
        (b"\0", b"reel-0001/x", b"reel-0001/x/", b""),
        (b"0", b"reel-0001/x", b"reel-0001/x/", b"x"),
    ],
)
def test_a_file_named_like_a_directory_is_refused(  # noqa: PLR0917  three fixtures, one case a line
    good_tar: bytes,
    tar: Any,
    judged: Callable[..., Judgement],
    flag: bytes,
    ahead: bytes | None,
    short: bytes,
    octets: bytes,
) -> None:
    """CWE-436: one reader makes a directory of it, another a file; found by mutation."""
    records = tar.records((b"path", ahead)) if ahead is not None else b""
    judgement = judged(good_tar + records + tar.member(short, octets, flag) + tar.END)
    assert judgement.verdict is Verdict.REFUSED
    assert "bag-archive-ambiguous" in codes(judgement)


def test_a_directory_of_the_old_kind_is_one(good_tar: bytes, tar: Any, found: Found) -> None:
    """Common practice, no source: before type 5 a slash at the end told it."""
    assert set(found(good_tar + tar.member(b"reel-0001/x/", b"", b"\0") + tar.END)) <= {
        "empty-directory"
    }


def test_two_long_names_must_agree(good_tar: bytes, tar: Any, found: Found) -> None:
    gnu = tar.member(b"", b"reel-0001/a\0", b"L")
    for other, words in ((b"reel-0001/a", set()), (b"reel-0001/b", {"archive-ambiguous"})):
        ahead = gnu + tar.records((b"path", other))
        assert set(found(good_tar + ahead + tar.member(b"y", b"x") + tar.END)) == words


@pytest.mark.parametrize("flag", [b"x", b"g"])
def test_a_header_for_nothing_is_damage(
    good_tar: bytes, tar: Any, found: Found, flag: bytes
) -> None:
    """Python's tarfile stops at a global one there: found by mutation."""
    whole = good_tar + tar.records((b"comment", b"a"), flag=flag) + tar.END
    assert found(whole)["archive-damaged"] == "Of the tar: it ends after an extended header."


@pytest.mark.parametrize(
    "make",
    [
        lambda tar, name: tar.records((b"path", name)) + tar.member(b"short", b"x"),
        lambda tar, name: tar.member(b"", name + b"\0", b"L") + tar.member(b"short", b"x"),
        lambda tar, name: tar.member(name[-90:], b"x", prefix=name[:-91]),
    ],
)
def test_long_names_are_read(
    good_tar: bytes, tar: Any, opened: Callable[..., ArchivedBag], make: Any
) -> None:
    name = b"reel-0001/data/" + b"d" * 60 + b"/" + b"n" * 90
    last = make(tar, name)
    with opened(good_tar + last + tar.END) as bag:
        assert name.decode().partition("/")[2] in {file.path for file in bag.facts.files}


def test_a_header_of_gnu_tar_has_no_prefix(
    good_tar: bytes, tar: Any, opened: Callable[..., ArchivedBag]
) -> None:
    last = tar.member(b"reel-0001/data/x", b"x", magic=b"ustar  \0", prefix=b"14000000000\0")
    with opened(good_tar + last + tar.END) as bag:
        assert "data/x" in {file.path for file in bag.facts.files}


# C16 to C18


def test_c16_what_stands_after_the_end_is_asked_about(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement]
) -> None:
    judgement = judged((good_tar + tar.END) * 2)
    assert judgement.verdict is Verdict.OPEN
    assert "bag-archive-trailing" in codes(judgement)


def test_c16_filling_is_no_matter_unless_there_is_no_end_of_it(
    good_tar: bytes, tar: Any, found: Found
) -> None:
    limits = replace(LIMITS, tail_octets=10_000)
    assert found(good_tar + tar.END + bytes(10_000), limits=limits) == {}
    assert list(found(good_tar + tar.END + bytes(10_001), limits=limits)) == ["archive-trailing"]


def test_c16_a_checksum_that_does_not_fit(good_tar: bytes, tar: Any, found: Found) -> None:
    whole = good_tar + tar.member(b"reel-0001/x", b"x", checksum=7) + tar.END
    assert "checksum" in found(whole)["archive-damaged"]


def test_c16_a_checksum_behind_an_octet_of_zeros(good_tar: bytes, tar: Any, found: Found) -> None:
    """Python's tarfile reads none there and stops without a word: found by mutation."""
    last = bytearray(tar.member(b"reel-0001/x", b"x"))
    digits = bytes(last[148:154])
    last[148:156] = b"\0" + digits + b"\0"
    assert "checksum" in found(good_tar + bytes(last) + tar.END)["archive-damaged"]


def test_c16_a_block_of_zeros_alone(good_tar: bytes, tar: Any, found: Found) -> None:
    for end in (bytes(512), bytes(512) + tar.member(b"reel-0001/x") + tar.END):
        assert "stands alone" in found(good_tar + end)["archive-damaged"]


def test_c16_cut_at_any_octet_it_is_damaged(tar: Any, found: Found) -> None:
    whole = (
        tar.records((b"path", b"reel-0001/bagit.txt"))
        + tar.member(b"x", b"BagIt-Version: 1.0\n")
        + tar.member(b"reel-0001/data/", b"", b"5")
        + tar.END
    )
    assert "archive-damaged" not in found(whole)
    for octets in range(0, len(whole), 29):
        assert "archive-damaged" in found(whole[:octets]), octets


def test_c16_a_damaged_tar_is_not_said_to_lack_files(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement]
) -> None:
    judgement = judged(good_tar[:-600])
    assert judgement.verdict is Verdict.FAIL
    assert "file-missing" not in codes(judgement)


def test_c17_too_many_members(good_tar: bytes, tar: Any, found: Found) -> None:
    limits = replace(LIMITS, members=20)
    some = b"".join(tar.member(b"reel-0001/data/%d" % n) for n in range(20))
    assert list(found(some[: 20 * 512] + tar.END, limits=limits)) != ["too-many"]
    words = found(good_tar + some + tar.END, limits=limits)
    assert words == {"too-many": "It has more than 20 members; the rest is unread."}
    assert LIMITS.members == 100_000


BY_MACOS = "; __MACOSX is what the archiver of macOS adds."
FROM_INSIDE = "; the bag was packed from inside its folder."


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ([], "It holds nothing."),
        (
            [b"bagit.txt"],
            "At its top stand 0 directories, 1 file: bagit.txt" + FROM_INSIDE,
        ),
        ([b"reel-0001/bagit.txt", b"x"], "At its top stand 1 directory, 1 file: reel-0001, x."),
        ([b"a/bagit.txt", b"b/bagit.txt"], "At its top stand 2 directories, 0 files: a, b."),
        (
            [b"a/bagit.txt", b"__MACOSX/a/._x"],
            "At its top stand 2 directories, 0 files: __MACOSX, a" + BY_MACOS,
        ),
        (
            [b"./bagit.txt"],
            "At its top stand 0 directories, 1 file: bagit.txt" + FROM_INSIDE,
        ),
    ],
)
def test_c18_at_the_top_is_one_directory(
    tar: Any, found: Found, judged: Callable[..., Judgement], files: list[bytes], said: str
) -> None:
    whole = b"".join(tar.member(name, b"x") for name in files) + tar.END
    assert found(whole)["archive-base"] == said
    assert judged(whole).verdict is Verdict.FAIL


def test_c18_the_bag_is_found_beside_others(
    good_tar: bytes, tar: Any, opened: Callable[..., ArchivedBag]
) -> None:
    with opened(tar.member(b"a/x", b"x") + good_tar + tar.END) as bag:
        assert (bag.facts.name, bag.facts.bagit_version) == ("reel-0001", "1.0")


@pytest.mark.parametrize("name", ["reel-0002.tar", "reel.tar", "reel-0001"])
def test_c18_the_directory_is_named_as_the_archive(
    good_tar: bytes, tar: Any, judged: Callable[..., Judgement], name: str
) -> None:
    judgement = judged(good_tar + tar.END, name)
    is_same = name == "reel-0001"
    assert ("bag-archive-name-differs" in codes(judgement)) is not is_same


@pytest.mark.parametrize("made", ["./", ""])
def test_how_it_was_made_is_no_matter(
    content: dict[str, bytes], tar: Any, found: Found, made: str
) -> None:
    whole = b"".join(
        tar.member(f"{made}reel-0001/{name}".encode(), octets) for name, octets in content.items()
    )
    top = tar.member(b"./", b"", b"5") if made else b""
    assert found(top + whole + tar.END) == {}


def test_an_old_tar_without_magic_is_read(
    content: dict[str, bytes], tar: Any, found: Found
) -> None:
    whole = b"".join(
        tar.member(f"reel-0001/{name}".encode(), octets, b"\0", magic=bytes(8))
        for name, octets in content.items()
    )
    old = tar.member(b"reel-0001/data/", b"", b"\0", magic=bytes(8))
    assert found(old + whole + tar.END) == {}


# C19: the digest beside


def test_c19_a_flip_between_files_is_seen_by_the_digest_beside_alone(
    good_tar: bytes, tar: Any, put: Callable[..., Path], judged: Callable[..., Judgement]
) -> None:
    whole = bytearray(good_tar + tar.END)
    good = hashlib.sha512(whole).hexdigest()
    beside = put(f"{good}  reel-0001.tar\n".encode(), "reel-0001.tar.sha512")
    assert codes(judged(bytes(whole))) == set()
    # Octet 500 of a header is filling: part of the checksum, so that is put right too.
    whole[500] ^= 1
    whole[148:156] = b" " * 8
    whole[148:156] = b"%06o\0 " % sum(whole[:512])
    judgement = judged(bytes(whole))
    assert codes(judgement) == {"archive-digest-differs"}
    assert judgement.verdict is Verdict.FAIL
    beside.unlink()
    assert codes(judged(bytes(whole))) == {"archive-digest-missing"}


@pytest.mark.parametrize(
    ("line", "sound"),
    [
        ("{}  reel-0001.tar\n", True),
        ("{} *reel-0001.tar\r\n", True),
        ("{}  reel-0001.tar", True),
        ("{}  other.tar\n", False),
        ("{}\n", False),
        ("", False),
        ("{}  reel-0001.tar\n{}  reel-0001.tar\n", False),
        ("00{}  reel-0001.tar\n", False),
    ],
)
@pytest.mark.parametrize("algorithm", ["sha512", "sha256", "md5"])
def test_c19_what_a_digest_beside_may_say(
    tar: Any, put: Callable[..., Path], line: str, sound: bool, algorithm: str
) -> None:
    whole = tar.END
    path = put(whole)
    digest = hashlib.new(algorithm, whole).hexdigest().upper()
    put(line.format(digest, digest).encode(), f"reel-0001.tar.{algorithm}")
    assert ("archive-digest-unread" in codes(check(path, Silent()).judgement)) is not sound


def test_a_digest_beside_that_is_a_link_is_not_followed(
    good_tar: bytes, tar: Any, put: Callable[..., Path], judged: Callable[..., Judgement]
) -> None:
    put(b"x").with_name("reel-0001.tar.sha512").symlink_to("nowhere")
    assert "archive-digest-unread" in codes(judged(good_tar + tar.END))


# What is not an archive, or changes


@pytest.mark.parametrize("octets", [b"", b"RIFF", b"BZh91AY", b"\x28\xb5\x2f\xfd", bytes(512)])
def test_what_is_no_archive_is_told_as_usage(put: Callable[..., Path], octets: bytes) -> None:
    with pytest.raises(UsageError, match="neither a folder nor an archive"):
        open_archive(put(octets, "reel-0001.wav"), Silent())


def test_no_bad_tar_ends_in_a_traceback(
    put: Callable[..., Path], capsys: pytest.CaptureFixture[str], tar: Any
) -> None:
    for octets in (b"", b"x" * 512, bytes(512), tar.member(b"\xff/\n", b"x"), tar.END):
        assert run(["check", str(put(octets))]) in {1, 3, 4}
        assert "Traceback" not in "".join(capsys.readouterr())


def test_an_archive_that_changes_is_not_read_on(
    good_tar: bytes, tar: Any, put: Callable[..., Path], opened: Callable[..., ArchivedBag]
) -> None:
    with opened(good_tar + tar.END) as bag:
        put(good_tar + tar.END + bytes(512))
        with pytest.raises(SurroundingsError, match="changed while it was read"):
            bag.stream(WAV)
        facts: PackageFacts = prove(bag, spans={}, progress=Silent())
        assert all(file.trouble for file in facts.files if file.path == WAV)


def test_what_is_not_there_cannot_be_opened(
    good_tar: bytes, tar: Any, opened: Callable[..., ArchivedBag]
) -> None:
    with opened(good_tar + tar.END) as bag:
        for path in ("data", "data/none", "../x", ""):
            with pytest.raises(MaterialError, match="not a file in the archive"):
                bag.stream(path)
        with pytest.raises(MaterialError, match="larger than 3 octets"):
            bag.read("bagit.txt", 3)
