"""The two examples of RFC 8493 §4, with the spelling of `BagIt-version` that they print.

The layout is that of §4.1 and §4.2, from memory; names, contents and digests are our own. The text
of §2.1.1 asks for `BagIt-Version`, and that is what counts.
"""

import hashlib
import logging
import warnings
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.progress import Silent
from tailsout.work.check import Checked, check

AS_PRINTED = "BagIt-version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
AS_ASKED = AS_PRINTED.replace("-v", "-V")
IMAGE, TEXT = b"\x89PNG\r\n\x1a\n" + bytes(64), b"Skerrow Light, keeper's log, page 172\n"


def manifest(*files: tuple[str, bytes]) -> str:
    # One blank between digest and path, as both examples print it.
    return "".join(f"{hashlib.md5(content).hexdigest()} {path}\n" for path, content in files)  # noqa: S324  what §4 uses


def basic(base: Path, declaration: str) -> Path:
    """§4.1: an image and the text read from it, and nothing but what a bag must have."""
    images = base / "data/27613-h/images"
    images.mkdir(parents=True)
    (images / "q172.png").write_bytes(IMAGE)
    (images / "q172.txt").write_bytes(TEXT)
    listed = manifest(
        ("data/27613-h/images/q172.png", IMAGE), ("data/27613-h/images/q172.txt", TEXT)
    )
    (base / "manifest-md5.txt").write_text(listed)
    (base / "bagit.txt").write_text(declaration)
    return base


def fetched(base: Path, declaration: str) -> Path:
    """§4.2: files that are still to be fetched, an element on several lines, names with blanks."""
    (base / "data/Light and Fog").mkdir(parents=True)
    (base / "data/Light and Fog/one.tif").write_bytes(IMAGE)
    listed = manifest(("data/Light and Fog/one.tif", IMAGE), ("data/Light and Fog/two.tif", TEXT))
    (base / "manifest-md5.txt").write_text(listed)
    (base / "fetch.txt").write_text(
        f"https://skerrow.example/two.tif {len(TEXT)} data/Light and Fog/two.tif\n"
    )
    (base / "bag-info.txt").write_text(
        "Internal-Sender-Identifier: Skerrow Light,\n  pictures of a fog signal\n"
        "Internal-Sender-Description: Where they may be had is told at\n  https://skerrow.example/\n"
    )
    (base / "bagit.txt").write_text(declaration)
    return base


def said(checked: Checked) -> tuple[str, set[str]]:
    assert checked.bag is not None
    return checked.bag.word, {one.code for one in checked.judgement.findings}


def test_4_1_as_printed_is_told_its_misspelling(tmp_path: Path) -> None:
    checked = check(basic(tmp_path / "myfirstbag", AS_PRINTED), Silent(), bagit_only=True)
    assert said(checked) == ("malformed", {"bag-bagit-txt-malformed", "algorithm-weak"})
    [found] = [one for one in checked.judgement.findings if one.code != "algorithm-weak"]
    assert str(found.place) == "bagit.txt:1"
    assert "BagIt-version: 1.0" in found.text
    assert "BagIt-Version: M.N" in found.text


def test_4_1_as_asked_is_valid(tmp_path: Path) -> None:
    checked = check(basic(tmp_path / "myfirstbag", AS_ASKED), Silent(), bagit_only=True)
    assert said(checked) == ("valid", {"algorithm-weak"})


@pytest.mark.parametrize(
    ("declaration", "word"), [(AS_PRINTED, "malformed"), (AS_ASKED, "incomplete")]
)
def test_4_2_lacks_what_is_to_be_fetched(tmp_path: Path, declaration: str, word: str) -> None:
    checked = check(fetched(tmp_path / "second", declaration), Silent(), bagit_only=True)
    state, codes = said(checked)
    assert state == word
    assert codes >= {"bag-fetch-txt", "bag-to-be-fetched", "file-missing"}
    assert checked.bag is not None
    left = {one.why: one.paths for one in checked.bag.not_verified}
    assert left["left to be fetched"] == ("data/Light and Fog/two.tif",)
    assert checked.dossier.package is not None
    assert [line.value for line in checked.dossier.package.bag_info] == [
        "Skerrow Light,\npictures of a fog signal",
        "Where they may be had is told at\nhttps://skerrow.example/",
    ]


def test_4_2_is_valid_once_everything_is_there(tmp_path: Path) -> None:
    base = fetched(tmp_path / "second", AS_ASKED)
    (base / "data/Light and Fog/two.tif").write_bytes(TEXT)
    checked = check(base, Silent(), bagit_only=True)
    assert said(checked) == ("valid", {"algorithm-weak", "bag-fetch-txt"})


def test_the_library_refuses_the_printed_spelling_too(tmp_path: Path) -> None:
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*pkg_resources")
        bagit: Any = pytest.importorskip("bagit")
    logging.getLogger("bagit").setLevel(logging.CRITICAL)
    with pytest.raises(bagit.BagError):
        bagit.Bag(str(basic(tmp_path / "printed", AS_PRINTED))).validate()
    assert bagit.Bag(str(basic(tmp_path / "asked", AS_ASKED))).validate() is True
