"""What a page is put together from: few kinds of block, so that one template draws every section.

No block holds markup but a drawing's and a picture's, which are made here, never by a stranger.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from markupsafe import Markup


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A title within a section."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Labels, each with what is said of it."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of a list, with what stands beside it."""

    text: str
    when: str = ""
    mark: str = ""
    """A word that stands out, as a severity."""
    more: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """A list, or what happened along a line of time."""

    entries: tuple[Entry, ...]
    is_timeline: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; the first cell of a row heads the row."""

    caption: str
    titles: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A drawing that carries its own title and description."""

    svg: Markup
    caption: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Photograph:
    """A picture, small enough to be looked at here."""

    data: Markup
    """A JPEG in Base64."""
    alt: str
    caption: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Photographs:
    """Pictures side by side."""

    pictures: tuple[Photograph, ...]


Block = Heading | Paragraph | Rows | Entries | Table | Drawing | Photographs


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section of the page."""

    id: str
    title: str
    blocks: tuple[Block, ...]


def rows(pairs: Iterable[tuple[str, str | None]]) -> Iterator[Rows]:
    """Yield one block of the pairs that have a value, or nothing if none has."""
    told = tuple((label, value) for label, value in pairs if value)
    if told:
        yield Rows(rows=told)


def fewer(blocks: Iterable[Block], most_rows: int, most_drawings: int) -> Iterator[Block]:
    """Yield blocks with so many entries at most, each saying how many it leaves out."""
    left_out = 0
    drawings = 0
    for one in blocks:
        drawings += isinstance(one, Drawing)
        if isinstance(one, Drawing) and drawings > most_drawings:
            left_out += 1
        else:
            yield _shortened(one, most_rows)
    if left_out:
        yield Paragraph(text=f"{left_out} more drawings are left out here.")


def _shortened(block: Block, most: int) -> Block:
    if isinstance(block, Rows) and len(block.rows) > most:
        return Rows(rows=(*block.rows[:most], ("and", _more(len(block.rows) - most))))
    if isinstance(block, Entries) and len(block.entries) > most:
        last = Entry(text=_more(len(block.entries) - most))
        return replace(block, entries=(*block.entries[:most], last))
    if isinstance(block, Table) and len(block.rows) > most:
        blank = ("",) * (len(block.titles) - 1)
        return replace(block, rows=(*block.rows[:most], (_more(len(block.rows) - most), *blank)))
    return block


def _more(count: int) -> str:
    return f"{count} more, which the package's own files hold"
