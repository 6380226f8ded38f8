from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError, SurroundingsError, UsageError
from tailsout.ground.findings import Place, Severity
from tailsout.mapping.forms.form import KINDS, MAX_FORM_OCTETS, place_in, places_in
from tailsout.mapping.forms.job_forms import read_job, studio_above
from tailsout.mapping.key_paths import dotted


def test_a_folder_without_a_job_is_a_usage_error(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"There is no job\.toml"):
        read_job(tmp_path)


def test_every_fault_of_a_form_must_be_mended() -> None:
    assert {kind.severity for kind in KINDS} == {Severity.MEND}


@pytest.mark.parametrize(
    ("job", "line"),
    [
        ('note = "a\n', 3),
        ("note = \n", 3),
        ("note = 'a'\n\n[reel\n", 5),
        ("[reel]\ntitle = unquoted\n", 4),
        ("note = 2026-02-30\n", 3),
        ('note = "\\ud800"\n', 3),
        ('note = "\\q"\n', 3),
        ("note = 'a\x01'\n", 3),
        ("# no end\nnote = '''\nx\n", 6),
        ("note = 'a'\nnote = 'b'\n", 4),
        ("[reel]\ntitle = 'a'\n\n[reel]\n", 6),
        ('"note" = 1\nnote = 2\n', 4),
        ('note = "\\u0000"\n', 3),
        ('reel.title = """\nx\n\\U00000000"""\n', 5),
    ],
)
def test_a_fault_of_syntax_is_one_finding_with_its_line(desk: Any, job: str, line: int) -> None:
    forms, (finding,) = desk.read(job)
    assert forms is None
    assert finding.code == "form-syntax"
    assert (finding.place.file, finding.place.line) == ("job.toml", line)
    assert finding.text.isprintable()


def test_a_byte_order_mark_and_crlf_are_no_fault(desk: Any) -> None:
    text = (desk.head + '[reel]\ntitle = """\none\ntwo"""\nnote = ""\n').replace("\n", "\r\n")
    stated = desk.state(b"\xef\xbb\xbf" + text.encode())
    assert stated.lines == [(7, "reel.note")]
    forms, findings = desk.read(b"\xef\xbb\xbf" + text.replace('note = ""', "").encode())
    assert findings == ()
    assert forms.job.data["reel"]["title"] == "one\ntwo"


def test_latin_1_is_one_finding_with_its_line(desk: Any) -> None:
    content = (desk.head + "\n[reel]\ntitle = 'Zoë'\n").encode("latin-1")
    forms, (finding,) = desk.read(content)
    assert forms is None
    assert (finding.code, finding.place.line) == ("form-syntax", 5)
    assert "0xeb is not UTF-8; save the file as UTF-8" in finding.text


def test_latin_1_behind_a_byte_order_mark(desk: Any) -> None:
    _, (finding,) = desk.read(b"\xef\xbb\xbf" + (desk.head + "# ß\n").encode("latin-1"))
    assert finding.place.line == 3
    assert "0xdf" in finding.text


def test_utf_16_is_a_finding(desk: Any) -> None:
    _, (finding,) = desk.read(desk.head.encode("utf-16"))
    assert (finding.code, finding.place.line) == ("form-syntax", 1)


@pytest.mark.parametrize(
    ("value", "why"),
    [
        ("[" * 65 + "]" * 65, "nests deeper than 64"),
        ("[" * 20_000 + "]" * 20_000, "nests deeper than 64"),
        ("1" * 5000, "more than 32 digits"),
        ("0x" + "f" * 5000, "more than 32 digits"),
        ("0o" + "7" * 50, "more than 32 digits"),
        ("-" + "9" * 33, "more than 32 digits"),
    ],
)
def test_toml_that_no_side_car_could_hold(desk: Any, value: str, why: str) -> None:
    forms, (finding,) = desk.read(f"note = {value}\n")
    assert forms is None
    assert finding.code == "form-syntax"
    assert why in finding.text


@pytest.mark.parametrize("job", ["note" + ".a" * 5000 + " = 1\n", "[" + "a." * 5000 + "a]\n"])
def test_deep_keys_and_headers(desk: Any, job: str) -> None:
    _, (finding,) = desk.read(job)
    assert finding.code == "form-syntax"
    assert "nests deeper" in finding.text


def test_nul_is_found_wherever_it_stands(desk: Any) -> None:
    _, (finding,) = desk.read('[[passes]]\nid = "p"\nsides = ["A",\n"\\u0000"]\n')
    assert finding.place.line == 6
    # In a literal text the same letters are letters.
    assert desk.data("note = '\\u0000'\n")["note"] == "\\u0000"


def test_a_form_that_is_too_large(desk: Any) -> None:
    with pytest.raises(MaterialError, match=r"job\.toml holds more than 4 MiB"):
        desk.read("# " + "x" * MAX_FORM_OCTETS)


def test_faults_of_all_forms_are_told_at_once(desk: Any) -> None:
    desk.write("studio.toml", "name = \n")
    desk.write("people.toml", "[[people]\n")
    desk.write("machines/mk3.toml", "id = 'a'\nid = 'b'\n")
    desk.write("recipients/archive.toml", b"\xff")
    forms, findings = desk.read('recipient = "archive"\n')
    assert forms is None
    assert sorted(str(finding.place) for finding in findings) == [
        "studio/machines/mk3.toml:2",
        "studio/people.toml:1",
        "studio/recipients/archive.toml:1",
        "studio/studio.toml:1",
    ]


def test_a_form_that_may_not_be_read(desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(path: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(path))

    desk.write("job/job.toml", desk.head)
    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(SurroundingsError, match=r"Reading job\.toml failed"):
        read_job(desk.job)


def test_dates_become_text(desk: Any) -> None:
    job = (
        "[[captures]]\nid = 'a'\nfile = 'a.wav'\nstarted = 2026-03-14\n"
        "[[captures]]\nid = 'b'\nfile = 'b.wav'\nstarted = 2026-03-14T10:20:07Z\n"
        "[[captures]]\nid = 'c'\nfile = 'c.wav'\nstarted = 2026-03-14 10:20:07.9+05:45\n"
        "[[captures]]\nid = 'd'\nfile = 'd.wav'\nstarted = 2026-03-14T10:20:00\n"
        "[[reel.sides]]\nid = 'A'\n[[reel.sides.regions]]\nstart = 00:31:30\n"
    )
    data = desk.data(job)
    assert [capture["started"] for capture in data["captures"]] == [
        "2026-03-14",
        "2026-03-14T10:20:07Z",
        "2026-03-14T10:20:07+05:45",
        "2026-03-14T10:20:00",
    ]
    assert data["reel"]["sides"][0]["regions"][0]["start"] == "00:31:30"


def test_dates_in_lists_become_text_too(desk: Any) -> None:
    assert desk.data("x = [2026-03-14, [10:20:00]]\n")["x"] == ["2026-03-14", ["10:20:00"]]


ABSENCES = (
    "unknown",
    "not applicable",
    "not examined",
    "none found",
    "not recorded",
    "withheld",
)


@pytest.mark.parametrize("word", ABSENCES)
def test_an_absence_word_moves_out_of_the_value(desk: Any, word: str) -> None:
    data = desk.data(f'note = "{word}"\n[[reel.stock]]\nid = "s1"\nmaker = "{word}"\n')
    assert "note" not in data
    assert data["absent"] == {"note": word}
    assert data["reel"]["stock"] == [{"id": "s1", "absent": {"maker": word}}]


@pytest.mark.parametrize("word", ABSENCES)
def test_words_on_the_reel_stay_as_they_are(desk: Any, word: str) -> None:
    job = (
        f'[reel]\ntitle = "{word}"\n[[reel.inscriptions]]\nplace = "box"\ntext = "{word}"\n'
        f'found = "{word}"\n[[reel.identifiers]]\nvalue = "{word}"\n[[reel.sides]]\n'
        f'id = "A"\ntitle = "{word}"\n'
    )
    reel = desk.data(job)["reel"]
    assert reel["title"] == word
    assert reel["inscriptions"] == [{"place": "box", "text": word, "found": word}]
    assert reel["identifiers"] == [{"value": word}]
    assert reel["sides"] == [{"id": "A", "title": word}]


@pytest.mark.parametrize("word", ["Unknown", "unknown ", "not known", "none"])
def test_other_words_are_values(desk: Any, word: str) -> None:
    assert desk.data(f'note = "{word}"\n')["note"] == word


def test_words_written_into_absent_stay_and_are_joined(desk: Any) -> None:
    data = desk.data('[reel]\nlast_motion = "unknown"\nabsent = { note = "withheld" }\n')
    assert data["reel"] == {"absent": {"last_motion": "unknown", "note": "withheld"}}
    data = desk.data('[reel]\nabsent = { note = "withheld" }\n')
    assert data["reel"] == {"absent": {"note": "withheld"}}


@pytest.mark.parametrize("absent", ['"x"', "7", "[]", '"unknown"'])
def test_an_absent_that_is_no_table_is_a_fault_of_the_form(desk: Any, absent: str) -> None:
    stated = desk.state(f'[reel]\nlast_motion = "unknown"\nabsent = {absent}\n')
    assert stated.transfer is None
    assert (5, "reel.absent") in stated.lines


def test_the_nearest_studio_above_is_taken(desk: Any) -> None:
    inner = desk.studio / "inner"
    (inner / "deep" / "job").mkdir(parents=True)
    (inner / "studio.toml").write_text("")
    assert studio_above(inner / "deep" / "job") == inner.resolve()
    assert studio_above(inner) == desk.studio.resolve()
    forms, _ = desk.read("")
    assert forms.studio_folder == desk.studio.resolve()


def test_no_studio_at_all_is_a_finding(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("package_id = 'x'\n")
    if studio_above(tmp_path) is not None:
        pytest.skip("a studio.toml lies above the folder for temporary files")
    forms, (finding,) = read_job(tmp_path)
    assert forms is None
    assert (finding.code, str(finding.place)) == ("form-reference", "job.toml:1")
    assert "no studio folder was found" in finding.text


@pytest.mark.parametrize("studio", ["../elsewhere", "a" * 300, "x/" * 300, "job.toml", "\\u202e"])
def test_a_studio_that_is_not_there(desk: Any, studio: str) -> None:
    stated = desk.state(f'studio = "{studio}"\n')
    assert stated.transfer is None
    (finding,) = stated.findings
    assert (finding.code, finding.place.line, finding.place.part) == ("form-reference", 3, "studio")
    assert "holds no studio.toml" in finding.text
    assert finding.text.isprintable()


def test_a_studio_reached_by_a_link_to_itself(desk: Any) -> None:
    loop = desk.job / "loop"
    try:
        loop.symlink_to("loop")
    except (OSError, NotImplementedError):
        pytest.skip("no links here")
    (finding,) = desk.state('studio = "loop"\n').findings
    assert finding.code == "form-reference"


def test_a_studio_named_by_a_path_from_the_job(desk: Any, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "studio.toml").write_text('name = "Other Row"\n')
    stated = desk.state('studio = "../../other"\n')
    assert stated.transfer.studio.name == "Other Row"


@pytest.mark.parametrize("recipient", ["../people", "a/b", "a" * 300, ".", ""])
def test_a_recipient_is_a_name_not_a_path(desk: Any, recipient: str) -> None:
    desk.write("people.toml", "[[broken\n")
    forms, findings = desk.read(f'recipient = "{recipient}"\n')
    assert forms is None
    assert [finding.place.file for finding in findings] == ["studio/people.toml"]


def test_machines_come_by_their_id_in_order_of_file(desk: Any) -> None:
    desk.write("machines/a.toml", 'id = "z"\n')
    desk.write("machines/b.toml", 'maker = "no id"\n')
    desk.write("machines/not-toml.txt", "[[[")
    (desk.studio / "machines" / "folder.toml").mkdir()
    forms, findings = desk.read("")
    assert findings == ()
    assert [(key, form.name) for key, form in forms.machines.items()] == [
        ("z", "studio/machines/a.toml"),
        ("b", "studio/machines/b.toml"),
        ("mk3", "studio/machines/mk3.toml"),
    ]


def test_two_machines_of_one_id(desk: Any) -> None:
    desk.write("machines/twin.toml", '# twin\nid = "mk3"\n')
    forms, (finding,) = desk.read("")
    assert forms is None
    assert (finding.code, str(finding.place)) == (
        "form-reference",
        "studio/machines/twin.toml:2 id",
    )
    assert finding.text == "the id 'mk3' stands in studio/machines/mk3.toml too."


@pytest.mark.parametrize(
    ("pointer", "key", "text"),
    [
        ("", "", ""),
        ("", "note", "note"),
        ("/reel/sides/1/id", "", "reel.sides[2].id"),
        ("/passes/0", "machine", "passes[1].machine"),
        ("/reel", "0", "reel.0"),
        ("/reel", "²", "reel.²"),
        ("/reel", "\x1b[2J", "reel.\\x1b[2J"),
    ],
)
def test_a_pointer_as_a_forms_reader_would_say_it(pointer: str, key: str, text: str) -> None:
    assert dotted(pointer, key) == text


def test_places_have_their_lines(desk: Any) -> None:
    forms, _ = desk.read('[reel]\ntitle = "x"\n')
    wanted = Place(file="job.toml", line=4, part="reel.title")
    assert place_in(forms.job, "/reel/title") == wanted
    assert places_in(forms.job, ["/reel/title", "/reel"]) == {
        "/reel/title": wanted,
        "/reel": Place(file="job.toml", line=3, part="reel"),
    }


def test_nothing_is_written_or_touched(desk: Any) -> None:
    desk.write("job/job.toml", desk.head)
    before = {path: path.stat().st_mtime_ns for path in sorted(desk.studio.rglob("*"))}
    read_job(desk.job)
    after = {path: path.stat().st_mtime_ns for path in sorted(desk.studio.rglob("*"))}
    assert before == after
