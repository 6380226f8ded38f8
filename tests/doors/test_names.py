"""`tailsout names` and what `close --plan` shows of names by a template."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

FORM = """id = "archive"
[names]
template = "{identifier}_{side:lower}_{role}"
separator = "-"
[[roles]]
role = "master"
folder = "Preservation"
suffix = "pm"
"""
REEL = """
[[reel.identifiers]]
value = "HA/SKL/8"
[[reel.sides]]
id = "A"
regions = [{ id = "A1", kind = "programme", capture = "a", start = "0:00" }]
"""


@pytest.fixture
def job(bench: Any) -> Path:
    (bench.studio / "recipients/archive.toml").write_text(FORM)
    bench.fill(top='recipient = "archive"', more=REEL)
    folder: Path = bench.job
    return folder


def test_names_are_shown_and_read_back(cli: Callable[..., Any], job: Path) -> None:
    ran = cli("names", job)
    assert ran.code == 0
    assert ran.out.splitlines() == [
        "Names by {identifier}_{side:lower}_{role}:",
        "  captures/a.wav",
        "    → data/Preservation/HA-SKL-8_a_pm.wav  (17 characters, its side-car 18)",
        "      says identifier HA-SKL-8, side a, role pm",
        "Nothing was written.",
    ]


def test_another_template_is_tried(cli: Callable[..., Any], job: Path) -> None:
    ran = cli("names", job, "--template", "{package}.{capture}")
    assert (ran.code, "data/Preservation/TT-1.a.wav" in ran.out) == (0, True)
    ran = cli("names", job, "--template", "{identifier}", "--separator", "_")
    assert "says identifier HA_SKL_8" in ran.out
    ran = cli("names", job, "--template", "{identifier}_{work}")
    assert (ran.code, "→ no name: nothing is known for work." in ran.out) == (1, True)
    assert "mend   name-not-made" in ran.out


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (
            ("--template", "{sid}"),
            "'{sid}' is not a template of names: at its letter 1, there is no",
        ),
        (("--separator", "-"), "--separator belongs to a template."),
    ],
)
def test_what_cannot_be_tried(
    cli: Callable[..., Any], job: Path, options: tuple[str, ...], says: str
) -> None:
    ran = cli("names", job, *options)
    assert ran.code == 2
    assert says in ran.err


def test_fields_are_listed_without_a_job(cli: Callable[..., Any]) -> None:
    ran = cli("names", "--fields")
    assert ran.code == 0
    assert "  side-number     which side it is, counted from 1" in ran.out
    assert cli("names").code == 2


def test_a_capture_that_is_not_there_yet(cli: Callable[..., Any], job: Path) -> None:
    (job / "captures/a.wav").unlink()
    ran = cli("names", job)
    assert "  captures/a.wav  (not there yet, or still growing)\n" in ran.out
    assert "data/Preservation/HA-SKL-8_a_pm.wav" in ran.out


def test_a_plan_shows_what_each_master_is_made_of(
    cli: Callable[..., Any], job: Path, bench: Any
) -> None:
    ran = cli("close", job, "-o", bench.out, "--plan")
    assert ran.code == 0
    assert "  data/Preservation/HA-SKL-8_a_pm.wav  29" in ran.out
    assert "  from captures/a.wav, 17 characters\n" in ran.out
    (bench.studio / "recipients/archive.toml").write_text('id = "archive"\n')
    ran = cli("close", job, "-o", bench.out, "--plan")
    assert "  data/audio/a.wav  29" in ran.out
    assert "from captures" not in ran.out


def test_a_job_without_captures_has_no_names(cli: Callable[..., Any], bench: Any) -> None:
    bench.form({}, top='kind = "record only"\nnot_played_because = "shed"')
    ran = cli("names", bench.job)
    assert ran.out == "No capture is stated that could be named.\nNothing was written.\n"
    assert ran.code == 0


def test_access_copies_are_shown_too(cli: Callable[..., Any], job: Path, bench: Any) -> None:
    form = bench.studio / "recipients/archive.toml"
    copies = '[[roles]]\nrole = "access"\nfolder = "Listening"\nsuffix = "ac"\n[[copies]]\n'
    form.write_text(FORM + copies + 'format = "FLAC"\n')
    ran = cli("names", job)
    assert ran.code == 0
    assert "    → data/Listening/HA-SKL-8_a_ac.flac  (18 characters)\n" in ran.out
    form.write_text(FORM + copies + 'format = "FLAC"\n[[copies]]\nformat = "FLAC"\n')
    ran = cli("names", job)
    assert ran.code == 1
    assert "    → no access copy: Two access copies would have one name" in ran.out
