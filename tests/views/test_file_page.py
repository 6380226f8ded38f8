"""The page of one audio file: all that was read of it, aligned, in 96 columns, safe to print."""

import dataclasses
import re
import types
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from itertools import count
from typing import Any, Union, get_args, get_origin, get_type_hints

import pytest

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ChunkFacts, ContainerFacts, Embedded
from tailsout.records.tags import SetMark, SourceIdentifier, Tags
from tailsout.views import file_page
from tailsout.views.rows import MOST_ROWS

PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=2, container_bits=24, valid_bits=24)
HOSTILE = "\x1b[2J\x07\u202e\x9b"
NOTE = Kind(
    code="wave-untidy",
    severity=Severity.NOTE,
    title="A wave file is untidy",
    basis="RIFF 1991 ch. 2",
    remedy="Nothing to do.",
)

FOUR = frozenset({"id", "chunk", "purpose"})
"""Fields of four characters."""
SHOWN_OTHERWISE = {
    ("Tags", "list_types"): "in the table of chunks, where there is such a chunk",
    ("XmlDocument", "all_text"): "nowhere: it is there for a rule to look through",
    ("EmbeddedHistoryLine", "parameters"): "as the lines stand",
    ("SourceIdentifier", "time"): "with colons",
    ("SetMark", "frames"): "as a time where the rate is known",
}


class Made:
    """A record of which every value stands once, so that each can be looked for."""

    def __init__(self, text: str = "") -> None:
        self.numbers = count(1_000_001)
        self.text = text

    def four(self) -> str:
        """What fills four octets of a file."""
        return f"{next(self.numbers) % 10_000:04}{self.text}"[-4:]

    def of(self, hint: Any) -> Any:
        if get_origin(hint) in {Union, types.UnionType}:
            (hint,) = (one for one in get_args(hint) if one is not type(None))
        origin, inside = get_origin(hint), get_args(hint)
        if dataclasses.is_dataclass(hint) and isinstance(hint, type):
            hints = get_type_hints(hint)
            names = [field.name for field in dataclasses.fields(hint)]
            return hint(**{n: self.four() if n in FOUR else self.of(hints[n]) for n in names})
        if origin is tuple and inside[-1] is ...:
            return (self.of(inside[0]), self.of(inside[0]))
        if origin is tuple:
            # A timer of cart: its usage has four characters.
            return (self.four(), self.of(int)) if int in inside else (self.of(str), self.of(str))
        if origin is Mapping:
            # The keys of a record are never a stranger's.
            key = self.four() if inside[0] is str else self.of(int)
            return {key: self.of(inside[1])}
        if hint is str:
            return f"m{next(self.numbers)}{self.text}"
        number = next(self.numbers)
        return {int: number, Decimal: Decimal(number) / 10, bool: True}[hint]


def made(text: str = "") -> FileRecord:
    maker = Made(text)
    return FileRecord(
        path="a.wav",
        octets=9_999_999,
        container=ContainerFacts(form="RIFF", chunks=maker.of(tuple[ChunkFacts, ...])),
        pcm=PCM,
        frames=96_000,
        embedded=maker.of(Embedded),
        tags=maker.of(Tags),
    )


def page(file: FileRecord, *findings: Finding) -> str:
    dossier = Dossier(origin="received", files=(file,))
    return file_page.render(dossier, findings, {}).decode("utf-8")


def values(record: Any, at: tuple[str, str] = ("", "")) -> Any:
    """Every value in a record, and the record and field it stands in."""
    if dataclasses.is_dataclass(record):
        for field in dataclasses.fields(record):
            name = (type(record).__name__, field.name)
            yield from values(getattr(record, field.name), name)
    elif isinstance(record, tuple):
        for one in record:
            yield from values(one, at)
    elif isinstance(record, Mapping):
        for one in record.values():
            yield from values(one, at)
    else:
        yield at, record


def without(file: FileRecord) -> set[tuple[str, str]]:
    """Record and field of every value that the page does not show."""
    text = " ".join(page(file).split())
    inside = (file.container, file.embedded, file.tags)
    return {
        at
        for record in inside
        for at, value in values(record)
        if str(value) not in text and not isinstance(value, bool) and at[0] != "ContainerFacts"
    }


def test_every_field_of_what_was_read_is_on_the_page() -> None:
    assert without(made()) == set(SHOWN_OTHERWISE)


def test_a_value_that_is_left_out_would_be_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(file_page, "tag_lines", lambda _tags, _rate: iter(()))
    assert ("Tags", "fact_frames") in without(made())
    assert ("InfoEntry", "text") in without(made())


@pytest.mark.parametrize("text", ["", HOSTILE, "x" * 3000, " and so on" * 40])
def test_no_line_is_wider_than_the_page_and_none_unsafe(text: str) -> None:
    for line in page(made(text)).split("\n"):
        assert line.isprintable()
        assert len(line) <= 96
        assert line == line.rstrip()


def test_what_was_not_decoded_is_said() -> None:
    told = [
        page(FileRecord(path="a", octets=4, container=ContainerFacts(form=form, chunks=())))
        for form in ("FLAC", "RIFF")
    ]
    assert ["were not decoded" in one for one in told] == [True, False]


def test_a_file_without_anything() -> None:
    file = FileRecord(
        path="a.wav", octets=0, container=ContainerFacts(form="RIFF", chunks=()), tags=Tags()
    )
    text = page(file)
    assert "format                not known" in text
    assert "What is wrong: nothing" in text


@pytest.mark.parametrize(
    ("octets", "shown"), [(120, "120 octets"), (20_000, "20000 octets (20.00 kB)")]
)
def test_a_size_is_not_told_twice(octets: int, shown: str) -> None:
    container = ContainerFacts(form="RIFF", chunks=())
    file = FileRecord(path="a.wav", octets=octets, container=container)
    page = file_page.render(Dossier(origin="received", files=(file,)), (), {}).decode()
    assert re.search(rf"^size +{re.escape(shown)}$", page, re.MULTILINE)


def test_a_table_is_aligned() -> None:
    chunks = (
        ChunkFacts(id="fmt ", offset=20, octets=16),
        ChunkFacts(id="data", offset=44, octets=5_000_000_001, pad=1),
    )
    file = replace(made(), container=ContainerFacts(form="RF64", chunks=chunks), tags=None)
    text = page(file).split("\n")
    at = text.index("Chunks") + 2
    assert text[at : at + 3] == [
        "id    header at  payload at      octets  pad  what it is",
        "fmt          12          20          16       format of the samples (RIFF 1991)",
        "data         36          44  5000000001    1  the samples (RIFF 1991)",
    ]


@pytest.mark.parametrize(
    ("version", "lines"),
    [
        (
            0,
            [
                "UMID                  version 0 has none",
                "loudness              version 0 has none",
            ],
        ),
        (1, ["UMID                  none", "loudness              version 1 has none"]),
        (2, ["UMID                  none", "loudness              unknown"]),
    ],
)
def test_what_a_version_of_bext_does_not_have(version: int, lines: list[str]) -> None:
    said = Embedded(
        version=version,
        description="",
        originator="",
        originator_reference="",
        origination_date="",
        origination_time="",
        time_reference=48_000 * 3_661,
        umid="",
    )
    text = page(replace(made(), embedded=said, tags=Tags()))
    for line in lines:
        assert line in text.split("\n")
    assert "since midnight, 1:01:01.000" in text
    assert "coding history        empty" in text


def test_a_time_reference_of_all_ones_is_shown_as_it_is() -> None:
    file = made()
    assert file.embedded is not None
    text = page(replace(file, embedded=replace(file.embedded, time_reference=(1 << 64) - 1)))
    assert "sample 18446744073709551615 since midnight\n" in text


def test_an_identifier_taken_apart() -> None:
    source = SourceIdentifier(
        country="XX", organisation="SPR", serial="GRY42  00017", time="124001", random="008206301"
    )
    text = page(replace(made(), tags=Tags(source=source)))
    assert "country XX, organisation SPR, serial GRY42  00017, made at\n" in text
    assert "12:40:01, random 008206301" in text


def test_marks_are_a_table_in_time() -> None:
    marks = (
        SetMark(frame=0, label="slate", note="", frames=480, purpose="rgn ", text="spoken"),
        SetMark(frame=48_000 * 3_600, label="fog", note="twice", frames=None, purpose="", text=""),
    )
    text = page(replace(made(), tags=Tags(marks=marks))).split("\n")
    at = text.index("Marks") + 2
    assert text[at : at + 3] == [
        "time            sample    length  what is said",
        "0:00.000             0  0:00.010  slate; rgn: spoken",
        "1:00:00.000  172800000            fog; note: twice",
    ]


def test_without_a_rate_no_moment_has_a_time() -> None:
    file = made()
    assert file.tags is not None
    file = replace(file, tags=replace(file.tags, documents=()))
    assert "0:20.833" in page(file)
    without_rate = page(replace(file, pcm=None, frames=None))
    assert not re.search(r"[0-9]:[0-9]{2}[.][0-9]{3}", without_rate)


def test_a_long_table_is_cut_and_counted() -> None:
    mark = SetMark(frame=0, label="x", note="", frames=None, purpose="", text="")
    text = page(replace(made(), tags=Tags(marks=(mark,) * (MOST_ROWS + 3))))
    assert text.count("0:00.000       0") == MOST_ROWS
    assert "… and 3 more\n" in text


def test_findings_are_gathered_by_kind_with_what_they_rest_on() -> None:
    one = NOTE.at(Place(file="a.wav", part="octet 12"), "it is odd.")
    two = NOTE.at(Place(file="a.wav"), "it is odder.")
    text = page(made(), one, two)
    assert text.endswith(
        "What is wrong: 2 to note\n"
        "------------------------\n"
        "note  wave-untidy: A wave file is untidy\n"
        "      by RIFF 1991 ch. 2\n"
        "      octet 12: it is odd.\n"
        "      whole file: it is odder.\n"
    )
