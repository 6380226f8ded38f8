"""Names and folders as a recipient asks; the portable set: IEEE Std 1003.1 §3.282, from memory."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.mapping import naming
from tailsout.records.capture import Capture
from tailsout.records.carrier import Image
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import FoundFile
from tailsout.records.recipient import NamesAsked, Recipient, RoleAsked
from tailsout.records.reel import Identifier, Reel, Region, Side
from tailsout.records.transfer import SourceFile, Transfer
from tailsout.rules import judge, names

Run = Callable[[str, Dossier], list[tuple[str, str]]]
Words = Callable[[str, Dossier], list[str]]
BY_TEMPLATE = "names by the recipient's template"
AS_TAKEN = "names as the recipient takes them"
FOLDERS = "folders as the recipient wants them"
CODES = {kind.code for rule in names.RULES for kind in rule.kinds}
ROLES = (
    RoleAsked(role="master", folder="Preservation", suffix="pm"),
    RoleAsked(role="edit", folder="Edit", suffix="em"),
    RoleAsked(role="image", folder="Photographs"),
)
TEMPLATE = "{identifier}_{side}[_p{part:02}]_{role}"
GOOD = "data/Preservation/SKL-7_A_pm.wav"


def side(name: str, capture: str) -> Side:
    region = Region(id=f"{name}1", kind="programme", capture=capture, start=0)
    return Side(id=name, regions=(region,))


REEL = Reel(identifiers=(Identifier(value="SKL-7"),), sides=(side("A", "reel"), side("B", "other")))


class Asked:
    """A package, or a job, whose recipient has wishes."""

    def __init__(self, received: Callable[..., Dossier], file: Callable[..., FileRecord]) -> None:
        self.whole, self.file = received(), file()

    def transfer(self, template: str | None = TEMPLATE, **asked: Any) -> Transfer:
        roles = asked.pop("roles", ROLES)
        wishes = NamesAsked(template=template, **asked)
        recipient = Recipient(id="archive", names=wishes, roles=roles)
        captures = (
            Capture(id="reel", file="captures/reel.wav"),
            Capture(id="other", file="captures/other.wav"),
        )
        base = self.whole.transfer
        assert base is not None
        return replace(base, reel=REEL, recipient=recipient, captures=captures)

    def package(self, *paths: str, beside: tuple[str, ...] = (), **asked: Any) -> Dossier:
        """Masters at those paths, with their side-cars, and files beside them."""
        transfer = self.transfer(**asked)
        car = self.file.sidecar
        assert car is not None
        files = tuple(
            replace(self.file, path=path, sidecar=replace(car, transfer=transfer)) for path in paths
        )
        every = (*paths, *map(naming.sidecar_path, paths), *beside, "bagit.txt")
        assert self.whole.package is not None
        found = tuple(FoundFile(path=path, octets=1) for path in sorted(every))
        bag = replace(self.whole.package, files=found)
        return replace(self.whole, transfer=transfer, files=files, package=bag)

    def copied(self, path: str, **asked: Any) -> Dossier:
        """The good master, and a copy of it that has no side-car."""
        whole = self.package(GOOD, **asked)
        copy = replace(self.file, path=path, sidecar=None, capture=None)
        return replace(whole, files=(*whole.files, copy))

    def job(self, *captures: str, **asked: Any) -> Dossier:
        """A job of those captures, by their ids."""
        files = tuple(
            replace(
                self.file,
                path=f"captures/{one}.wav",
                capture=one,
                sidecar=None,
                sources=(SourceFile(file=f"captures/{one}.wav", octets=1, frames=1, sha256=""),),
            )
            for one in captures
        )
        examined = frozenset({"statements", "headers"})
        transfer = self.transfer(**asked)
        return Dossier(origin="closing", transfer=transfer, files=files, examined=examined)  # type: ignore[arg-type]


@pytest.fixture
def asked(received: Callable[..., Dossier], file: Callable[..., FileRecord]) -> Asked:
    return Asked(received, file)


def ours(dossier: Dossier) -> list[str]:
    return [one.code for one in judge(dossier).findings if one.code in CODES]


def test_nothing_is_said_where_no_recipient_asks(
    asked: Asked, foreign: Dossier, received: Callable[..., Dossier]
) -> None:
    for dossier in (foreign, received(), asked.package(GOOD), asked.job("reel", "other")):
        assert ours(dossier) == []
    odd = asked.package("data/audio/Øyvind's tape.wav", template=None, roles=())
    assert ours(odd) == []


# name-template-faulty


@pytest.mark.parametrize("template", ["{side", "{package}{side}", "{sid}"])
def test_a_template_that_is_none_is_told_once(asked: Asked, run: Run, template: str) -> None:
    for dossier, expected in (
        (asked.package(GOOD, template=template), "name-template-faulty"),
        # Whose job it is cannot close it.
        (asked.job("reel", "other", template=template), "name-not-made"),
    ):
        [(code, place)] = run(BY_TEMPLATE, dossier)
        assert code == expected
        assert place.endswith("/recipient/names/template")


def test_where_a_template_is_at_fault(asked: Asked, told: Words) -> None:
    [text] = told(BY_TEMPLATE, asked.job("reel", template="{package}_{sid}"))
    assert text == "at its letter 11: there is no field 'sid'; did you mean 'side'?"


# name-not-made, names-clash


def test_a_capture_whose_master_would_have_no_name(asked: Asked, run: Run, told: Words) -> None:
    job = asked.job("reel", "other", template="{side}_{track:02}")
    assert run(BY_TEMPLATE, job) == [
        ("name-not-made", "captures/reel.wav"),
        ("name-not-made", "captures/other.wav"),
    ]
    assert told(BY_TEMPLATE, job)[0] == "nothing is known for track."
    assert run(BY_TEMPLATE, asked.job("reel", "other", template="{side}[_{track:02}]")) == []


def test_two_captures_whose_masters_would_have_one_name(
    asked: Asked, run: Run, told: Words
) -> None:
    job = asked.job("reel", "other", template="{identifier}_{role}")
    assert run(BY_TEMPLATE, job) == [("names-clash", "captures/other.wav")]
    [text] = told(BY_TEMPLATE, job)
    assert text.startswith("its master would be called data/Preservation/SKL-7_pm.wav, and so")
    assert text.endswith("would that of captures/reel.wav.")
    assert run(BY_TEMPLATE, asked.job("reel", template="{identifier}_{role}")) == []


# name-not-by-template, name-differs-from-side-car


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("SKL-7_A_pm", None),
        ("SKL-7_A", "name-not-by-template"),
        ("reel", "name-not-by-template"),
        ("SKL-7_A_pm ", "name-not-by-template"),
        ("SKL-7_A_xx", "name-not-by-template"),
        ("SKL-7_B_pm", "name-differs-from-side-car"),
        ("SKL-8_A_pm", "name-differs-from-side-car"),
        ("SKL-7_A_em", "name-differs-from-side-car"),
        ("skl-7_A_pm", "name-differs-from-side-car"),
        # Nothing is stated of parts, so nothing contradicts it.
        ("SKL-7_A_p02_pm", None),
    ],
)
def test_a_masters_name_is_read_back(asked: Asked, run: Run, name: str, code: str | None) -> None:
    path = f"data/Preservation/{name}.wav"
    assert run(BY_TEMPLATE, asked.package(path)) == ([(code, path)] if code else [])


def test_what_a_name_says_otherwise(asked: Asked, told: Words) -> None:
    assert told(BY_TEMPLATE, asked.package("data/Preservation/SKL-8_B_pm.wav")) == [
        "its name says identifier 'SKL-8', stated is 'SKL-7'.",
        "its name says side 'B', stated is 'A'.",
    ]
    [text] = told(BY_TEMPLATE, asked.package("data/Preservation/reel.wav"))
    assert text == f"by {TEMPLATE}, it ends before the template is filled."


def test_part_and_track_are_held_against_the_side_car(asked: Asked, run: Run) -> None:
    template = "{identifier}[_t{track:02}]"
    whole = asked.package("data/Preservation/SKL-7_t02.wav", template=template)
    (file,) = whole.files
    for track, found in ((2, 0), (1, 1)):
        dossier = replace(whole, files=(replace(file, track=track),))
        assert len(run(BY_TEMPLATE, dossier)) == found


def test_a_name_in_other_normal_form_says_the_same(asked: Asked, run: Run) -> None:
    path = "data/Preservation/SKL-7_A\u0308.wav"
    dossier = asked.package(path, template="{identifier}_Ä", allowed="any")
    assert run(BY_TEMPLATE, dossier) == []


@pytest.mark.parametrize(
    ("path", "code"),
    [
        ("data/Edit/SKL-7_A_em.wav", None),
        ("data/Edit/SKL-7_A_pm.wav", "name-differs-from-side-car"),
        ("data/Edit/SKL-8_A_em.wav", "name-differs-from-side-car"),
        ("data/Edit/edit.wav", "name-not-by-template"),
        ("data/audio/anything.wav", None),
        ("data/Photographs/anything.wav", None),
    ],
)
def test_a_copy_in_a_folder_of_copies_is_read_back(
    asked: Asked, run: Run, path: str, code: str | None
) -> None:
    assert run(BY_TEMPLATE, asked.copied(path)) == ([(code, path)] if code else [])


# name-too-long, name-letters


def test_a_name_that_is_too_long(asked: Asked, run: Run, told: Words) -> None:
    name = "SKL-7_A_pm.json"
    assert run(AS_TAKEN, asked.package(GOOD, max_length=len(name))) == []
    dossier = asked.package(GOOD, max_length=len(name) - 1)
    assert run(AS_TAKEN, dossier) == [("name-too-long", f"data/Preservation/{name}")]
    assert told(AS_TAKEN, dossier) == ["its name has 15 characters, and they take 14."]
    job = asked.job("reel", max_length=len(name) - 1)
    assert run(AS_TAKEN, job) == [("name-too-long", f"data/Preservation/{name}")]


@pytest.mark.parametrize(
    ("allowed", "name", "wrong"),
    [
        ("POSIX portable", "Box_1.v-2.jpg", ""),
        ("POSIX portable", "box 1.jpg", "' '"),
        ("POSIX portable", "Bøx.jpg", "'ø'"),
        ("lower-case portable", "box_1.jpg", ""),
        ("lower-case portable", "Box.jpg", "'B'"),
        ("any", "Bøx (1).jpg", ""),
        ("any", "box?.jpg", "'?'"),
        (None, "box?.jpg", ""),
    ],
)
def test_characters_that_they_do_not_take(
    asked: Asked, told: Words, allowed: Any, name: str, wrong: str
) -> None:
    dossier = asked.package(beside=(f"data/Photographs/{name}",), allowed=allowed, template=None)
    expected = f"it holds {wrong}, and they take names that are {allowed}."
    assert told(AS_TAKEN, dossier) == ([expected] if wrong else [])


def test_where_such_a_name_is(asked: Asked, run: Run) -> None:
    path = "data/Photographs/box 1.jpg"
    dossier = asked.package(beside=(path,), allowed="POSIX portable", template=None)
    assert run(AS_TAKEN, dossier) == [("name-letters", path)]


def test_a_photograph_is_asked_about_before_anything_is_packed(asked: Asked, run: Run) -> None:
    job = asked.job("reel", allowed="lower-case portable", template=None)
    assert job.transfer is not None
    images = (Image(file="images/box.jpg"), Image(file="images/Box 2.jpg"))
    reel = replace(job.transfer.reel, images=images)
    stating = replace(job, transfer=replace(job.transfer, reel=reel))
    assert run(AS_TAKEN, stating) == [("name-letters", "data/Photographs/Box 2.jpg")]


def test_tag_files_are_named_by_bagit_and_by_us(asked: Asked, run: Run) -> None:
    dossier = asked.package(beside=("metadata/README.txt",), allowed="lower-case portable")
    assert run(AS_TAKEN, dossier) == []


# file-in-other-folder


@pytest.mark.parametrize(
    ("paths", "beside", "found"),
    [
        ((GOOD,), ("data/Photographs/box.jpg", "data/documents/letter.pdf"), []),
        (
            ("data/audio/SKL-7_A_pm.wav",),
            (),
            ["data/audio/SKL-7_A_pm.json", "data/audio/SKL-7_A_pm.wav"],
        ),
        (
            ("data/Edit/SKL-7_A_pm.wav",),
            (),
            ["data/Edit/SKL-7_A_pm.json", "data/Edit/SKL-7_A_pm.wav"],
        ),
        ((GOOD,), ("data/images/box.jpg",), ["data/images/box.jpg"]),
        ((GOOD,), ("data/edit/em.wav",), ["data/edit/em.wav"]),
        ((GOOD,), ("data/elsewhere/box.jpg", "data/imagesbox.jpg"), []),
    ],
)
def test_a_file_in_another_folder_than_they_want(
    asked: Asked, run: Run, paths: tuple[str, ...], beside: tuple[str, ...], found: list[str]
) -> None:
    dossier = asked.package(*paths, beside=beside)
    assert run(FOLDERS, dossier) == [("file-in-other-folder", path) for path in found]


def test_a_default_folder_that_they_want_for_something_else(asked: Asked, run: Run) -> None:
    roles = (
        RoleAsked(role="image", folder="documents"),
        RoleAsked(role="document", folder="papers"),
    )
    dossier = asked.package(beside=("data/documents/box.jpg",), roles=roles)
    assert run(FOLDERS, dossier) == []
