"""Comma-separated values: RFC 4180 clause by clause, and what spreadsheets do to it."""

import contextlib
import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import MaterialError
from tailsout.mapping import csv_rows
from tailsout.mapping.csv_rows import read, write

# OWASP, "CSV Injection" (from memory): the first four editions' list, then what came later.
OWASP = ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"]


def cells(content: bytes) -> list[dict[str, str]]:
    table = read(content)
    assert table.faults == ()
    return [dict(row.cells) for row in table.rows]


# RFC 4180 §2, rule by rule


def test_each_record_is_a_line_ended_by_crlf() -> None:
    assert write(["a", "b"], [[1, 2]]) == b'"a","b"\r\n"1","2"\r\n'
    assert cells(b"a,b\r\n1,2\r\n") == [{"a": "1", "b": "2"}]


def test_the_last_record_may_lack_its_line_end() -> None:
    assert cells(b"a,b\r\n1,2") == [{"a": "1", "b": "2"}]


def test_blanks_are_part_of_a_cell() -> None:
    assert cells(b"a,b\r\n 1 ,\t2\r\n") == [{"a": " 1 ", "b": "\t2"}]


def test_cells_may_be_in_quotes_or_not() -> None:
    assert cells(b'a,b\r\n"1",2\r\n') == [{"a": "1", "b": "2"}]


def test_line_ends_quotes_and_commas_stand_in_quotes() -> None:
    table = read(b'a,b\r\n"x\r\ny, z","he said ""no"""\r\nu,v\r\n')
    assert [dict(row.cells) for row in table.rows] == [
        {"a": "x\r\ny, z", "b": 'he said "no"'},
        {"a": "u", "b": "v"},
    ]
    # The record after a cell of two lines begins on the fourth line of the file.
    assert [row.line for row in table.rows] == [2, 4]


def test_a_quote_inside_a_cell_without_quotes_is_refused() -> None:
    with pytest.raises(MaterialError, match="cannot be read from line 2 on"):
        read(b'a\r\n"x"y\r\n')


def test_a_quote_that_is_never_closed_is_refused() -> None:
    with pytest.raises(MaterialError, match="cannot be read from line 2 on"):
        read(b'a\r\n"x\r\ny\r\n')


def test_a_cell_beyond_what_the_reader_itself_takes_is_refused_with_the_limit() -> None:
    with pytest.raises(MaterialError, match="cannot be read from line 2 on") as met:
        read(b"a\r\n" + b"x" * 200_000 + b"\r\n")
    assert f"at most {csv_rows.MOST_CHARACTERS} characters" in f"{met.value} {met.value.remedy}"


# What a spreadsheet reckons with


@pytest.mark.parametrize("sign", OWASP)
def test_a_cell_that_would_be_reckoned_with_is_made_harmless(sign: str) -> None:
    formula = f'{sign}HYPERLINK("http://127.0.0.1/?x="&A1,"open")'
    written = write(["note"], [[formula]])
    (_, (shown,)) = csv.reader(io.StringIO(written.decode(), newline=""))
    assert shown == f"'{formula}"
    assert cells(written) == [{"note": formula}]


@pytest.mark.parametrize("sign", ["a=", " =", "'", "''", "1-", ".", "(", "%"])
def test_any_other_cell_is_written_as_it_is(sign: str) -> None:
    assert write(["note"], [[f"{sign}1"]]) == f'"note"\r\n"{sign}1"\r\n'.encode()


def test_a_cell_cannot_begin_another_one() -> None:
    # OWASP: a separator or quote in a cell must not start a new one, in any locale.
    cells = ['x";=1+1;"', "x,=1+1", "x\r\n=1+1", 'x;"=1+1&"', "x\t@SUM(1)", "x;\t=1"]
    written = write(["note", "more"], [[one, two] for one in cells for two in cells])
    for delimiter in (",", ";", "\t"):
        for row in csv.reader(io.StringIO(written.decode(), newline=""), delimiter=delimiter):
            assert [cell for cell in row if cell.startswith(("=", "@"))] == []


def test_an_apostrophe_of_ones_own_stays() -> None:
    rows = [["'=1"], ["''=1"], ["'til dawn"], ["'"]]
    assert [list(row.values()) for row in cells(write(["note"], rows))] == rows


@given(st.lists(st.lists(st.text(max_size=8), min_size=2, max_size=2), max_size=4))
def test_what_is_written_reads_back_unchanged(rows: list[list[str]]) -> None:
    kept = [row for row in rows if any(row) and _is_unicode(row)]
    found = cells(write(["a", "b"], kept))
    assert [[row["a"], row["b"]] for row in found] == kept


@given(st.lists(st.text(alphabet="=+-@\t\r\n'\",; x＝", max_size=6), min_size=1, max_size=4))
def test_so_does_what_is_full_of_signs(row: list[str]) -> None:
    columns = [f"c{n}" for n in range(len(row))]
    assert [list(found.values()) for found in cells(write(columns, [row]))] == (
        [row] if any(row) else []
    )


def _is_unicode(row: list[str]) -> bool:
    return not any("\ud800" <= c <= "\udfff" for cell in row for c in cell)


@given(st.binary(max_size=64))
def test_any_octets_are_a_table_or_refused(content: bytes) -> None:
    with contextlib.suppress(MaterialError):
        assert all(set(row.cells) == set(read(content).columns) for row in read(content).rows)


def test_names_that_are_no_unicode_are_written_as_escapes() -> None:
    assert write(["path"], [["data/\udcff.wav"]]) == b'"path"\r\n"data/\\udcff.wav"\r\n'


def test_nothing_is_an_empty_cell() -> None:
    assert cells(write(["a", "b"], [[None, 0]])) == [{"a": "", "b": "0"}]


# What spreadsheets leave behind


def test_a_byte_order_mark_is_told() -> None:
    table = read(b"\xef\xbb\xbfa,b\n1,2\n")
    assert table.columns == ("a", "b")
    assert table.told == ("It begins with a byte-order mark.",)


@pytest.mark.parametrize(("sign", "word"), [(";", "semicolons"), ("\t", "tabs")])
def test_other_separators_are_told(sign: str, word: str) -> None:
    content = f'"a, and more"{sign}b\n1,5{sign}2\n'.encode()
    table = read(content)
    assert [dict(row.cells) for row in table.rows] == [{"a, and more": "1,5", "b": "2"}]
    assert table.told == (f"Its cells are parted by {word} instead of commas.",)


def test_a_line_end_within_quotes_does_not_end_the_header() -> None:
    table = read(b'"of the\nreel";b\n1;2\n')
    assert table.columns == ("of the\nreel", "b")


def test_latin_1_is_told() -> None:
    table = read("title\r\nDåhl\r\n".encode("latin-1"))
    assert table.rows[0].cells["title"] == "Dåhl"
    assert table.told == ("It is not UTF-8 and was read as Latin-1: look at letters with accents.",)


def test_plain_tables_have_nothing_to_tell() -> None:
    assert read("title\r\nDåhl\r\n".encode()).told == ()


@pytest.mark.parametrize("codec", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_is_refused(codec: str) -> None:
    content = "\ufeffa,b".encode(codec) if codec != "utf-16" else "a,b".encode(codec)
    with pytest.raises(MaterialError, match="UTF-16"):
        read(content)


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
def test_all_line_ends_are_read(end: str) -> None:
    assert cells(f"a{end}1{end}2{end}".encode()) == [{"a": "1"}, {"a": "2"}]


def test_empty_rows_are_passed_over() -> None:
    table = read(b"a,b\n\n,\n1,2\n,\n")
    assert [(row.line, row.cells["a"]) for row in table.rows] == [(4, "1")]


# What is too much, and what is not a table


def test_a_field_of_ten_megabytes_is_refused() -> None:
    with pytest.raises(MaterialError, match="line 2 on"):
        read(b"a\n" + b"x" * 10_000_000 + b"\n")


def test_a_cell_beyond_the_limit_costs_its_row_alone() -> None:
    most = csv_rows.MOST_CHARACTERS
    table = read(b"a\n" + b"x" * (most + 1) + b"\n" + b"y" * most + b"\n1\n")
    assert [(fault.line, fault.text) for fault in table.faults] == [
        (2, f"its cell 'a' has {most + 1} characters; at most {most} are read.")
    ]
    assert [len(row.cells["a"]) for row in table.rows] == [most, 1]


def test_a_row_of_another_length_is_told_and_the_others_are_read() -> None:
    table = read(b"a,b\n1\n1,2\n1,2,3\n")
    assert [(fault.line, fault.text) for fault in table.faults] == [
        (2, "it has 1 cells; the header has 2."),
        (4, "it has 3 cells; the header has 2."),
    ]
    assert len(table.rows) == 1


def test_too_many_rows_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(csv_rows, "MOST_ROWS", 2)
    assert len(read(b"a\n1\n2\n").rows) == 2
    with pytest.raises(MaterialError, match="more than 2 rows"):
        read(b"a\n1\n2\n3\n")


def test_faults_are_counted_as_rows_and_listed_to_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(csv_rows, "MOST_FAULTS", 2)
    assert len(read(b"a,b\n" + b"1\n" * 5).faults) == 2


def test_too_many_octets_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(csv_rows, "MOST_OCTETS", 4)
    assert len(read(b"a\n1\n").rows) == 1
    with pytest.raises(MaterialError, match="more than 4 octets"):
        read(b"a\n1\n2")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "it is empty"),
        (b"\r\n", "it is empty"),
        (b",\n1,2\n", "it is empty"),
        (b"a,\n1,2\n", "a column has no name"),
        (b"a, a\n1,2\n", "two columns have one name"),
        (b",".join(b"%d" % n for n in range(257)), "more than 256 columns"),
        (b"x" * 32_768, "more than 32767 characters"),
    ],
)
def test_a_header_that_cannot_be_used(content: bytes, why: str) -> None:
    with pytest.raises(MaterialError, match=why):
        read(content)
