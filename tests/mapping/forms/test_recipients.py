"""The recipient's form: what is wrong within it, what it withholds, and its copy in a package."""

from decimal import Decimal
from typing import Any

import pytest

from tailsout.mapping.forms.form import form_of
from tailsout.mapping.forms.recipients import MAX_COPY_OCTETS, read_copy, recipient_of

NAME = "metadata/recipient.toml"
JOB = 'recipient = "archive"\n[commission]\nasked_by = "Orla Quill"\n[reel]\ntitle = "Log"\n'


def test_a_form_without_a_fault_says_what_is_asked() -> None:
    text = b'id = "archive"\n[overlap]\nseconds = 5\nat = ["speed change"]\n'
    form, _ = form_of(text, "recipients/archive.toml")
    assert form is not None
    recipient, findings = recipient_of(form)
    assert findings == ()
    assert recipient is not None
    assert recipient.overlap is not None
    assert recipient.overlap.seconds == Decimal(5)


def test_contradictions_stop_the_job_each_with_its_line(desk: Any) -> None:
    desk.write(
        "recipients/archive.toml",
        'id = "archive"\nwithheld = ["commission.asked_by", "reel.colour"]\n\n'
        '[[asked]]\nkey = "commission.asked_by"\nlevel = "required"\n',
    )
    stated = desk.state(JOB)
    assert stated.transfer is None
    assert [(one.code, one.place.line, one.place.part) for one in stated.findings] == [
        ("form-reference", 2, "withheld[2]"),
        ("recipient-contradicts", 5, "asked[1].key"),
    ]


def test_faults_of_shape_are_told_before_what_it_asks(desk: Any) -> None:
    desk.write("recipients/archive.toml", 'id = "archive"\nwithheld = ["captures"]\nviews = [7]\n')
    assert [one.code for one in desk.state(JOB).findings] == ["form-value"]


def test_what_is_withheld_stays_in_the_studio(desk: Any) -> None:
    desk.write("recipients/archive.toml", 'id = "archive"\nwithheld = ["commission.asked_by"]\n')
    stated = desk.state(JOB)
    assert stated.findings == ()
    assert stated.transfer.commission.asked_by is None
    assert stated.transfer.commission.absent == {"asked_by": "withheld"}


def test_findings_about_what_is_asked_point_into_the_form(desk: Any) -> None:
    desk.write("recipients/archive.toml", 'id = "archive"\n')
    stated = desk.state(JOB)
    assert stated.places["/recipient"].file == "studio/recipients/archive.toml"


# The copy in a package, which may be anybody's


def test_a_copy_is_read_as_the_form_was() -> None:
    recipient, findings = read_copy(b'\xef\xbb\xbfid = "archive"\r\nversion = "2"\r\n', NAME)
    assert findings == ()
    assert recipient is not None
    assert (recipient.id, recipient.version) == ("archive", "2")


def test_what_a_copy_contradicts_is_not_told_again() -> None:
    recipient, findings = read_copy(b'id = "a"\nwithheld = ["captures"]\n', NAME)
    assert recipient is not None
    assert findings == ()


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b"", None),
        (b"id = ", 1),
        (b'id = "a"\ncolour = 7\n', None),
        (b'id = "\xff"', 1),
        (b"a = " + b"[" * 4000, None),
        (b'id = "a"\n' + b"a" + b".a" * 4000 + b" = 1\n", None),
        (b'id = "' + b"a" * MAX_COPY_OCTETS, None),
        (b"id = 1" + b"0" * 5000, None),
        (b'id = "a"\n[[asked]]\nkey = "../../x"\nlevel = "required"\n', None),
    ],
)
def test_what_is_no_form_is_a_query_and_no_recipient(content: bytes, line: int | None) -> None:
    recipient, findings = read_copy(content, NAME)
    assert recipient is None
    assert findings
    assert {one.code for one in findings} == {"recipient-form-differs"}
    assert {one.place.file for one in findings} == {NAME}
    assert findings[0].place.line == line
    assert all(len(one.text) < 1000 and one.text.isprintable() for one in findings)
