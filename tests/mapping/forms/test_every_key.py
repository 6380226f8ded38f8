"""Every key of every form, given every sort of bad value: one sentence and the right line each.

The forms are the blank ones with every row taken, so a key that joins a schema joins these tests.
Bad values that do not stand in each other's way are told in one reading.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.findings import Finding
from tailsout.mapping import schemas
from tailsout.mapping.forms.blank import blank
from tailsout.mapping.forms.form import Form, read_form
from tailsout.mapping.forms.job_forms import JobForms, read_job
from tailsout.mapping.forms.transfer import transfer_of

JOB_ID = "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"
FORMS: Mapping[str, tuple[str, Mapping[str, str]]] = {
    "job-0.1": ("job/job.toml", {"job_id": JOB_ID, "package_id": "SKL-0007", "studio": ".."}),
    "studio-0.1": ("studio.toml", {}),
    "people-0.1": ("people.toml", {}),
    "machine-0.1": ("machines/mk3-left.toml", {"id": "mk3-left"}),
    "recipient-0.1": ("recipients/harbour-archive.toml", {"id": "harbour-archive"}),
    "session-0.1": ("sessions/2026-03-14-mk3.toml", {"id": "2026-03-14-mk3"}),
    "converter-0.1": ("converters/c2.toml", {"id": "c2"}),
    "calibration-tape-0.1": ("calibration_tapes/ct-nab-7.toml", {"id": "ct-nab-7"}),
}
"""File in the studio, and what its blank form holds filled in."""
PRESENT = frozenset(
    {"images/box-front.jpg"}
    | {f"captures/{name}.wav" for name in ("at-rest", "side-a_002", "t1", "t2")}
)
BESIDE = {"2026-03-14-mk3": frozenset({"ct-nab-7.wav", "ct-nab-7-found.wav"})}
"""Captures of calibration tapes by session."""
SIDECAR = schemas.schema("sidecar-0.1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One place for a value: a row of a form, or one value in an inline table."""

    row: int
    """Counted from 0."""
    part: str
    """As a finding names it."""
    key: str
    node: Mapping[str, Any]
    inner: tuple["Cell", ...] = ()
    """Values of an inline table."""
    example: str = ""

    @property
    def every(self) -> tuple["Cell", ...]:
        return self.inner or (self,)


def resolved(node: Mapping[str, Any]) -> Mapping[str, Any]:
    while "$ref" in node:
        target: Any = SIDECAR
        for part in node["$ref"].partition("#")[2].split("/")[1:]:
            target = target[part]
        node = {**target, **{key: value for key, value in node.items() if key != "$ref"}}
    return node


@cache
def text_of(name: str) -> str:
    """The form with every row taken; what is explained keeps its place."""
    rows = blank(name, FORMS[name][1]).split("\n")
    return "\n".join(row if row.startswith("# ") else row.removeprefix("#") for row in rows)


def rows_of(name: str) -> list[str]:
    return text_of(name).split("\n")


def table_of(name: str, header: str) -> tuple[str, Mapping[str, Any]]:
    """Name of a table as a finding gives it, and its schema."""
    node: Mapping[str, Any] = schemas.schema(name)
    part = ""
    for key in header.split(".") if header else ():
        node = resolved(node["properties"][key])
        part += f".{key}"
        if node["type"] == "array":
            node = resolved(node["items"])
            part += "[1]"
    return part.removeprefix("."), node


@cache
def cells(name: str) -> tuple[Cell, ...]:
    return tuple(_cells(name))


def _cells(name: str) -> Iterator[Cell]:
    part, node = table_of(name, "")
    for row, text in enumerate(rows_of(name)):
        if text.startswith("["):
            part, node = table_of(name, text.strip("[]"))
        elif text and not text.startswith("#"):
            key, _, value = text.partition(" = ")
            yield _cell(row, part, key, resolved(node["properties"][key]), value)


def _cell(row: int, part: str, key: str, node: Mapping[str, Any], value: str) -> Cell:
    whole = f"{part}.{key}".removeprefix(".")
    if node.get("type") != "object":
        return Cell(row=row, part=whole, key=key, node=node, example=value)
    pairs = (pair.split(" = ") for pair in value.strip("{} ").split(", "))
    inner = tuple(
        _cell(row, whole, one, resolved(node["properties"][one]), text) for one, text in pairs
    )
    return Cell(row=row, part=whole, key=key, node=node, inner=inner, example=value)


def spoilt(name: str, bad: Callable[[Cell], str]) -> tuple[str, list[tuple[int, str]]]:
    """The form with bad values where `bad` gives one, and line and part of each."""
    rows = rows_of(name)
    wanted = []
    for cell in cells(name):
        values = []
        for one in cell.every:
            value = bad(one)
            if value:
                inside = "[1]" if value.startswith("[") and one.node.get("type") == "array" else ""
                wanted.append((one.row + 1, one.part + inside))
            values.append(f"{one.key} = {value or one.example}")
        rows[cell.row] = f"{cell.key} = {{ {', '.join(values)} }}" if cell.inner else values[0]
    return "\n".join(rows), sorted(wanted)


class Desk:
    """A job that rests on one form of each kind, and what is told when one of them is spoilt."""

    def __init__(self, desk: Any) -> None:
        self.desk = desk
        for name, (file, _) in FORMS.items():
            rows = rows_of(name)
            if name == "job-0.1":
                # A setting that loses its name is told where the job names it too.
                rows = [row for row in rows if not row.startswith("setting = ")]
            desk.write(file, "\n".join(rows))

    def told(
        self, name: str, text: str | bytes, instead: Iterable[tuple[str, Any]] = ()
    ) -> list[Finding]:
        """What is told of the form; `instead` gives values to stand in it once it is read."""
        file = FORMS[name][0]
        self.desk.write(file, text)
        forms, findings = read_job(self.desk.job)
        shown = "job.toml" if name == "job-0.1" else f"studio/{file}"
        if forms is not None:
            (form,) = (one for one in every_form(forms) if one.name == shown)
            for part, value in instead:
                put(form.data, part, value)
            findings = transfer_of(forms, {"side-a": 96_000}, PRESENT, BESIDE)[1]
        assert {finding.place.file for finding in findings} <= {shown}
        for finding in findings:
            assert finding.text.isprintable()
            assert finding.text.endswith((".", "?"))
            assert len(finding.text) < 1000
        return list(findings)

    def places(self, name: str, text: str | bytes) -> list[tuple[int | None, str]]:
        told = self.told(name, text)
        return sorted((one.place.line, one.place.part) for one in told)


def every_form(forms: JobForms) -> Iterator[Form]:
    yield from (one for one in (forms.job, forms.studio, forms.people, forms.recipient) if one)
    for shelf in (forms.machines, forms.sessions, forms.calibration_tapes, forms.converters):
        yield from shelf.values()


@pytest.fixture
def full(desk: Any) -> Desk:
    return Desk(desk)


def kinds(node: Mapping[str, Any]) -> set[str]:
    """The sorts of value a node takes; a whole number is a number too."""
    kind = node.get("type", "string")
    if kind == "array":
        return {f"list of {one}" for one in kinds(resolved(node["items"]))}
    return {kind, "integer"} if kind == "number" else {kind}


WRONG = {
    "7": "integer",
    "1.5": "number",
    "nan": "none",
    "true": "boolean",
    '"no such word!"': "string",
    "[7]": "list of integer",
    '["no such word!"]': "list of string",
    "[[]]": "list of lists",
    "{ zzz = 7 }": "object",
}
"""Values and what they are."""


@pytest.mark.parametrize("name", FORMS)
def test_a_form_with_every_row_taken_is_good(full: Desk, name: str) -> None:
    assert full.told(name, text_of(name)) == []


def wrong_type(value: str) -> Callable[[Cell], str]:
    return lambda cell: "" if WRONG[value] in kinds(cell.node) else value


def off_the_list(cell: Cell) -> str:
    """A text that is not a word of a list, and of no form that the schema asks for."""
    node = cell.node
    inside = resolved(node["items"]) if "items" in node else node
    closed = {"enum", "pattern", "format"} & set(inside)
    return BAD_TEXT[kind_of(node)] if closed else ""


def empty(cell: Cell) -> str:
    return EMPTY.get(kind_of(cell.node), "")


def kind_of(node: Mapping[str, Any]) -> str:
    (kind, *_) = sorted(kinds(node), reverse=True)
    return kind


BAD_TEXT = {"string": '"no such word!"', "list of string": '["no such word!"]'}
EMPTY = {"string": '""', "list of string": '[""]', "number": '""', "integer": '""'}
EMPTY |= {"boolean": '""', "list of number": '""'}
SORTS: Mapping[str, Callable[[Cell], str]] = {
    **{f"type {value}": wrong_type(value) for value in WRONG},
    "off the list": off_the_list,
    "empty": empty,
}
SPOILT = [
    pytest.param(name, sort, id=f"{name}-{sort}")
    for name in FORMS
    for sort in SORTS
    if spoilt(name, SORTS[sort])[1]
]


@pytest.mark.parametrize(("name", "sort"), SPOILT)
def test_each_bad_value_is_one_sentence_with_its_line(full: Desk, name: str, sort: str) -> None:
    text, wanted = spoilt(name, SORTS[sort])
    assert full.places(name, text) == wanted


@pytest.mark.parametrize("name", FORMS)
def test_no_key_is_left_out_of_these_tests(name: str) -> None:
    """Each takes no more than two sorts of value, so most of the others are wrong."""
    for cell in cells(name):
        for one in cell.every:
            bad = [sort for sort, make in SORTS.items() if make(one)]
            assert len(bad) >= len(WRONG) - 2, one.part


LONG = "m" * 1_000_000


def put(data: dict[str, Any], part: str, value: Any) -> None:
    """Put a value where a finding's part points."""
    *way, key = part.replace("[1]", ".0").split(".")
    inside: Any = data
    for one in way:
        inside = inside[int(one) if one.isdecimal() else one]
    inside[int(key) if key.isdecimal() else key] = value


@pytest.mark.parametrize("name", FORMS)
def test_a_megabyte_in_every_key(full: Desk, name: str) -> None:
    """Put in behind the reading, which no form of as many megabytes would pass."""
    wanted = []
    for cell in cells(name):
        for one in cell.every:
            part = f"{one.part}[1]" if kind_of(one.node) == "list of string" else one.part
            wanted.append((cell.row + 1, part))
    told = full.told(name, text_of(name), [(part, LONG) for _, part in wanted])
    assert sorted((one.place.line, one.place.part) for one in told) == sorted(wanted)


@pytest.mark.parametrize("name", FORMS)
def test_longer_than_any_key_allows(full: Desk, name: str) -> None:
    kept = '"' + "m" * 12_000 + '"'
    texts = {"string": kept, "list of string": f"[{kept}]"}
    text, wanted = spoilt(name, lambda cell: texts.get(kind_of(cell.node), ""))
    assert full.places(name, text) == wanted


def headers(name: str) -> list[tuple[int, str]]:
    """Row and text of each table's header."""
    return [(row, text) for row, text in enumerate(rows_of(name)) if text.startswith("[")]


def inserted(rows: list[str], extra: Mapping[int, str]) -> tuple[str, dict[int, int]]:
    """The form with rows put behind others, and the line of each."""
    lines = {}
    text = []
    for row, one in enumerate(rows):
        text.append(one)
        if row in extra:
            text.append(extra[row])
            lines[row] = len(text)
    return "\n".join(text), lines


def behind_headers(name: str, value: str) -> tuple[str, list[tuple[int, str]]]:
    """The form with one more row in each table, and line and table of each."""
    rows = rows_of(name)
    top = rows.index("")  # the comments at the top of the form end here
    text, lines = inserted(rows, {top: value, **{row: value for row, _ in headers(name)}})
    tables = {top: "", **{row: table_of(name, one.strip("[]"))[0] for row, one in headers(name)}}
    return text, [(lines[row], tables[row]) for row in lines]


@pytest.mark.parametrize(("row", "part"), [("zzz = 7", "zzz"), ("absent = 7", "absent")])
@pytest.mark.parametrize("name", FORMS)
def test_one_row_too_many_in_every_table(full: Desk, name: str, row: str, part: str) -> None:
    text, lines = behind_headers(name, row)
    wanted = [(line, f"{table}.{part}".removeprefix(".")) for line, table in lines]
    assert full.places(name, text) == sorted(wanted)


@pytest.mark.parametrize("absence", ["zzz", "unknown"])
@pytest.mark.parametrize("name", FORMS)
def test_an_absence_that_is_none_in_every_table(full: Desk, name: str, absence: str) -> None:
    """A word that is none, or one that stands for no key of the table."""
    text, lines = behind_headers(name, f'absent = {{ zzz = "{absence}" }}')
    told = full.told(name, text)
    assert {one.place.line for one in told} == {line for line, _ in lines}


@pytest.mark.parametrize("name", FORMS)
def test_what_is_no_table_where_one_should_be(full: Desk, name: str) -> None:
    """Each table in turn becomes a text, among what its own holder cannot do without."""
    for _, header in headers(name):
        *above, key = header.strip("[]").split(".")
        text = alone(name, ".".join(above), f'{key} = "x"')
        part = f"{table_of(name, '.'.join(above))[0]}.{key}".removeprefix(".")
        told = [one for one in full.told(name, text) if one.code != "form-reference"]
        assert [(one.place.line, one.place.part) for one in told] == [(text.count("\n"), part)]


def alone(name: str, table: str, row: str) -> str:
    """A row of some table by itself, with what the tables around it need."""
    kept = [one for one in cells(name) if "." not in one.part and one.key in FORMS[name][1]]
    text = [f"{one.key} = {one.example}" for one in kept]
    parts = table.split(".") if table else []
    for depth in range(1, len(parts) + 1):
        inner = ".".join(parts[:depth])
        part, node = table_of(name, inner)
        text.append(f"[[{inner}]]" if part.endswith("]") else f"[{inner}]")
        text += [
            f"{one.key} = {one.example}"
            for one in cells(name)
            if one.part == f"{part}.{one.key}" and one.key in node.get("required", ())
        ]
    return "\n".join([*text, row, ""])


@pytest.mark.parametrize("name", FORMS)
def test_each_key_twice(tmp_path: Path, name: str) -> None:
    rows = rows_of(name)
    for cell in cells(name):
        text, lines = inserted(rows, {cell.row: rows[cell.row]})
        assert lines_told(tmp_path, text.encode()) == [lines[cell.row]], cell.part
        for one in cell.inner:
            row = f"{cell.key} = {{ {one.key} = 1, {one.key} = 1 }}"
            text = "\n".join([*rows[: cell.row], row, *rows[cell.row + 1 :]])
            assert lines_told(tmp_path, text.encode()) == [cell.row + 1], one.part


@pytest.mark.parametrize("name", FORMS)
def test_each_table_twice(tmp_path: Path, name: str) -> None:
    rows = rows_of(name)
    for row, header in headers(name):
        if not header.startswith("[["):
            text, lines = inserted(rows, {row: header})
            assert lines_told(tmp_path, text.encode()) == [lines[row]], header


@pytest.mark.parametrize("name", FORMS)
def test_latin_1_in_each_row(tmp_path: Path, name: str) -> None:
    rows = [row.encode() for row in rows_of(name)]
    for row, text in enumerate(rows):
        spoilt_rows = [*rows[:row], text + b" # Zo\xeb", *rows[row + 1 :]]
        assert lines_told(tmp_path, b"\n".join(spoilt_rows)) == [row + 1]


def lines_told(folder: Path, content: bytes) -> list[int | None]:
    """The line of each fault of syntax."""
    (folder / "form.toml").write_bytes(content)
    form, findings = read_form(folder / "form.toml")
    assert form is None
    assert {one.code for one in findings} == {"form-syntax"}
    assert all(one.text.isprintable() and one.text.endswith(".") for one in findings)
    return [one.place.line for one in findings]


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("name", FORMS)
def test_line_ends_and_byte_order_marks_change_nothing(
    full: Desk, tmp_path: Path, name: str, end: str, mark: bytes
) -> None:
    good = text_of(name)
    assert full.told(name, mark + good.replace("\n", end).encode()) == []
    (tmp_path / "plain.toml").write_text(good, "utf-8")
    (tmp_path / "other.toml").write_bytes(mark + good.replace("\n", end).encode())
    assert read_form(tmp_path / "other.toml") == read_form(tmp_path / "plain.toml")
    bad, wanted = spoilt(name, wrong_type("[[]]"))
    assert full.places(name, mark + bad.replace("\n", end).encode()) == wanted
