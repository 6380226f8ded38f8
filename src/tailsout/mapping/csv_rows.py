"""Tables for spreadsheets, both ways: comma-separated values as RFC 4180 has them.

Written: UTF-8 without a mark, CRLF, every cell in quotes. A cell that a spreadsheet would reckon
with is made harmless by an apostrophe before it (list of OWASP, *CSV Injection*: = + - @ tab CR,
and LF and the full-width signs of its later editions) and reads back unchanged. So is what would
begin a cell for a spreadsheet that parts them by semicolons or tabs, and so loses its way in the
quotes. Read: what spreadsheets make of it, too (a byte-order mark, semicolons or tabs, Latin-1),
which is told.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable

MOST_OCTETS = 64 << 20
"""Of a whole table; read no more of a file than this and one."""
MOST_ROWS = 100_000
MOST_COLUMNS = 256
MOST_CHARACTERS = 32_767
"""Of one cell: what the usual spreadsheets hold (common practice, no source)."""
MOST_FAULTS = 100

_RECKONED_WITH = "'*[=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20]"
_START = '(\\A|[;\t\r\n]"*)'
"""Where a cell begins, be it only for a program that parts them by semicolons or tabs."""
_LIVE = re.compile(f"{_START}(?={_RECKONED_WITH})")
_TAMED = re.compile(f"{_START}'(?={_RECKONED_WITH})")
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_WIDE_MARKS = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row below the header."""

    line: int
    """Where it begins in the file, counted from 1."""
    cells: Mapping[str, str]
    """By the name of the column; every column is there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowFault:
    """A row that could not be taken."""

    line: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table that was read."""

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    faults: tuple[RowFault, ...] = ()
    """At most `MOST_FAULTS` of them."""
    told: tuple[str, ...] = ()
    """In what it departs from RFC 4180 and was read all the same, one sentence each."""


def write(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """Return the octets of a table; None becomes an empty cell, a lone surrogate its escape."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    for cells in (columns, *rows):
        writer.writerow([_harmless("" if cell is None else str(cell)) for cell in cells])
    return out.getvalue().encode("utf-8", "backslashreplace")


def read(content: bytes) -> Table:
    """Read a table with a header row.

    Empty rows are passed over. Raises MaterialError if it is no such table or beyond a limit.
    """
    if len(content) > MOST_OCTETS:
        raise MaterialError(
            f"The table has more than {MOST_OCTETS} octets.", "Part it into several."
        )
    text, told = _text(content)
    separator = _separator(text)
    if separator != ",":
        told.append(f"Its cells are parted by {_SEPARATORS[separator]} instead of commas.")
    records = _records(text, separator)
    line, header = next(records, (1, []))
    columns = _columns(header, line)
    rows: list[Row] = []
    faults: list[RowFault] = []
    for line, cells in records:
        if not any(cells):
            continue
        if len(rows) + len(faults) >= MOST_ROWS:
            raise MaterialError(
                f"The table has more than {MOST_ROWS} rows.", "Part it into several."
            )
        if fault := _fault(cells, columns):
            if len(faults) < MOST_FAULTS:
                faults.append(RowFault(line=line, text=fault))
            continue
        held = map(_as_meant, cells)
        rows.append(Row(line=line, cells=dict(zip(columns, held, strict=True))))
    return Table(columns=columns, rows=tuple(rows), faults=tuple(faults), told=tuple(told))


def _harmless(cell: str) -> str:
    # Apostrophes before such a sign get one more, so that reading takes away what writing added.
    return _LIVE.sub(r"\1'", cell)


def _as_meant(cell: str) -> str:
    return _TAMED.sub(r"\1", cell)


def _text(content: bytes) -> tuple[str, list[str]]:
    """Decode a table; say what it is if it is not plain UTF-8."""
    told = []
    if content.startswith(_WIDE_MARKS):
        raise MaterialError(
            "The table is UTF-16 text, which RFC 4180 does not know.", "Save it as CSV, UTF-8."
        )
    if content.startswith(b"\xef\xbb\xbf"):
        content = content[3:]
        told.append("It begins with a byte-order mark.")
    try:
        return content.decode("utf-8"), told
    except UnicodeDecodeError:
        told.append("It is not UTF-8 and was read as Latin-1: look at letters with accents.")
        return content.decode("latin-1"), told


def _separator(text: str) -> str:
    """Return what parts the cells of the header: the first such sign outside quotes."""
    is_quoted = False
    for character in text[:MOST_CHARACTERS]:
        if character == '"':
            is_quoted = not is_quoted
        elif not is_quoted and character in _SEPARATORS:
            return character
        elif not is_quoted and character in "\r\n":
            break
    return ","


def _records(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each record with the line on which it begins. Raises MaterialError."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise MaterialError(
                f"The table cannot be read from line {line} on: {printable(str(error))}.",
                "A quote inside a cell is written twice, a cell with one is in quotes, and a cell "
                f"has at most {MOST_CHARACTERS} characters.",
            ) from error
        yield line, cells


def _columns(header: list[str], line: int) -> tuple[str, ...]:
    columns = tuple(cell.strip() for cell in header)
    faults = {
        "it is empty": not any(columns),
        f"it has more than {MOST_COLUMNS} columns": len(columns) > MOST_COLUMNS,
        "a column has no name": not all(columns),
        "two columns have one name": len(set(columns)) < len(columns),
        f"a name has more than {MOST_CHARACTERS} characters": any(
            len(name) > MOST_CHARACTERS for name in columns
        ),
    }
    for why, is_so in faults.items():
        if is_so:
            raise MaterialError(
                f"The header in line {line} cannot be used: {why}.",
                "The first row names the columns, each by a name of its own.",
            )
    return columns


def _fault(cells: list[str], columns: tuple[str, ...]) -> str:
    if len(cells) != len(columns):
        return f"it has {len(cells)} cells; the header has {len(columns)}."
    for name, cell in zip(columns, cells, strict=True):
        if len(cell) > MOST_CHARACTERS:
            return (
                f"its cell {printable(name, 100)!r} has {len(cell)} characters; "
                f"at most {MOST_CHARACTERS} are read."
            )
    return ""
