"""A table of reels becomes a job a row; what is there is never touched."""

import tomllib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, RefusedError, UsageError
from tailsout.mapping.forms.form import read_form
from tailsout.mapping.forms.reels import columns_of, told_in
from tailsout.work.begin import Begun, Wish
from tailsout.work.parallel import Done
from tailsout.work.reels import begin_all, read

HEADER = (
    "reel.identifiers.value,reel.identifiers.kind,reel.title,reel.diameter_in,"
    "reel.stock[1].base,reel.stock[2].id,reel.stock[1].id,reel.stock[1].base_told_by,"
    "reel.sides[1].id,reel.sides[2].id,reel.stock[1].back_coat"
)
ROWS = (
    'HA/SKL/1,shelf mark,"Log, ""first"" reel",7,polyester,s2,s1,label; tear,A,B,yes',
    "HA/SKL/2,barcode,unknown,10.5,unknown,,s1,,A,,no",
)


@pytest.fixture
def begun(bench: Any) -> Callable[..., dict[str, Done[Begun | None]]]:
    def run(*lines: str | bytes, **wish: Any) -> dict[str, Done[Begun | None]]:
        table = bench.root / "reels.csv"
        octets = [one if isinstance(one, bytes) else one.encode() for one in lines]
        table.write_bytes(b"\r\n".join(octets))
        ids = (f"00000000-0000-4000-8000-{n:012}" for n in range(1, 99))
        done = begin_all(
            read(table),
            bench.root / "jobs",
            Wish(studio=bench.studio, **wish),
            make_id=lambda: next(ids),
            disk=Disk(),
        )
        return {one.name: one for one in done}

    return run


def form(bench: Any, name: str) -> dict[str, Any]:
    text = (bench.root / "jobs" / name / "job.toml").read_text()
    return tomllib.loads(text, parse_float=Decimal)


def test_each_row_becomes_a_job(bench: Any, begun: Callable[..., Any]) -> None:
    done = begun(HEADER, *ROWS)
    assert [one.error for one in done.values()] == [None, None]
    told = form(bench, "HA-SKL-1")
    assert told["package_id"] == "HA-SKL-1"
    assert told["reel"] == {
        "title": 'Log, "first" reel',
        "diameter_in": Decimal(7),
        "identifiers": [{"value": "HA/SKL/1", "kind": "shelf mark"}],
        "stock": [
            {
                "id": "s1",
                "base": "polyester",
                "base_told_by": ["label", "tear"],
                "back_coat": True,
            },
            {"id": "s2"},
        ],
        "sides": [{"id": "A"}, {"id": "B"}],
    }
    read_again, findings = read_form(bench.root / "jobs/HA-SKL-2/job.toml")
    assert findings == ()
    assert read_again is not None
    assert read_again["reel"]["diameter_in"] == Decimal("10.5")
    assert read_again["reel"]["stock"][0]["absent"] == {"base": "unknown"}
    # A title is verbatim: a reel may be called so.
    assert read_again["reel"]["title"] == "unknown"
    assert (bench.root / "jobs/HA-SKL-2/captures").is_dir()


def test_every_row_has_a_job_id_of_its_own(bench: Any, begun: Callable[..., Any]) -> None:
    begun(HEADER, *ROWS, kind="retrospective")
    forms = [form(bench, f"HA-SKL-{number}") for number in (1, 2)]
    assert forms[0]["job_id"] != forms[1]["job_id"]
    assert {one["kind"] for one in forms} == {"retrospective"}


def test_what_is_told_goes_before_what_another_job_gives(
    bench: Any, begun: Callable[..., Any]
) -> None:
    bench.form(
        {"a": "captures/a.wav"},
        more='width_mm = 6.3\n[[reel.sides]]\nid = "A"\n[[passes]]\nid = "p1"\nmachine = "left"\n',
    )
    begun("reel.identifiers.value,passes[1].by,reel.width_mm", "HA/1,isolde,12.7", like=bench.job)
    told = form(bench, "HA-1")
    assert told["passes"] == [{"id": "p1", "machine": "left", "by": "isolde"}]
    assert told["reel"]["width_mm"] == Decimal("12.7")
    assert told["reel"]["sides"] == [{"id": "A"}]


def test_a_row_with_a_fault_never_stops_the_rest(bench: Any, begun: Callable[..., Any]) -> None:
    done = begun(
        "reel.identifiers.value,reel.diameter_in,reel.stock.id,reel.stock.base,folder",
        'R1,"7,5",s1,,',
        "R2,7,s1,wood,",
        "R3,7,,paper,",
        "R4,7,s1,,../R4",
        "R5,7",
        "R6,7,s1,paper,",
        "R6,7,s1,paper,",
        "R7,7,s1,paper,CON",
    )
    errors = {name: str(one.error) for name, one in done.items() if one.error}
    assert list(errors) == [f"line {n}" for n in (2, 3, 4, 5, 6, 8, 9)]
    assert "reel.diameter_in: '7,5' is not a number" in errors["line 2"]
    assert "reel.stock[1].base" in errors["line 3"]
    assert "'id' is missing" in errors["line 4"]
    assert "not a plain name" in errors["line 5"]
    assert "it has 2 cells" in errors["line 6"]
    assert isinstance(done["line 8"].error, RefusedError)
    assert "cannot be made" in errors["line 9"]
    assert [one.name for one in (bench.root / "jobs").iterdir()] == ["R6"]


def test_what_is_there_is_left_as_it_is(bench: Any, begun: Callable[..., Any]) -> None:
    begun(HEADER, ROWS[0])
    place = bench.root / "jobs/HA-SKL-1/job.toml"
    place.write_text(place.read_text() + "# filled in\n")
    before = bench.tree(bench.root / "jobs")
    done = begun(HEADER, *ROWS)
    assert (done["line 2"].came, done["line 2"].error) == (None, None)
    assert done["line 3"].came is not None
    after = bench.tree(bench.root / "jobs")
    assert {path: after[path] for path in before} == before


def test_another_job_in_the_rows_folder_is_refused(bench: Any, begun: Callable[..., Any]) -> None:
    bench.job = bench.root / "jobs/HA-SKL-1"
    bench.job.mkdir(parents=True)
    bench.form({"a": "captures/a.wav"})
    before = bench.tree(bench.root / "jobs")
    assert isinstance(begun(HEADER, ROWS[0])["line 2"].error, RefusedError)
    assert bench.tree(bench.root / "jobs") == before


@pytest.mark.parametrize(
    ("column", "near"),
    [
        ("reel.titel", "reel.title"),
        ("title", "reel.title"),
        ("Reel Title", "reel.title"),
        ("reel.stock[1]", "reel.stock.id"),
        ("reel.title[2]", "reel.title"),
        ("reel.stock[0].id", "reel.stock.id"),
        ("reel.stock[100].id", "reel.stock.id"),
        ("job_id", ""),
        ("xyzzy", ""),
    ],
)
def test_a_column_that_is_no_key_is_told_with_the_nearest(column: str, near: str) -> None:
    with pytest.raises(MaterialError) as caught:
        columns_of((column, "reel.title"))
    assert repr(column) in str(caught.value)
    if near:
        assert f"did you mean {near!r}?" in str(caught.value)


def test_a_column_that_is_no_key_stops_all(bench: Any, begun: Callable[..., Any]) -> None:
    with pytest.raises(MaterialError, match="not keys of a job's form"):
        begun("reel.identifiers.value,reel.titel", "R1,x")
    assert not (bench.root / "jobs").exists()


def test_what_spreadsheets_make_of_a_table_is_read(bench: Any, begun: Callable[..., Any]) -> None:
    begun(
        b"\xef\xbb\xbfreel.identifiers.value;reel.title;reel.note",
        "R1;Müller;'=a formula".encode(),
    )
    assert form(bench, "R1")["reel"]["title"] == "Müller"
    assert form(bench, "R1")["reel"]["note"] == "=a formula"
    begun(b"reel.identifiers.value,reel.title", b"R2,M\xfcller")
    assert form(bench, "R2")["reel"]["title"] == "Müller"


@pytest.mark.parametrize(
    ("column", "cell", "value"),
    [
        ("reel.acclimatised_hours", "12", Decimal(12)),
        ("reel.acclimatised_hours", "not recorded", "not recorded"),
        ("passes[1].kept", "TRUE", True),
        ("reel.sides[1].regions[1].start", "0:31.5", "0:31.5"),
        ("reel.sides[1].regions[1].start", "48000", 48000),
    ],
)
def test_a_cell_is_read_by_its_key(column: str, cell: str, value: object) -> None:
    told: Any = told_in(columns_of((column,)), {column: cell})
    while isinstance(told, dict | list):
        (told,) = told.values() if isinstance(told, dict) else told
    assert told == value


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("reel.acclimatised_hours", "NaN"),
        ("reel.acclimatised_hours", "12 h"),
        ("reel.acclimatised_hours", "1" * 50),
        ("passes[1].kept", "perhaps"),
        ("reel.sides[1].regions[1].start", "early"),
    ],
)
def test_a_cell_that_cannot_be_its_key_is_told(column: str, cell: str) -> None:
    with pytest.raises(MaterialError, match="is not"):
        told_in(columns_of((column,)), {column: cell})


def test_no_table(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="There is no file"):
        read(tmp_path / "none.csv")
    with pytest.raises(UsageError, match="There is no file"):
        read(tmp_path)
