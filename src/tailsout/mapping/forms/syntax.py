"""What is wrong with a form that is no TOML, in words for whoever fills forms in.

The standard library's reader speaks of documents, statements and namespaces, and its words are all
that tells its complaints apart. One that is not known here is passed on as it stands.
"""

from tailsout.ground.units import printable

_SHOWN = 100
"""Characters of a line that are shown."""

_SAID = (
    (
        "Expected newline or end of document after a statement",
        (
            "something is left over behind a value; a number has a full stop and no comma, all "
            "else stands in straight quotation marks"
        ),
    ),
    (
        "Invalid value",
        (
            "here is no value; text stands in straight quotation marks, absence words too; yes "
            "and no are true and false"
        ),
    ),
    (
        "Illegal character '\\n'",
        "a text does not end on its line; close it with the mark before it",
    ),
    ('Expected "\'"', "a text does not end; close it with the mark before it"),
    ("Unterminated string", "a text does not end; close it with the marks before it"),
    (
        "Unescaped '\\' in a string",
        "a backslash stands in a text; between folders write /, and elsewhere write it twice",
    ),
    (
        "Invalid hex value",
        "a backslash stands in a text; between folders write /, and elsewhere write it twice",
    ),
    (
        "Invalid date or datetime",
        "no calendar or clock has this; write 2026-03-14 or 2026-03-14T10:20:00Z",
    ),
    ("Cannot overwrite a value", "this key stands already; each stands once in its table"),
    (
        "Cannot declare",
        (
            "this table stands already; put its keys below the first one, or write it as [[table]] "
            "each time if there are several"
        ),
    ),
    ("Expected ']' at the end of a table", "the name of a table ends with ]"),
    ("Expected ']]' at the end of an array", "the name of a table that repeats ends with ]]"),
    (
        "Expected '=' after a key",
        "behind a key stands =, and a key has plain letters, digits, - and _ only",
    ),
    ("Unclosed array", "a list does not end; it ends with ]"),
    ("Unclosed inline table", "a table in braces does not end on its line; it ends with }"),
    (
        "Invalid statement",
        "this is neither key = value nor [table]; a key has plain letters, digits, - and _ only",
    ),
)
"""How a complaint of `tomllib` begins, in the words of CPython 3.11, and what is said for it."""


def told(complaint: str, text: str) -> tuple[int, str]:
    """Return the line of a form that its reader stopped at, from 1, and a sentence about it."""
    what, _, at = complaint.rpartition(" (at line ")
    number = at.partition(",")[0]
    lines = text.split("\n")
    # Only what is not closed is found at the end, and its beginning is not told.
    line = int(number) if number.isdigit() else len(lines)
    what = what or complaint.removesuffix(" (at end of document)")
    said = next((ours for theirs, ours in _SAID if what.startswith(theirs)), printable(what, 200))
    shown = printable(lines[line - 1].strip(), _SHOWN) if number.isdigit() else ""
    return line, f"in `{shown}`: {said}." if shown else f"{said}."
