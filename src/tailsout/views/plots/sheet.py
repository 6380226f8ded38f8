"""The sheet that every plot is drawn on: a page of a paper log, ruled, black on white.

Sizes are millimetres from the upper left corner of the sheet, as on a ruler laid on the print. It
is 180 mm wide, the width between the margins of A4.
"""

import re
import threading
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from io import BytesIO
from typing import Any, Literal

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from tailsout.views.plots.words import short

Kind = Literal["svg", "png"]

WIDTH = 180.0
LEFT, RIGHT = 22.0, 176.0
"""The ruled margin, and where the paper's lines end on the other side."""
INK, PENCIL, FAINT = "0.0", "0.35", "0.85"
"""Greys that stay apart on any printer."""
HAIR, RULE, BOLD = 0.4, 0.8, 1.4
"""Line widths, points."""
SMALL, PLAIN, LARGE = 6.5, 7.5, 12.0
"""Sizes of type, points."""
_TOP, _CELLS, _LINE, _FOOT = 11.0, 8.5, 3.2, 3.0
_MM = 25.4
_TAG = re.compile(r"<[^>]*>")
_DIGITS = re.compile(r"(\.[0-9]{2})[0-9]+")
"""Of a place on the sheet, in points: what lies behind a hundredth is no thicker than a hair."""
_STYLE = re.compile(r"\s*<defs>\s*<style[^>]*>[^<]*</style>\s*</defs>")
"""A rule for every element: on a page of HTML it would be one for the whole page."""
_PIXELS_AN_INCH = 200
_DRAWING = threading.Lock()
_LOOK: Any = {
    "axes.axisbelow": True,
    "axes.linewidth": HAIR,
    "axes.unicode_minus": True,
    "figure.facecolor": "1.0",
    "font.family": ["DejaVu Serif"],
    "font.size": PLAIN,
    "hatch.linewidth": 0.35,
    "mathtext.fontset": "dejavuserif",
    "path.simplify": True,
    "savefig.facecolor": "1.0",
    "svg.fonttype": "none",
    "svg.hashsalt": "tailsout",
    "text.parse_math": False,
    "xtick.direction": "in",
    "xtick.major.width": HAIR,
    "xtick.minor.width": HAIR,
    "ytick.direction": "in",
    "ytick.major.width": HAIR,
    "ytick.minor.width": HAIR,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What a sheet says in words."""

    what: str
    """What kind of plot it is."""
    title: str
    """What it is of; from people, made safe here."""
    cells: tuple[tuple[str, str], ...] = ()
    """The ruled boxes under the title: what it is and what it says."""
    method: tuple[str, ...] = ()
    """Lines at the foot: unit and method."""
    told: str
    """The facts of the picture in words, for who cannot see it."""


class Sheet:
    """A sheet while it is being drawn on."""

    def __init__(self, head: Head, body: float) -> None:
        """Rule a sheet with a body of so many millimetres."""
        self.top = _TOP + (_CELLS if head.cells else 0.0)
        """Where the body begins."""
        self.bottom = self.top + body
        self.height = self.bottom + _LINE * len(head.method) + _FOOT
        size = (WIDTH / _MM, self.height / _MM)
        self.figure = Figure(figsize=size, dpi=_PIXELS_AN_INCH)
        self._rule(head)

    def panel(self, top: float, height: float, *, right: float = RIGHT) -> Axes:
        """Return axes from the ruled margin to the right, so far below the top of the body."""
        low = self.height - self.top - top - height
        box = (LEFT / WIDTH, low / self.height, (right - LEFT) / WIDTH, height / self.height)
        axes = self.figure.add_axes(box)
        axes.patch.set_visible(False)
        axes.spines[["left", "right", "top"]].set_visible(False)
        axes.tick_params(length=2, pad=2.5, labelsize=PLAIN)
        return axes

    def write(self, x: float, y: float, text: str, **how: Any) -> None:  # noqa: ANN401
        """Write text at a place of the sheet."""
        style = {"fontsize": PLAIN, "color": INK, "va": "baseline", **how}
        self.figure.text(x / WIDTH, 1 - y / self.height, text, **style)

    def unit(self, y: float, text: str) -> None:
        """Write the unit of a scale along the foot, into the margin beside its figures."""
        self.write(LEFT - 3.0, y, text, fontsize=SMALL, style="italic", ha="right")

    def line(
        self, start: tuple[float, float], end: tuple[float, float], width: float = HAIR
    ) -> None:
        """Draw a straight line between two places of the sheet."""
        across = [start[0] / WIDTH, end[0] / WIDTH]
        down = [1 - start[1] / self.height, 1 - end[1] / self.height]
        self.figure.add_artist(Line2D(across, down, color=INK, linewidth=width))

    def side(self, y: float, text: str) -> None:
        """Write into the margin at a place of the sheet."""
        self.write(3.0, y, text, fontsize=SMALL, style="italic")

    def _rule(self, head: Head) -> None:
        self.write(LEFT + 2.0, 7.5, head.what, fontsize=LARGE)
        title = short(head.title, 64)
        self.write(RIGHT, 7.5, title, fontsize=8.5, style="italic", ha="right")
        self.line((3.0, _TOP), (RIGHT, _TOP), RULE)
        if head.cells:
            self._cells(head.cells)
        self.line((3.0, self.bottom), (RIGHT, self.bottom), HAIR)
        for x in (LEFT - 0.8, LEFT):
            self.line((x, 3.0), (x, self.bottom))
        for number, text in enumerate(head.method):
            y = self.bottom + _LINE * (number + 1)
            self.write(LEFT + 2.0, y, text, fontsize=6.0, color=PENCIL)

    def _cells(self, cells: tuple[tuple[str, str], ...]) -> None:
        wide = (RIGHT - LEFT) / len(cells)
        for number, (label, value) in enumerate(cells):
            x = LEFT + wide * number
            if number:
                self.line((x, _TOP), (x, _TOP + _CELLS))
            self.write(x + 2.0, _TOP + 2.9, label, fontsize=5.5, color=PENCIL)
            self.write(x + 2.0, _TOP + 6.9, value, fontsize=7.5)
        self.line((3.0, _TOP + _CELLS), (RIGHT, _TOP + _CELLS))


def drawn(head: Head, body: float, draw: Callable[[Sheet], None], kind: Kind) -> bytes:
    """Draw a sheet with a body of so many millimetres; return the octets of the picture."""
    # Whatever the process has set for other pictures, nothing of it reaches this one; the library
    # keeps it for the whole process, and two jobs at once would draw with each other's.
    with _DRAWING, warnings.catch_warnings(), mpl.rc_context():
        warnings.simplefilter("ignore")
        mpl.rcdefaults()
        mpl.rcParams.update(_LOOK)
        sheet = Sheet(head, body)
        draw(sheet)
        return _svg(sheet, head) if kind == "svg" else _png(sheet, head)


def blank(head: Head, sentence: str, kind: Kind) -> bytes:
    """Draw a sheet that says in one sentence why there is nothing on it."""

    def draw(sheet: Sheet) -> None:
        sheet.write(LEFT + 2.0, sheet.top + 12.0, sentence, fontsize=8.5)

    return drawn(head, 24.0, draw, kind)


def _heading(head: Head) -> str:
    return f"{head.what}: {short(head.title, 64)}"


def _png(sheet: Sheet, head: Head) -> bytes:
    octets = BytesIO()
    said = {"Title": _heading(head), "Description": head.told}
    canvas: Any = FigureCanvasAgg(sheet.figure)
    canvas.print_png(octets, metadata={"Software": None, **said})
    return octets.getvalue()


def _svg(sheet: Sheet, head: Head) -> bytes:
    octets = BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    canvas: Any = FigureCanvasSVG(sheet.figure)
    canvas.print_svg(octets, metadata=nothing)
    text = octets.getvalue().decode("utf-8")
    # No DOCTYPE: our own door for XML, and many others, would not open.
    _, _, text = text.partition("<svg ")
    opening, _, rest = text.partition(">")
    # Ids of two pictures on one page must differ.
    mark = sha256(text.encode("utf-8") + head.told.encode("utf-8")).hexdigest()[:10]
    rest = _TAG.sub(lambda tag: _marked(tag[0], f"p{mark}-"), _STYLE.sub("", rest, count=1))
    return (
        f'<?xml version="1.0" encoding="utf-8"?>\n<svg {opening} role="img"'
        f' stroke-linejoin="round" stroke-linecap="butt"'
        f' aria-labelledby="p{mark}-title p{mark}-desc">\n'
        f' <title id="p{mark}-title">{escape(_heading(head), quote=False)}</title>\n'
        f' <desc id="p{mark}-desc">{escape(head.told, quote=False)}</desc>{rest}'
    ).encode()


def _marked(tag: str, mark: str) -> str:
    """Put a mark before every id in a tag, and name a second choice of type."""
    for before in (' id="', "url(#", 'xlink:href="#'):
        tag = tag.replace(before, before + mark)
    if tag.startswith("<path"):
        tag = _DIGITS.sub(r"\1", tag)
    return tag.replace("'DejaVu Serif'", "'DejaVu Serif', serif")
