"""What is known of a master that can stand in its name, and where it lies in a package."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.mapping import key_paths, masters
from tailsout.mapping.names import tree
from tailsout.mapping.names.asked import stem_of, template_of
from tailsout.mapping.names.fields import FIELDS, Fault, Template
from tailsout.mapping.names.values import RESTS_ON, known_of, roles_of
from tailsout.records.capture import Capture, Part
from tailsout.records.dossier import FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.records.playing import Pass
from tailsout.records.recipient import NamesAsked, Recipient, RoleAsked
from tailsout.records.recording import Work
from tailsout.records.reel import Identifier, Reel, Region, Side
from tailsout.records.transfer import SourceFile, Studio, Transfer

PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)
RUN = "p1"
SPLIT = Capture(
    id="whole",
    file="captures/1.wav",
    pass_id=RUN,
    parts=(Part(file="captures/1.wav"), Part(file="captures/2.wav")),
)


def region(name: str, kind: Any, start: int, end: int | None, capture: str = "whole") -> Region:
    return Region(id=name, kind=kind, capture=capture, start=start, end=end)


TRANSFER = Transfer(
    job_id="5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07",
    package_id="SKL-0007",
    studio=Studio(name="Saltpan Row"),
    recipient=Recipient(id="harbour-archive"),
    work=Work(id="keepers-log", part=7),
    reel=Reel(
        identifiers=(
            Identifier(value="HA/SKL/7", kind="shelf mark"),
            Identifier(value="0000418207", kind="barcode"),
            Identifier(value="0000418208", kind="barcode"),
        ),
        sides=(
            Side(
                id="A", regions=(region("A1", "leader", 0, 10), region("A2", "programme", 10, 500))
            ),
            Side(id="B", regions=(region("B1", "programme", 500, None),)),
        ),
    ),
    passes=(Pass(id=RUN, on="2026-03-14T10:20:00Z"),),
    captures=(Capture(id="other", file="captures/0.wav"), SPLIT),
)


def file(path: str = "captures/1.wav", **changed: Any) -> FileRecord:
    given: dict[str, Any] = {
        "path": path,
        "octets": 1,
        "capture": "whole",
        "container": ContainerFacts(form="RIFF", chunks=()),
        "pcm": PCM,
        "frames": 500,
        "sources": (SourceFile(file=path, octets=1, frames=500, sha256=""),),
    } | changed
    return FileRecord(**given)


def test_what_is_known_of_a_part() -> None:
    known = known_of(TRANSFER, file("captures/2.wav", made="part", starts_at=500))
    assert known.values == {
        "package": "SKL-0007",
        "identifier": "HA/SKL/7",
        "identifier:shelf-mark": "HA/SKL/7",
        "identifier:barcode": "0000418207",
        "work": "keepers-log",
        "work-part": 7,
        "side": "B",
        "side-number": 2,
        "region": "B1",
        "region-number": 1,
        "capture": "whole",
        "capture-number": 2,
        "part": 2,
        "role": "master",
        "studio": "Saltpan Row",
        "recipient": "harbour-archive",
        "date": "2026-03-14",
    }
    known = known_of(TRANSFER, file(made="track", track=3))
    assert known.values["track"] == 3
    assert (known.values["side"], known.values["region"]) == ("A", "A2")
    assert set(known.values) | {"part"} >= set(FIELDS)


def test_why_something_is_not_known() -> None:
    known = known_of(TRANSFER, file(frames=600))
    assert "side" not in known.values
    assert known.why_not["side"] == "it holds sides A and B"
    assert known.why_not["region"] == "it holds 2 regions of programme"
    known = known_of(TRANSFER, file(capture="other"))
    assert known.why_not["side"] == "no region says which side lies in it"
    assert "date" not in known.values
    assert known_of(TRANSFER, file(capture=None)).values["package"] == "SKL-0007"


def asking(template: str | None, **more: Any) -> Transfer:
    names = NamesAsked(template=template, separator=more.pop("separator", None), **more)
    roles = (
        RoleAsked(role="master", folder="Preservation", suffix="pm"),
        RoleAsked(role="edit", suffix="em"),
        RoleAsked(role="document", folder="Papers"),
    )
    return replace(TRANSFER, recipient=Recipient(id="harbour-archive", names=names, roles=roles))


@pytest.mark.parametrize(
    ("transfer", "path"),
    [
        (None, "data/audio/1.wav"),
        (TRANSFER, "data/audio/1.wav"),
        (replace(TRANSFER, recipient=None), "data/audio/1.wav"),
        (asking(None), "data/Preservation/1.wav"),
        (asking("{package}_{side}_{role}"), "data/Preservation/SKL-0007_A_pm.wav"),
        (asking("{identifier}_{side}", separator="-"), "data/Preservation/HA-SKL-7_A.wav"),
        (asking("{package} {side}", allowed="any"), "data/Preservation/SKL-0007 A.wav"),
    ],
)
def test_where_a_master_will_lie(transfer: Transfer | None, path: str) -> None:
    assert masters.master_path(transfer, file()) == path


def test_a_master_that_has_none() -> None:
    lacking = asking("{package}_{track:02}")
    assert masters.planned(lacking, file()).why == "nothing is known for track."
    with pytest.raises(MaterialError, match=r"captures/1\.wav would have no name: nothing is"):
        masters.master_path(lacking, file())
    both = masters.planned(asking("{side}"), file(frames=600))
    assert both.why == "nothing is known for side: it holds sides A and B."
    none = stem_of(asking("{side"), file())
    assert isinstance(none, Fault)
    assert none.text.startswith("the recipient's template of names: '{' has no fellow")
    given = stem_of(asking("{identifier}"), file())
    assert isinstance(given, Fault)
    assert "holds '/', which cannot stand there." in given.text


def test_two_masters_of_one_name() -> None:
    parts = [file(made="part"), file("captures/2.wav", made="part", starts_at=500)]
    assert masters.paths_of(asking("{package}_{part}"), parts) == (
        "data/Preservation/SKL-0007_1.wav",
        "data/Preservation/SKL-0007_2.wav",
    )
    assert masters.paths_of(asking("{package}[_{track}]"), parts) is None
    assert masters.paths_of(asking("{package}_{track}"), parts[:1]) is None


@pytest.mark.parametrize(
    ("transfer", "path", "told"),
    [
        (TRANSFER, "data/audio/1.wav", True),
        (TRANSFER, "data/audio/2.wav", True),
        (TRANSFER, "data/audio/3.wav", False),
        (TRANSFER, "data/audio/1.flac", False),
        (TRANSFER, "data/edit/1.wav", False),
        (None, "data/audio/1.wav", False),
        (asking("{package}_{part}"), "data/Preservation/SKL-0007_2.wav", True),
        (asking("{package}_{part}"), "data/Preservation/SKL-0007.wav", False),
        (asking("{package}_{part}"), "data/audio/SKL-0007_2.wav", False),
        (asking("{package"), "data/Preservation/1.wav", True),
    ],
)
def test_a_master_is_known_by_its_path(transfer: Transfer | None, path: str, *, told: bool) -> None:
    assert masters.is_master(transfer, path) is told


def test_words_for_roles() -> None:
    assert roles_of(None) == ("master",)
    assert roles_of(asking("x").recipient) == ("pm", "em", "document")
    assert roles_of(Recipient(id="x", roles=(RoleAsked(role="edit"),))) == ("edit", "master")


def test_the_template_of_a_recipient() -> None:
    assert template_of(None) is None
    assert template_of(TRANSFER.recipient) is None
    assert isinstance(template_of(asking("{package}_{role}").recipient), Template)
    assert isinstance(
        template_of(asking("Tape_{side}", allowed="lower-case portable").recipient), Fault
    )


TREE: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "images/box.jpg": ("data/images/box.jpg", ("images/box.jpg",)),
    "documents/a/b.pdf": ("data/Papers/a/b.pdf", ("Papers/a/b.pdf", "documents/a/b.pdf")),
}


@pytest.mark.parametrize("path", TREE)
def test_where_photographs_and_documents_lie_and_the_way_back(path: str) -> None:
    recipient = asking(None).recipient
    lies, known = TREE[path]
    assert tree.kept_path(recipient, path) == lies
    assert tree.job_paths(recipient, lies) == known
    assert tree.kept_path(None, path) == f"data/{path}"
    assert tree.job_paths(None, f"data/{path}") == (path,)


def test_every_field_rests_on_a_key_that_there_is() -> None:
    assert set(RESTS_ON) < set(FIELDS)
    assert all(key_paths.is_known(key) for key in RESTS_ON.values())
