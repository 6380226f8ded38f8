from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tailsout.ground.findings import Kind, Place, Severity
from tailsout.mapping.forms.transfer import transfer_of, with_lines
from tailsout.mapping.schemas import schema
from tailsout.records.machine import Machine

FULL = """\
studio = ".."
recipient = "archive"
note = "second reel of the log"

[reel]
title = "not recorded"
end_out_on_arrival = "heads"
last_motion = "unknown"

[[reel.inscriptions]]
place = "box"
text = "unknown"

[[reel.stock]]
id = "s1"
base = "PVC"
base_told_by = ["label"]

[[reel.sides]]
id = "A"
[[reel.sides.regions]]
id = "A1"
kind = "programme"
capture = "side-a"
start = "0:01.5"
end = 00:31:30.25
speed_ips = 7.50
stock = "s1"
equalisation = { standard = "NAB", t1_us = 3180, t2_us = 50 }

[[reel.events]]
kind = "inspection"
on = 2026-03-13
by = "tam"

[[passes]]
id = "p1"
machine = "mk3"
on = 2026-03-14T10:20:00Z
by = "isolde"
kept = true
[passes.set_up]
speed_ips = 7.5

[chain]
reason = "shortest path"
[[chain.steps]]
kind = "converter"
device = "Thwart C2"
signal = "digital"

[[captures]]
id = "side-a"
file = "captures/side-a.wav"
pass_id = "p1"
started = "not recorded"

[[people]]
id = "guest"
name = "A guest"
"""


@pytest.fixture
def full(desk: Any) -> Any:
    desk.write("recipients/archive.toml", 'id = "archive"\nextra_algorithms = ["md5"]\n')
    desk.write("machines/other.toml", 'id = "other"\n')
    desk.write(
        "machines/mk3.toml",
        'id = "mk3"\nmaker = "Tidewright"\nserial = "unknown"\n'
        '[[care]]\nkind = "cleaned"\nby = "boss"\n',
    )
    people = ("isolde", "tam", "boss", "nobody", "guest")
    desk.write("people.toml", "".join(f'[[people]]\nid = "{one}"\n' for one in people))
    return desk


def test_forms_become_one_transfer(full: Any) -> None:
    stated = full.state(FULL, rates={"side-a": 96_000})
    assert stated.findings == ()
    transfer = stated.transfer
    assert transfer.job_id == full.job_id
    assert transfer.package_id == "SKL-0007"
    assert transfer.note == "second reel of the log"
    assert transfer.studio.name == "Saltpan Row"
    assert transfer.recipient.extra_algorithms == ("md5",)
    assert transfer.reel.title == "not recorded"
    assert transfer.reel.inscriptions[0].text == "unknown"
    assert transfer.reel.absent == {"last_motion": "unknown"}
    assert transfer.passes[0].kept is True
    assert transfer.passes[0].on == "2026-03-14T10:20:00Z"
    assert transfer.captures[0].absent == {"started": "not recorded"}
    region = transfer.reel.sides[0].regions[0]
    assert (region.start, region.end) == (144_000, 181_464_000)
    assert str(region.speed_ips) == "7.50"
    assert region.equalisation.t1_us == Decimal(3180)
    assert region.equalisation.t1_us.__class__ is Decimal


def test_what_is_inherited_is_frozen_with_where_from(full: Any) -> None:
    transfer = full.state(FULL).transfer
    (machine,) = transfer.machines
    assert machine.inherited_from == "studio/machines/mk3.toml"
    assert machine.maker == "Tidewright"
    assert machine.absent == {"serial": "unknown"}
    assert isinstance(machine, Machine)
    full.write("machines/mk3.toml", 'id = "mk3"\nmaker = "Somebody else"\n')
    assert machine.maker == "Tidewright"


def test_only_people_who_are_named_travel_and_the_jobs_own_go_first(full: Any) -> None:
    people = full.state(FULL).transfer.people
    assert [person.id for person in people] == ["boss", "guest", "isolde", "tam"]
    assert people[1].name == "A guest"


def test_people_come_from_the_job_if_there_is_no_shelf(desk: Any) -> None:
    job = '[[people]]\nid = "x"\n[[passes]]\nid = "p"\nby = "stranger"\n'
    transfer = desk.state(job).transfer
    assert [person.id for person in transfer.people] == ["x"]


@pytest.mark.parametrize(
    ("rate", "start", "end"),
    [(48_000, 72_000, 90_732_000), (96_000, 144_000, 181_464_000), (44_100, 66_150, 83_360_025)],
)
def test_times_become_positions_at_the_captures_own_rate(
    full: Any, rate: int, start: int, end: int
) -> None:
    region = full.state(FULL, rates={"side-a": rate}).transfer.reel.sides[0].regions[0]
    assert (region.start, region.end) == (start, end)


def test_positions_that_are_typed_as_numbers_stay(full: Any) -> None:
    job = FULL.replace('start = "0:01.5"', "start = 77")
    transfer = full.state(job, rates={"side-a": 96_000}).transfer
    assert transfer.reel.sides[0].regions[0].start == 77


def test_without_a_rate_times_count_in_seconds(full: Any) -> None:
    region = full.state(FULL).transfer.reel.sides[0].regions[0]
    assert (region.start, region.end) == (2, 1890)


def test_a_time_that_is_none_is_a_finding_with_its_line(full: Any) -> None:
    job = FULL.replace('start = "0:01.5"', 'start = "1:75"')
    stated = full.state(job, rates={"side-a": 96_000})
    line = (full.head + job).split("\n").index('start = "1:75"') + 1
    assert stated.said == [
        (
            f"job.toml:{line} reel.sides[1].regions[1].start",
            "found '1:75'; wanted: a sample position, or a time as \"12:34.5\".",
        )
    ]


@pytest.mark.parametrize("typed", ["31:3,5", "half past", "-0:01", "１:00"])
def test_a_time_that_is_none_is_told_once_and_as_a_time(full: Any, typed: str) -> None:
    job = FULL.replace('start = "0:01.5"', f'start = "{typed}"')
    assert [text for _, text in full.state(job).said] == [
        f'found {typed!r}; wanted: a sample position, or a time as "12:34.5".'
    ]


@pytest.mark.parametrize(
    ("typed", "meant"), [("31:30,5", "31:30.5"), ("90 s", "1:30"), ("5sec", "0:05")]
)
def test_a_time_that_can_be_one_thing_only_is_offered(full: Any, typed: str, meant: str) -> None:
    job = FULL.replace('start = "0:01.5"', f'start = "{typed}"')
    assert [text for _, text in full.state(job).said] == [
        f'found {typed!r}; write start = "{meant}".'
    ]


def test_a_value_of_another_form_brings_an_example_with_it(desk: Any) -> None:
    head = '[[reel.sides]]\nid = "A"\n[[reel.sides.regions]]\nid = "A1"\nkind = "programme"\n'
    job = head + 'capture = "a"\nstart = 0\nequalisation = "NAB"\nspeed_ips = "7½"\n'
    job += 'basis = "ear"\n[[captures]]\nid = "a"\nfile = "a.wav"\nstarted = "14.3.2026"\n'
    assert sorted(text for _, text in desk.state(job).said) == [
        (
            "found '14.3.2026'; wanted: A date, or a date and time; with an offset from UTC if the "
            'time is to be compared: write started = "2026-03-14".'
        ),
        "found '7½'; allowed is a number: write speed_ips = 7.5.",
        (
            "found 'NAB'; allowed is a table; for instance equalisation = "
            '{ standard = "NAB", t1_us = 3180, t2_us = 50 }.'
        ),
        "found 'ear'; allowed is a list: write basis = [\"ear\"].",
    ]


def test_places_point_into_the_forms(full: Any) -> None:
    places = full.state(FULL).places
    assert places[""] == Place(file="job.toml")
    assert places["/machines/0"] == Place(file="studio/machines/mk3.toml")


def test_every_fault_of_every_form_at_once(full: Any) -> None:
    full.write("studio.toml", 'nam = "x"\n')
    full.write("people.toml", '[[people]]\nname = "x"\n')
    full.write("machines/mk3.toml", 'id = "mk3"\n\nserial = 412\n')
    full.write("recipients/archive.toml", 'id = "archive"\nextra_algorithms = ["md4"]\n')
    stated = full.state(FULL.replace('kind = "inspection"', 'kind = "inspektion"'))
    assert stated.transfer is None
    assert {finding.code for finding in stated.findings} == {"form-value"}
    number = (full.head + FULL).split("\n").index('kind = "inspection"') + 1
    said = dict(stated.said)
    assert len(said) == 5
    assert said[f"job.toml:{number} reel.events[1].kind"].endswith("did you mean 'inspection'?")
    assert said["studio/studio.toml:1 nam"].endswith("did you mean 'name'?")
    assert said["studio/people.toml:1 people[1].id"] == "'id' is missing; it is needed here."
    assert said["studio/machines/mk3.toml:3 serial"] == (
        'found 412; allowed is text in quotes: write serial = "412".'
    )
    assert said["studio/recipients/archive.toml:2 extra_algorithms[1]"].startswith(
        "found 'md4'; allowed: md5, sha1"
    )


def test_forty_faults_are_forty_findings_each_with_its_line(desk: Any) -> None:
    rows: list[str] = []
    wanted: list[tuple[int | None, str]] = []
    for number in range(10):
        start = 3 + len(rows)
        rows += ["[[passes]]", f'id = "p{number}"', "kept = 1", 'note = ""', "# between"]
        rows += ["on = 2026-03-14", "speed = 7.5", 'tape_ran = "head to tale"', ""]
        part = f"passes[{number + 1}]"
        wanted += [(start + 2, f"{part}.kept"), (start + 3, f"{part}.note")]
        wanted += [(start + 6, f"{part}.speed"), (start + 7, f"{part}.tape_ran")]
    stated = desk.state("\n".join(rows) + "\n")
    assert len(wanted) == 40
    assert stated.lines == wanted


LONG = "m" * 1_000_000


@pytest.mark.parametrize("crlf", [False, True])
@pytest.mark.parametrize(
    ("place", "value", "text"),
    [
        (("", "note"), "7", 'found 7; allowed is text in quotes: write note = "7".'),
        (("", "note"), "true", "found true; allowed is text in quotes: write "),
        (("", "note"), "['x']", "found a list; allowed is text in quotes."),
        (("", "note"), '""', "found an empty text; leave the key out, or say why"),
        (("", "note"), f'"{LONG}"', "found 1000000 characters; allowed are at most 4000."),
        (("", "recipient"), '"a b"', "found 'a b'; wanted: Id of the recipient"),
        (("", "recipient"), f'"{LONG}"', "found 1000000 characters; allowed are at most 64."),
        (("", "studio"), '""', "found an empty text"),
        (("", "passes"), "7", "found 7; allowed is a list: write [[passes]] above each entry."),
        (("", "reel"), '"x"', "found 'x'; allowed is a table."),
        (("[reel]", "title"), "1.5", 'found 1.5; allowed is text in quotes: write title = "1.5".'),
        (("[reel]", "title"), f'"{LONG}"', "found 1000000 characters; allowed are at most 1000."),
        (("[reel]", "last_motion"), '"backwards"', "found 'backwards'; allowed: head to tail, "),
        (("[reel]", "last_motion"), "false", "found false; allowed: head to tail, tail to head."),
        (
            ("[reel]", "end_out_on_leaving"),
            '""',
            "found ''; allowed: heads, tails; did you mean 'unknown'?",
        ),
        (("[reel]", "end_out_on_leaving"), f'"{LONG}"', "found 'mmm"),
        (
            ("[reel]", "sides"),
            '"A"',
            "found 'A'; allowed is a list: write [[reel.sides]] above each entry.",
        ),
        (("[[reel.stock]]\nid = 's1'", "base"), '"acetate"', "found 'acetate'; allowed: cellulose"),
        (("[[reel.stock]]\nid = 's1'", "base_told_by"), '["feel"]', "found 'feel'; allowed: light"),
        (
            ("[[reel.stock]]\nid = 's1'", "base_told_by"),
            '"label"',
            "found 'label'; allowed is a list: write base_told_by = [\"label\"].",
        ),
        (
            ("[[passes]]\nid = 'p'", "kept"),
            '"yes"',
            "found 'yes'; allowed is true or false: write kept = true.",
        ),
        (("[[passes]]\nid = 'p'", "on"), '"14.3.2026"', "found '14.3.2026'; wanted: A date"),
        (("[[passes]]\nid = 'p'", "on"), "10:20:00", "found '10:20:00'; wanted: A date"),
        (("[work]\nid = 'w'", "part"), '"1/2"', "found '1/2'; allowed is a whole number; for inst"),
        (("[[passes]]\nid = 'p'", "machine"), "['m']", "found a list; allowed is text in quotes."),
        (("[passes.x]\n[chain]", "steps"), "[7]", "found 7; allowed is a table."),
        (
            ("[[captures]]\nid = 'a'", "file"),
            "false",
            "found false; allowed is text in quotes: write ",
        ),
        (("[[captures]]\nid = 'a'", "file"), f'"{LONG}"', "found 1000000 characters; allowed are"),
        (("[[x]]\n[[captures]]\nfile = 'a'", "id"), '"a/b"', "found 'a/b'; wanted: "),
        (("[[x]]\n[[captures]]\nfile = 'a'", "id"), f'"{LONG}"', "found 1000000 characters; allow"),
    ],
)
def test_a_value_of_the_wrong_sort(
    desk: Any, place: tuple[str, str], value: str, text: str, crlf: bool
) -> None:
    table, key = place
    job = f"{desk.head}{table}\n# a remark\n{key} = {value}\n"
    line = job.count("\n")
    stated = desk.state(job.replace("\n", "\r\n" if crlf else "\n").encode(), head=False)
    assert stated.transfer is None
    (finding,) = [one for one in stated.findings if one.place.line == line]
    assert finding.text.startswith(text)
    assert len(finding.text) < 300
    name = finding.place.part.rpartition(".")[2].partition("[")[0]
    assert name == key


@pytest.mark.parametrize(
    "value",
    ["nan", "-inf", "1e-400", "1e999", "1e99999999999999999999", "7." + "0" * 40, "0x" + "f" * 8],
)
@pytest.mark.parametrize("key", ["speed_ips", "equalisation.t1_us"])
def test_a_number_out_of_all_bounds(desk: Any, key: str, value: str) -> None:
    stated = desk.state(f'[[passes]]\nid = "p"\n[passes.set_up]\n{key} = {value}\n')
    assert stated.lines == [(6, f"passes[1].set_up.{key}")]


def test_an_absence_word_where_a_value_is_needed(desk: Any) -> None:
    stated = desk.state('[[reel.stock]]\nid = "unknown"\n')
    assert [(finding.place.line, finding.place.part) for finding in stated.findings] == [
        (4, "reel.stock[1].id"),
        (4, "reel.stock[1].id"),
    ]
    assert any("'id' is missing" in text for _, text in stated.said)
    assert any("an absence word stands for 'id'" in text for _, text in stated.said)


@pytest.mark.parametrize("key", ["studio", "reel"])
def test_neither_studio_nor_reel_can_be_unknown(desk: Any, key: str) -> None:
    stated = desk.state(f'{key} = "unknown"\n')
    assert stated.lines == [(3, key)]


def test_a_header_left_commented_out(desk: Any) -> None:
    # The likeliest slip with a commented form: a table without the one above it.
    stated = desk.state('[[reel.sides.regions]]\nid = "A1"\n')
    assert (3, "reel.sides") in stated.lines
    assert any(
        "found a table; allowed is a list: write [[reel.sides]]" in text for _, text in stated.said
    )


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ('base = "polyester"', "there is no key 'base' here"),
        ('kind = "programme"', "found 'programme'"),
        ('mould = "none found"', "an absence word stands for 'mould'"),
    ],
)
def test_a_key_below_a_header_that_is_still_a_comment(desk: Any, typed: str, found: str) -> None:
    # The blank forms have every header as a comment; one is easily passed over.
    blank = '[[reel.identifiers]]\nvalue = "x"\n\n# Kinds.\n#[[reel.stock]]\n# Name.\n#id = "s1"\n'
    ((place, text),) = desk.state(f"{blank}{typed}\n").said
    assert place.startswith("job.toml:10 reel.identifiers[1].")
    assert text == f"{found}; take away the # of [[reel.stock]] above it, to which it belongs."


def test_a_known_key_of_another_type_is_not_sent_to_another_table(desk: Any) -> None:
    # Whoever writes below the comments of a table still writes of it.
    blank = '[[reel.identifiers]]\nvalue = "x"\n\n# Kinds.\n#[[reel.stock]]\n#id = "s1"\n'
    ((_, text),) = desk.state(f"{blank}assigned_by = 7\n").said
    assert text == 'found 7; allowed is text in quotes: write assigned_by = "7".'


def test_a_key_below_its_own_header_is_told_as_before(desk: Any) -> None:
    ((_, text),) = desk.state('#[[reel.stock]]\n[[reel.identifiers]]\nvalue = "x"\nbase = 1\n').said
    assert text == "there is no key 'base' here; known keys: assigned_by, kind, value."


REFERENCES = """\
recipient = "nobody"

[[reel.stock]]
id = "s1"
[[reel.stock]]
id = "s1"

[[reel.sides]]
id = "A"
[[reel.sides.regions]]
id = "A1"
kind = "programme"
capture = "side-z"
start = 0
stock = "s9"
[[reel.sides.regions]]
id = "A1"
kind = "blank"
capture = "a"
start = 0
[[reel.sides]]
id = "A"

[[passes]]
id = "p1"
machine = "mk9"
[[passes]]
id = "p1"

[[captures]]
id = "a"
file = "a.wav"
pass_id = "p9"
[[captures]]
id = "a"
file = "b.wav"
"""


def test_whatever_a_form_names_must_be_there_and_stand_once(desk: Any) -> None:
    stated = desk.state(REFERENCES)
    assert stated.transfer is None
    assert {finding.code for finding in stated.findings} == {"form-reference"}
    rows = (desk.head + REFERENCES).split("\n")
    said = {
        (finding.place.part, rows[(finding.place.line or 0) - 1]): finding.text
        for finding in stated.findings
    }
    assert said == {
        ("recipient", 'recipient = "nobody"'): (
            "there is no recipients/nobody.toml in the studio folder; "
            "`tailsout begin --recipient` copies one that comes with the program."
        ),
        ("passes[1].machine", 'machine = "mk9"'): "there is no machine 'mk9'; known: mk3.",
        ("captures[1].pass_id", 'pass_id = "p9"'): "there is no pass 'p9'; known: p1, p1.",
        ("reel.sides[1].regions[1].capture", 'capture = "side-z"'): (
            "there is no capture 'side-z'; known: a, a."
        ),
        ("reel.sides[1].regions[1].stock", 'stock = "s9"'): (
            "there is no stock section 's9'; known: s1, s1."
        ),
        ("captures[2].id", 'id = "a"'): "the id 'a' stands twice.",
        ("passes[2].id", 'id = "p1"'): "the id 'p1' stands twice.",
        ("reel.stock[2].id", 'id = "s1"'): "the id 's1' stands twice.",
        ("reel.sides[2].id", 'id = "A"'): "the id 'A' stands twice.",
        ("reel.sides[1].regions[2].id", 'id = "A1"'): "the id 'A1' stands twice.",
    }


def test_nothing_at_all_is_known(desk: Any) -> None:
    (desk.studio / "machines" / "mk3.toml").unlink()
    (text,) = [text for _, text in desk.state('[[passes]]\nid = "p"\nmachine = "m"\n').said]
    assert text == "there is no machine 'm'; known: none at all."


def test_two_hundred_broken_references_each_have_their_line(desk: Any) -> None:
    # Looking every line up by itself took a quarter of a minute here.
    row = '[[reel.sides.regions]]\nid = "r{}"\nkind = "blank"\ncapture = "z"\nstart = 0\n'
    job = '[[reel.sides]]\nid = "A"\n' + "".join(row.format(number) for number in range(200))
    stated = desk.state(job)
    assert [finding.place.line for finding in stated.findings] == [8 + 5 * n for n in range(200)]


def test_findings_of_the_rules_get_their_lines(full: Any) -> None:
    forms, _ = full.read(FULL)
    kind = Kind(code="c", severity=Severity.QUERY, title="t", basis="b", remedy="r")
    number = (full.head + FULL).split("\n").index('started = "not recorded"') + 1
    located = with_lines(
        forms,
        (
            kind.at(Place(file="job.toml", part="/captures/0/started"), "one"),
            kind.at(Place(file="studio/machines/mk3.toml", part="/care/0"), "two"),
            kind.at(Place(file="captures/side-a.wav", part="bext"), "three"),
            kind.at(Place(file="job.toml", line=1, part="x"), "four"),
        ),
    )
    assert [(str(finding.place), finding.text) for finding in located] == [
        (f"job.toml:{number} captures[1].started", "one"),
        ("studio/machines/mk3.toml:4 care[1]", "two"),
        ("captures/side-a.wav#bext", "three"),
        ("job.toml:1 x", "four"),
    ]
    assert all(finding.kind is kind for finding in located)


def test_stating_twice_gives_the_same(full: Any) -> None:
    one, two = full.state(FULL), full.state(FULL)
    assert one.transfer == two.transfer
    assert one.places == two.places


def test_a_reel_about_which_nothing_is_known(desk: Any) -> None:
    transfer = desk.state("").transfer
    assert transfer.reel == replace(transfer.reel, title=None, sides=(), absent={})
    assert transfer.machines == transfer.people == transfer.passes == ()


_JOB_KEYS = sorted(schema("job-0.1")["properties"])
_REEL_KEYS = sorted(schema("sidecar-0.1")["$defs"]["reel"]["properties"])
_TOML = st.sampled_from(
    ["7", "true", '""', '"unknown"', "[]", "{}", "nan", "2026-03-14", "[{}]", '["A"]', "[[]]"]
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.dictionaries(st.sampled_from(_JOB_KEYS), _TOML, max_size=4),
    st.dictionaries(st.sampled_from(_REEL_KEYS), _TOML, max_size=4),
)
def test_no_form_brings_out_an_error(desk: Any, job: dict[str, str], reel: dict[str, str]) -> None:
    rows = [f"{key} = {value}" for key, value in job.items() if key != "reel" or not reel]
    inner = [f"{key} = {value}" for key, value in reel.items()]
    head = "" if {"job_id", "package_id"} & set(job) else desk.head
    text = "\n".join([*rows, *(["[reel]", *inner] if reel else [])])
    forms, findings = desk.read((head + text + "\n").encode())
    if forms is not None:
        transfer, findings, _ = transfer_of(forms, {})
        assert (transfer is None) == bool(findings)
    for finding in findings:
        assert finding.place.line is not None
