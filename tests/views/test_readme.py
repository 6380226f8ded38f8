from dataclasses import replace
from typing import Any

import pytest

from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.records.reel import Reel
from tailsout.records.transfer import Studio, Transfer
from tailsout.views.readme import render


def shown(dossier: Dossier) -> str:
    return render(dossier, (), {}).decode("utf-8")


def transfer(**more: Any) -> Transfer:
    usual = {
        "job_id": "j",
        "package_id": "SKL-0007",
        "studio": Studio(),
        "reel": Reel(title="Log of the keeper – 7½"),
        "captures": (
            Capture(id="a", file="captures/skl7-side-a.wav"),
            Capture(id="b", file="captures/skl7-side-b.BWF"),
        ),
    }
    return Transfer(**{**usual, **more})


def closing(**more: Any) -> Dossier:
    stated = transfer(**more)
    files = tuple(
        FileRecord(path=one.file, octets=0, container=ContainerFacts(form="RIFF", chunks=()))
        for one in stated.captures
    )
    return Dossier(origin="closing", transfer=stated, files=files)


def test_it_begins_with_what_this_is() -> None:
    rows = shown(closing()).split("\n")
    assert rows[0] == "SKL-0007: Log of the keeper – 7½"
    assert rows[1] == "=" * len(rows[0])


@pytest.mark.parametrize(
    "named",
    [
        "data/audio/skl7-side-a.wav",
        "data/audio/skl7-side-a.json",
        "data/audio/skl7-side-b.wav",
        "data/audio/skl7-side-b.json",
        "bagit.txt",
        "bag-info.txt",
        "manifest-*.txt",
        "tagmanifest-*.txt",
        "metadata/schemas/",
        "metadata/checks.json",
        "metadata/report.html",
        "metadata/premis.xml",
        "metadata/mets.xml",
        "metadata/as-captured/",
        "metadata/README.txt",
        "    sha512sum -c manifest-sha512.txt",
        "    sha512sum -c tagmanifest-sha512.txt",
    ],
)
def test_every_thing_in_the_package_has_a_line_of_its_own(named: str) -> None:
    assert named in shown(closing()).split("\n")


@pytest.mark.parametrize("standard", ["RFC 8493", "EBU Tech 3285", "RFC 8259", "FIPS 180-4"])
def test_it_names_the_standards(standard: str) -> None:
    assert standard in " ".join(shown(closing()).split())


def test_it_fits_a_narrow_terminal() -> None:
    assert max(map(len, shown(closing()).split("\n"))) <= 79
    assert shown(closing()).endswith("\n")
    assert "\r" not in shown(closing())


def test_a_reel_without_a_title() -> None:
    assert shown(closing(reel=Reel())).startswith("SKL-0007\n========\n")


def test_a_package_that_nobody_stated_anything_about() -> None:
    text = shown(Dossier(origin="received"))
    assert text.startswith("this package\n============\n")
    assert "preservation master" not in text
    assert "bagit.txt" in text


def test_a_long_title_has_a_rule_that_fits() -> None:
    rows = shown(closing(reel=Reel(title="t" * 300))).split("\n")
    assert rows[1] == "=" * 79


def test_text_from_forms_cannot_command_a_terminal(
    hostile: Dossier, stranger: tuple[str, str]
) -> None:
    text, escaped = stranger
    page = shown(hostile)
    assert page.replace("\n", "").isprintable()
    assert page.split("\n")[0] == f"{escaped}: {escaped}"
    capture = Capture(id="a", file=f"captures/{text}.wav")
    assert f"data/audio/{escaped}.wav" in shown(closing(captures=(capture,))).split("\n")


def test_it_is_the_same_each_time(hostile: Dossier) -> None:
    assert render(hostile, (), {}) == render(replace(hostile), (), {"x": b"y"})
