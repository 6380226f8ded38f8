"""What is copied across a batch: equal samples, or equal lengths and equal identifiers."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import InfoLine, PackageFacts
from tailsout.records.marks import Marks, MasterMark
from tailsout.records.reel import Identifier
from tailsout.records.transfer import Transfer
from tailsout.rules.batch import across, marks_of

SECOND_JOB = "1c8e7d2f-9b65-4a4a-8d3c-38e1b4a7f629"


Named = tuple[str, Marks]


def of(
    package: str, *masters: tuple[str, int], ids: tuple[str, ...] = (), job_id: str = ""
) -> Named:
    told = tuple(
        MasterMark(path=f"data/{n}.wav", essence_sha256=essence, frames=frames)
        for n, (essence, frames) in enumerate(masters)
    )
    return package, Marks(itself=package, job_id=job_id, identifiers=ids, masters=told)


def codes(*batch: Named) -> list[tuple[str, str]]:
    return [(one.code, str(one.place)) for one in across(batch)]


def test_equal_samples_are_told_once() -> None:
    batch = (of("c", ("e", 9)), of("a", ("x", 5), ("e", 9)), of("b", ("e", 9)))
    assert codes(*batch) == [("essence-in-two-packages", "a#data/1.wav")]
    [finding] = across(batch)
    assert finding.text == "it has the same samples as in b data/0.wav, c data/0.wav."
    # Whichever was judged first.
    assert across(batch[::-1]) == across(batch)


def test_equal_lengths_and_equal_identifiers() -> None:
    one, other = of("a", ("x", 9), ids=("0000000000",)), of("b", ("y", 9), ids=("0000000000",))
    assert codes(one, other) == [("values-in-two-packages", "a#data/0.wav")]
    assert codes(one, of("b", ("y", 9), ids=("0000000001",))) == []
    assert codes(one, of("b", ("y", 10), ids=("0000000000",))) == []
    # Without identifiers there is nothing that was copied.
    assert codes(of("a", ("x", 9)), of("b", ("y", 9))) == []


def test_what_has_the_same_samples_is_not_told_of_twice() -> None:
    one, other = of("a", ("e", 9), ids=("8",)), of("b", ("e", 9), ids=("8",))
    assert [code for code, _ in codes(one, other)] == ["essence-in-two-packages"]


def test_copies_and_versions_of_one_package_are_one() -> None:
    one = of("a", ("e", 9), ids=("8",), job_id="j")
    copy = ("copy of a", one[1])
    assert codes(one, copy) == []
    assert codes(one, copy, of("b", ("e", 9))) == [("essence-in-two-packages", "a#data/0.wav")]
    [finding] = across((one, copy, of("b", ("e", 9))))
    assert finding.text == "it has the same samples as in b data/0.wav."


def test_a_job_folder_that_was_copied_for_another_reel() -> None:
    one, other = of("a", ("x", 9), job_id="j"), of("b", ("y", 8), job_id="j")
    assert codes(one, other) == [("job-in-two-packages", "a")]
    assert codes(one, of("b", ("y", 8), job_id="k")) == []


def test_one_package_has_nothing_to_be_compared_with() -> None:
    assert codes() == []
    assert codes(of("a", ("e", 9), ("e", 9))) == []


def test_many_that_are_alike_are_named_a_few_and_counted() -> None:
    [finding] = across(of(f"p{n:03d}", ("e", 9)) for n in range(300))
    assert finding.text.startswith("it has the same samples as in p001 data/0.wav, ")
    assert finding.text.endswith(" and 294 more.")
    assert len(finding.text) < 300


def test_what_is_kept_of_a_package_of_ours(
    stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> None:
    made = transfer()
    reel = replace(made.reel, identifiers=(Identifier(value=" HA/SKL/8"),))
    dossier = stating(replace(made, reel=reel))
    marks = marks_of(dossier)
    assert marks.identifiers == ("ha/skl/8",)
    assert marks.masters == (
        MasterMark(path="data/audio/reel.wav", essence_sha256="e" * 64, frames=48_000),
    )
    # Operator, machine, passes: all the same, of another job and another name.
    other = marks_of(stating(replace(made, reel=reel, job_id=SECOND_JOB, package_id="REEL-2")))
    assert codes(("a", marks), ("b", replace(other, masters=()))) == []
    assert marks_of(replace(dossier)).itself == marks.itself != other.itself


def test_samples_that_were_not_read_are_those_of_the_side_car(
    received: Callable[..., Dossier], file: Callable[..., FileRecord]
) -> None:
    unread = received(files=(file(essence_sha256=""),))
    assert marks_of(unread).masters[0].essence_sha256 == "e" * 64


@pytest.mark.parametrize("changed", [False, True])
def test_what_is_kept_of_a_strangers_package(
    foreign: Dossier, package: Callable[..., PackageFacts], *, changed: bool
) -> None:
    lines = (InfoLine(label="External-Identifier", value="HA/SKL/8", line=1),)
    facts = package(bag_info=lines)
    one = marks_of(replace(foreign, package=facts))
    assert one.identifiers == ("ha/skl/8",)
    assert not one.job_id
    manifests = facts.manifests
    if changed:
        line = manifests[0].lines[0]._replace(digest="f" * 64)
        manifests = (replace(manifests[0], lines=(line,)), *manifests[1:])
    other = marks_of(replace(foreign, package=package(bag_info=lines, manifests=manifests)))
    assert (one.itself == other.itself) is not changed
    assert [code for code, _ in codes(("a", one), ("b", other))] == [
        "essence-in-two-packages"
    ] * changed


def test_of_a_stranger_so_much_is_kept_and_no_more(
    foreign: Dossier, package: Callable[..., PackageFacts]
) -> None:
    names = tuple(
        InfoLine(label="External-Identifier", value=f"{n}\x1b", line=n) for n in range(10_000)
    )
    marks = marks_of(replace(foreign, package=package(bag_info=names), files=foreign.files * 5_000))
    assert (len(marks.identifiers), len(marks.masters)) == (100, 1000)
    assert all("\x1b" not in one for one in marks.identifiers)
