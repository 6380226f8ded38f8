"""Photographs on the report: made small elsewhere, of a package's own files alone."""

import base64
import io
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tailsout.ground.progress import Silent
from tailsout.records.carrier import Image as Stated
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Reel
from tailsout.records.transfer import Studio, Transfer
from tailsout.work import limited, pictures
from tailsout.work.close_out import close
from tailsout.work.limited import small_picture
from tailsout.work.pictures import photographs
from tailsout.work.report import report

TRANSFER = Transfer(
    job_id="j",
    package_id="SKL-7",
    studio=Studio(),
    reel=Reel(images=(Stated(file="images/box.jpg", role="box", caption="front"),)),
)
DOSSIER = Dossier(origin="received", transfer=TRANSFER)


@pytest.fixture
def box(tmp_path: Path) -> Path:
    path = tmp_path / "box.jpg"
    Image.effect_noise((1200, 900), 60).convert("RGB").save(path)
    return path


def small(path: Path) -> bytes:
    with path.open("rb") as stream:
        return small_picture(stream)


def test_a_photograph_is_made_small_in_a_process_of_its_own(box: Path) -> None:
    made = small(box)
    assert 1000 < len(made) <= limited.MOST_PICTURE_OCTETS
    with Image.open(io.BytesIO(made)) as picture:
        assert picture.size == (480, 360)


def test_what_is_no_photograph_gives_none(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xff" + bytes(1000))
    assert small(tmp_path / "a.jpg") == b""


@pytest.mark.parametrize(
    "code",
    [
        "import sys; sys.stdout.buffer.write(b'<script>')",
        "import sys; sys.stdout.buffer.write(b'\\xff\\xd8\\xff' + bytes(10**6))",
        "import sys; sys.stdout.buffer.write(b'\\xff\\xd8\\xff'); sys.exit(3)",
        "import os; os.abort()",
        "raise SystemExit(1)",
    ],
    ids=["no picture", "too much", "failed", "broke down", "nothing"],
)
def test_a_process_that_misbehaves_is_not_believed(
    box: Path, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    monkeypatch.setattr(limited, "_START_SHRINKING", code)
    assert small(box) == b""


def test_only_so_many_are_shown(monkeypatch: pytest.MonkeyPatch, box: Path) -> None:
    monkeypatch.setattr(pictures, "small_picture", lambda _stream: b"small")
    every = tuple(Stated(file=f"images/{n}.jpg") for n in range(40))
    dossier = replace(DOSSIER, transfer=replace(TRANSFER, reel=Reel(images=every)))
    found = photographs(dossier, lambda _path: box.open("rb"))
    assert len(found) == pictures.MOST_PHOTOGRAPHS


def test_only_what_is_asked_for_by_the_path_in_the_package_is_opened() -> None:
    asked: list[str] = []
    photographs(DOSSIER, asked.append)
    assert asked == ["data/images/box.jpg"]


def test_a_stranger_cannot_have_other_files_shown(bench: Any, box: Path) -> None:
    bench.fill()
    (bench.root / "bag" / "data").mkdir(parents=True)
    bag = bench.root / "bag"
    (bag / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    outside = replace(TRANSFER, reel=Reel(images=(Stated(file=f"../../{box.name}"),)))
    from tailsout.bag.open import open_bag  # noqa: PLC0415  for this alone

    with open_bag(bag) as opened:
        found = photographs(replace(DOSSIER, transfer=outside), pictures.in_bag(opened))
    assert found == {}


def test_pictures_of_a_strangers_package_are_shown(tmp_path: Path, box: Path) -> None:
    bag = tmp_path / "bag"
    (bag / "data/scans").mkdir(parents=True)
    (bag / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    (bag / "data/scans/box.JPG").write_bytes(box.read_bytes())
    (bag / "data/scans/log.pdf").write_bytes(b"%PDF-1.4")
    (bag / "logo.png").write_bytes(box.read_bytes())
    page = report(bag, Silent()).decode()
    assert re.findall("<figcaption>([^<]*)", page) == ["data/scans/box.JPG"]


def test_photographs_are_shown_by_both_roads_alike(
    bench: Any, around: Callable[..., Any], box: Path
) -> None:
    bench.fill()
    (bench.job / "images").mkdir()
    (bench.job / "images/box.jpg").write_bytes(box.read_bytes())
    (bench.job / "images/notes.tif").write_bytes(b"II*\0")
    (bench.job / "images/of nothing.png").write_bytes(box.read_bytes())
    (bench.job / "images/broken.gif").write_bytes(b"GIF89a")
    form = bench.job / "job.toml"
    form.write_text(
        form.read_text("utf-8")
        + '\n[[reel.images]]\nfile = "images/box.jpg"\nrole = "box"\ncaption = "front <b>"\n'
        + '\n[[reel.images]]\nfile = "images/notes.tif"\nrole = "insert"\n'
    )
    assert close(bench.job, bench.out, around()).built is not None
    packed = (bench.package / "metadata/report.html").read_text("utf-8")
    made = report(bench.package, Silent()).decode()
    for page in (packed, made):
        shown = re.findall('src="data:image/jpeg;base64,([^"]*)"', page)
        assert [base64.b64decode(one) for one in shown] == [small(box)] * 2
        assert re.findall('alt="(Photo[^"]*)"', page) == [
            "Photograph: box. front &lt;b&gt;",
            "Photograph, not described.",
        ]
        assert "data/images/of nothing.png</figcaption>" in page
        assert "1 photograph not shown here:" in page
        assert "data/images/notes.tif" in page
