"""Drawings as SVG 1.1 within the page: shapes on a sheet 360 units wide, titled and described.

A unit is about a pixel on a telephone, and a little less than a point on A4.
"""

from collections.abc import Iterable
from decimal import Decimal

from markupsafe import Markup, escape

from tailsout.views.report.paper import shown

WIDTH = 360.0
Number = float | Decimal

HATCHES: dict[str, str] = {
    "line-up tone": "M2 0V6M5 0V6",
    "slate": "M2 0V6M-1 7L7 -1",
    "leader": "M0 0L6 6M6 0L0 6",
    "scrap tape": "M3 0V6M0 3H6",
    "silence": "M0 3H6",
    "speed change": "M-1 1L1 -1M0 6L6 0M5 7L7 5",
    "blank": "M-1 5L1 7M0 0L6 6M5 -1L7 1",
}
"""What fills a region of each kind but programme, as in the plots: strokes in a square of 6."""


def number(value: Number) -> str:
    """Write a coordinate to a tenth."""
    text = f"{float(value):.1f}"
    return text.removesuffix(".0")


def element(name: str, *inside: Markup, **attributes: str | Number) -> Markup:
    """Return one element; `_` in a name of an attribute stands for `-`, at its end for nothing."""
    told = "".join(
        f' {key.removesuffix("_").replace("_", "-")}="{_written(one)}"'
        for key, one in attributes.items()
    )
    if not inside:
        return Markup(f"<{name}{told}/>")  # noqa: S704  names are ours, values are escaped
    return Markup(f"<{name}{told}>{Markup().join(inside)}</{name}>")  # noqa: S704  the same


def _written(value: str | Number) -> str:
    return escape(value) if isinstance(value, str) else number(value)


def text(x: Number, y: Number, words: str, **attributes: str | Number) -> Markup:
    """Return a line of text that begins at a place, or as `text_anchor` says."""
    return element("text", escape(shown(words)), x=x, y=y, **attributes)


def line(x1: Number, y1: Number, x2: Number, y2: Number, **attributes: str | Number) -> Markup:
    """Return a straight line."""
    return element("path", d=f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}", **attributes)


def box(x: Number, y: Number, width: Number, height: Number, **more: str | Number) -> Markup:
    """Return a rectangle."""
    return element("rect", x=x, y=y, width=width, height=height, **more)


def hatches(kinds: Iterable[str], prefix: str) -> Markup:
    """Return the definitions of what fills regions of these kinds."""
    return element(
        "defs",
        *(
            element(
                "pattern",
                element("path", d=HATCHES[kind], class_="hatch"),
                id=fill(kind, prefix),
                width=6,
                height=6,
                patternUnits="userSpaceOnUse",
            )
            for kind in kinds
            if kind in HATCHES
        ),
    )


def fill(kind: str, prefix: str) -> str:
    """Return the id of what fills regions of a kind."""
    return f"{prefix}-{kind.replace(' ', '-')}"


def drawing(name: str, height: Number, parts: Iterable[Markup], *, title: str, told: str) -> Markup:
    """Return a whole drawing; `name` is its own on the page, `told` says what is to be seen."""
    return element(
        "svg",
        element("title", escape(shown(title)), id=f"{name}-title"),
        element("desc", escape(shown(told)), id=f"{name}-told"),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(WIDTH)} {number(height)}",
        role="img",
        aria_labelledby=f"{name}-title {name}-told",
    )
