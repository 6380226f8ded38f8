"""A label as PDF (ISO 32000): one page of the label's own size, its font embedded."""

from datetime import datetime
from importlib.util import find_spec
from pathlib import Path

from fpdf import FPDF
from fpdf.fonts import TTFFont

from tailsout.views.label.layout import Label, Text

_FONT = "label"
_POINTS = 72 / 25.4


def drawn(label: Label, instant: datetime) -> bytes:
    """Return a label as PDF; `instant` is when it says that it was made."""
    page = FPDF(unit="mm", format=(label.width, label.height))
    page.set_auto_page_break(auto=False)
    page.set_creation_date(instant)
    page.set_title(label.title)
    page.set_producer("tailsout")
    for style, name in (("", "DejaVuSansMono.ttf"), ("B", "DejaVuSansMono-Bold.ttf")):
        page.add_font(_FONT, style, _fonts() / name)
    page.add_page()
    page.set_line_width(0.3)
    for one in label.items:
        if isinstance(one, Text):
            page.set_font(_FONT, "B" if one.is_bold else "", one.size * _POINTS)
            page.text(one.x, one.y, _held(one.words, page.current_font))
        else:
            page.rect(one.x, one.y, one.width, one.height, style="F" if one.is_filled else "D")
    return bytes(page.output())


def _held(words: str, font: object) -> str:
    """Put a sign in place of each letter that the font has not; it would leave no trace."""
    glyphs = font.cmap if isinstance(font, TTFFont) else {}
    return "".join(c if ord(c) in glyphs else "\N{REPLACEMENT CHARACTER}" for c in words)


def _fonts() -> Path:
    """Return the folder of free fonts that the plotting library brings, without loading it."""
    found = find_spec("matplotlib")
    if found is None or found.origin is None:
        raise ModuleNotFoundError("matplotlib, which this program depends on, is not installed")
    return Path(found.origin).parent / "mpl-data" / "fonts" / "ttf"
