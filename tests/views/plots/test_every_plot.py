"""What holds of every plot: size, words, paper, and the same octets wherever it is drawn."""

import os
import re
import subprocess
import sys
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any

import matplotlib as mpl
import pytest
from matplotlib.font_manager import FontProperties, findfont
from matplotlib.ft2font import FT2Font

from tailsout.ground.findings import Place
from tailsout.mapping import xml
from tailsout.views.plots import flutter
from tailsout.views.plots.sheet import FAINT, INK, PENCIL

NAMES = ("waveform", "spectrogram", "response", "azimuth", "flutter", "flutter-spectrum")
A4_PIXELS = 180 / 25.4 * 200
MOST_OCTETS = {"svg": 200_000, "png": 300_000}
DIGESTS = """
import hashlib, sys
from decimal import Decimal
from tailsout.records.sound import Overview
from tailsout.views.plots import spectrogram, waveform
course = tuple((one % 50) / 60 for one in range(400))
low = tuple(-one for one in course)
seen = Overview(seconds_a_column=Decimal(1), low=(low,), high=(course,), rms=(course,),
    bands_hz=(100.0, 1000.0), spectrogram=bytes(range(40, 240)) * 4)
for kind in ("svg", "png"):
    one = waveform.draw(seen, title="a", kind=kind, sample_rate_hz=8000)
    other = spectrogram.draw(seen, title="a", kind=kind)
    print(hashlib.sha256(one).hexdigest(), hashlib.sha256(other).hexdigest())
"""
HOSTILE_SETTINGS = """
font.family: cursive
font.size: 40
axes.linewidth: nine
savefig.dpi: 30
savefig.facecolor: red
svg.fonttype: path
svg.hashsalt: other
text.usetex: True
axes.prop_cycle: nonsense
path.sketch: 3, 10, 10
no such key: 1
no colon at all
backend: tkagg
"""


def drawn_elsewhere(folder: Path, **environment: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-c", DIGESTS],
        cwd=folder,
        env={"PYTHONPATH": os.pathsep.join(sys.path), "HOME": str(folder), **environment},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Digests of four pictures as drawn with nothing set."""
    ran = drawn_elsewhere(tmp_path_factory.mktemp("plain"))
    assert (ran.returncode, ran.stderr) == (0, "")
    return ran.stdout


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_says_what_it_is(pictures: Mapping[str, Any], name: str) -> None:
    seen = pictures[name]
    assert seen.title.endswith(": side-a.wav")
    assert "side-a.wav" in seen.texts
    assert seen.title.partition(":")[0] in seen.texts
    assert len(seen.told) > 60
    assert seen.root.get("role") == "img"
    ids = {one.get("id") for one in seen.root.iter()}
    assert set(seen.root.get("aria-labelledby", "").split()) <= ids


@pytest.mark.parametrize("name", NAMES)
def test_our_own_door_for_xml_opens_it(pictures: Mapping[str, Any], name: str) -> None:
    # It refuses a DOCTYPE, which the library writes.
    root, findings = xml.read(pictures[name].octets, Place(file=name))
    assert (root is not None, findings) == (True, ())


@pytest.mark.parametrize("name", NAMES)
def test_every_id_is_the_pictures_own(pictures: Mapping[str, Any], name: str) -> None:
    """Two on one page of HTML must not share an id, and none may style the page."""
    text = pictures[name].octets.decode()
    ids = re.findall(r'<[^>]* id="([^"]*)"', text)
    marks = {one.partition("-")[0] for one in ids}
    assert len(ids) == len(set(ids))
    assert len(marks) == 1
    assert set(re.findall(r'(?:url\(#|href="#)([^)"]*)', text)) <= set(ids)
    assert "<style" not in text
    others = [one.octets.decode() for other, one in pictures.items() if other != name]
    assert not [one for one in others if marks.copy().pop() in one]


@pytest.mark.parametrize("name", NAMES)
def test_pictures_are_small(
    pictures: Mapping[str, Any], pngs: Mapping[str, bytes], name: str
) -> None:
    assert len(pictures[name].octets) <= MOST_OCTETS["svg"]
    assert len(pngs[name]) <= MOST_OCTETS["png"]


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_is_as_wide_as_the_print_on_a4(
    pictures: Mapping[str, Any], pngs: Mapping[str, bytes], bench: Any, name: str
) -> None:
    wide, high = bench.size_of(pngs[name])
    assert wide == int(A4_PIXELS)
    assert high < 1.4 * wide
    assert pictures[name].root.get("width") == "510.23622pt"


@pytest.mark.parametrize("name", NAMES)
def test_no_text_leaves_the_sheet(pictures: Mapping[str, Any], name: str) -> None:
    seen = pictures[name]
    _, _, wide, high = map(float, seen.root.get("viewBox", "").split())
    placed = 0
    for text in seen.root.iter("{http://www.w3.org/2000/svg}text"):
        place = re.match(
            r"(?:rotate|translate)\([-0-9. ]*? ?([-0-9.]+) ([-0-9.]+)\)", text.get("transform", "")
        )
        assert place is not None
        x, y = map(float, place.groups())
        size = float(re.search(r"font-size: ([0-9.]+)px", text.get("style", ""))[1])  # type: ignore[index]
        style: Any = "italic" if "italic" in text.get("style", "") else "normal"
        font = FT2Font(findfont(FontProperties(family="DejaVu Serif", style=style)))
        font.set_size(size, 720)
        font.set_text("".join(text.itertext()))
        length = font.get_width_height()[0] / 640
        anchor = re.search(r"text-anchor: (\w+)", text.get("style", ""))
        share = {"end": 1.0, "middle": 0.5}.get(anchor[1] if anchor else "", 0.0)
        assert x - share * length > 2.0
        assert x + (1.0 - share) * length < wide - 2.0, "".join(text.itertext())
        assert 0.0 < y < high
        placed += 1
    assert placed > 10


@pytest.mark.parametrize("name", NAMES)
def test_there_is_no_colour(pictures: Mapping[str, Any], name: str) -> None:
    text = pictures[name].octets.decode()
    colours = set(re.findall(r"#([0-9a-f]{6})\b", text))
    assert {"000000", "ffffff"} <= colours
    assert {one for one in colours if not one[:2] == one[2:4] == one[4:]} == set()


@pytest.mark.parametrize("name", NAMES)
def test_text_is_dark_enough_to_read(pictures: Mapping[str, Any], name: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: contrast of text 4.5 to 1 at least."""
    for text in pictures[name].root.iter("{http://www.w3.org/2000/svg}text"):
        fill = re.search(r"fill: #([0-9a-f]{2})", text.get("style", ""))
        grey = int(fill[1], 16) / 255 if fill else 0.0
        light = grey / 12.92 if grey <= 0.04045 else ((grey + 0.055) / 1.055) ** 2.4
        assert 1.05 / (light + 0.05) >= 4.5


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_nothing_of_time_or_program_is_in_it(
    pictures: Mapping[str, Any], pngs: Mapping[str, bytes], kind: str
) -> None:
    for name in NAMES:
        octets = pictures[name].octets if kind == "svg" else pngs[name]
        assert not re.search(rb"(?i)software|creator|matplotlib v|dc:date|20[2-9][0-9]-", octets)


def test_a_png_carries_the_words_too(pngs: Mapping[str, bytes]) -> None:
    assert b"Waveform: side-a.wav" in pngs["waveform"]
    assert b"Description" in pngs["waveform"]


def test_drawn_twice_it_is_the_same(pictures: Mapping[str, Any], bench: Any) -> None:
    again = bench.all_plots("side-a.wav", "svg")
    assert {name: one.octets for name, one in pictures.items()} == again


@pytest.mark.parametrize(
    "environment",
    [
        {
            "PYTHONHASHSEED": "1",
            "TZ": "Asia/Tokyo",
            "LC_ALL": "C",
            "SOURCE_DATE_EPOCH": "1",
            "MPLBACKEND": "no-such-backend",
        },
        {
            "PYTHONHASHSEED": "77",
            "TZ": "America/St_Johns",
            "LANG": "de_DE.UTF-8",
            "MPLCONFIGDIR": "/proc/no/such/place",
        },
    ],
    ids=["seed, zone, locale, epoch, no backend", "others, no place for settings"],
)
def test_surroundings_change_nothing(
    plain: str, tmp_path: Path, environment: dict[str, str]
) -> None:
    ran = drawn_elsewhere(tmp_path, **environment)
    assert (ran.stderr, ran.stdout) == ("", plain)


@pytest.mark.parametrize("where", ["here", "named", "home"])
def test_settings_of_the_user_change_nothing(plain: str, tmp_path: Path, where: str) -> None:
    folder = tmp_path / ".config/matplotlib" if where == "home" else tmp_path
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "matplotlibrc").write_text(HOSTILE_SETTINGS, "utf-8")
    named = {"MATPLOTLIBRC": str(folder / "matplotlibrc")} if where == "named" else {}
    ran = drawn_elsewhere(tmp_path, **named)
    assert (ran.stderr, ran.stdout) == ("", plain)


def test_no_litter_is_left(plain: str, tmp_path: Path) -> None:
    home, scratch = tmp_path / "home", tmp_path / "tmp"
    home.mkdir()
    scratch.mkdir()
    ran = drawn_elsewhere(home, TMPDIR=str(scratch))
    assert (ran.stderr, ran.stdout) == ("", plain)
    assert list(home.iterdir()) == []
    assert list(scratch.iterdir()) == []


def test_settings_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    (tmp_path / "matplotlibrc").write_bytes(b"font.size: \xff\n")
    ran = drawn_elsewhere(tmp_path)
    assert ran.stdout == ""
    assert "SurroundingsError: The plotting library cannot be loaded" in ran.stderr


PEOPLE = {
    "markup": '<script>alert(1)</script> & "x" \' id="a" url(#b)',
    "formula": r"$x^2$ $\frac{1}{ $$ \alpha",
    "controls": "\x1b[2J\u202e\x9b\u2028\udc80\x00\n\ttail",
    "far writing": "灯台の夜の記録 منارة ليلية",
    "nothing": "",
}


@pytest.mark.parametrize("title", PEOPLE.values(), ids=PEOPLE)
def test_text_from_people_is_only_text(bench: Any, title: str) -> None:
    part = title[:20] if title.isprintable() else "tail"
    for octets in bench.all_plots(title, "svg").values():
        seen = bench.picture(octets)
        assert not [one for one in seen.root.iter() if one.tag.endswith("script")]
        assert not re.search(r"[\x00-\x08\x1b\x9b\u202e\u2028]", octets.decode())
        assert part in seen.title
        assert [one for one in seen.texts if part in one]


@pytest.mark.parametrize("title", PEOPLE.values(), ids=PEOPLE)
def test_text_from_people_is_drawn(bench: Any, title: str) -> None:
    """No glyph for it, or no formula: nothing is warned of and nothing fails."""
    octets = flutter.draw(None, None, title=title, kind="png")
    assert bench.size_of(octets)[0] == int(A4_PIXELS)


def test_a_huge_text_is_cut(bench: Any) -> None:
    huge = "lighthouse " * 1_000_000
    for octets in bench.all_plots(huge, "svg").values():
        seen = bench.picture(octets)
        assert seen.title.endswith("…")
        assert max(map(len, seen.texts)) < 180
        assert len(octets) < MOST_OCTETS["svg"]


def test_what_the_process_has_set_stays_set(bench: Any) -> None:
    with mpl.rc_context({"font.size": 31.0, "svg.hashsalt": "mine"}):
        bench.all_plots("a", "svg")
        assert (mpl.rcParams["font.size"], mpl.rcParams["svg.hashsalt"]) == (31.0, "mine")
    assert "matplotlib.pyplot" not in sys.modules


def test_greys_of_the_scale_stay_apart() -> None:
    greys = sorted(map(float, (INK, PENCIL, FAINT, "1.0")))
    assert min(b - a for a, b in pairwise(greys)) > 0.1
