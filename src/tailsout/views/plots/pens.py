"""How channels are told apart without colour: each has a mark and a line of its own."""

from dataclasses import dataclass
from typing import Any

from matplotlib.lines import Line2D

from tailsout.views.plots.sheet import INK, SMALL, WIDTH, Sheet

MOST_CHANNELS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """A mark and a line."""

    marker: str
    fill: str
    """None in every second one: what lies behind it stays to be seen."""
    dashes: tuple[float, ...]
    """Lengths of stroke and gap; none: unbroken."""

    def style(self, *, line: bool = True) -> dict[str, Any]:
        """Return what the drawing calls take."""
        style: dict[str, Any] = {
            "color": INK,
            "marker": self.marker,
            "markersize": 5.2 if self.fill == "none" else 3.4,
            "markerfacecolor": self.fill,
            "markeredgecolor": INK,
            "markeredgewidth": 0.7,
            "linewidth": 0.8 if line else 0.0,
        }
        return {**style, "dashes": self.dashes} if line and self.dashes else style


PENS = tuple(
    Pen(marker=marker, fill=fill, dashes=dashes)
    for marker, fill, dashes in (
        ("o", INK, ()),
        ("s", "none", (5, 2)),
        ("^", INK, (1, 2)),
        ("v", "none", (6, 2, 1, 2)),
        ("s", INK, (9, 3)),
        ("o", "none", (3, 1)),
        ("D", INK, (2, 4)),
        ("P", "none", (9, 2, 1, 2, 1, 2)),
    )
)
"""Of the first channels, in order."""


def key(sheet: Sheet, place: tuple[float, float], style: dict[str, Any], text: str) -> None:
    """Explain a mark and a line, at a place of the sheet."""
    x, y = place
    across = [(x + 1.0) / WIDTH, (x + 9.0) / WIDTH]
    down = [1 - (y - 0.8) / sheet.height] * 2
    if not style.get("linewidth"):
        across, down = [sum(across) / 2], down[:1]
    sheet.figure.add_artist(Line2D(across, down, **style))
    sheet.write(x + 11.0, y, text, fontsize=SMALL)
