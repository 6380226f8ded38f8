"""The sheet of paper: templates filled and escaped. The only module that knows the template engine.

Danger: whatever is not `Markup` comes from strangers. It is made printable (no control, direction
or lone surrogate is left), cut, and escaped; `Markup` is made here and in `svg` alone.
"""

from functools import cache
from importlib import resources

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from tailsout.ground.units import printable
from tailsout.views.report.blocks import Block

_MOST_TEXT = 2000
"""Characters of one value; the side-cars hold it all."""


def sheet(template: str = "page.html", **parts: object) -> str:
    """Return the whole page."""
    return _engine().get_template(template).render(css=Markup(css()), **parts)  # noqa: S704  ours


def css() -> str:
    """Return the style of the sheet."""
    return _template_text("sheet.css")


def drawn(block: Block) -> Markup:
    """Return one block as HTML."""
    macro = getattr(_engine().get_template("blocks.html").module, type(block).__name__)
    made: Markup = macro(block)
    return made


def shown(text: str) -> str:
    """Make a stranger's text fit to be shown; its lines stay lines."""
    cut = text[:_MOST_TEXT].replace("\r\n", "\n")
    lines = "\n".join(printable(line) for line in cut.split("\n"))
    return lines if len(text) <= _MOST_TEXT else f"{lines}…({len(text) - _MOST_TEXT} more)"


@cache
def _engine() -> Environment:
    return Environment(
        loader=FunctionLoader(_template_text),
        autoescape=True,
        finalize=_finalize,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )


def _finalize(value: object) -> object:
    return shown(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _template_text(name: str) -> str:
    return (resources.files(__package__) / "templates" / name).read_text("utf-8")
