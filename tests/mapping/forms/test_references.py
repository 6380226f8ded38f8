"""Whatever a job's form or its session names must be there: told where it is named."""

from typing import Any

import pytest

from tailsout.mapping.forms.references import broken_in

RUN = '[[passes]]\nid = "p1"\nsession = "s1"\n'
SIDE = '[[reel.sides]]\nid = "A"\n[[reel.sides.regions]]\nid = "A1"\nkind = "blank"\nstart = 0\n'
CAPTURE = '[[captures]]\nid = "a"\nfile = "captures/a.wav"\n'
SESSION = (
    'id = "s1"\nmachine = "mk3"\nconverter = "c2"\n'
    '[[settings]]\nid = "7-nab"\ntape = "ct7"\n[[settings]]\nid = "15-nab"\n'
)


@pytest.fixture
def bench(desk: Any) -> Any:
    desk.write("sessions/s1.toml", SESSION)
    desk.write("converters/c2.toml", 'id = "c2"\n')
    desk.write("calibration_tapes/ct7.toml", 'id = "ct7"\n')
    return desk


def only(bench: Any, job: str, **more: Any) -> tuple[str, str]:
    """Place and text of the one finding there is."""
    stated = bench.state(job, **more)
    assert stated.transfer is None
    assert [one.code for one in stated.findings] == ["form-reference"]
    said: tuple[str, str] = stated.said[0]
    return said


def test_what_is_there_is_no_finding(bench: Any) -> None:
    job = f'{RUN}{CAPTURE}pass_id = "p1"\n{SIDE}capture = "a"\nsetting = "7-nab"\n'
    assert bench.state(job).findings == ()


@pytest.mark.parametrize(
    ("shelf", "line", "part", "text"),
    [
        ("machines/mk3", 2, "machine", "there is no machine 'mk3'; known: none at all."),
        ("converters/c2", 3, "converter", "there is no converter 'c2'; known: none at all."),
        (
            "calibration_tapes/ct7",
            6,
            "settings[1].tape",
            "there is no calibration tape 'ct7'; known: none at all.",
        ),
    ],
)
def test_something_deleted_since_is_told_where_the_session_names_it(
    bench: Any, shelf: str, line: int, part: str, text: str
) -> None:
    (bench.studio / f"{shelf}.toml").unlink()
    assert only(bench, RUN) == (f"studio/sessions/s1.toml:{line} {part}", text)


def test_it_is_told_once_however_many_passes_belong_to_the_session(bench: Any) -> None:
    (bench.studio / "machines/mk3.toml").unlink()
    job = RUN + RUN.replace("p1", "p2")
    assert only(bench, job)[0] == "studio/sessions/s1.toml:2 machine"


def test_a_session_that_no_pass_belongs_to_may_name_what_it_likes(bench: Any) -> None:
    bench.write("sessions/s2.toml", 'id = "s2"\nmachine = "long gone"\n')
    assert bench.state(RUN).findings == ()


def test_a_session_deleted_since(bench: Any) -> None:
    (bench.studio / "sessions/s1.toml").unlink()
    where, text = only(bench, RUN)
    assert (where, text) == (
        "job.toml:5 passes[1].session",
        "there is no session 's1'; known: none at all.",
    )


def test_two_settings_of_one_id(bench: Any) -> None:
    bench.write("sessions/s1.toml", SESSION.replace("15-nab", "7-nab"))
    said = ("studio/sessions/s1.toml:8 settings[2].id", "the id '7-nab' stands twice.")
    assert only(bench, RUN) == said


@pytest.mark.parametrize("shelf", ["machines", "sessions", "converters", "calibration_tapes"])
def test_two_forms_of_one_id(bench: Any, shelf: str) -> None:
    known = {"machines": "mk3", "sessions": "s1", "converters": "c2", "calibration_tapes": "ct7"}
    one = known[shelf]
    bench.write(f"{shelf}/twin.toml", f'# a twin\nid = "{one}"\n')
    where, text = only(bench, RUN)
    assert where == f"studio/{shelf}/twin.toml:2 id"
    assert text == f"the id '{one}' stands in studio/{shelf}/{one}.toml too."


@pytest.mark.parametrize("bad", ['"mk 3"', '""', "7", f'"{"m" * 65}"'])
def test_a_form_whose_id_is_none_is_found_by_its_file_and_its_id_told(bench: Any, bad: str) -> None:
    bench.write("machines/mk3.toml", f"# ours\nid = {bad}\n")
    stated = bench.state(RUN)
    assert [(one.code, str(one.place)) for one in stated.findings] == [
        ("form-value", "studio/machines/mk3.toml:2 id")
    ]


def test_a_region_points_to_a_setting_of_its_jobs_sessions(bench: Any) -> None:
    bench.write("sessions/s2.toml", 'id = "s2"\n[[settings]]\nid = "30"\n')
    job = f'{RUN}{CAPTURE}{SIDE}capture = "a"\nsetting = "30"\n'
    assert only(bench, job) == (
        "job.toml:16 reel.sides[1].regions[1].setting",
        "there is no calibration setting '30'; known: 15-nab, 7-nab.",
    )
    assert bench.state(RUN.replace("1", "2") + job).findings == ()


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ('[[signal_notes]]\nstart = 0\nheard = "a click"\n', "capture"),
        ("[[listening]]\n", "capture"),
        (SIDE, "capture"),
    ],
)
def test_a_capture_that_is_not_there(bench: Any, table: str, key: str) -> None:
    job = f'{CAPTURE}{table}{key} = "b"\n'
    where, text = only(bench, job)
    assert where.startswith(f"job.toml:{job.count(chr(10)) + 2} ")
    assert text == "there is no capture 'b'; known: a."
    assert bench.state(job.replace('"b"', '"a"')).findings == ()


FILES = [
    ("[[reel.images]]\n", "file", "images/box.jpg"),
    ('[[reel.events]]\nkind = "photography"\n[[reel.events.images]]\n', "file", "images/box.jpg"),
    ('[[reel.inscriptions]]\nplace = "box"\ntext = "Log"\n', "image", "images/box.jpg"),
    (CAPTURE, "at_rest", "captures/rest.wav"),
]


@pytest.mark.parametrize(("table", "key", "name"), FILES)
def test_a_file_that_is_not_in_the_job_folder(bench: Any, table: str, key: str, name: str) -> None:
    job = f'{table}{key} = "{name}"\n'
    where, text = only(bench, job)
    assert where.startswith(f"job.toml:{job.count(chr(10)) + 2} ")
    assert where.endswith(f".{key}")
    assert text == f"there is no file '{name}' in the job folder."
    assert bench.state(job, present=frozenset({name})).findings == ()
    # The same file, written in another way.
    other = job.replace(name, name.replace("/", "/./"))
    assert bench.state(other, present=frozenset({name})).findings == ()


@pytest.mark.parametrize(
    "name", ["captures/box.jpg", "box.jpg", "images/.box.jpg", "images/Thumbs.db"]
)
def test_a_photograph_that_would_not_be_packed(bench: Any, name: str) -> None:
    job = f'[[reel.images]]\nfile = "{name}"\n'
    where, text = only(bench, job, present=frozenset({name}))
    assert where == "job.toml:4 reel.images[1].file"
    assert text.startswith(f"'{name}' would not be packed: ")


@pytest.mark.parametrize("name", ["../box.jpg", "/etc/passwd", "images/../box.jpg", "\\u202egpj"])
def test_a_file_outside_the_job_folder_is_not_there(bench: Any, name: str) -> None:
    where, text = only(bench, f'[[reel.images]]\nfile = "{name}"\n')
    assert where == "job.toml:4 reel.images[1].file"
    assert text.isprintable()


@pytest.mark.parametrize("value", ["7", "true", "[]", "{}", "[[]]", '["x"]', "[{ id = 7 }]"])
@pytest.mark.parametrize(
    "key",
    [
        "captures",
        "passes",
        "signal_notes",
        "listening",
        "recipient",
        "reel",
        "reel.stock",
        "reel.sides",
        "reel.images",
        "reel.events",
        "reel.inscriptions",
    ],
)
def test_nothing_relies_on_a_table_being_as_it_should(bench: Any, key: str, value: str) -> None:
    stated = bench.state(f"{key} = {value}\n")
    assert (stated.transfer is None) == bool(stated.findings)
    assert {one.place.line for one in stated.findings} <= {3}


@pytest.mark.parametrize("value", ["7", "[]", '["x"]', "[[]]", "[{ id = 7 }, { id = 7 }]"])
@pytest.mark.parametrize("key", ["settings", "machine", "converter", "set_up", "chain", "absent"])
def test_nor_on_a_sessions_being_so(bench: Any, key: str, value: str) -> None:
    bench.write("sessions/s1.toml", f'id = "s1"\n{key} = {value}\n')
    stated = bench.state(RUN)
    assert (stated.transfer is None) == bool(stated.findings)
    assert {(one.place.file, one.place.line) for one in stated.findings} <= {
        ("studio/sessions/s1.toml", 2)
    }


def test_a_transfer_that_stands_by_itself_names_what_is_in_it() -> None:
    transfer: dict[str, Any] = {
        "reel": {
            "images": [{"file": "images/box.jpg"}],
            "sides": [{"id": "A", "regions": [{"id": "A1", "capture": "a"}]}],
        },
        "machines": [{"id": "left"}],
        "passes": [{"id": "p1", "machine": "left"}],
        "captures": [{"id": "a", "pass_id": "p1"}],
    }
    assert broken_in(transfer, frozenset({"images/box.jpg"})) == ()
    transfer["passes"][0]["machine"] = "right"
    transfer["captures"][0]["id"] = "b"
    assert [pointer for pointer, _ in broken_in(transfer, frozenset())] == [
        "/passes/0/machine",
        "/reel/sides/0/regions/0/capture",
        "/reel/images/0/file",
    ]


def test_a_photograph_whose_name_differs_in_the_case_of_letters_is_named(bench: Any) -> None:
    form = '[[reel.images]]\nfile = "images/Box.JPG"\nrole = "box"\n'
    stated = bench.state(form, present=frozenset({"images/box.jpg", "images/spine.jpg"}))
    assert [text for _, text in stated.said] == [
        "there is no file 'images/Box.JPG' in the job folder; did you mean 'images/box.jpg'?"
    ]


def test_a_form_that_was_renamed_and_not_its_id(bench: Any) -> None:
    bench.write("machines/mk3.toml", 'id = "first-machine"\n')
    assert only(bench, RUN)[1] == (
        "there is no machine 'mk3'; known: first-machine. "
        "The id in studio/machines/mk3.toml is 'first-machine'."
    )
