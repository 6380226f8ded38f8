"""RFC 8493 §2.1.1, §2.1.3, §2.2.2, §2.3, and the cases A22, A33 to A36 of hostile tag files."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.bag import grammar
from tailsout.bag.notes import Notes

V1 = grammar.Declaration(version="1.0", encoding="UTF-8")
DRAFT = grammar.Declaration(version="0.97", encoding="UTF-8")


def kinds(notes: Notes) -> list[tuple[str, int | None]]:
    return [(o.kind, o.line) for o in notes.observations()]


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
@pytest.mark.parametrize("last", [True, False])
def test_lines_end_on_lf_cr_and_crlf(end: str, last: bool) -> None:
    text = end.join(["one", "", "two"]) + (end if last else "")
    assert list(grammar.lines(text, 99, "f", Notes())) == [(1, "one"), (2, ""), (3, "two")]


@pytest.mark.parametrize("no_end", ["\x0b", "\x0c", "\x1c", "\x1d", "\x1e", "\x85", "\u2028"])
def test_nothing_else_ends_a_line(no_end: str) -> None:
    text = f"a  data/x{no_end}y\nb  data/z\n"
    listed = list(grammar.parse_manifest(text, 99, "f", V1, Notes()))
    assert [one.path for one in listed] == [f"data/x{no_end}y", "data/z"]


@given(st.text(max_size=200))
def test_lines_lose_nothing(text: str) -> None:
    got = [line for _, line in grammar.lines(text, 1000, "f", Notes())]
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    want = plain.split("\n")
    assert got == (want[:-1] if want[-1] == "" else want)


def test_a_line_beyond_the_cap_is_passed_over() -> None:
    notes = Notes()
    text = "x" * 11 + "\n" + "y" * 10 + "\n"
    assert list(grammar.lines(text, 10, "f", notes)) == [(2, "y" * 10)]
    assert kinds(notes) == [("line-too-long", 1)]


@pytest.mark.parametrize("path", ["data/a b", "data/a ", "data/a\t", "data/ä\u00a0", "data/*", "d"])
@pytest.mark.parametrize("gap", ["  ", " ", "\t", " \t "])
def test_blanks_in_and_after_a_path_are_kept(path: str, gap: str) -> None:
    (one,) = grammar.parse_manifest(f"00ff{gap}{path}\n", 99, "f", V1, Notes())
    assert (one.digest, one.path, one.line) == ("00ff", path, 1)


@pytest.mark.parametrize("line", ["", "00ff", "00ff  ", "  data/a", "# comment", " "])
def test_malformed_manifest_lines(line: str) -> None:
    notes = Notes()
    found = list(grammar.parse_manifest(f"{line}\n", 99, "f", V1, notes))
    assert (found, kinds(notes)) == ([], [("manifest-line-malformed", 1)])


@pytest.mark.parametrize(
    ("raw", "decoded"),
    [
        ("a%0Ab", "a\nb"),
        ("a%0ab", "a\nb"),
        ("a%0Db", "a\rb"),
        ("a%0db", "a\rb"),
        ("a%25b", "a%b"),
        ("a%250Ab", "a%0Ab"),
        ("a%2e%2e%2fb", "a%2e%2e%2fb"),
        ("%25%0a%0D%25", "%\n\r%"),
        ("100%.wav", "100%.wav"),
    ],
)
def test_three_percent_codes_in_one_pass_for_1_0_only(raw: str, decoded: str) -> None:
    (one,) = grammar.parse_manifest(f"00  data/{raw}\n", 99, "f", V1, Notes())
    assert (one.path, one.other) == (f"data/{decoded}", f"data/{raw}")
    (one,) = grammar.parse_manifest(f"00  data/{raw}\n", 99, "f", DRAFT, Notes())
    assert (one.path, one.other) == (f"data/{raw}", f"data/{decoded}")


@pytest.mark.parametrize(
    ("raw", "encoding", "text", "noted"),
    [
        (b"\xc3\xa4", "UTF-8", "ä", []),
        (b"\xc3\xa4", "utf-8", "ä", []),
        (b"\xe4", "ISO-8859-1", "ä", []),
        (b"a", "US-ASCII", "a", []),
        ("ä".encode("utf-16-be"), "UTF-16", "ä", []),
        (b"\xfe\xff" + "ä".encode("utf-16-be"), "UTF-16", "ä", []),
        (b"\xff\xfe" + "ä".encode("utf-16-le"), "UTF-16", "ä", []),
        (b"\xef\xbb\xbfa", "UTF-8", "a", ["bom"]),
        (b"\xef\xbb\xbfa", "US-ASCII", "a", ["bom"]),
        (b"a\xff", "UTF-8", "a\udcff", ["tag-file-undecodable"]),
        (b"\xc0\xaf", "UTF-8", "\udcc0\udcaf", ["tag-file-undecodable"]),
        (b"\xed\xa0\x80", "UTF-8", "\udced\udca0\udc80", ["tag-file-undecodable"]),
        (b"\xe4", "US-ASCII", "\udce4", ["tag-file-undecodable"]),
        (b"\x00a\x00", "UTF-16", "a\ufffd", ["tag-file-undecodable"]),
        (b"+AGE-", "UTF-7", "+AGE-", []),
    ],
)
def test_decode(raw: bytes, encoding: str, text: str, noted: list[str]) -> None:
    notes = Notes()
    assert grammar.decode(raw, encoding, "f", notes) == text
    assert [o.kind for o in notes.observations()] == noted


def test_the_place_of_an_undecodable_octet_counts_from_the_start_of_the_file() -> None:
    notes = Notes()
    grammar.decode(b"\xef\xbb\xbfab\xff", "UTF-8", "f", notes)
    assert "at 5 " in notes.observations()[1].text


GOOD = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


@pytest.mark.parametrize(
    ("text", "version", "noted"),
    [
        (GOOD, "1.0", []),
        (GOOD.rstrip(), "1.0", [("line-unended", 2)]),
        (GOOD.replace("\n", "\r\n"), "1.0", []),
        (GOOD.replace("\n", "\r"), "1.0", []),
        (GOOD.replace("1.0", "0.97"), "0.97", []),
        (GOOD.replace("-V", "-v"), "1.0", [("bagit-txt-malformed", 1)]),
        (GOOD.replace("n: ", "n:"), "1.0", [("bagit-txt-malformed", 1)]),
        (GOOD.replace("g: ", "g : "), "1.0", [("bagit-txt-malformed", 2)]),
        (GOOD + "x: y\n", "1.0", [("bagit-txt-malformed", 3)]),
        (GOOD + "\n", "1.0", [("bagit-txt-malformed", 3)]),
        (
            "BagIt-Version: 1.0\n" * 2,
            "1.0",
            [("bagit-txt-malformed", 2)],
        ),
        (
            "Tag-File-Character-Encoding: UTF-8\nBagIt-Version: 1.0\n",
            "1.0",
            [("bagit-txt-malformed", 1), ("bagit-txt-malformed", 2)],
        ),
        ("", "", [("bagit-txt-malformed", 1), ("bagit-txt-malformed", 2)]),
        (GOOD.replace("1.0", "one"), "", [("bagit-txt-malformed", 1)]),
        (GOOD.replace("1.0", "99.0"), "99.0", [("version-unknown", 1)]),
        (GOOD.replace("1.0", "1.7"), "1.7", [("version-unknown", 1)]),
        (GOOD.replace("1.0", "١.٠"), "", [("bagit-txt-malformed", 1)]),
    ],
)
def test_bagit_txt(text: str, version: str, noted: list[tuple[str, int]]) -> None:
    notes = Notes()
    assert grammar.parse_bagit_txt(text, 999, notes).version == version
    assert kinds(notes) == noted


@pytest.mark.parametrize(
    "name", ["UTF-7", "zip", "base64", "rot13", "idna", "unicode_escape", "utf8", "punycode"]
)
def test_encodings_off_the_list(name: str) -> None:
    notes = Notes()
    grammar.parse_bagit_txt(GOOD.replace("UTF-8", name), 999, notes)
    assert kinds(notes) == [("encoding-not-allowed", 2)]


@pytest.mark.parametrize(
    ("digest", "algorithm", "kind"),
    [
        ("a" * 64, "sha256", None),
        ("a" * 63, "sha256", "digest-malformed"),
        ("a" * 128, "sha256", "digest-malformed"),
        ("g" * 64, "sha256", "digest-malformed"),
        ("A" * 64, "sha256", "digest-upper-case"),
        ("aB" * 16, "md5", "digest-upper-case"),
        ("abc", "blake2b512", None),
        ("x", "blake2b512", "digest-malformed"),
        ("١" * 64, "sha256", "digest-malformed"),
    ],
)
def test_digests(digest: str, algorithm: str, kind: str | None) -> None:
    notes = Notes()
    listed = grammar.Listed(line=7, digest=digest, path="data/a", other="data/a")
    grammar.check_digest(listed, algorithm, "f", notes)
    assert kinds(notes) == ([(kind, 7)] if kind else [])


@pytest.mark.parametrize(
    ("text", "pairs", "lines_noted"),
    [
        ("B: 2\nA: 1\nA: 0\n", [("B", "2"), ("A", "1"), ("A", "0")], []),
        ("A: one\n  two\n\tthree\n", [("A", "one\ntwo\nthree")], []),
        ("A: b: c\n", [("A", "b: c")], []),
        ("A: b \n", [("A", "b ")], []),
        ("A:b\n", [("A", "b")], [1]),
        ("A : b\n", [("A", "b")], [1]),
        ("A:  b\n", [("A", "b")], [1]),
        (" A: b\n", [("A", "b")], [1]),
        ("A: b\n\nC: d\n", [("A", "b"), ("C", "d")], [2]),
        ("no colon\n", [], [1]),
        (": no label\n", [], [1]),
        ("A: x\u2028y\x0bz\x85\n", [("A", "x\u2028y\x0bz\x85")], []),
    ],
)
def test_bag_info(text: str, pairs: list[tuple[str, str]], lines_noted: list[int]) -> None:
    notes = Notes()
    found = grammar.parse_bag_info(text, 99, V1, notes)
    assert [(one.label, one.value) for one in found] == pairs
    assert kinds(notes) == [("bag-info-malformed", line) for line in lines_noted]


def test_bag_info_blanks_are_free_before_1_0() -> None:
    notes = Notes()
    found = grammar.parse_bag_info("A :  b\nC:d\n", 99, DRAFT, notes)
    assert [(one.label, one.value) for one in found] == [("A", "b"), ("C", "d")]
    assert kinds(notes) == []


@pytest.mark.parametrize(
    ("line", "good"),
    [
        ("https://h/a 12 data/a b", True),
        ("https://h/a - data/a", True),
        ("https://h/a 1000000000000000000000000000000 data/a", True),
        ("file:///etc/passwd - data/a", True),
        ("https://h/a x data/a", False),
        ("https://h/a -1 data/a", False),
        ("h/a 1 data/a", False),
        ("", False),
        ("https://user:secret@h/a 1", False),
    ],
)
def test_fetch_lines(line: str, good: bool) -> None:
    notes = Notes()
    found = list(grammar.parse_fetch(f"{line}\n", 9999, V1, notes))
    assert [one.path[:6] for one in found] == (["data/a"] if good else [])
    assert kinds(notes) == ([] if good else [("fetch-line-malformed", 1)])
    assert "secret" not in repr(notes.observations())


@pytest.mark.parametrize("filler", [" ", "\t", "a", ":", "%", "0", "a ", "* "])
def test_long_lines_take_linear_time(filler: str) -> None:
    """A pattern that backtracks by the square would need minutes here."""
    text = filler * (30_000 // len(filler)) + "\r"
    for tail in ("", "x"):
        notes = Notes()
        list(grammar.parse_manifest(text + tail, 1 << 16, "f", V1, notes))
        list(grammar.parse_fetch(text + tail, 1 << 16, V1, notes))
        grammar.parse_bag_info(text + tail, 1 << 16, V1, notes)
        grammar.parse_bagit_txt(text + tail, 1 << 16, notes)
        assert notes.observations()


@given(st.binary(max_size=300), st.sampled_from([*grammar.ENCODINGS, "UTF-7", ""]))
def test_any_octets_are_read_without_an_exception(raw: bytes, encoding: str) -> None:
    notes = Notes()
    text = grammar.decode(raw, encoding, "f", notes)
    declared = grammar.parse_bagit_txt(text, 100, notes)
    for one in grammar.parse_manifest(text, 100, "f", declared, notes):
        grammar.check_digest(one, "md5", "f", notes)
    list(grammar.parse_fetch(text, 100, declared, notes))
    grammar.parse_bag_info(text, 100, declared, notes)
    for noted in notes.observations():
        assert noted.text.isprintable()
