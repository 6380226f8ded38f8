"""Two versions of a form, and finished packages judged again under the new one."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import TailsoutError, UsageError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.work.close_out import close
from tailsout.work.profile import Compared, compare, judge_anew, systematic

OLD = 'id = "archive"\nversion = "1"\n'
STRICT = 'id = "archive"\nversion = "2"\n[[asked]]\nkey = "reel.hub"\nlevel = "required"\n'


class Forms:
    """Forms of one recipient beside each other, and packages that were closed for one of them."""

    def __init__(self, bench: Any, around: Callable[..., Any]) -> None:
        self.bench, self.around = bench, around

    def write(self, name: str, text: str) -> Path:
        path: Path = self.bench.root / name
        path.write_text(text)
        return path

    def compared(self, old: str, new: str) -> Compared:
        return compare(self.write("old.toml", old), self.write("new.toml", new))

    def closed(self, form: str, *, top: str = 'recipient = "archive"') -> Path:
        (self.bench.studio / "recipients/archive.toml").write_text(form)
        self.bench.fill(self.bench.wave(own=self.bench.own_bext()), top=top)
        assert close(self.bench.job, self.bench.out, self.around()).built is not None
        package: Path = self.bench.package
        return package


@pytest.fixture
def forms(bench: Any, around: Callable[..., Any]) -> Forms:
    return Forms(bench, around)


def test_what_a_new_version_asks_appears_and_what_it_drops_disappears(forms: Forms) -> None:
    package = forms.closed(OLD)
    before = forms.bench.tree(forms.bench.out, times=True)
    found = forms.compared(OLD, STRICT)
    assert [one.text for one in found.changes] == [
        "it is '2' now, and was '1'.",
        "it is required now; they take a value only.",
    ]
    assert found.old is not None
    assert found.new is not None
    anew = judge_anew(package, found.old, found.new, Silent())
    assert [one.code for one in anew.appear] == ["asked-of-reel-not-told"]
    assert (anew.disappear, anew.verdict, anew.made_by) == ((), Verdict.OPEN, "")
    back = judge_anew(package, found.new, found.old, Silent())
    assert [one.code for one in back.disappear] == ["asked-of-reel-not-told"]
    assert (back.appear, back.verdict, back.made_by) == ((), Verdict.PASS, "1")
    assert forms.bench.tree(forms.bench.out, times=True) == before


def test_the_same_form_changes_nothing(forms: Forms) -> None:
    package = forms.closed(STRICT)
    found = forms.compared(STRICT, STRICT)
    assert found.changes == ()
    assert found.old is not None
    anew = judge_anew(package, found.old, found.old, Silent())
    assert (anew.appear, anew.disappear) == ((), ())


def test_what_must_not_travel_now_fails_the_package_that_told_it(forms: Forms) -> None:
    package = forms.closed(OLD)
    found = forms.compared(OLD, OLD + 'withheld = ["reel.title"]\n')
    assert found.old is not None
    assert found.new is not None
    anew = judge_anew(package, found.old, found.new, Silent())
    assert [one.code for one in anew.appear] == ["withheld-travels"]
    assert anew.verdict is Verdict.FAIL


@pytest.mark.parametrize(("top", "why"), [("", "no recipient"), ('recipient = "archive"', "")])
def test_a_package_for_somebody_else_is_passed_over(forms: Forms, top: str, why: str) -> None:
    package = forms.closed(OLD, top=top)
    other = forms.compared('id = "other"\n', 'id = "other"\numid = true\n')
    assert other.old is not None
    assert other.new is not None
    anew = judge_anew(package, other.old, other.new, Silent())
    assert (why or "it is for 'archive'") in anew.passed_over


def test_what_appears_in_many_is_counted(forms: Forms) -> None:
    package = forms.closed(OLD)
    found = forms.compared(OLD, STRICT)
    assert found.old is not None
    assert found.new is not None
    anew = judge_anew(package, found.old, found.new, Silent())
    assert systematic([anew, anew]) == {"asked-of-reel-not-told": 2}


@pytest.mark.parametrize("which", ["old", "new"])
@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("id = ", ["form-syntax"]),
        ('id = "archive"\ncolour = 7\n', ["form-value"]),
        (
            'id = "archive"\nwithheld = ["captures", "reel.smell"]\n',
            ["form-reference", "recipient-contradicts"],
        ),
    ],
)
def test_a_form_with_a_fault_is_told_of_and_nothing_is_compared(
    forms: Forms, which: str, text: str, codes: list[str]
) -> None:
    pair = (text, STRICT) if which == "old" else (STRICT, text)
    found = forms.compared(*pair)
    assert [one.code for one in found.findings] == codes
    assert found.changes == ()
    assert all(one.place.line for one in found.findings)


def test_two_recipients_are_no_two_versions(forms: Forms) -> None:
    with pytest.raises(UsageError, match="two versions of one recipient"):
        forms.compared('id = "archive"\n', 'id = "other"\n')


def test_forms_that_are_not_there(forms: Forms, tmp_path: Path) -> None:
    form = forms.write("old.toml", OLD)
    for other in (tmp_path, tmp_path / "nothing.toml"):
        with pytest.raises(UsageError):
            compare(form, other)


def test_what_is_no_package(forms: Forms, tmp_path: Path) -> None:
    found = forms.compared(OLD, STRICT)
    assert found.old is not None
    assert found.new is not None
    with pytest.raises(TailsoutError):
        judge_anew(tmp_path / "nothing", found.old, found.new, Silent())
