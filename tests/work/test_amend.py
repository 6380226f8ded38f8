"""A package that stands is put right in a new version; the old one is only read."""

import hashlib
import json
import os
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, RefusedError, SurroundingsError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.mapping import schemas
from tailsout.records.dossier import Depth
from tailsout.wave import bext
from tailsout.wave.riff import read_chunk, read_layout
from tailsout.work.amend import Amended, amend, begin, discard
from tailsout.work.check import check
from tailsout.work.close_out import close

KEPT = Path(__file__).resolve().parents[2] / "sample_packages"
SIDE_A, SIDE_B = "data/audio/skl8-side-a.wav", "data/audio/skl8-side-b.wav"
CAR_A = "data/audio/skl8-side-a.json"
OLD_TITLE = "Skerrow Light, spoken log of the keeper, reel 8"
HEAD = 'by = "isolde"\non = 2026-05-02\nwhy = "the owner\'s letter of 28 April"\n'
STRANGERS_INFO = b"Contact-Name: Oran Teague\nExternal-Identifier: X 1\nBag-Group-Identifier: G\n"


def said(at: str, change: str, now: str | None = None) -> str:
    told = "" if now is None else f"now = {now}\n"
    return f'[[statements]]\nat = "{at}"\nchange = "{change}"\n{told}'


def file(path: str, change: str, source: str | None = None) -> str:
    told = "" if source is None else f'from = "{source}"\n'
    return f'[[files]]\npath = "{path}"\nchange = "{change}"\n{told}'


class Desk:
    """A package, the forms beside it, and a place for new versions."""

    def __init__(self, root: Path, around: Callable[..., Any]) -> None:
        self.root, self.out, self.around = root, root / "out", around
        self.package = root / "SKL-0008"

    def put(self, name: str, content: bytes) -> Path:
        path = self.root / name
        path.write_bytes(content)
        os.utime(path, (1_700_000_000, 1_700_000_000))
        return path

    def amend(
        self, *changes: str, top: str = "", package: Path | None = None, **how: Any
    ) -> Amended:
        form = self.root / "amendment.toml"
        form.write_text(HEAD + top + "".join(changes))
        disk = how.pop("disk", None)
        around = self.around(**({"disk": disk} if disk else {}))
        return amend(package or self.package, form, self.out, around, **how)

    def made(self, *changes: str, **how: Any) -> Path:
        """The new version, which was proved before it got its name."""
        amended = self.amend(*changes, **how)
        assert amended.outcome.built is not None, amended.outcome.judgement.findings
        return amended.outcome.built.path

    def refused(self, *changes: str, **how: Any) -> list[tuple[str, str]]:
        """Code and text of what stopped it; nothing was written."""
        amended = self.amend(*changes, **how)
        assert amended.outcome.plan is None
        assert not self.out.exists()
        return [(one.code, one.text) for one in amended.outcome.judgement.findings]


@pytest.fixture
def desk(tmp_path: Path, around: Callable[..., Any]) -> Desk:
    desk = Desk(tmp_path, around)
    shutil.copytree(KEPT / "good" / "skerrow-light" / "package", desk.package)
    return desk


@pytest.fixture
def strangers(desk: Desk, reseal: Callable[[Path], None]) -> Path:
    """A bag of somebody else's: no side-car of ours, one algorithm, and not ours to understand."""
    bag = desk.root / "theirs"
    (bag / "data" / "b").mkdir(parents=True)
    (bag / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    (bag / "bag-info.txt").write_bytes(STRANGERS_INFO)
    (bag / "data" / "a.txt").write_text("one\n")
    (bag / "data" / "b" / "c.txt").write_text("two\n")
    (bag / "notes.txt").write_text("a tag file\n")
    for kind in ("manifest", "tagmanifest"):
        (bag / f"{kind}-md5.txt").touch()
    reseal(bag)
    return bag


def tree(base: Path) -> dict[str, tuple[bytes, int]]:
    paths = (path for path in sorted(base.rglob("*")) if path.is_file())
    return {
        path.relative_to(base).as_posix(): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in paths
    }


def load(path: Path) -> Any:
    return json.loads(path.read_bytes())


def chunk(path: Path, name: bytes) -> bytes:
    with path.open("rb") as stream:
        (found,) = read_layout(stream).named(name)
        return read_chunk(stream, found, found.octets)


def header(path: Path) -> bext.Bext:
    found, _ = bext.decode(chunk(path, b"bext"))
    assert found is not None
    return found


def sha512(path: Path) -> str:
    return hashlib.sha512(path.read_bytes()).hexdigest()


# A statement that the owner corrects


def test_a_corrected_title_stands_everywhere_and_what_was_is_told(desk: Desk) -> None:
    before = tree(desk.package)
    new = desk.made(said("reel.title", "corrected", '"Log of the winter"'))
    assert new == desk.out / "SKL-0008.v2"
    car = load(new / CAR_A)
    assert car["transfer"]["reel"]["title"] == "Log of the winter"
    (told,) = car["amendments"]
    assert (told["version"], told["supersedes"]) == (2, "SKL-0008")
    assert (told["by"], told["on"], told["why"]) == (
        "isolde",
        "2026-05-02",
        "the owner's letter of 28 April",
    )
    assert told["statements"] == [
        {
            "at": "/transfer/reel/title",
            "change": "corrected",
            "was": OLD_TITLE,
            "now": "Log of the winter",
        }
    ]
    assert load(new / "metadata/amendments.json")["amendments"] == car["amendments"]
    info = (new / "bag-info.txt").read_text()
    assert "External-Description: Log of the winter\n" in info
    assert "Supersedes: SKL-0008\n" in info
    assert "Log of the winter" in header(new / SIDE_A).description
    # Decision of the house: the old one is only read.
    assert tree(desk.package) == before


def test_only_the_header_of_a_master_is_renewed(desk: Desk) -> None:
    new = desk.made(said("reel.title", "corrected", '"Log of the winter"'))
    for name in (SIDE_A, SIDE_B):
        assert chunk(new / name, b"data") == chunk(desk.package / name, b"data")
        assert chunk(new / name, b"fmt ") == chunk(desk.package / name, b"fmt ")
        kept = new / f"metadata/superseded/v1/{name}.bext"
        assert kept.read_bytes() == chunk(desk.package / name, b"bext")
        then, now = header(desk.package / name), header(new / name)
        # The recorder's own history is continued once, not twice.
        assert now.coding_history == then.coding_history
        assert now.time_reference == then.time_reference


def test_a_statement_that_feeds_no_header_leaves_the_masters_as_they_are(desk: Desk) -> None:
    new = desk.made(said("recording.place", "corrected", '"engine room, Skerrow Light"'))
    for name in (SIDE_A, SIDE_B):
        assert (new / name).read_bytes() == (desk.package / name).read_bytes()
    assert not list(new.rglob("*.wav.bext"))


def test_old_manifests_and_side_cars_are_kept_octet_for_octet_and_pinned(desk: Desk) -> None:
    new = desk.made(said("recording.place", "corrected", '"engine room"'))
    names = [p.name for p in desk.package.glob("*manifest-*.txt")]
    assert len(names) == 4
    (told,) = load(new / "metadata/amendments.json")["amendments"]
    assert told["manifests"] == {name: sha512(desk.package / name) for name in names}
    for name in (*names, "bag-info.txt", "bagit.txt", CAR_A):
        kept = new / "metadata/superseded/v1" / name
        assert kept.read_bytes() == (desk.package / name).read_bytes()


def test_versions_follow_one_another(desk: Desk) -> None:
    second = desk.made(said("reel.title", "corrected", '"Log of the winter"'))
    third = desk.made(said("reel.title", "corrected", '"Log of a winter"'), package=second)
    fourth = desk.made(file("data/documents/l.txt", "added", "amendment.toml"), package=third)
    assert fourth.name == "SKL-0008.v4"
    told = load(fourth / CAR_A)["amendments"]
    assert [one["version"] for one in told] == [2, 3, 4]
    assert [one["supersedes"] for one in told] == ["SKL-0008", "SKL-0008.v2", "SKL-0008.v3"]
    assert told[1]["statements"][0]["was"] == "Log of the winter"
    kept = fourth / "metadata/superseded"
    assert sorted(one.name for one in kept.iterdir()) == ["v1", "v2", "v3"]
    for number, package in ((1, desk.package), (2, second), (3, third)):
        name = "tagmanifest-sha512.txt"
        assert (kept / f"v{number}" / name).read_bytes() == (package / name).read_bytes()


@pytest.mark.parametrize("how", [{"depth": Depth.STRUCTURE}, {"bagit_only": True}])
def test_a_look_at_the_bag_alone_judges_no_versions(desk: Desk, how: dict[str, Any]) -> None:
    new = desk.made(said("reel.title", "corrected", '"Log of the winter"'))
    judgement = check(new, Silent(), **how).judgement
    assert judgement.findings == ()
    outcome = {one.name: one.outcome for one in judgement.checks}
    assert outcome["versions of the package"] == outcome["list of amendments"] == "not examined"


def test_a_misidentified_side_is_named_anew(desk: Desk) -> None:
    new = desk.made(
        said("reel.sides[1].id", "corrected", '"B"'), said("reel.sides[2].id", "corrected", '"A"')
    )
    sides = load(new / CAR_A)["transfer"]["reel"]["sides"]
    assert [side["id"] for side in sides] == ["B", "A"]
    assert "side B" in header(new / SIDE_A).description
    before, after = (load(one / CAR_A)["this_file"]["regions"] for one in (desk.package, new))
    # What was measured of a region goes with it to the side it belongs to.
    assert {one["side"] for one in before} == {"A"}
    assert after == [{**one, "side": "B"} for one in before]
    assert chunk(new / SIDE_A, b"data") == chunk(desk.package / SIDE_A, b"data")


def test_what_was_measured_of_a_region_is_left_out_when_it_moves(desk: Desk) -> None:
    amended = desk.amend(said("reel.sides[1].regions[4].end", "corrected", "28000"))
    notes = [one for one in amended.outcome.judgement.findings if one.kind.severity == "note"]
    assert "region-facts-dropped" in {one.code for one in notes}
    before, after = (
        {one["region"] for one in load(path / CAR_A)["this_file"]["regions"]}
        for path in (desk.package, desk.out / "SKL-0008.v2")
    )
    assert len(before - after) == 1


def test_times_are_typed_as_in_a_job(desk: Desk) -> None:
    rate = load(desk.package / CAR_A)["this_file"]["pcm"]["sample_rate_hz"]
    told = load(desk.package / CAR_A)["transfer"]
    capture = told["captures"][0]["id"]
    note = f'{{ capture = "{capture}", start = "0:00.1", end = "0:00.2", heard = "a click" }}'
    place = f"signal_notes[{len(told.get('signal_notes', ())) + 1}]"
    new = desk.made(
        said("reel.sides[1].regions[4].end", "corrected", '"0:00.5"'),
        said(place, "added", note),
    )
    transfer = load(new / CAR_A)["transfer"]
    assert transfer["reel"]["sides"][0]["regions"][3]["end"] == rate // 2
    assert [transfer["signal_notes"][-1][key] for key in ("start", "end")] == [
        rate // 10,
        rate // 5,
    ]


def test_the_id_of_a_capture_stays(desk: Desk) -> None:
    regions = "".join(
        said(f"reel.sides[1].regions[{n}].capture", "corrected", '"other"') for n in range(1, 5)
    )
    with pytest.raises(MaterialError, match="nothing states any more"):
        desk.amend(said("captures[1].id", "corrected", '"other"'), regions)


def test_a_statement_is_added_behind_the_others(desk: Desk) -> None:
    now = '{ about = "date", said = "Nov. 1961", is_so = "1962", on = 2026-05-02 }'
    count = len(load(desk.package / CAR_A)["transfer"].get("corrections", ()))
    new = desk.made(said(f"corrections[{count + 1}]", "added", now))
    added = load(new / CAR_A)["transfer"]["corrections"][count]
    assert added == {"about": "date", "is_so": "1962", "on": "2026-05-02", "said": "Nov. 1961"}


# What is taken back


def test_what_is_withheld_is_gone_from_the_new_version(desk: Desk) -> None:
    second = desk.made(said("reel.title", "corrected", '"Log of the winter"'))
    amended = desk.amend(
        said("reel.title", "withheld"), said("recording.what", "withheld"), package=second
    )
    assert amended.still_held_by == ("SKL-0008.v2", "SKL-0008")
    third = desk.out / "SKL-0008.v3"
    everything = b"".join(content for content, _ in tree(third).values())
    for text in (OLD_TITLE, "Log of the winter", "spoken log of one December"):
        assert text.encode() in b"".join(content for content, _ in tree(second).values())
        assert text.encode() not in everything, text
    car = load(third / CAR_A)["transfer"]
    assert car["reel"]["absent"]["title"] == "withheld"
    assert car["recording"]["absent"]["what"] == "withheld"
    assert check(third, Silent()).judgement.verdict is Verdict.PASS
    # The manifests are kept: they tell digests and names, and prove what was.
    assert len(list((third / "metadata/superseded").rglob("manifest-sha512.txt"))) == 2


def test_what_is_corrected_and_withheld_in_one_form_is_not_told(desk: Desk) -> None:
    amended = desk.amend(
        said("reel.title", "corrected", '"Log of the winter"'), said("reel.title", "withheld")
    )
    assert amended.amendment is not None
    assert [one.now for one in amended.amendment.statements] == [None, None]
    everything = b"".join(content for content, _ in tree(desk.out / "SKL-0008.v2").values())
    assert b"Log of the winter" not in everything
    assert OLD_TITLE.encode() not in everything


def test_a_withheld_text_that_stands_elsewhere_is_told(desk: Desk) -> None:
    second = desk.made(
        said("reel.condition[1].note", "added", '"said Oran Teague on the pier"'),
        said("recording.speakers[1]", "corrected", '"Oran Teague"'),
    )
    found = desk.amend(
        said("recording.speakers[1]", "withheld"), package=second, only_plan=True
    ).outcome.judgement.findings
    told = [str(one.place) for one in found if one.code == "withheld-elsewhere"]
    assert "side-car#/transfer/reel/condition/0/note" in told
    third = desk.made(said("recording.speakers[1]", "withheld"), package=second)
    assert load(third / CAR_A)["transfer"]["recording"]["speakers"] == ["withheld"]


def test_a_file_is_withdrawn_and_its_name_stays_in_kept_manifests(desk: Desk) -> None:
    desk.put("letter.txt", b"Dear Isolde\n")
    path = "data/documents/letter.txt"
    second = desk.made(file(path, "added", "letter.txt"))
    assert (second / path).read_bytes() == b"Dear Isolde\n"
    amended = desk.amend(file(path, "withdrawn"), package=second)
    third = desk.out / "SKL-0008.v3"
    assert amended.still_held_by == ("SKL-0008.v2", "SKL-0008")
    assert not (third / path).exists()
    assert path in (third / "metadata/superseded/v2/manifest-sha512.txt").read_text()


def test_a_whole_side_is_withdrawn_with_its_side_car(desk: Desk) -> None:
    new = desk.made(file(SIDE_B, "withdrawn"))
    left = {path.name for path in (new / "data/audio").iterdir()}
    assert left == {"skl8-side-a.wav", "skl8-side-a.json"}
    assert not (new / "metadata/as-captured/skl8-side-b.bext").exists()
    assert not (new / "metadata/superseded/v1/data/audio/skl8-side-b.json").exists()


# Files and digests


def test_a_file_is_replaced_where_it_lies(desk: Desk) -> None:
    desk.put("one.txt", b"one")
    desk.put("two.txt", b"two")
    second = desk.made(file("data/documents/a.txt", "added", "one.txt"))
    third = desk.made(file("data/documents/a.txt", "replaced", "two.txt"), package=second)
    assert (third / "data/documents/a.txt").read_bytes() == b"two"


def test_a_better_transfer_takes_the_place_of_a_side(desk: Desk, bench: Any) -> None:
    frames = 24_000  # as long as the side is stated to be
    desk.put("side-b-again.wav", bench.wave(frames=frames, own=bench.own_bext()))
    new = desk.made(
        file(SIDE_B, "replaced", "side-b-again.wav"),
        said("captures[2].started", "corrected", "2026-05-01"),
        said("captures[2].note", "added", '"played again, azimuth set on the tape"'),
    )
    assert not (new / SIDE_B).exists()
    again = new / "data/audio/side-b-again.wav"
    assert chunk(again, b"data") == bench.samples(bench.pcm, frames)
    car = load(again.with_suffix(".json"))
    assert car["this_file"]["sources"][0]["file"] == "side-b-again.wav"
    assert car["transfer"]["captures"][1]["file"] == "side-b-again.wav"
    assert car["transfer"] == load(new / CAR_A)["transfer"]
    assert car["amendments"][0]["files"][0] == {
        "change": "replaced",
        "now": "data/audio/side-b-again.wav",
        "path": SIDE_B,
    }
    assert (new / "metadata/as-captured/side-b-again.bext").read_bytes() == bench.own_bext()
    moved = new / "metadata/superseded/v1/metadata/as-captured/skl8-side-b.bext"
    assert (
        moved.read_bytes() == (desk.package / "metadata/as-captured/skl8-side-b.bext").read_bytes()
    )
    assert (new / SIDE_A).read_bytes() == (desk.package / SIDE_A).read_bytes()


def test_an_algorithm_is_added_to_a_strangers_bag(desk: Desk, strangers: Path) -> None:
    before = tree(strangers)
    new = desk.made(top='algorithms = ["sha512"]\n', package=strangers)
    assert new.name == "theirs.v2"
    assert {path.name for path in new.glob("manifest-*.txt")} == {
        "manifest-md5.txt",
        "manifest-sha512.txt",
    }
    # RFC 8493 §2.1.3: every manifest lists every payload file.
    assert (new / "manifest-md5.txt").read_bytes() == (strangers / "manifest-md5.txt").read_bytes()
    assert (new / "notes.txt").read_text() == "a tag file\n"
    info = (new / "bag-info.txt").read_text()
    assert "External-Identifier: X 1\n" in info
    assert "Bag-Group-Identifier: G\n" in info
    assert "Supersedes: theirs\n" in info
    assert tree(strangers) == before
    again = desk.made(file("data/a.txt", "withdrawn"), package=new)
    assert again.name == "theirs.v3"


def test_a_statement_of_a_strangers_bag_cannot_be_amended(desk: Desk, strangers: Path) -> None:
    ((code, text),) = desk.refused(said("reel.title", "added", '"x"'), package=strangers)
    assert code == "form-reference"
    assert "no side-car of ours" in text


def test_a_strangers_bag_without_sha512_gets_it_all_the_same(desk: Desk, strangers: Path) -> None:
    new = desk.made(file("data/a.txt", "withdrawn"), package=strangers)
    (told,) = load(new / "metadata/amendments.json")["amendments"]
    assert told["algorithms"] == ["sha512"]


def test_a_strangers_tag_files_of_our_names_are_kept(
    desk: Desk, strangers: Path, reseal: Callable[[Path], None]
) -> None:
    (strangers / "metadata").mkdir()
    (strangers / "metadata/amendments.json").write_text('{"theirs": 1}')
    (strangers / "metadata/README.txt").write_text("theirs\n")
    (strangers / "bag-info.txt").write_bytes(STRANGERS_INFO + b"Supersedes: a thing of theirs\n")
    reseal(strangers)
    new = desk.made(file("data/a.txt", "withdrawn"), package=strangers)
    assert (new / "metadata/README.txt").read_text() == "theirs\n"
    kept = new / "metadata/superseded/v1/metadata/amendments.json"
    assert kept.read_text() == '{"theirs": 1}'
    third = desk.made(file("data/b/c.txt", "replaced", "amendment.toml"), package=new)
    told = [x for x in (third / "bag-info.txt").read_text().splitlines() if "Supersedes" in x]
    assert told == ["Supersedes: a thing of theirs", "Supersedes: theirs.v2"]


@pytest.mark.parametrize("octet", ["0", "\\u001b[31m"])
def test_a_hostile_list_of_amendments_is_told_safely(
    desk: Desk, reseal: Callable[[Path], None], octet: str
) -> None:
    new = desk.made(said("reel.title", "corrected", '"Log of the winter"'))
    path = new / "metadata/amendments.json"
    path.write_text(path.read_text().replace("/transfer/reel/title", f"/transfer/{octet}/title"))
    reseal(new)
    found = check(new, Silent()).judgement.findings
    assert {"amendments-disagree", "amended-differs"} <= {one.code for one in found}
    assert all("\x1b" not in f"{one.place}{one.text}" for one in found)


@pytest.mark.parametrize("name", [b"th\xe9irs", b"CON", b"theirs "])
def test_a_strangers_bag_of_a_name_that_travels_nowhere(
    desk: Desk, strangers: Path, name: bytes
) -> None:
    odd = Path(os.fsdecode(os.fsencode(desk.root) + b"/" + name))
    strangers.rename(odd)
    with pytest.raises(MaterialError, match="cannot be called"):
        desk.amend(file("data/a.txt", "withdrawn"), package=odd)
    assert not desk.out.exists()


# A reel that was not played


def test_a_record_only_package_is_amended(bench: Any, desk: Desk) -> None:
    bench.form({}, top='kind = "record only"\nnot_played_because = "mould"')
    close(bench.job, bench.out, desk.around())
    new = desk.made(said("reel.title", "corrected", '"Reel 2"'), package=bench.package)
    car = load(new / "data/TT-1.json")
    assert car["transfer"]["reel"]["title"] == "Reel 2"
    assert car["amendments"][0]["version"] == 2
    assert "amendments-disagree" not in {f.code for f in check(new, Silent()).judgement.findings}
    kept = new / "metadata/superseded/v1/data/TT-1.json"
    assert kept.read_bytes() == (bench.package / "data/TT-1.json").read_bytes()


# Masters with more than a bext


def wishing(bench: Any, wishes: str) -> None:
    (bench.studio / "recipients" / "archive.toml").write_text(f'id = "archive"\n{wishes}')
    region = '[[reel.sides]]\nid = "A"\n[[reel.sides.regions]]\nid = "A1"\nkind = "programme"\n'
    region += 'capture = "a"\nstart = 0\nend = 4800\ntitle = "entry one"\n'
    bench.fill(bench.wave(own=bench.own_bext()), top='recipient = "archive"', more=region)


def test_marks_and_info_follow_the_statements(bench: Any, desk: Desk) -> None:
    wishing(bench, 'marks = ["cue", "axml", "iXML"]\n[[info]]\nid = "INAM"\nsays = "title"\n')
    close(bench.job, bench.out, desk.around())
    master = bench.package / "data/audio/a.wav"
    new = desk.made(
        said("reel.sides[1].regions[1].title", "corrected", '"entry two"'),
        said("reel.title", "corrected", '"Reel 2"'),
        package=bench.package,
    )
    before, after = master.read_bytes(), (new / "data/audio/a.wav").read_bytes()
    for was, now in ((b"entry one", b"entry two"), (b"Reel 1", b"Reel 2")):
        assert was in before
        assert was not in after
        assert after.count(now) == before.count(was)
    assert chunk(new / "data/audio/a.wav", b"data") == chunk(master, b"data")
    kept = {path.name for path in (new / "metadata/superseded/v1/data/audio").iterdir()}
    assert {"a.wav.bext", "a.wav.INFO", "a.wav.adtl", "a.wav.iXML", "a.wav.axml"} <= kept


def test_a_flac_master_gets_a_new_header_and_keeps_its_samples(bench: Any, desk: Desk) -> None:
    wishing(bench, 'master_format = "FLAC"\n')
    close(bench.job, bench.out, desk.around())
    new = desk.made(said("reel.title", "corrected", '"Reel 2"'), package=bench.package)
    car, old = (load(one / "data/audio/a.json") for one in (new, bench.package))
    assert car["this_file"]["measured"] == old["this_file"]["measured"]
    assert car["this_file"]["sha512"] != old["this_file"]["sha512"]
    assert b"Reel 2" in (new / "data/audio/a.flac").read_bytes()


@pytest.mark.parametrize("version", ["0.0", "0.2", "1.0"])
def test_a_side_car_of_another_version_is_not_written_anew(
    desk: Desk, reseal: Callable[[Path], None], version: str
) -> None:
    for path in (desk.package / "data/audio").glob("*.json"):
        path.write_text(path.read_text().replace("sidecar:0.1", f"sidecar:{version}"))
    reseal(desk.package)
    found = desk.refused(said("reel.title", "corrected", '"x"'))
    assert "sidecar-newer" in [code for code, _ in found]


# Nothing is put right that is damaged


def flip(path: Path, at: int) -> None:
    content = bytearray(path.read_bytes())
    content[at] ^= 1
    path.write_bytes(content)


@pytest.mark.parametrize(
    "changes",
    [
        (said("reel.title", "corrected", '"x"'),),
        (said("recording.place", "corrected", '"x"'),),
        (file("data/documents/a.txt", "added", "amendment.toml"),),
    ],
    ids=["header renewed", "copied", "file only"],
)
def test_damage_cannot_be_amended_away(desk: Desk, changes: tuple[str, ...]) -> None:
    flip(desk.package / SIDE_B, 50_000)
    with pytest.raises(MaterialError, match=r"skl8-side-b\.wav is not what the manifests"):
        desk.amend(*changes)
    assert not (desk.out / "SKL-0008.v2").exists()
    assert not (desk.out / "SKL-0008.v2.receipt.json").exists()


def test_a_manifest_that_was_changed_is_not_carried_on(desk: Desk) -> None:
    path = desk.package / "manifest-sha512.txt"
    path.write_text(path.read_text().upper().replace("DATA/AUDIO/SKL8-SIDE-A.WAV", SIDE_A))
    found = desk.amend(file("data/documents/a.txt", "added", "amendment.toml"))
    assert found.outcome.built is None


@pytest.mark.parametrize(
    ("sample", "code"),
    [
        ("file-missing", "file-missing"),
        ("file-not-in-every-manifest", "file-not-in-every-manifest"),
        ("sidecar-schema", "sidecar-schema"),
        ("sidecar-newer", "sidecar-newer"),
        ("bag-path-unsafe", "bag-path-unsafe"),
    ],
)
def test_a_package_that_is_not_sound_is_refused(desk: Desk, sample: str, code: str) -> None:
    package = KEPT / "broken" / sample / "package"
    found = desk.refused(said("reel.title", "corrected", '"x"'), package=package)
    assert code in [one for one, _ in found]


def test_a_statement_that_must_be_mended_can_be_put_right(desk: Desk) -> None:
    package = KEPT / "broken" / "region-outside" / "package"
    found = desk.refused(said("reel.title", "corrected", '"x"'), package=package)
    assert "region-outside" in [code for code, _ in found]
    at = "reel.sides[1].regions[4].end"
    assert desk.made(said(at, "corrected", "28800"), package=package).is_dir()


def test_side_cars_that_disagree_are_not_made_to_agree(desk: Desk) -> None:
    package = KEPT / "broken" / "sidecars-disagree" / "package"
    found = desk.refused(said("reel.title", "corrected", '"x"'), package=package)
    assert [code for code, _ in found] == ["sidecars-disagree"]


def test_a_package_that_changes_while_it_is_read(desk: Desk, acting: Callable[..., Any]) -> None:
    shown = acting("Writing", lambda: flip(desk.package / SIDE_B, 60_000))
    form = desk.put("amendment.toml", (HEAD + said("recording.place", "corrected", '"x"')).encode())
    with pytest.raises(MaterialError, match="changed while it was read"):
        amend(desk.package, form, desk.out, desk.around(progress=shown))
    assert shown.acted
    assert not (desk.out / "SKL-0008.v2").exists()


# What a form can say wrongly


@pytest.mark.parametrize(
    ("change", "code", "words"),
    [
        (said("reel.titel", "corrected", '"x"'), "form-reference", "did you mean 'reel.title'?"),
        (
            said("reel.sides[9].id", "corrected", '"x"'),
            "form-reference",
            "no reel.sides[9] to go into",
        ),
        (
            said("sides[2].regions[1].speed", "corrected", "3.75"),
            "form-reference",
            "did you mean 'reel.sides[2].regions[1].speed_ips'?",
        ),
        (said("reel.sides[1].id", "corrected", "7"), "form-value", 'write now = "7".'),
        (said("reel.title.x", "corrected", '"x"'), "form-reference", "single value"),
        (said("reel..title", "corrected", '"x"'), "form-reference", "not a key"),
        (said("/this_file/octets", "corrected", "1"), "form-reference", "only what is stated"),
        (said("package_id", "corrected", '"x"'), "form-reference", "for ever"),
        (said("reel.title", "added", '"x"'), "form-reference", "something stands there"),
        (said("reel.sides[4]", "added", "{ id = 'C' }"), "form-reference", "the next one is 3"),
        (said("reel.title", "corrected"), "form-reference", "needs a `now`"),
        (said("reel.title", "withheld", '"x"'), "form-reference", "has no `now`"),
        (said("reel.sides[1]", "withheld"), "form-reference", "entries stay"),
        (said("reel.title", "corrected", f'"{OLD_TITLE}"'), "form-reference", "stands there al"),
        (said("reel.title", "corrected", "7"), "form-value", "found 7; allowed is text"),
        (said("reel.stock[2].base", "corrected", '"plastic"'), "form-value", "'plastic'"),
        (said("reel.titel", "added", '"x"'), "form-value", "no key 'titel'"),
        (said("captures[1].pass_id", "corrected", '"p9"'), "form-reference", "no pass 'p9'"),
        (said("reel.title", "changed", '"x"'), "form-value", "'changed'"),
        (file("data/documents/x", "added", "x"), "form-reference", "no file 'x'"),
        (file("data/documents/x", "added"), "form-value", "needs a `from`"),
        (file(SIDE_A, "added", "amendment.toml"), "form-reference", "is there already"),
        (file("data/audio/new.wav", "added", "amendment.toml"), "form-reference", "data/images"),
        (file("data/audio/skl8-side-c.wav", "withdrawn"), "form-reference", "did you mean"),
        (file(CAR_A, "withdrawn"), "form-reference", "is a side-car"),
        (file("bag-info.txt", "withdrawn"), "form-reference", "is not payload"),
        (file(SIDE_A, "withdrawn", "x"), "form-value", "has no `from`"),
        ("", "form-value", "changes nothing"),
    ],
)
def test_a_form_that_cannot_be_followed(desk: Desk, change: str, code: str, words: str) -> None:
    found = desk.refused(change)
    assert any(one == code and words in text for one, text in found), found


def test_every_fault_of_a_form_is_told_at_once_with_its_line(desk: Desk) -> None:
    form = desk.put(
        "amendment.toml",
        (
            HEAD
            + 'algorithms = ["sha512"]\n'
            + said("reel.titel", "corrected", '"x"')
            + file("data/documents/x", "added", "x")
        ).encode(),
    )
    found = amend(desk.package, form, desk.out, desk.around()).outcome.judgement.findings
    assert {str(one.place) for one in found} == {
        "amendment.toml:4 algorithms[1]",
        "amendment.toml:6 statements[1].at",
        "amendment.toml:12 files[1].from",
    }


def test_a_place_may_be_a_json_pointer(desk: Desk) -> None:
    new = desk.made(said("/transfer/reel/title", "corrected", '"Log of the winter"'))
    assert load(new / CAR_A)["transfer"]["reel"]["title"] == "Log of the winter"


def test_a_word_for_what_is_not_known_can_be_said(desk: Desk) -> None:
    new = desk.made(said("recording.place", "corrected", '"not recorded"'))
    recording = load(new / CAR_A)["transfer"]["recording"]
    assert recording["absent"]["place"] == "not recorded"
    assert "place" not in recording


# Where it is written


def test_the_destination_must_be_free_and_outside(desk: Desk) -> None:
    change = said("recording.place", "corrected", '"x"')
    desk.made(change)
    with pytest.raises(RefusedError, match="is there already"):
        desk.amend(change)
    desk.out = desk.package / "data"
    with pytest.raises(RefusedError, match="inside the package"):
        desk.amend(change)


def test_two_amendments_at_once_make_one_version(desk: Desk, acting: Callable[..., Any]) -> None:
    caught = []

    def second() -> None:
        with pytest.raises(SurroundingsError) as error:
            desk.amend(said("recording.place", "corrected", '"other"'))
        caught.append(str(error.value))

    shown = acting("Writing", second)
    form = desk.put("one.toml", (HEAD + said("recording.place", "corrected", '"x"')).encode())
    done = amend(desk.package, form, desk.out, desk.around(progress=shown))
    assert caught
    assert done.outcome.built is not None
    assert load(done.outcome.built.path / CAR_A)["transfer"]["recording"]["place"] == "x"


@pytest.mark.parametrize("octets", [0, 50_000])
def test_a_disk_that_is_full_before_a_file_is_finished_keeps_nothing(
    desk: Desk, full_disk: Callable[[int], Disk], octets: int
) -> None:
    with pytest.raises(SurroundingsError):
        desk.amend(said("recording.place", "corrected", '"x"'), disk=full_disk(octets))
    assert not desk.out.exists() or list(desk.out.iterdir()) == []


@pytest.mark.parametrize("octets", [130_000, 230_000, 330_000])
def test_a_full_disk_leaves_nothing_under_the_name_and_is_resumed_to_the_same_octets(
    desk: Desk, full_disk: Callable[[int], Disk], octets: int
) -> None:
    change = said("reel.title", "corrected", '"Log of the winter"')
    with pytest.raises(SurroundingsError):
        desk.amend(change, disk=full_disk(octets))
    assert not (desk.out / "SKL-0008.v2").exists()
    with pytest.raises(SurroundingsError):
        desk.amend(change)
    resumed = desk.made(change, resume=True)
    straight = Desk(desk.root, desk.around)
    straight.out = desk.root / "other"
    other = straight.made(change)
    assert {p: c for p, (c, _) in tree(resumed).items()} == {
        p: c for p, (c, _) in tree(other).items()
    }


def test_what_was_left_is_discarded(desk: Desk, full_disk: Callable[[int], Disk]) -> None:
    with pytest.raises(SurroundingsError):
        desk.amend(said("recording.place", "corrected", '"x"'), disk=full_disk(230_000))
    final, was_left = discard(desk.package, desk.out, desk.around())
    assert (final, was_left) == (desk.out / "SKL-0008.v2", True)
    assert list(desk.out.iterdir()) == []
    assert discard(desk.package, desk.out, desk.around())[1] is False


def test_a_plan_writes_nothing(desk: Desk) -> None:
    amended = desk.amend(said("reel.title", "corrected", '"x"'), only_plan=True)
    assert amended.outcome.plan is not None
    assert amended.outcome.plan.name == "SKL-0008.v2"
    assert not desk.out.exists()


def test_the_same_instant_gives_the_same_octets_wherever_it_lies(
    desk: Desk, tmp_path_factory: pytest.TempPathFactory
) -> None:
    instant = datetime(2026, 5, 2, 8, tzinfo=UTC)
    change = said("reel.title", "corrected", '"Log of the winter"')
    elsewhere = Desk(tmp_path_factory.mktemp("elsewhere"), desk.around)
    elsewhere.package = elsewhere.root / "renamed"
    shutil.copytree(desk.package, elsewhere.package)
    trees = []
    for one in (desk, elsewhere):
        form = one.put("amendment.toml", (HEAD + change).encode())
        made = amend(one.package, form, one.out, one.around(instant=instant)).outcome.built
        assert made is not None
        trees.append({path: content for path, (content, _) in tree(made.path).items()})
        trees[-1]["name"] = made.path.name.encode()
    assert trees[0] == trees[1]


def test_the_receipt_proves_the_new_version(desk: Desk) -> None:
    new = desk.made(said("recording.place", "corrected", '"x"'))
    receipt = load(desk.out / "SKL-0008.v2.receipt.json")
    assert schemas.faults(receipt, "receipt-0.1") == ()
    assert receipt["package_id"] == "SKL-0008.v2"
    name = "tagmanifest-sha512.txt"
    assert receipt["tag_manifests"][name]["sha512"] == sha512(new / name)


def test_the_form_that_is_begun_changes_nothing_until_it_is_filled_in(desk: Desk) -> None:
    path = desk.root / "new.toml"
    begin(path, Disk())
    found = amend(desk.package, path, desk.out, desk.around()).outcome.judgement.findings
    assert {one.code for one in found} == {"form-value"}
    lines = [line.removeprefix("#") for line in path.read_text().splitlines()]
    filled = "\n".join(line for line in lines if not line.startswith(" "))
    path.write_text(filled)
    told = amend(desk.package, path, desk.out, desk.around()).outcome.judgement.findings
    # Every line of it is allowed once its # is taken away; what it names is not there.
    assert {one.code for one in told} == {"form-reference", "form-value"}
    assert all("no key" not in one.text for one in told)
    with pytest.raises(RefusedError):
        begin(path, Disk())
