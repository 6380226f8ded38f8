"""What the reader observes: hostile bags A01 to A37, B01, B05 to B07.

A case that the library `bagit` 1.9.0 lets pass as valid, or stumbles over, is marked `lib`.
"""

import hashlib
import os
import socket
import subprocess
import sys
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tailsout.bag import grammar
from tailsout.bag.facts import read_facts
from tailsout.bag.notes import DEFAULT_CAPS, Caps, Notes
from tailsout.bag.open import open_bag
from tailsout.bag.tree import Met
from tailsout.ground.errors import MaterialError, UsageError
from tailsout.records.facts import ManifestLine, Observation
from tailsout.records.observations import OBSERVATIONS

Mutate = Callable[[Path], object]
Observe = Callable[..., tuple[Observation, ...]]
ZERO = "0" * 64


def edit(file: str, old: bytes, new: bytes) -> Mutate:
    def mutate(base: Path) -> None:
        content = (base / file).read_bytes()
        if old not in content:
            raise ValueError(old)
        (base / file).write_bytes(content.replace(old, new, 1))

    return mutate


def append(file: str, new: bytes) -> Mutate:
    def mutate(base: Path) -> None:
        (base / file).write_bytes((base / file).read_bytes() + new)

    return mutate


def put(file: str, content: bytes = b"") -> Mutate:
    def mutate(base: Path) -> None:
        place = base / os.fsdecode(file.encode("utf-8", "surrogateescape"))
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(content)

    return mutate


def remove(file: str) -> Mutate:
    return lambda base: (base / file).unlink()


def link(target: str, name: str) -> Mutate:
    return lambda base: (base / name).symlink_to(target)


def both(*steps: Mutate) -> Mutate:
    def mutate(base: Path) -> None:
        for step in steps:
            step(base)

    return mutate


def listed(path: str) -> Mutate:
    return append("manifest-sha256.txt", f"{ZERO}  {path}\n".encode())


def tag_listed(path: str) -> Mutate:
    return append("tagmanifest-sha256.txt", f"{ZERO}  {path}\n".encode())


def bind_socket(base: Path) -> None:
    # The path of a socket is short: it is bound by a name relative to the folder.
    here = Path.cwd()
    os.chdir(base / "data")
    try:
        with socket.socket(socket.AF_UNIX) as one:
            one.bind("s")
    finally:
        os.chdir(here)


def move(old: str, new: str) -> Mutate:
    return lambda base: (base / old).rename(base / new)


def repeat_first_line(base: Path) -> None:
    first = (base / "manifest-sha256.txt").read_bytes().split(b"\n")[0]
    append("manifest-sha256.txt", first + b"\n")(base)


def upper_case(base: Path) -> None:
    lines = (base / "manifest-sha256.txt").read_text().splitlines()
    lines[0] = lines[0][:64].upper() + lines[0][64:]
    (base / "manifest-sha256.txt").write_text("\n".join(lines) + "\n")


def recode(base: Path) -> None:
    """Write everything but bagit.txt in UTF-16, as bagit.txt then says."""
    edit("bagit.txt", b"UTF-8", b"UTF-16")(base)
    for one in [*base.glob("*manifest-*.txt"), base / "bag-info.txt"]:
        one.write_bytes(one.read_bytes().decode().encode("utf-16"))


NFC, NFD = "data/\u00e4.wav", unicodedata.normalize("NFD", "data/\u00e4.wav")
OXUM = b"Payload-Oxum: 10250.2"
FETCH = "fetch.txt"

CASES: dict[str, tuple[Mutate, set[str]]] = {
    "nothing": (lambda _base: None, set()),
    "A01 parent": (listed("../secret"), {"path-unsafe"}),
    "A01 sibling of the same prefix, lib": (listed("../reel-0001-private/x"), {"path-unsafe"}),
    "A01 tag manifest, lib": (tag_listed("../reel-0001-private/x"), {"path-unsafe"}),
    "A02 parent below data": (listed("data/../../secret"), {"path-unsafe"}),
    "A02 dot, lib": (listed("data/./note.txt"), {"path-unsafe"}),
    "A02 leading dot, lib": (
        edit("manifest-sha256.txt", b"  data/n", b"  ./data/n"),
        {"manifest-marker"},
    ),
    "A02 leading dot and parent": (listed("./../x"), {"path-unsafe"}),
    "A02 empty part": (listed("data//note.txt"), {"path-unsafe"}),
    "A03 absolute": (listed("/etc/passwd"), {"path-unsafe"}),
    "A03 home": (listed("~root/x"), {"path-unsafe"}),
    "A04 drive, lib": (listed("C:\\x"), {"path-unsafe"}),
    "A04 drive-relative": (listed("C:x"), {"path-unsafe"}),
    "A04 namespace, lib": (listed("\\\\?\\C:\\x"), {"path-unsafe"}),
    "A04 share": (listed("\\\\host\\share"), {"path-unsafe"}),
    "A05 backslash": (listed("data\\a.wav"), {"path-outside-payload"}),
    "A06 decoded slash stays a code": (listed("data/%2e%2e%2fa"), set()),
    "A06 decoded to a drive": (listed("%25"), {"path-outside-payload"}),
    "A07 NUL": (listed("data/a\x00b"), {"path-unsafe"}),
    "A07 escape": (listed("data/a\x1bb"), {"path-unsafe"}),
    "A08 link to a file outside": (link("/etc/hostname", "data/l"), {"link"}),
    "A09 link to a directory, lib": (link("/etc", "data/l"), {"link"}),
    "A10 link inside": (link("note.txt", "data/l"), {"link"}),
    "A10 loop": (link(".", "data/l"), {"link"}),
    "A10 dangling": (link("nowhere", "data/l"), {"link"}),
    "A10 data is a link": (
        both(move("data", "x"), link("x", "data")),
        {"link", "no-payload-directory"},
    ),
    "A10 bagit.txt is a link": (
        both(move("bagit.txt", "x"), link("x", "bagit.txt")),
        {"link", "no-bagit-txt"},
    ),
    "A11 pipe, lib": (lambda b: os.mkfifo(b / "data/p"), {"special-file"}),
    "A11 pipe as manifest": (
        both(remove("manifest-sha256.txt"), lambda b: os.mkfifo(b / "manifest-sha256.txt")),
        {"special-file"},
    ),
    "A11 socket": (bind_socket, {"special-file"}),
    "A12 hard link": (lambda b: os.link(b / "data/note.txt", b / "data/two"), {"hard-link"}),
    "A15 NFC and NFD twins, lib": (both(put(NFC), put(NFD)), {"name-twins"}),
    "A16 listed NFC, disk NFD": (both(put(NFD), listed(NFC)), {"name-form-differs"}),
    "A16 listed NFD, disk NFC, lib": (both(put(NFC), listed(NFD)), {"name-form-differs"}),
    "A17 case twins, lib": (put("data/Note.txt"), {"name-twins"}),
    "A17 twin directories": (put("data/Audio/x"), {"name-twins"}),
    "A18 reserved, lib": (put("data/nul.txt"), {"name-not-portable"}),
    "A18 question mark, lib": (put("data/a?"), {"name-not-portable"}),
    "A18 trailing dot, lib": (put("data/a."), {"name-not-portable"}),
    "A18 stream": (put("data/a.wav:s"), {"name-not-portable"}),
    "A20 octets that are not UTF-8": (put("data/\udcff.wav"), {"name-undecodable"}),
    "A21 bidi": (put("data/reel\u202efdp.wav"), {"name-controls"}),
    "A21 zero width": (put("data/re\u200bel.wav"), {"name-controls"}),
    "A21 letters of two scripts": (put("data/r\u0435\u0435l.wav"), {"name-mixed-scripts"}),
    "A21 letters of one script": (put("data/\u043b\u0435\u043d\u0442\u0430"), set()),
    "A24 twice, same digest": (repeat_first_line, {"listed-twice"}),
    "A24 twice, another digest": (listed("data/note.txt"), {"listed-twice"}),
    "A24 twice by normalisation": (
        both(put(NFC), listed(NFC), listed(NFD)),
        {"listed-twice", "name-form-differs"},
    ),
    "A24 twice, same digest, before 1.0": (
        both(edit("bagit.txt", b"1.0", b"0.97"), repeat_first_line),
        {"listed-again"},
    ),
    "A24 twice, another digest, before 1.0": (
        both(edit("bagit.txt", b"1.0", b"0.97"), listed("data/note.txt")),
        {"listed-twice"},
    ),
    "A25 short, lib": (
        append("manifest-sha256.txt", b"00  data/z\n"),
        {"digest-malformed"},
    ),
    "A25 upper case": (upper_case, {"digest-upper-case"}),
    "A26 unknown algorithm only": (
        both(remove("manifest-sha512.txt"), move("manifest-sha256.txt", "manifest-crc9.txt")),
        {"algorithm-unknown"},
    ),
    "A26 beside a good one, lib": (put("manifest-sha3256.txt"), {"algorithm-unknown"}),
    "A26 shake, lib": (put("manifest-shake_128.txt"), {"algorithm-unknown"}),
    "A26 upper case": (put("manifest-SHA1.txt"), {"algorithm-unknown"}),
    "A31 malformed, lib": (edit("bag-info.txt", b"10250.2", b"1e5.x"), {"oxum-malformed"}),
    "A31 no stop, lib": (edit("bag-info.txt", b"10250.2", b"10250"), {"oxum-malformed"}),
    "A31 longer than any disk": (
        edit("bag-info.txt", b"10250", b"9" * 41),
        {"oxum-malformed"},
    ),
    "A31 repeated, lib": (append("bag-info.txt", OXUM + b"\n"), {"oxum-repeated"}),
    "A31 repeated in other case, lib": (
        append("bag-info.txt", OXUM.lower() + b"\n"),
        {"oxum-repeated"},
    ),
    "date": (append("bag-info.txt", b"Bagging-Date: 2008.04.15\n"), {"element-malformed"}),
    "date twice": (
        append("bag-info.txt", b"Bagging-Date: 2026-03-14\n" * 2),
        {"element-repeated"},
    ),
    "A32 none": (remove("bagit.txt"), {"no-bagit-txt"}),
    "A32 BOM": (
        lambda b: (b / "bagit.txt").write_bytes(b"\xef\xbb\xbf" + (b / "bagit.txt").read_bytes()),
        {"bom"},
    ),
    "A32 version": (edit("bagit.txt", b"1.0", b"99.0"), {"version-unknown"}),
    "A32 version 1.7, lib": (edit("bagit.txt", b"1.0", b"1.7"), {"version-unknown"}),
    "A32 third line, lib": (append("bagit.txt", b"x: y\n"), {"bagit-txt-malformed"}),
    "A33 UTF-7, lib": (edit("bagit.txt", b"UTF-8", b"UTF-7"), {"encoding-not-allowed"}),
    "A33 zip, lib": (edit("bagit.txt", b"UTF-8", b"zip"), {"encoding-not-allowed"}),
    "A34 manifest, lib": (
        append("manifest-sha256.txt", ZERO.encode() + b"  data/\xff\n"),
        {"tag-file-undecodable"},
    ),
    "A34 overlong slash": (
        append("manifest-sha256.txt", ZERO.encode() + b"  ..\xc0\xafx\n"),
        {"tag-file-undecodable", "path-outside-payload"},
    ),
    "A34 bag-info": (append("bag-info.txt", b"A: \xff\n"), {"tag-file-undecodable"}),
    "A35 VT for LF in a tag manifest, lib": (
        edit("tagmanifest-sha256.txt", b"\n", b"\x0b"),
        {"path-unsafe"},
    ),
    "A37 tag manifest lists itself, lib": (
        tag_listed("tagmanifest-sha256.txt"),
        {"path-outside-payload"},
    ),
    "A37 tag manifest lists payload, lib": (
        tag_listed("data/note.txt"),
        {"path-outside-payload"},
    ),
    "payload manifest lists a tag file, lib": (listed("bagit.txt"), {"path-outside-payload"}),
    "directory that only begins with data": (tag_listed("database/x"), set()),
    "A38 bag inside": (
        both(put("data/in/bagit.txt"), put("data/in/manifest-x.txt"), put("data/in/fetch.txt")),
        set(),
    ),
    "B01 fetch": (
        put(FETCH, b"https://h/a 10 data/note.txt\n"),
        {"fetch-txt"},
    ),
    "B01 fetch of a missing file": (
        both(
            put(FETCH, b"https://h/a 1 data/z\n"),
            append("manifest-sha512.txt", b"0" * 128 + b"  data/z\n"),
            listed("data/z"),
        ),
        {"fetch-txt", "to-be-fetched"},
    ),
    "B02 file": (
        put(FETCH, b"file:///etc/passwd 10 data/note.txt\n"),
        {"fetch-txt", "fetch-unsafe"},
    ),
    "B05 another length": (
        put(FETCH, b"https://h/a 9 data/note.txt\n"),
        {"fetch-txt", "fetch-length-differs"},
    ),
    "B05 length, lib": (
        put(FETCH, b"https://h/a x data/note.txt\n"),
        {"fetch-txt", "fetch-line-malformed"},
    ),
    "B06 parent": (put(FETCH, b"https://h/a 1 ../x\n"), {"fetch-txt", "path-unsafe"}),
    "B06 drive, lib": (put(FETCH, b"https://h/a 1 C:\\x\n"), {"fetch-txt", "path-unsafe"}),
    "B06 tag file, lib": (
        put(FETCH, b"https://h/a - bagit.txt\n"),
        {"fetch-txt", "path-outside-payload", "fetch-not-listed"},
    ),
    "B07 in no manifest, lib": (
        put(FETCH, b"https://h/a 1 data/z\n"),
        {"fetch-txt", "fetch-not-listed", "to-be-fetched"},
    ),
    "B07 in one manifest of two": (
        both(put(FETCH, b"https://h/a 1 data/z\n"), listed("data/z")),
        {"fetch-txt", "fetch-not-listed", "to-be-fetched"},
    ),
    "blank fetch line, lib": (put(FETCH, b"\n"), {"fetch-txt", "fetch-line-malformed"}),
    "digest without path, lib": (
        append("manifest-sha256.txt", ZERO.encode() + b"\n"),
        {"manifest-line-malformed"},
    ),
    "blank line, lib": (append("manifest-sha256.txt", b"\n"), {"manifest-line-malformed"}),
    "comment, lib": (append("manifest-sha256.txt", b"# data/x\n"), {"manifest-line-malformed"}),
    "asterisk, lib": (
        edit("manifest-sha256.txt", b"  data/n", b" *data/n"),
        {"manifest-marker"},
    ),
    "BOM in a manifest, lib": (
        lambda b: (b / "manifest-sha256.txt").write_bytes(
            b"\xef\xbb\xbf" + (b / "manifest-sha256.txt").read_bytes()
        ),
        {"bom"},
    ),
    "BOM in bag-info hides no Oxum, lib": (
        lambda b: (b / "bag-info.txt").write_bytes(b"\xef\xbb\xbf" + OXUM + b"\n" + OXUM + b"\n"),
        {"bom", "oxum-repeated"},
    ),
    "blank before the colon, lib": (append("bag-info.txt", b"A : b\n"), {"bag-info-malformed"}),
    "no blank after the colon, lib": (append("bag-info.txt", b"A:b\n"), {"bag-info-malformed"}),
    "version small v": (edit("bagit.txt", b"-V", b"-v"), {"bagit-txt-malformed"}),
    "version twice, lib": (
        lambda b: (b / "bagit.txt").write_bytes(b"BagIt-Version: 1.0\n" * 2),
        {"bagit-txt-malformed"},
    ),
    "raw percent, lib": (both(put("data/%25"), listed("data/%25")), {"percent-raw"}),
    "right percent, lib": (both(put("data/100%.wav"), listed("data/100%25.wav")), set()),
    "lower-case code, lib": (
        both(put("data/a\nb"), listed("data/a%0ab")),
        {"name-controls"},
    ),
    "trailing blank, lib": (
        both(put("data/a "), listed("data/a ")),
        {"name-not-portable"},
    ),
    "U+2028 in a name, lib": (
        both(put("data/a\u2028b"), listed("data/a\u2028b")),
        {"name-controls"},
    ),
    "NEL in a name, lib": (both(put("data/a\x85b"), listed("data/a\x85b")), {"name-controls"}),
    "UTF-16 tag files": (recode, {"encoding-not-utf8"}),
    "last line without end": (edit("bag-info.txt", b".2\n", b".2"), {"line-unended"}),
    "no data": (move("data", "payload"), {"no-payload-directory"}),
    "data is a file": (both(move("data", "payload"), put("data")), {"no-payload-directory"}),
    "no payload manifest": (
        both(remove("manifest-sha256.txt"), remove("manifest-sha512.txt")),
        {"no-payload-manifest"},
    ),
    "no payload": (
        both(move("data", "elsewhere"), lambda b: (b / "data").mkdir()),
        {"payload-empty"},
    ),
    "empty directory": (lambda b: (b / "data/e").mkdir(), {"empty-directory"}),
    "hidden": (put("data/._reel.wav"), {"hidden-file"}),
}


@pytest.mark.parametrize("case", CASES)
def test_what_is_observed(case: str, good_bag: Path, observed: Observe) -> None:
    mutate, kinds = CASES[case]
    mutate(good_bag)
    found = observed(good_bag)
    assert {one.kind for one in found} == kinds
    for one in found:
        assert one.text
        assert one.text.isprintable()


def fill_deep(base: Path) -> None:
    here = os.open(base / "data", os.O_RDONLY)
    for _ in range(1000):
        os.mkdir("d", dir_fd=here)
        below = os.open("d", os.O_RDONLY, dir_fd=here)
        os.close(here)
        here = below
    os.close(here)


CAPPED: dict[str, tuple[Mutate, Caps, set[str]]] = {
    "A19 depth 1000": (fill_deep, DEFAULT_CAPS, {"too-deep"}),
    "A22 lines": (
        append("manifest-sha256.txt", b"\n" * 5),
        Caps(manifest_lines=3),
        {"too-many", "manifest-line-malformed"},
    ),
    "A22 one long line": (listed("data/" + "x" * 70_000), DEFAULT_CAPS, {"line-too-long"}),
    "A22 large manifest": (
        lambda _b: None,
        Caps(manifest_octets=100),
        {"tag-file-too-large"},
    ),
    "A23 files": (lambda _b: None, Caps(entries=5), {"too-many"}),
    "A36 bag-info": (
        append("bag-info.txt", b"A: b\n" + b" c\n" * 400_000),
        DEFAULT_CAPS,
        {"tag-file-too-large"},
    ),
    "manifests": (lambda _b: None, Caps(manifests=3), {"too-many"}),
    "octets of manifests": (lambda _b: None, Caps(all_manifests_octets=300), {"too-many"}),
}


@pytest.mark.parametrize("case", CAPPED)
def test_what_is_observed_at_a_limit(case: str, good_bag: Path, observed: Observe) -> None:
    mutate, caps, kinds = CAPPED[case]
    mutate(good_bag)
    found = {one.kind for one in observed(good_bag, caps)}
    assert kinds <= found
    assert "path-unsafe" not in found
    if case.startswith("A19"):
        # pytest's own removal of the folder gives up beyond what a path may hold.
        flatten(good_bag / "data")


def flatten(place: Path) -> None:
    while (place / "d" / "d").exists():
        (place / "d" / "d").rename(place / "e")
        (place / "d").rmdir()
        (place / "e").rename(place / "d")


def test_every_kind_is_brought_about_by_a_case() -> None:
    tables: Iterable[set[str]] = (
        *(kinds for _, kinds in CASES.values()),
        *(kinds for _, _, kinds in CAPPED.values()),
    )
    of_folders = {word for word in OBSERVATIONS if not word.startswith("archive-")}
    assert set().union(*tables) | {"unreadable", "swapped"} == of_folders


def test_facts_of_a_good_bag(good_bag: Path) -> None:
    with open_bag(good_bag) as bag:
        facts = bag.facts
    assert (facts.name, facts.bagit_version, facts.encoding) == ("reel-0001", "1.0", "UTF-8")
    assert [(i.label, i.value, i.line) for i in facts.bag_info] == [
        ("Source-Organization", "Sound archive", 1),
        ("Payload-Oxum", "10250.2", 2),
    ]
    assert [(m.name, m.algorithm, m.is_tag) for m in facts.manifests] == [
        ("manifest-sha256.txt", "sha256", False),
        ("manifest-sha512.txt", "sha512", False),
        ("tagmanifest-sha256.txt", "sha256", True),
        ("tagmanifest-sha512.txt", "sha512", True),
    ]
    assert [line.path for line in facts.manifests[0].lines] == [
        "data/audio/reel.wav",
        "data/note.txt",
    ]
    assert [f.path for f in facts.files] == sorted(f.path for f in facts.files)
    assert {f.path: f.octets for f in facts.files}["data/audio/reel.wav"] == 10240
    assert all(f.digests == {} and f.trouble == "" for f in facts.files)


def test_unsafe_lines_are_left_out_and_the_rest_kept(good_bag: Path) -> None:
    both(listed("../x"), listed("data/z"))(good_bag)
    with open_bag(good_bag) as bag:
        lines = bag.facts.manifests[0].lines
    assert [(one.path, one.line) for one in lines] == [
        ("data/audio/reel.wav", 1),
        ("data/note.txt", 2),
        ("data/z", 4),
    ]


def test_a_line_twice_is_kept_twice(good_bag: Path) -> None:
    listed("data/note.txt")(good_bag)
    with open_bag(good_bag) as bag:
        lines = bag.facts.manifests[0].lines
        text = bag.facts.observations[0].text
    assert [(one.path, one.line) for one in lines][1:] == [
        ("data/note.txt", 2),
        ("data/note.txt", 3),
    ]
    assert "another digest" in text


def test_what_the_rules_need_for_completeness(good_bag: Path) -> None:
    """A28, A29: lists that disagree, files not listed; the library passes the first as valid."""
    edit("manifest-sha512.txt", b"data/note.txt", b"data/other.txt")(good_bag)
    put("data/extra")(good_bag)
    with open_bag(good_bag) as bag:
        by_name = {m.name: {one.path for one in m.lines} for m in bag.facts.manifests}
        files = {f.path for f in bag.facts.files}
    assert by_name["manifest-sha256.txt"] - by_name["manifest-sha512.txt"] == {"data/note.txt"}
    assert "data/extra" in files - by_name["manifest-sha256.txt"]
    assert "data/other.txt" not in files


def test_percent_codes_are_literal_before_1_0(good_bag: Path) -> None:
    both(edit("bagit.txt", b"1.0", b"0.97"), put("data/%25"), listed("data/%25"))(good_bag)
    with open_bag(good_bag) as bag:
        assert bag.facts.observations == ()
        assert bag.facts.manifests[0].lines[-1].path == "data/%25"


@pytest.mark.parametrize(
    ("on_disk", "in_list"), [("data/%25", "data/%25"), (NFD, NFC), ("data/z", "*data/z")]
)
def test_spelling_is_settled_to_what_is_on_disk(good_bag: Path, on_disk: str, in_list: str) -> None:
    both(put(on_disk), listed(in_list))(good_bag)
    with open_bag(good_bag) as bag:
        assert bag.facts.manifests[0].lines[-1].path == on_disk


def test_of_two_names_that_differ_in_form_none_is_chosen(good_bag: Path) -> None:
    one, two, three = ("data/a\u0308\u0323", "data/a\u0323\u0308", "data/\u00e4\u0323")
    both(put(one), put(two), listed(three))(good_bag)
    with open_bag(good_bag) as bag:
        assert bag.facts.manifests[0].lines[-1].path == three
        assert {o.kind for o in bag.facts.observations} == {"name-twins"}


def test_a_file_whose_name_begins_with_an_asterisk_is_taken_by_its_name(good_bag: Path) -> None:
    both(put("*x"), put("x"), tag_listed("*x"))(good_bag)
    with open_bag(good_bag) as bag:
        assert {o.kind for o in bag.facts.observations} == {"name-not-portable"}
        assert bag.facts.manifests[2].lines[-1].path == "*x"


def test_what_was_not_read_is_listed_and_not_called_missing(good_bag: Path) -> None:
    """A19, A22, A23: a limit of ours is no fault of the bag's."""
    put("data/a/b/c")(good_bag)
    listed("data/" + "x" * 200)(good_bag)
    caps = Caps(depth=3, line=150, tag_octets=56)
    with open_bag(good_bag, caps) as bag:
        facts = bag.facts
    assert facts.unseen == ("bag-info.txt", "data/a/b", "manifest-sha256.txt")
    assert {o.kind for o in facts.observations} == {
        "line-too-long",
        "tag-file-too-large",
        "too-deep",
    }


def test_a_bag_of_more_entries_than_are_read_lacks_nothing(good_bag: Path) -> None:
    """A23: every folder that was not entered is told, and nothing below one is called missing."""
    put("data/audio/one/x")(good_bag)
    with open_bag(good_bag, Caps(entries=9)) as bag:
        facts = bag.facts
    assert facts.unseen == ("data/audio",)
    with open_bag(good_bag, Caps(entries=7)) as bag:
        facts = bag.facts
    assert facts.unseen == ("data",)
    with open_bag(good_bag, Caps(entries=3)) as bag:
        facts = bag.facts
    assert (facts.unseen, facts.files) == (("",), ())
    assert {o.kind for o in facts.observations} == {"too-many"}


def test_files_to_fetch_that_are_not_there_are_the_holes(good_bag: Path) -> None:
    put(FETCH, b"https://h/a - data/z\nhttps://h/b 10 data/note.txt\nhttps://h/c - data/y\n")(
        good_bag
    )
    with open_bag(good_bag) as bag:
        assert bag.facts.holes == ("data/z", "data/y")


def test_a_file_of_holes_is_not_read(good_bag: Path) -> None:
    """A40: a terabyte that no disk holds; a smaller one is read as it is."""
    for name, octets in (("huge", 1 << 40), ("fair", 1 << 20)):
        with (good_bag / "data" / name).open("wb") as file:
            file.truncate(octets)
    with open_bag(good_bag) as bag:
        trouble = {f.path: f.trouble for f in bag.facts.files if f.trouble}
    assert list(trouble) == ["data/huge"]
    assert "holes" in trouble["data/huge"]


def test_a_folder_that_is_no_bag_is_opened(tmp_path: Path, observed: Observe) -> None:
    assert {one.kind for one in observed(tmp_path)} == {
        "no-bagit-txt",
        "no-payload-directory",
        "no-payload-manifest",
    }


def test_what_is_no_directory(tmp_path: Path) -> None:
    (tmp_path / "f").touch()
    for path in (tmp_path / "f", tmp_path / "none"):
        with pytest.raises(UsageError):
            open_bag(path)


def test_a_link_the_user_names_is_followed(good_bag: Path, tmp_path: Path) -> None:
    (tmp_path / "l").symlink_to(good_bag)
    with open_bag(tmp_path / "l") as bag:
        assert bag.facts.name == "reel-0001"
        assert bag.facts.observations == ()


def test_reading_and_its_cap(good_bag: Path) -> None:
    with open_bag(good_bag) as bag:
        assert bag.read("data/note.txt", 10) == b"tails out\n"
        with pytest.raises(MaterialError):
            bag.read("data/note.txt", 9)
        with bag.stream("data/audio/reel.wav") as source:
            assert len(source.read()) == 10240


@pytest.mark.parametrize(
    "path",
    ["../secret", "/etc/passwd", "data/../../secret", "data//note.txt", ".", "", "data\0", "data"],
)
def test_what_is_no_path_to_a_file_is_not_opened(good_bag: Path, path: str) -> None:
    (good_bag.parent / "secret").write_bytes(b"secret")
    with open_bag(good_bag) as bag, pytest.raises(MaterialError):
        bag.stream(path)


CHILD = """
import os, sys
from pathlib import Path
from tailsout.bag.open import open_bag
from tailsout.bag.prove import prove
from tailsout.ground.errors import TailsoutError
from tailsout.ground.progress import Silent
os.chdir(sys.argv[1])
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
with open_bag(Path()) as bag:
    for one in bag.facts.observations:
        print(one.kind, one.file)
    for one in prove(bag, spans={}, progress=Silent()).files:
        if one.trouble:
            print("trouble", one.path, len(one.digests))
try:
    open_bag(Path("data/closed"))
except TailsoutError as error:
    print(type(error).__name__)
"""


def test_what_may_not_be_read(good_bag: Path, seal: Callable[[Path], None]) -> None:
    """A39, as another user: root may read everything."""
    put("data/closed/x")(good_bag)
    put("data/mute")(good_bag)
    seal(good_bag)
    (good_bag / "data/closed").chmod(0)
    (good_bag / "data/mute").chmod(0)
    (good_bag / "manifest-sha256.txt").chmod(0)
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(good_bag)], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    assert done.stdout.splitlines() == [
        "unreadable data/closed",
        "unreadable manifest-sha256.txt",
        "trouble data/mute 0",
        "trouble manifest-sha256.txt 0",
        "SurroundingsError",
    ]
    (good_bag / "data/closed").chmod(0o755)


def test_data_that_may_not_be_read_is_there_all_the_same(good_bag: Path) -> None:
    (good_bag / "data").chmod(0)
    program = CHILD[: CHILD.index("    for one in prove")] + CHILD[CHILD.index("try:") :]
    done = subprocess.run(
        [sys.executable, "-c", program, str(good_bag)], capture_output=True, text=True, check=False
    )
    (good_bag / "data").chmod(0o755)
    assert done.stderr == ""
    assert done.stdout.splitlines() == ["unreadable data", "SurroundingsError"]


def test_a_million_faults_stay_small(good_bag: Path, observed: Observe) -> None:
    append("manifest-sha256.txt", b"\n" * 1_000_000)(good_bag)
    found = observed(good_bag)
    assert len(found) == 101
    assert "999899 more" in found[-1].text


def test_digests_as_listed(good_bag: Path) -> None:
    with open_bag(good_bag) as bag:
        line = bag.facts.manifests[0].lines[1]
    assert line.digest == hashlib.sha256(b"tails out\n").hexdigest()


class Held:
    """What a bag holds, in memory."""

    def __init__(self, files: dict[str, bytes]) -> None:
        self._files = files

    def walk(self, _caps: Caps) -> Iterator[Met]:
        yield Met(path="data", sort="directory", entries=3)
        for path, content in self._files.items():
            yield Met(path=path, sort="file", octets=len(content))

    def read(self, path: str, _cap: int) -> bytes:
        return self._files[path]


LONG = "data/" + "x" * 60
LISTED = st.tuples(
    st.sampled_from(("0" * 32, "0" * 32, "0" * 31, "A" * 32, "g" * 32)),
    st.sampled_from(("  ", "  ", "  ", " ", "\t", "   ", "")),
    st.sampled_from(
        ("data/a", "data/b b", "data/ä", "data/a", "data/gone", "data/./a", "./data/a", "data//a",
         "data/%61", "data/a%0A", "../a", "a", "*data/a", "data/a\u0308", LONG)
    ),
    st.sampled_from(("\n", "\n", "\n", "\n", "\r\n", "\r", "", "\n\n", "\x0b")),
)  # fmt: skip


@given(st.lists(LISTED, max_size=4), st.sampled_from(("1.0", "0.97")), st.integers(0, 4))
@example([("0" * 32, "  ", LONG, "\n")], "1.0", 4)
@example([("0" * 32, "  ", "data/a", "\n")] * 2, "0.97", 4)
@example([("0" * 32, "  ", "data/a", "\n"), ("0" * 32, "  ", "data/b b", "\n")], "1.0", 1)
def test_a_usual_manifest_is_read_as_by_the_long_way(
    lines: list[tuple[str, str, str, str]], version: str, most: int
) -> None:
    text = "".join(part for line in lines for part in line)
    files = {
        "bagit.txt": f"BagIt-Version: {version}\nTag-File-Character-Encoding: UTF-8\n".encode(),
        "manifest-md5.txt": text.encode(),
        "data/a": b"",
        "data/b b": b"",
        "data/ä": b"",
        LONG: b"",
    }
    caps = replace(Caps(), line=80, manifest_lines=most)
    short = read_facts(Held(files), "bag", caps, Notes())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(grammar, "usual", lambda *_: None)
        assert read_facts(Held(files), "bag", caps, Notes()) == short


def test_a_usual_manifest_needs_no_long_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(grammar, "parse_manifest", lambda *_: pytest.fail("it was taken"))
    text = "".join(f"{'0' * 32}  {path}\n" for path in ("data/a", "data/b b"))
    files = {"manifest-md5.txt": text.encode(), "data/a": b"", "data/b b": b""}
    (manifest,) = read_facts(Held(files), "bag", Caps(), Notes()).manifests
    assert manifest.lines == (
        ManifestLine(path="data/a", digest="0" * 32, line=1),
        ManifestLine(path="data/b b", digest="0" * 32, line=2),
    )


def test_old_drafts_tell_of_themselves_in_package_info(good_bag: Path) -> None:
    """From memory; the general BagIt library reads it of versions 0.93 to 0.95 as well."""
    (good_bag / "bag-info.txt").unlink()
    (good_bag / "package-info.txt").write_bytes(b"Contact-Name: Isolde\nPayload-Oxum: many\n")
    bagit = (good_bag / "bagit.txt").read_bytes()
    for version, read in ((b"0.95", True), (b"0.96", False), (b"1.0", False)):
        (good_bag / "bagit.txt").write_bytes(bagit.replace(b"1.0", version))
        with open_bag(good_bag) as bag:
            facts = bag.facts
        labels = [(one.label, one.file) for one in facts.bag_info]
        assert bool(labels) is read
        told = [(o.file, o.line) for o in facts.observations if o.kind == "oxum-malformed"]
        assert told == ([("package-info.txt", 2)] if read else [])


def test_which_letters_are_mixed_is_told(good_bag: Path) -> None:
    (good_bag / "data/r\u0435el.wav").write_bytes(b"x")
    with open_bag(good_bag) as bag:
        [one] = [o for o in bag.facts.observations if o.kind == "name-mixed-scripts"]
    assert one.text.endswith(": LATIN SMALL LETTER V, CYRILLIC SMALL LETTER IE stand side by side.")
