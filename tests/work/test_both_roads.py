"""Being closed or received, a package is described alike, whatever it holds.

`show --as` describes what was received; what was packed was made while the package was closed.
README.txt leaves no file of it unexplained.
"""

import re
import tarfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.progress import Silent
from tailsout.mapping import naming
from tailsout.work.amend import amend
from tailsout.work.close_out import close
from tailsout.work.export import export
from tailsout.work.exports import VIEWS
from tailsout.work.report import report

EVERY = 'views = ["PBCore", "RO-Crate", "inventory", "label"]\n'
REGION = '[[reel.sides]]\nid = "A"\n[[reel.sides.regions]]\nid = "A1"\nkind = "programme"\n'
Closed = Callable[..., Path]


@pytest.fixture
def closed(bench: Any, around: Callable[..., Any]) -> Closed:
    """Close the job of the bench for a recipient who wants every description."""

    def make(wishes: str = "") -> Path:
        (bench.studio / "recipients/archive.toml").write_text(f'id = "archive"\n{EVERY}{wishes}')
        outcome = close(bench.job, bench.out, around())
        assert outcome.built is not None, outcome.judgement.findings
        return Path(bench.package)

    return make


def assert_alike(package: Path) -> None:
    for view in VIEWS:
        if view.path and view.lost is not None and view.name != "label":
            packed = (package / view.path).read_bytes()
            assert packed == export(package, view.name, Silent()).content, view.name
    assert_explained(package)


def assert_explained(package: Path) -> None:
    """Every file of the package stands in its README.txt, by itself or by a folder it lies in."""
    told = set((package / "metadata/README.txt").read_text("utf-8").split("\n"))
    for file in package.rglob("*"):
        path = file.relative_to(package).as_posix()
        above = {f"{one}/" for one in map(str, Path(path).parents)}
        alike = re.sub(r"manifest-\w+\.txt$", "manifest-*.txt", path)
        assert file.is_dir() or {path, alike, *above} & told, path


def captured(page: bytes) -> str:
    """The section of the report that draws what was captured."""
    text = page.decode("utf-8")
    start = text.index('aria-labelledby="sound"')
    return text[start : text.index("</section>", start)]


def test_the_drawings_of_a_report(bench: Any, closed: Closed) -> None:
    bench.fill(bench.wave(frames=48_000), top=TO_ALL, more=region("a"))
    package = closed()
    packed = captured((package / naming.REPORT).read_bytes())
    assert packed == captured(report(package, Silent()))
    assert "Waveform of channel 1" in packed
    assert "data:image/png;base64," in packed


def region(capture: str) -> str:
    return f'{REGION}capture = "{capture}"\nstart = "0:00"\nspeed_ips = 7.5\n'


TO_ALL = 'recipient = "archive"'


def test_a_capture_as_it_is(bench: Any, closed: Closed) -> None:
    bench.fill(bench.wave(own=bench.own_bext()), top=TO_ALL, more=region("a"))
    assert_alike(closed())


def test_a_capture_without_a_header_of_its_own(bench: Any, closed: Closed) -> None:
    bench.fill(top=TO_ALL)
    assert_alike(closed())


def test_a_flac_master(bench: Any, closed: Closed) -> None:
    bench.fill(bench.wave(own=bench.own_bext()), top=TO_ALL, more=region("a"))
    package = closed('master_format = "FLAC"\n')
    assert (package / "data/audio/a.flac").exists()
    assert_alike(package)


def test_parts_and_tracks(bench: Any, closed: Closed) -> None:
    for name in ("1", "2"):
        bench.put(f"captures/{name}.wav", bench.wave())
    bench.form({"a": "captures/1.wav"}, top=TO_ALL, more=region("a"))
    with (bench.job / "job.toml").open("a") as form:
        form.write('mono_files = ["captures/1.wav", "captures/2.wav"]\n')
    package = closed()
    assert len(list((package / "data/audio").glob("*.wav"))) == 2
    assert_alike(package)


def test_photographs_and_documents(bench: Any, closed: Closed) -> None:
    bench.fill(top=TO_ALL, more=region("a"))
    bench.put("images/box.jpg", b"no picture")
    bench.put("images/reel.tif", b"II*\0")
    bench.put("documents/order 1.pdf", b"%PDF-1.4")
    package = closed()
    assert_alike(package)
    told = (package / naming.PREMIS).read_text("utf-8")
    keys = re.findall("<formatRegistryKey>(.*)</formatRegistryKey>", told)
    assert {"fmt/18", "fmt/353"} <= set(keys)
    assert not {"fmt/42", "fmt/43", "fmt/44"} & set(keys)
    archive = bench.root / "a.tar"
    with tarfile.open(archive, "w:gz") as tar:
        tar.add(package, "TT-1")
    assert export(archive, "PREMIS", Silent()).content.decode("utf-8") == told


def test_a_reel_that_was_not_played(bench: Any, closed: Closed) -> None:
    bench.form({}, top=f'{TO_ALL}\nkind = "record only"\nnot_played_because = "mould"')
    package = closed()
    assert_alike(package)
    page = " ".join((package / "metadata/README.txt").read_text().split())
    assert "one reel of magnetic tape that was not played, and why it was not" in page
    assert "the sound of one reel" not in page


def test_what_was_put_right(bench: Any, closed: Closed, around: Callable[..., Any]) -> None:
    bench.fill(top=TO_ALL, more=region("a"))
    closed()
    bench.put("letter.pdf", b"%PDF-1.7")
    form = bench.root / "amendment.toml"
    form.write_text(
        'by = "isolde"\non = 2026-05-02\nwhy = "a letter"\n[[files]]\nchange = "added"\n'
        f'path = "data/documents/1.pdf"\nfrom = "{bench.job}/letter.pdf"\n'
    )
    done = amend(bench.package, form, bench.out, around()).outcome
    assert done.built is not None, done.judgement.findings
    assert_alike(done.built.path)
    assert b"fmt/276" in (done.built.path / naming.PREMIS).read_bytes()


def test_access_copies(bench: Any, closed: Closed) -> None:
    bench.fill(top=TO_ALL, more=region("a"))
    assert_alike(closed('[[copies]]\nformat = "FLAC"\n'))
