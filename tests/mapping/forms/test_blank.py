import re
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from tailsout.mapping import schemas
from tailsout.mapping.forms.blank import blank, example_line

JOB_ID = "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"
GIVEN: Mapping[str, Mapping[str, str]] = {
    "job-0.1": {"job_id": JOB_ID, "package_id": "SKL-0007", "studio": ".."},
    "studio-0.1": {},
    "people-0.1": {},
    "machine-0.1": {"id": "mk3-left"},
    "recipient-0.1": {"id": "harbour-archive"},
    "session-0.1": {"id": "2026-03-14-mk3"},
    "converter-0.1": {"id": "c2"},
    "calibration-tape-0.1": {"id": "ct-nab-7"},
}
FILES = {
    "job-0.1": "job/job.toml",
    "studio-0.1": "studio.toml",
    "people-0.1": "people.toml",
    "machine-0.1": "machines/mk3-left.toml",
    "recipient-0.1": "recipients/harbour-archive.toml",
    "session-0.1": "sessions/2026-03-14-mk3.toml",
    "converter-0.1": "converters/c2.toml",
    "calibration-tape-0.1": "calibration_tapes/ct-nab-7.toml",
}
BESIDE = {"2026-03-14-mk3": frozenset({"ct-nab-7.wav", "ct-nab-7-found.wav"})}
NAMED = frozenset(
    {"images/box-front.jpg"}
    | {f"captures/{name}.wav" for name in ("at-rest", "side-a_002", "t1", "t2")}
)
"""Files of the job folder that the examples name."""
_HEADER = re.compile(r"#?\[\[?([a-z_.]+)\]\]?")
_KEY = re.compile(r"#?([a-z0-9_]+) = ")


def form(name: str, *, short: bool = False) -> str:
    return blank(name, GIVEN[name], short=short)


def taken(row: str) -> str:
    """A row with its `#` taken away."""
    return row.removeprefix("#")


def offered(name: str, *, short: bool = False) -> Iterator[tuple[str, str, str]]:
    """Table, key and row of everything a form offers; a header has no key."""
    table = ""
    for row in form(name, short=short).split("\n"):
        if row.startswith("# ") or row in {"", "#"}:
            continue
        header = _HEADER.fullmatch(row)
        key = _KEY.match(row)
        if header:
            table = header[1]
            yield table, "", row
        else:
            assert key, row
            yield table, key[1], row


def resolved(node: Any) -> Any:
    while "$ref" in node:
        target: Any = schemas.schema("sidecar-0.1")
        for part in node["$ref"].partition("#")[2].split("/")[1:]:
            target = target[part]
        node = target
    return resolved(node["items"]) if "items" in node else node


def schema_of(name: str, table: str) -> Any:
    node: Any = schemas.schema(name)
    for part in table.split(".") if table else ():
        node = resolved(node["properties"][part])
    return node


def keys_of(name: str, table: str = "") -> Iterator[tuple[str, str]]:
    """Table and key of all that a schema has, inline tables taken as keys."""
    rows = {(row_table, key) for row_table, key, _ in offered(name)}
    for key in schema_of(name, table)["properties"]:
        path = f"{table}.{key}" if table else key
        if key in {"absent", "inherited_from", "hours_since"}:
            continue
        if (path, "") in rows:
            yield path, ""
            yield from keys_of(name, path)
        else:
            yield table, key


def alone(name: str, table: str, key: str) -> str:
    """One offered row by itself, under its header, with what the tables around it need."""
    rows = list(offered(name))
    around = [table.rsplit(".", up)[0] for up in range(table.count("."), -1, -1)] if table else []
    kept = [row for where, _, row in rows if not where and not row.startswith("#")]
    kept += [row for where, one, row in rows if not table and one == key and not where]
    for one in around:
        needed = set(schema_of(name, one).get("required", ()))
        for where, inner, row in rows:
            if where == one and (not inner or inner in needed or (one == table and inner == key)):
                kept.append(taken(row))
    return "\n".join(dict.fromkeys(map(taken, kept))) + "\n"


def faults(desk: Any, name: str, text: str) -> list[tuple[str, str]]:
    """What the real reader and the schema say; a name that points nowhere is another matter."""
    desk.write("machines/mk3.toml", 'id = "mk3"\n')
    desk.write(FILES[name], text)
    job = text if name == "job-0.1" else desk.head + 'recipient = "harbour-archive"\n'
    stated = desk.state(job, head=False)
    return [
        (str(finding.place), finding.text)
        for finding in stated.findings
        if finding.code != "form-reference"
    ]


def explanation(text: str, row: str) -> str:
    """The rows of comment right above the first row of that text, on one line."""
    above = text.split(f"\n{row}\n", maxsplit=1)[0].split("\n")
    told = [one.startswith("# ") for one in reversed(above)]
    count = told.index(False) if False in told else len(told)
    return " ".join(one.removeprefix("# ") for one in above[len(above) - count :])


EVERY = [
    pytest.param(name, table, key, id=f"{name}:{table}.{key}".rstrip("."))
    for name in GIVEN
    for table, key, _ in offered(name)
]


@pytest.mark.parametrize("short", [False, True])
@pytest.mark.parametrize("name", GIVEN)
def test_an_untouched_form_is_valid(desk: Any, name: str, short: bool) -> None:
    assert faults(desk, name, form(name, short=short)) == []


@pytest.mark.parametrize(("name", "table", "key"), EVERY)
def test_each_offered_row_is_valid_by_itself(desk: Any, name: str, table: str, key: str) -> None:
    text = alone(name, table, key)
    assert key in text
    assert table in text
    assert faults(desk, name, text) == []


@pytest.mark.parametrize("name", GIVEN)
def test_a_row_spoilt_is_found(desk: Any, name: str) -> None:
    # A guard on the two tests above: they must be able to fail.
    text = "\n".join(map(taken, form(name).split("\n"))) + "\nspoilt = 1\n"
    assert faults(desk, name, text) != []


@pytest.mark.parametrize("short", [False, True])
@pytest.mark.parametrize("name", GIVEN)
def test_a_form_with_every_row_taken_is_valid(desk: Any, name: str, short: bool) -> None:
    text = form(name, short=short)
    rows = [row if row.startswith("# ") else taken(row) for row in text.split("\n")]
    assert faults(desk, name, "\n".join(rows)) == []


def test_the_short_form_offers_less_and_nothing_else() -> None:
    short, long = set(offered("job-0.1", short=True)), set(offered("job-0.1"))
    assert short < long
    assert len(short) * 4 < len(long)


def test_a_short_form_offers_all_that_a_table_it_offers_needs() -> None:
    rows = list(offered("job-0.1", short=True))
    for table in {table for table, key, _ in rows if not key}:
        needed = set(schema_of("job-0.1", table).get("required", ()))
        assert needed <= {key for where, key, _ in rows if where == table}, table


def test_what_is_filled_stands_in_a_short_form_too() -> None:
    text = blank("job-0.1", {**GIVEN["job-0.1"], "note": "a reel", "kind": "transfer"}, short=True)
    assert 'note = "a reel"' in text.split("\n")
    assert "#note" not in form("job-0.1", short=True)


def test_a_short_form_holds_the_tables_that_are_filled() -> None:
    passes = [{"id": "p1", "channels": [{"channel": 1}]}]
    text = blank("job-0.1", {**GIVEN["job-0.1"], "passes": passes}, short=True)
    assert "[[passes.channels]]\n" in text
    assert "\nchannel = 1\n" in text


def test_all_forms_with_every_row_taken_make_a_transfer(desk: Any) -> None:
    for name, file in FILES.items():
        rows = [row if row.startswith("# ") else taken(row) for row in form(name).split("\n")]
        desk.write(file, "\n".join(rows))
    text = (desk.studio / FILES["job-0.1"]).read_bytes()
    stated = desk.state(text, rates={"side-a": 96_000}, present=NAMED, beside=BESIDE)
    assert stated.findings == ()
    transfer = stated.transfer
    assert transfer.machines[0].care
    assert transfer.recipient.extra_algorithms == ("md5",)
    assert transfer.reel.sides[0].regions[0].end == 181_488_000
    assert transfer.chain.steps
    assert transfer.people


@pytest.mark.parametrize("name", GIVEN)
def test_a_form_offers_every_key_of_its_schema_once(name: str) -> None:
    rows = [(table, key) for table, key, _ in offered(name)]
    assert len(rows) == len(set(rows))
    assert set(rows) == set(keys_of(name))


@pytest.mark.parametrize("name", GIVEN)
def test_every_offer_is_explained_and_words_of_a_list_are_listed(name: str) -> None:
    text = form(name)
    joined = " ".join(row.removeprefix("# ") for row in text.split("\n"))
    at = 0
    for table, key, row in offered(name):
        # The same row may stand in several tables; each is looked for behind the one before.
        before, at = at, text.index(f"\n{row}\n", at) + 1
        above = text[: at - 1].rsplit("\n", 1)[1]
        assert above.startswith("# "), row
        if key:
            schema = schema_of(name, table)
            node = schema["properties"][key]
            needed = bool(table) and key in schema.get("required", ())
            told = explanation(text[before:], row)
            assert told.count("Needed in this table.") == needed
            words = node.get("enum") or node.get("items", {}).get("enum", ())
            if words:
                assert f"One of: {', '.join(words)}." in joined


@pytest.mark.parametrize("name", GIVEN)
def test_explanations_fit_a_page_and_tell_the_absence_words(name: str) -> None:
    rows = form(name).split("\n")
    assert all(len(row) <= 96 for row in rows if row.startswith("# "))
    joined = " ".join(row.removeprefix("# ") for row in rows)
    for word in schemas.schema("sidecar-0.1")["$defs"]["absence"]["enum"]:
        assert word in joined
    assert form(name).endswith("\n")
    assert "\n\n\n" not in form(name)


def test_a_value_given_opens_the_tables_it_stands_in() -> None:
    text = blank("job-0.1", {**GIVEN["job-0.1"], "reel": {"identifiers": [{"value": "HA/7"}]}})
    rows = text.split("\n")
    assert "[reel]" in rows
    assert "[[reel.identifiers]]" in rows
    assert 'value = "HA/7"' in rows
    assert "#[[reel.stock]]" in rows
    assert "#[[passes]]" in rows


@pytest.mark.parametrize(
    "value", ['a "quote"', "back\\slash", "two\nlines", "\x1b[2J", "7½ \u202e"]
)
def test_a_value_given_is_written_so_that_it_is_read_the_same(desk: Any, value: str) -> None:
    text = blank("job-0.1", {**GIVEN["job-0.1"], "reel": {"identifiers": [{"value": value}]}})
    transfer = desk.state(text.encode(), head=False).transfer
    assert transfer.reel.identifiers[0].value == value


def test_a_form_is_the_same_each_time() -> None:
    assert form("job-0.1") == form("job-0.1")


@pytest.mark.parametrize("name", [*GIVEN, "amendment-0.1"])
def test_what_is_explained_fits_a_screen(name: str) -> None:
    rows = blank(name, GIVEN.get(name, {})).split("\n")
    assert max(len(row) for row in rows if row.startswith("# ")) <= 96


@pytest.mark.parametrize(
    ("pointer", "line"),
    [
        ("/reel/sides/0/regions/3/start", 'start = "0:00"'),
        ("/reel/stock/0/base_told_by", 'base_told_by = ["light through the pack"]'),
        ("/reel/stock/0/base_told_by/1", ""),
        ("/passes", ""),
        ("/reel", ""),
        ("/job_id", ""),
        ("/absent", ""),
        ("/nothing/of/this", ""),
        ("", ""),
    ],
)
def test_the_line_by_which_a_form_offers_a_key(pointer: str, line: str) -> None:
    assert example_line("job-0.1", pointer) == line
