"""Masters called, and laid, as their recipient asks; the captures keep their names."""

import json
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.errors import SurroundingsError, UsageError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.records.recipient import NamesAsked
from tailsout.wave import bext
from tailsout.wave.riff import read_chunk, read_layout
from tailsout.work.amend import amend
from tailsout.work.check import check
from tailsout.work.close_out import Outcome
from tailsout.work.names import Named, Preview, preview

FORM = """id = "archive"
master_format = "{format}"
[names]
template = "{template}"
separator = "-"
[[roles]]
role = "master"
folder = "Preservation"
suffix = "pm"
[[roles]]
role = "image"
folder = "Photographs"
[[roles]]
role = "calibration"
folder = "Tones"
"""
SIDES = """
[[reel.identifiers]]
value = "HA/SKL/8"
kind = "shelf mark"
[[reel.images]]
file = "images/box.jpg"
role = "box"
[[reel.sides]]
id = "A"
regions = [{ id = "A1", kind = "programme", capture = "a", start = "0:00" }]
[[reel.sides]]
id = "B"
regions = [{ id = "B1", kind = "programme", capture = "b", start = "0:00" }]
"""
TEMPLATE = "{identifier:shelf-mark}_{side:lower}_{role}"
MASTER_A = "data/Preservation/HA-SKL-8_a_pm.wav"


class Asking:
    """A job of two sides for a recipient with a template."""

    def __init__(
        self,
        bench: Any,
        around: Callable[..., Any],
        close_job: Callable[..., Outcome],
        amend_package: Callable[..., Path],
    ) -> None:
        self.bench, self.around = bench, around
        self.close, self.amend = close_job, amend_package

    def lay(self, template: str = TEMPLATE, *, form: str = FORM, file_format: str = "WAV") -> None:
        told = form.replace("{template}", template).replace("{format}", file_format)
        (self.bench.studio / "recipients/archive.toml").write_text(told)
        for name in ("a", "b"):
            self.bench.put(f"captures/{name}.wav", self.bench.wave(own=self.bench.own_bext()))
        self.bench.put("images/box.jpg", b"box")
        self.bench.put("rest.wav", self.bench.wave())
        captures = {"a": "captures/a.wav", "b": "captures/b.wav"}
        self.bench.form(captures, top='recipient = "archive"', more=SIDES)


@pytest.fixture
def asking(
    bench: Any,
    around: Callable[..., Any],
    close_job: Callable[..., Outcome],
    amend_package: Callable[..., Path],
) -> Asking:
    return Asking(bench, around, close_job, amend_package)


def payload(package: Path) -> set[str]:
    files = (path for path in (package / "data").rglob("*") if path.is_file())
    return {path.relative_to(package).as_posix() for path in files}


def header(path: Path) -> bext.Bext:
    with path.open("rb") as stream:
        (found,) = read_layout(stream).named(b"bext")
        read, _ = bext.decode(read_chunk(stream, found, found.octets))
    assert read is not None
    return read


def codes(outcome: Iterable[Any]) -> set[str]:
    return {finding.code for finding in outcome}


def test_names_and_tree_are_the_recipients(asking: Asking) -> None:
    asking.lay()
    assert asking.close().built is not None
    package = asking.bench.package
    assert payload(package) == {
        MASTER_A,
        "data/Preservation/HA-SKL-8_a_pm.json",
        "data/Preservation/HA-SKL-8_b_pm.wav",
        "data/Preservation/HA-SKL-8_b_pm.json",
        "data/Photographs/box.jpg",
    }
    told = json.loads((package / MASTER_A).with_suffix(".json").read_bytes())["this_file"]
    assert told["path"] == MASTER_A
    assert told["sources"][0]["file"] == "captures/a.wav"
    assert header(package / MASTER_A).originator_reference == "HA-SKL-8_a_pm"
    # What the recorder wrote is kept by the recorder's name.
    assert (package / "metadata/as-captured/a.bext").is_file()
    assert MASTER_A in (package / "metadata/README.txt").read_text()
    checked = check(package, Silent())
    assert checked.judgement.verdict in {Verdict.PASS, Verdict.OPEN}
    assert "sidecar-missing" not in codes(checked.judgement.findings)


def test_without_a_template_names_are_the_recorders(asking: Asking) -> None:
    asking.lay(form='id = "archive"\n')
    asking.close()
    assert payload(asking.bench.package) == {
        *(f"data/audio/{name}" for name in ("a.wav", "a.json", "b.wav", "b.json")),
        "data/images/box.jpg",
    }


def test_a_flac_master_is_called_so_too(asking: Asking) -> None:
    asking.lay(file_format="FLAC")
    asking.close()
    assert "data/Preservation/HA-SKL-8_a_pm.flac" in payload(asking.bench.package)


def test_captures_beside_the_masters_lie_where_the_recipient_wants_them(asking: Asking) -> None:
    asking.lay()
    form = asking.bench.job / "job.toml"
    form.write_text(form.read_text() + 'at_rest = "rest.wav"\n')
    asking.close()
    assert "data/Tones/at-rest/rest.wav" in payload(asking.bench.package)
    checked = check(asking.bench.package, Silent())
    assert "calibration-capture-differs" not in codes(checked.judgement.findings)


# What cannot be called anything is refused before a sample is read


@pytest.mark.parametrize(
    ("template", "says"),
    [
        ("{package}", "and so would that of captures/a.wav."),
        ("{package}_{work}", "nothing is known for work."),
        ("{package}_{track:02}", "nothing is known for track."),
        ("{package}_{sid}", "at its letter 11: there is no field 'sid'; did you mean 'side'?"),
        ("{package}{side}", "could be read as package 'AA', side 'A' or"),
    ],
)
def test_what_has_no_name_is_refused(
    asking: Asking, template: str, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asking.lay(template)
    monkeypatch.setattr("tailsout.work.first_pass.measure", lambda *_: pytest.fail("it was read"))
    outcome = asking.close()
    assert outcome.judgement.verdict is Verdict.FAIL
    told = {one.code: one.text for one in outcome.judgement.findings}
    assert says in (told.get("name-not-made", "") or told["names-clash"])
    assert not asking.bench.out.exists()


def test_all_else_that_is_wrong_is_told_with_it(asking: Asking) -> None:
    asking.lay("{package}_{work}")
    form = asking.bench.job / "job.toml"
    one = '{ id = "B1", kind = "programme", capture = "b", start = "0:00" }'
    two = '{ id = "B2", kind = "programme", capture = "b", start = "9:00" }'
    form.write_text(form.read_text().replace(one, f"{one}, {two}"))
    found = codes(asking.close().judgement.findings)
    assert {"name-not-made", "region-outside"} <= found


def test_names_that_some_system_takes_for_one_are_refused(asking: Asking) -> None:
    asking.lay("{package}[_{region}]")
    form = asking.bench.job / "job.toml"
    form.write_text(form.read_text().replace('"A1"', '"x1"').replace('"B1"', '"X1"'))
    assert "names-clash" in codes(asking.close().judgement.findings)


def test_a_name_that_a_system_keeps_for_a_device_is_refused(asking: Asking) -> None:
    asking.lay("com{side-number}")
    told = {one.text for one in asking.close().judgement.findings}
    assert any("Windows keeps that name for a device" in text for text in told)


def test_a_file_of_both_sides_has_no_side(asking: Asking) -> None:
    asking.lay("{package}_{side}_{capture}")
    form = asking.bench.job / "job.toml"
    form.write_text(form.read_text().replace('capture = "b"', 'capture = "a"'))
    told = [one.text for one in asking.close().judgement.findings if one.code == "name-not-made"]
    assert told == [
        "nothing is known for side: it holds sides A and B.",
        "nothing is known for side: no region says which side lies in it.",
    ]


# What reads paths follows


def test_a_lost_side_car_is_told_by_the_masters_name(
    asking: Asking, reseal: Callable[[Path], None]
) -> None:
    asking.lay()
    asking.close()
    (asking.bench.package / "data/Preservation/HA-SKL-8_b_pm.json").unlink()
    (asking.bench.package / "data/Preservation/odd.wav").write_bytes(asking.bench.wave())
    reseal(asking.bench.package)
    found = check(asking.bench.package, Silent()).judgement.findings
    lost = {(one.code, one.place.file) for one in found if one.code.startswith("sidecar-")}
    assert lost >= {
        ("sidecar-lost", "data/Preservation/HA-SKL-8_b_pm.wav"),
        ("sidecar-missing", "data/Preservation/odd.wav"),
    }


def test_an_amended_version_keeps_names_and_tree(asking: Asking) -> None:
    asking.lay()
    asking.close()
    (asking.bench.root / "new.jpg").write_bytes(b"inside of the box")
    new = asking.amend(
        '[[statements]]\nat = "reel.title"\nchange = "corrected"\nnow = "Log"',
        '[[statements]]\nat = "reel.images[1].role"\nchange = "corrected"\nnow = "spine"',
        '[[files]]\npath = "data/Photographs/inside.jpg"\nchange = "added"\nfrom = "new.jpg"',
    )
    assert payload(new) == payload(asking.bench.package) | {"data/Photographs/inside.jpg"}
    assert "Log" in header(new / MASTER_A).description
    assert header(new / MASTER_A).originator_reference == "HA-SKL-8_a_pm"
    assert MASTER_A in (new / "metadata/README.txt").read_text()


def test_captures_beside_the_masters_are_no_masters_in_a_later_version(asking: Asking) -> None:
    asking.lay()
    form = asking.bench.job / "job.toml"
    form.write_text(form.read_text() + 'at_rest = "rest.wav"\n')
    asking.close()
    title = '[[statements]]\nat = "reel.title"\nchange = "corrected"\nnow = "Log"'
    page = (asking.amend(title) / "metadata/README.txt").read_text()
    was = (asking.bench.package / "metadata/README.txt").read_text()
    assert page.count("preservation master:") == was.count("preservation master:") == 2
    assert page.count("data/Tones/at-rest/rest.wav") == 1


def test_a_corrected_statement_does_not_rename_what_stands(asking: Asking) -> None:
    asking.lay()
    asking.close()
    new = asking.amend(
        '[[statements]]\nat = "reel.identifiers[1].value"\nchange = "corrected"\nnow = "HA/SKL/9"'
    )
    assert payload(new) == payload(asking.bench.package)


def test_a_better_transfer_takes_the_masters_name(asking: Asking) -> None:
    asking.lay()
    asking.close()
    path = asking.bench.root / "again.wav"
    path.write_bytes(asking.bench.wave(frames=9000))
    os.utime(path, (1_700_000_000, 1_700_000_000))
    new = asking.amend(f'[[files]]\npath = "{MASTER_A}"\nchange = "replaced"\nfrom = "again.wav"')
    assert payload(new) == payload(asking.bench.package)
    told = json.loads((new / MASTER_A).with_suffix(".json").read_bytes())["this_file"]
    assert told["sources"][0]["file"] == "again.wav"


# The preview


def shown(asking: Asking, template: str | None = None) -> Preview:
    before = asking.bench.sources()
    tried = NamesAsked(template=template) if template is not None else None
    found = preview(asking.bench.job, asking.around(), tried)
    assert asking.bench.sources() == before
    return found


def test_a_preview_names_every_master_and_reads_its_name_back(asking: Asking) -> None:
    asking.lay()
    found = shown(asking)
    assert found.template == TEMPLATE
    assert found.named[0] == Named(
        sources=("captures/a.wav",),
        is_there=True,
        path=MASTER_A,
        why="",
        says=(("identifier:shelf-mark", "HA-SKL-8"), ("side", "a"), ("role", "pm")),
    )
    assert found.judgement.findings == ()
    outcome = asking.close(only_plan=True)
    assert outcome.made_of == {one.path: one.sources for one in found.named}


def test_a_preview_of_another_template(asking: Asking) -> None:
    asking.lay()
    found = shown(asking, "{package}_{side-number:02}")
    assert [one.path for one in found.named] == [
        "data/Preservation/TT-1_01.wav",
        "data/Preservation/TT-1_02.wav",
    ]
    asking.lay(form='id = "archive"\n')
    assert [one.path for one in shown(asking).named] == ["data/audio/a.wav", "data/audio/b.wav"]
    assert shown(asking).template is None
    assert shown(asking, "{package}_{side}").named[1].path == "data/audio/TT-1_B.wav"


def test_a_preview_tells_all_that_is_wrong_at_once(asking: Asking) -> None:
    asking.lay()
    found = shown(asking, "{package}")
    assert [one.code for one in found.judgement.findings] == ["names-clash"]
    found = shown(asking, "{package}_{work}")
    assert [one.code for one in found.judgement.findings] == ["name-not-made"] * 2
    assert [one.why for one in found.named] == ["nothing is known for work."] * 2
    with pytest.raises(UsageError, match=r"at its letter 11, there is no field 'sid'"):
        shown(asking, "{package}_{sid}")


def test_a_preview_before_a_capture_is_there(asking: Asking) -> None:
    asking.lay()
    (asking.bench.job / "captures/b.wav").unlink()
    found = shown(asking)
    assert [(one.path, one.is_there) for one in found.named] == [
        (MASTER_A, True),
        ("data/Preservation/HA-SKL-8_b_pm.wav", False),
    ]
    assert "capture-awaited" in codes(found.judgement.findings)


def test_a_preview_of_forms_with_faults_tells_the_faults(asking: Asking) -> None:
    asking.lay()
    form = asking.bench.job / "job.toml"
    form.write_text(form.read_text().replace('recipient = "archive"', 'recipient = "nobody"'))
    found = shown(asking)
    assert found.named == ()
    assert found.judgement.findings


# Another name in a new version

RENAMED = '[[files]]\npath = "{path}"\nchange = "renamed"'
ANOTHER = """[[statements]]
at = "recipient.names.template"
change = "corrected"
now = "{package}_{side}"
"""


def wanting(asking: Asking, *lines: str) -> list[str]:
    """What stopped an amendment."""
    form = asking.bench.root / "amendment.toml"
    form.write_text('by = "isolde"\non = 2026-05-02\nwhy = "a letter"\n' + "\n".join(lines))
    done = amend(asking.bench.package, form, asking.bench.root / "second", asking.around()).outcome
    assert done.plan is None
    return [finding.text for finding in done.judgement.findings]


def test_masters_are_renamed_in_a_new_version(asking: Asking) -> None:
    asking.lay(template="{package}_{capture}", form=FORM.replace("pm", "x"))
    asking.close()
    package = asking.bench.package
    before = asking.bench.tree(package)
    old_a, old_b = (f"data/Preservation/TT-1_{name}.wav" for name in "ab")
    new = asking.amend(ANOTHER, RENAMED.format(path=old_a), RENAMED.format(path=old_b))
    assert asking.bench.tree(package) == before
    assert payload(new) == {
        *(f"data/Preservation/TT-1_{side}.{ending}" for side in "AB" for ending in ("wav", "json")),
        "data/Photographs/box.jpg",
    }
    new_a = new / "data/Preservation/TT-1_A.wav"
    car = json.loads(new_a.with_suffix(".json").read_bytes())
    assert car["this_file"]["path"] == "data/Preservation/TT-1_A.wav"
    was = (package / old_a).with_suffix(".json").read_bytes()
    assert car["this_file"]["id"] == json.loads(was)["this_file"]["id"]
    told = {"path": old_a, "change": "renamed", "now": "data/Preservation/TT-1_A.wav"}
    assert told in car["amendments"][0]["files"]
    assert header(new_a).originator_reference == "TT-1_A"
    assert samples(new_a) == samples(package / old_a)
    kept = new / "metadata/superseded/v1" / old_a
    assert kept.with_suffix(".json").read_bytes() == was
    found = check(new, Silent()).judgement
    assert found.verdict in {Verdict.PASS, Verdict.OPEN}
    assert not codes(found.findings) & {"name-not-by-template", "name-differs-from-side-car"}


def samples(path: Path) -> bytes:
    with path.open("rb") as stream:
        (found,) = read_layout(stream).named(b"data")
        return read_chunk(stream, found, found.octets)


def test_a_master_left_by_its_old_name_is_asked_about(asking: Asking) -> None:
    asking.lay()
    asking.close()
    new = asking.amend(ANOTHER, RENAMED.format(path=MASTER_A))
    found = check(new, Silent()).judgement.findings
    asked = {one.place.file for one in found if one.code == "name-differs-from-side-car"}
    assert asked == {"data/Preservation/HA-SKL-8_b_pm.wav"}


def test_a_flac_master_is_renamed(asking: Asking) -> None:
    asking.lay(file_format="FLAC")
    asking.close()
    old = MASTER_A.replace(".wav", ".flac")
    new = asking.amend(ANOTHER, RENAMED.format(path=old))
    assert "data/Preservation/TT-1_A.flac" in payload(new)
    assert old not in payload(new)


def test_names_may_be_exchanged(asking: Asking) -> None:
    asking.lay("{side}")
    asking.close()
    first, second = (f"data/Preservation/{side}.wav" for side in "AB")
    exchanged = [
        f'[[statements]]\nat = "reel.sides[{n}].id"\nchange = "corrected"\nnow = "{side}"'
        for n, side in ((1, "B"), (2, "A"))
    ]
    new = asking.amend(*exchanged, RENAMED.format(path=first), RENAMED.format(path=second))
    assert samples(new / second) == samples(asking.bench.package / first)
    told = json.loads((new / second).with_suffix(".json").read_bytes())["this_file"]
    assert told["sources"][0]["file"] == "captures/a.wav"


def test_what_cannot_be_renamed(asking: Asking) -> None:
    asking.lay()
    asking.close()
    a = RENAMED.format(path=MASTER_A)
    assert wanting(asking, a) == [f"{MASTER_A!r} is called so already."]
    box = RENAMED.format(path="data/Photographs/box.jpg")
    assert "is not a master of ours" in wanting(asking, box)[0]
    one_name = ANOTHER.replace("{package}_{side}", "{package}")
    b = RENAMED.format(path=MASTER_A.replace("_a_", "_b_"))
    [text] = wanting(asking, one_name, a, b)
    assert "would become 'data/Preservation/TT-1.wav', and 'data/Preservation/HA-SKL-8_a_pm" in text
    unknown = ANOTHER.replace("{side}", "{track}")
    assert "would have no name: nothing is known for track." in wanting(asking, unknown, a)[0]
    none = ANOTHER.replace("{side}", "{sid}")
    assert "there is no field 'sid'" in wanting(asking, none, a)[0]
    assert wanting(asking, a + '\nfrom = "x.wav"') == ["what is renamed has no `from`."]


def test_nothing_is_renamed_without_a_template(asking: Asking) -> None:
    asking.lay(form='id = "archive"\n')
    asking.close()
    [text] = wanting(asking, RENAMED.format(path="data/audio/a.wav"))
    assert text == "the recipient has no template of names; state one under recipient.names."


def test_a_renaming_that_a_full_disk_cut_off_is_taken_up_again(
    asking: Asking, full_disk: Callable[[int], Any]
) -> None:
    asking.lay()
    asking.close()
    whole = asking.amend(ANOTHER, RENAMED.format(path=MASTER_A))
    form, second = asking.bench.root / "amendment.toml", asking.bench.root / "second"
    with pytest.raises(SurroundingsError):
        amend(asking.bench.package, form, second, asking.around(disk=full_disk(60_000)))
    assert not (second / whole.name).exists()
    amend(asking.bench.package, form, second, asking.around(), resume=True)
    assert asking.bench.tree(second / whole.name) == asking.bench.tree(whole)
