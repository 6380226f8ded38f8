"""A job becomes a package: the samples unchanged, the captures untouched, all or nothing."""

import hashlib
import os
import re
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.disk import Disk
from tailsout.ground.errors import (
    CutOffError,
    MaterialError,
    RefusedError,
    SurroundingsError,
    TailsoutError,
    UsageError,
)
from tailsout.ground.findings import Verdict
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.mapping import schemas
from tailsout.mapping.strict_json import load
from tailsout.wave import bext, umid
from tailsout.wave.riff import read_chunk, read_layout
from tailsout.work.close_out import Outcome, close, discard

LATER = datetime(2026, 3, 16, 9, 0, tzinfo=UTC)

FORMATS = [
    *(
        Pcm(
            is_float=False,
            sample_rate_hz=48_000,
            channels=channels,
            container_bits=bits,
            valid_bits=bits,
        )
        for bits in (16, 24, 32)
        for channels in (1, 2)
    ),
    Pcm(is_float=True, sample_rate_hz=48_000, channels=2, container_bits=32, valid_bits=32),
    Pcm(
        is_float=False,
        sample_rate_hz=48_000,
        channels=6,
        container_bits=24,
        valid_bits=20,
        channel_mask=0x3F,
    ),
]


def audio_of(path: Path) -> tuple[str, Pcm | None, bytes]:
    """Form, format and the octets of the samples."""
    with path.open("rb") as stream:
        layout = read_layout(stream)
        assert layout.data is not None
        assert layout.damage == ()
        return layout.form, layout.pcm, read_chunk(stream, layout.data, layout.data.octets)


def chunks_of(path: Path) -> dict[bytes, bytes]:
    with path.open("rb") as stream:
        return {
            chunk.id: read_chunk(stream, chunk, chunk.octets)
            for chunk in read_layout(stream).chunks
        }


def closed(bench: Any, around: Callable[..., Any]) -> Outcome:
    outcome = close(bench.job, bench.out, around())
    assert [f.code for f in outcome.judgement.findings] == []
    assert outcome.built is not None
    return outcome


def read(path: Path) -> Any:
    return load(path.read_bytes())


def fails(bench: Any, around: Any, error: type[TailsoutError], *, match: str) -> None:
    """A close raises, the sources are as they were, and nothing is left at the destination."""
    before = bench.sources()
    with pytest.raises(error, match=match):
        close(bench.job, bench.out, around)
    assert bench.sources() == before
    assert bench.left() == []


# What is packed


@pytest.mark.parametrize("pcm", FORMATS, ids=lambda p: f"{p.coding}, {p.channels}")
def test_the_samples_in_the_package_are_the_captures(
    bench: Any, around: Callable[..., Any], pcm: Pcm
) -> None:
    content = bench.wave(pcm)
    bench.fill(content)
    before = bench.sources()
    outcome = closed(bench, around)
    assert bench.sources() == before
    audio = bench.samples(pcm, bench.frames)
    master = bench.package / "data/audio/a.wav"
    assert audio_of(master) == ("RIFF", pcm, audio)
    this_file = read(master.with_suffix(".json"))["this_file"]
    essence = hashlib.sha256(audio).hexdigest()
    assert this_file["measured"]["essence_sha256"] == essence
    assert this_file["made"] == "as captured"
    (source,) = this_file["sources"]
    assert source["file"] == "captures/a.wav"
    assert source["sha256"] == hashlib.sha256(content).hexdigest()
    assert (source["octets"], source["frames"]) == (len(content), bench.frames)
    assert this_file["sha512"] == hashlib.sha512(master.read_bytes()).hexdigest()
    assert this_file["measured"]["frames"] == bench.frames
    assert outcome.receipt == bench.receipt
    (told,) = read(bench.receipt)["masters"]
    assert told == {
        "path": "data/audio/a.wav",
        "sha256": hashlib.sha256(master.read_bytes()).hexdigest(),
        "essence_sha256": essence,
    }


def test_an_rf64_capture_of_small_size_becomes_riff(bench: Any, around: Callable[..., Any]) -> None:
    """EBU Tech 3306 §3: RF64 is for files that outgrow 32-bit sizes."""
    source = bench.fill(bench.wave(rf64=True))
    assert audio_of(source)[0] == "RF64"
    closed(bench, around)
    master = bench.package / "data/audio/a.wav"
    assert audio_of(master) == ("RIFF", *audio_of(source)[1:])


def test_the_captures_own_bext_is_kept_to_the_octet(bench: Any, around: Callable[..., Any]) -> None:
    identifier = umid.basic(bytes(range(1, 17)))
    own = bench.own_bext(umid=identifier)
    bench.fill(bench.wave(own=own))
    closed(bench, around)
    assert (bench.package / "metadata/as-captured/a.bext").read_bytes() == own
    made, damage = bext.decode(chunks_of(bench.package / "data/audio/a.wav")[b"bext"])
    assert damage == ()
    assert made is not None
    assert made.originator == "Saltpan Row"
    assert (made.time_reference, made.umid) == (1_788_816_000, identifier)
    assert "T=Groyne recorder 4.2" in made.coding_history


def test_without_a_bext_of_its_own_nothing_is_kept_beside(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    closed(bench, around)
    assert not (bench.package / "metadata/as-captured").exists()
    assert b"bext" in chunks_of(bench.package / "data/audio/a.wav")


def test_chunks_of_no_known_kind_keep_octets_and_order(
    bench: Any, around: Callable[..., Any]
) -> None:
    before, after = ((b"zzzz", b"odd"), (b"iXML", b"<BWFXML/>")), ((b"LIST", b"INFO"),)
    bench.fill(bench.wave(own=bench.own_bext(), before=before, after=after))
    closed(bench, around)
    chunks = chunks_of(bench.package / "data/audio/a.wav")
    assert list(chunks) == [b"bext", b"zzzz", b"iXML", b"fmt ", b"data", b"LIST"]
    assert {name: chunks[name] for name, _ in before + after} == dict(before + after)


def test_several_captures_each_get_a_master_and_a_side_car(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.put("captures/a.wav", bench.wave())
    bench.put("captures/b side.wav", bench.wave(frames=4800))
    bench.form({"one": "captures/a.wav", "two": "captures/b side.wav"})
    closed(bench, around)
    cars = [read(bench.package / f"data/audio/{stem}.json") for stem in ("a", "b side")]
    assert [car["this_file"]["capture"] for car in cars] == ["one", "two"]
    assert [car["this_file"]["measured"]["frames"] for car in cars] == [9600, 4800]
    assert cars[0]["transfer"] == cars[1]["transfer"]
    assert cars[0]["this_file"]["id"] != cars[1]["this_file"]["id"]


def test_what_was_measured_stands_in_side_car_and_bext(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill(bench.wave(frames=48_000))
    closed(bench, around)
    measured = read(bench.package / "data/audio/a.json")["this_file"]["measured"]
    made, _ = bext.decode(chunks_of(bench.package / "data/audio/a.wav")[b"bext"])
    assert made is not None
    assert made.loudness_value == measured["integrated_lufs"]
    assert isinstance(made.loudness_value, Decimal)
    assert made.max_true_peak_level == measured["true_peak_dbtp"]
    assert made.max_short_term_loudness is None  # a second is no short term of 3 s
    assert "short_term_max_lufs" not in measured


def test_md5_manifests_are_made_where_the_recipient_asks(
    bench: Any, around: Callable[..., Any], bagit: Any
) -> None:
    bench.fill(top='recipient = "archive"')
    outcome = closed(bench, around)
    assert outcome.built is not None
    named = [f"tagmanifest-{one}.txt" for one in ("md5", "sha256", "sha512")]
    assert list(outcome.built.tag_manifests) == named
    bag = bagit.Bag(str(bench.package))
    assert sorted(bag.algorithms) == ["md5", "sha256", "sha512"]
    bag.validate(processes=1)


def test_without_a_recipient_there_is_no_md5(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill()
    closed(bench, around)
    assert sorted(p.name for p in bench.package.glob("*md5*")) == []


def test_receipt_and_checks_are_by_their_schemas(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill()
    outcome = closed(bench, around)
    assert outcome.built is not None
    receipt = read(bench.receipt)
    assert schemas.faults(receipt, "receipt-0.1") == ()
    checks = read(bench.package / "metadata/checks.json")
    assert schemas.faults(checks, "check-0.1") == ()
    assert (receipt["committed"], receipt["software"]) == ("2026-03-15T08:00:00Z", "tailsout test")
    files = [p for p in bench.package.rglob("*") if p.is_file()]
    assert receipt["files"] == len(files)
    assert receipt["octets"] == sum(p.stat().st_size for p in files)
    assert receipt["tag_manifests"] == {
        name: {
            "sha256": hashlib.sha256((bench.package / name).read_bytes()).hexdigest(),
            "sha512": hashlib.sha512((bench.package / name).read_bytes()).hexdigest(),
        }
        for name in ("tagmanifest-sha512.txt", "tagmanifest-sha256.txt")
    }
    assert (checks["path"], checks["verdict"], receipt["verdict"]) == ("TT-1", "pass", "pass")


def test_a_receipt_that_its_schema_does_not_allow_would_be_seen() -> None:
    assert schemas.faults({"schema": "urn:tailsout:schema:receipt:0.1"}, "receipt-0.1") != ()


def test_open_questions_do_not_hold_a_package_back(bench: Any, around: Callable[..., Any]) -> None:
    ends = 'end_out_on_leaving = "heads"\nlast_motion = "head to tail"'
    bench.fill(more=ends)
    outcome = close(bench.job, bench.out, around())
    assert outcome.judgement.verdict is Verdict.OPEN
    assert outcome.built is not None
    (finding,) = read(bench.package / "metadata/checks.json")["findings"]
    assert finding["code"] == "end-out-contradicts"
    assert finding["place"].startswith("job.toml:")


def test_a_plan_writes_nothing(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(bench.wave(own=bench.own_bext()), top='recipient = "archive"')
    before = bench.tree(bench.root, times=True)
    outcome = close(bench.job, bench.out, around(), only_plan=True)
    assert bench.tree(bench.root, times=True) == before
    assert outcome.built is None
    assert outcome.receipt is None
    assert outcome.plan is not None
    planned = {item.path for item in (*outcome.plan.payload, *outcome.plan.tags)}
    assert outcome.plan.algorithms == ("sha512", "sha256", "md5")
    closed(bench, around)
    written = {p.relative_to(bench.package).as_posix() for p in bench.package.rglob("*.*")}
    seals = {f"{k}-{a}.txt" for k in ("manifest", "tagmanifest") for a in outcome.plan.algorithms}
    assert written - {"bagit.txt", "bag-info.txt"} - seals == planned


def test_photographs_and_documents_are_packed_octet_for_octet(
    bench: Any, around: Callable[..., Any], bagit: Any
) -> None:
    there = {
        "images/box.jpg": b"\xff\xd8 a photograph",
        "images/reel/front ä.tif": bytes(range(256)) * 9000,
        "documents/order.pdf": b"%PDF",
        "documents/empty.txt": b"",
    }
    for name, content in there.items():
        bench.put(name, content)
    bench.fill()
    closed(bench, around)
    for name, content in there.items():
        assert (bench.package / "data" / name).read_bytes() == content
    bagit.Bag(str(bench.package)).validate(processes=1)


def test_what_is_hidden_is_left_out_and_said_in_the_package_too(
    bench: Any, around: Callable[..., Any]
) -> None:
    for name in ("images/.DS_Store", "images/box.jpg", "images/Thumbs.db", "documents/.git/a/b"):
        bench.put(name, b"x")
    bench.fill()
    outcome = close(bench.job, bench.out, around())
    told = [(f.code, str(f.place)) for f in outcome.judgement.findings]
    hidden = ("documents/.git", "images/.DS_Store", "images/Thumbs.db")
    assert told == [("hidden-file-left-out", name) for name in hidden]
    assert outcome.judgement.verdict is Verdict.PASS
    packed = [p.relative_to(bench.package / "data") for p in bench.package.glob("data/*/*")]
    assert sorted(map(str, packed)) == ["audio/a.json", "audio/a.wav", "images/box.jpg"]
    checks = read(bench.package / "metadata/checks.json")
    assert [f["place"] for f in checks["findings"]] == list(hidden)


# What stops it


def test_a_photograph_the_form_names_must_be_there(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill(more='[[reel.images]]\nfile = "images/box.jpg"\nrole = "box"\n')
    outcome = close(bench.job, bench.out, around())
    (finding,) = outcome.judgement.findings
    assert (finding.code, str(finding.place)) == (
        "form-reference",
        "job.toml:8 reel.images[1].file",
    )
    assert outcome.built is None
    bench.put("images/box.jpg", b"x")
    closed(bench, around)


def test_a_photograph_that_goes_away_meanwhile(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    bench.fill()
    photograph = bench.put("images/box.jpg", b"x")
    with pytest.raises(SurroundingsError, match=r"Looking at images/box\.jpg failed"):
        close(bench.job, bench.out, around(progress=acting("Measuring", photograph.unlink)))
    assert bench.left() == []


def test_a_photograph_that_changes_while_it_is_packed(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    bench.fill()
    photograph = bench.put("images/box.jpg", b"x")

    def grow() -> None:
        photograph.write_bytes(b"xx")

    with pytest.raises(SurroundingsError, match=r"images/box\.jpg came to 2 octets instead of 1"):
        close(bench.job, bench.out, around(progress=acting("Writing", grow)))
    assert bench.left() == []


def test_the_destination_is_looked_at_before_anything_is_measured(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    bench.fill()
    bench.package.mkdir(parents=True)
    progress = acting("Measuring", lambda: None)
    with pytest.raises(RefusedError, match="is there already"):
        close(bench.job, bench.out, around(progress=progress))
    assert not progress.acted
    assert bench.left() == ["TT-1"]


def test_a_link_to_the_job_is_the_job(bench: Any, around: Callable[..., Any]) -> None:
    """J02: the destination inside the source, seen through links."""
    bench.fill()
    (bench.root / "link").symlink_to(bench.job)
    for parent in (bench.job, bench.job / "out", bench.root / "link" / "out", bench.root / "link"):
        with pytest.raises(RefusedError, match="lies inside the job"):
            close(bench.job, parent, around())
    before = bench.tree(bench.job)
    close(bench.root / "link", bench.out, around())
    assert bench.package.is_dir()
    assert bench.tree(bench.job) == before


def test_a_neighbour_whose_name_begins_alike_is_outside(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    assert close(bench.job, bench.root / "job-out", around()).built is not None


def test_a_link_to_itself_is_told(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill()
    loop = bench.root / "loop"
    loop.symlink_to(loop)
    with pytest.raises(UsageError, match=r"no job\.toml"):
        close(loop, bench.out, around())
    with pytest.raises(SurroundingsError, match="Too many levels"):
        close(bench.job, loop, around())


def test_a_destination_below_a_file_is_told(bench: Any, around: Callable[..., Any]) -> None:
    bench.fill()
    (bench.root / "file").write_bytes(b"")
    with pytest.raises(SurroundingsError, match="Not a directory"):
        close(bench.job, bench.root / "file", around())


@pytest.mark.parametrize("left", [0, 100])
def test_a_full_disk_leaves_nothing(
    bench: Any, around: Callable[..., Any], full_disk: Callable[[int], Disk], left: int
) -> None:
    bench.fill()
    fails(bench, around(disk=full_disk(left)), SurroundingsError, match="The disk is full")


@pytest.mark.parametrize("left", [40_000, 60_000])
def test_a_full_disk_keeps_what_is_finished(
    bench: Any,
    around: Callable[..., Any],
    full_disk: Callable[[int], Disk],
    acting: Callable[..., Any],
    left: int,
) -> None:
    bench.fill()
    undisturbed = bench.root / "undisturbed"
    close(bench.job, undisturbed, around())
    before, told = bench.sources(), acting("", lambda: None)
    with pytest.raises(SurroundingsError, match="The disk is full"):
        close(bench.job, bench.out, around(disk=full_disk(left), progress=told))
    assert bench.sources() == before
    assert not bench.package.exists()
    assert any("go on with it by --resume" in line for line in told.lines)
    with pytest.raises(SurroundingsError, match="1 file stands finished"):
        close(bench.job, bench.out, around())
    close(bench.job, bench.out, around(instant=LATER), resume=True)
    assert bench.tree(bench.out) == bench.tree(undisturbed)


def test_a_build_begun_by_another_version_is_not_resumed(
    bench: Any, around: Callable[..., Any], full_disk: Callable[[int], Disk]
) -> None:
    bench.fill()
    with pytest.raises(SurroundingsError):
        close(bench.job, bench.out, around(disk=full_disk(40_000)))
    before = bench.left()
    with pytest.raises(MaterialError, match="was begun by tailsout"):
        close(bench.job, bench.out, around(software="tailsout 99"), resume=True)
    assert bench.left() == before
    final, was_left = discard(bench.job, bench.out, around())
    assert (final, was_left, bench.left()) == (bench.package, True, [])
    assert discard(bench.job, bench.out, around()) == (bench.package, False)


def test_a_form_that_changed_since_is_not_resumed(
    bench: Any, around: Callable[..., Any], full_disk: Callable[[int], Disk]
) -> None:
    bench.fill()
    with pytest.raises(SurroundingsError):
        close(bench.job, bench.out, around(disk=full_disk(40_000)))
    bench.fill(more=ON_A_MACHINE)
    with pytest.raises(MaterialError, match="is not this one"):
        close(bench.job, bench.out, around(), resume=True)


@pytest.mark.parametrize("name", ["../out", "a/b", "", "..", "a:b"])
def test_only_what_belongs_to_a_package_is_discarded(
    bench: Any, around: Callable[..., Any], name: str
) -> None:
    bench.fill()
    form = bench.job / "job.toml"
    form.write_text(form.read_text().replace('"TT-1"', f'"{name}"'))
    bench.out.mkdir()
    precious = bench.root / "..out.part"
    precious.mkdir()
    with pytest.raises(MaterialError, match="does not say which package"):
        discard(bench.job, bench.out, around())
    assert precious.is_dir()


def test_a_receipt_that_was_cut_off_is_written_by_the_resume(
    bench: Any, around: Callable[..., Any]
) -> None:
    class NoReceipt(Disk):
        def write_beside(self, path: Path, content: bytes) -> None:
            raise KeyboardInterrupt

    bench.fill()
    undisturbed = bench.root / "undisturbed"
    close(bench.job, undisturbed, around())
    with pytest.raises(CutOffError, match="without its receipt") as caught:
        close(bench.job, bench.out, around(disk=NoReceipt()))
    assert "--resume" in caught.value.remedy
    close(bench.job, bench.out, around(instant=LATER), resume=True)
    assert bench.tree(bench.out) == bench.tree(undisturbed)
    with pytest.raises(UsageError, match="nothing to resume"):
        close(bench.job, bench.out, around(), resume=True)


def test_a_disk_known_to_be_too_small_is_not_begun(bench: Any, around: Callable[..., Any]) -> None:
    class Small(Disk):
        def free_octets(self, path: Path) -> int:
            return 10_000_000

    bench.fill()
    fails(bench, around(disk=Small()), SurroundingsError, match=r"has 10\.00 MB free")


def test_a_receipt_that_cannot_be_written_is_told_beside_a_whole_package(
    bench: Any, around: Callable[..., Any]
) -> None:
    class NoReceipt(Disk):
        def write_beside(self, path: Path, content: bytes) -> None:
            raise SurroundingsError(f"Writing {path} failed: No space left on device.")

    bench.fill()
    told = r"TT-1 stands complete and proved, but without its receipt: Writing .* No space left"
    with pytest.raises(SurroundingsError, match=told):
        close(bench.job, bench.out, around(disk=NoReceipt()))
    assert bench.package.is_dir()
    assert not bench.receipt.exists()


ON_A_MACHINE = '[[passes]]\nid = "p1"\nmachine = "left"\non = 2026-03-14\n'


@pytest.mark.parametrize(
    ("call", "said", "has_receipt"),
    [
        ("rename_no_replace", "but without its receipt", False),
        ("sync_directory", "but without its receipt", False),
        ("write_beside", "but without its receipt", False),
        ("append_line", "with its receipt", True),
    ],
)
def test_an_interrupt_after_the_package_got_its_name_is_told_as_it_is(
    bench: Any, around: Callable[..., Any], call: str, said: str, has_receipt: bool
) -> None:
    class Interrupted(Disk):
        def _strike(self, name: str) -> None:
            if name == call and bench.package.is_dir():
                raise KeyboardInterrupt

        def rename_no_replace(self, source: Path, target: Path) -> None:
            super().rename_no_replace(source, target)
            self._strike("rename_no_replace")

        def sync_directory(self, path: Path) -> None:
            self._strike("sync_directory")
            super().sync_directory(path)

        def write_beside(self, path: Path, content: bytes) -> None:
            self._strike("write_beside")
            super().write_beside(path, content)

        def append_line(self, path: Path, line: bytes) -> None:
            if path.suffix == ".jsonl":
                self._strike("append_line")
            super().append_line(path, line)

    bench.fill(more=ON_A_MACHINE)
    told = rf"^Interrupted; .*TT-1 stands complete and proved, {said}\.$"
    with pytest.raises(CutOffError) as error:
        close(bench.job, bench.out, around(disk=Interrupted()))
    assert re.match(told, error.value.sentence)
    assert error.value.exit_code == 130
    assert bench.package.is_dir()
    assert bench.receipt.exists() is has_receipt


def test_an_interrupt_before_that_leaves_nothing(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    def interrupt() -> None:
        raise KeyboardInterrupt

    bench.fill()
    for when in ("Measuring", "Writing", "Reading"):
        with pytest.raises(KeyboardInterrupt):
            close(bench.job, bench.out, around(progress=acting(when, interrupt)))
        assert bench.left() == []


@pytest.mark.parametrize("when", ["Measuring", "Writing"])
def test_a_capture_appended_to_while_it_is_read(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any], when: str
) -> None:
    capture = bench.fill()

    def append() -> None:
        with capture.open("ab") as stream:
            stream.write(b"more")

    progress = acting(when, append)
    with pytest.raises(SurroundingsError, match="while it was"):
        close(bench.job, bench.out, around(progress=progress))
    assert progress.acted
    assert bench.left() == []


@pytest.mark.parametrize("when", ["Measuring", "Writing"])
def test_a_capture_altered_in_place_while_it_is_read(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any], when: str
) -> None:
    """Same length: only its time tells."""
    capture = bench.fill()

    def alter() -> None:
        with capture.open("r+b") as stream:
            stream.seek(-1, os.SEEK_END)
            stream.write(b"\x55")

    with pytest.raises(SurroundingsError, match="was changed while it was being read"):
        close(bench.job, bench.out, around(progress=acting(when, alter)))
    assert bench.left() == []


def test_a_capture_altered_behind_our_back_is_seen_by_its_samples(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    """Its time put back, as a faulty disk or cable leaves it: the two reads disagree."""
    capture = bench.fill()
    status = capture.stat()

    def alter() -> None:
        with capture.open("r+b") as stream:
            stream.seek(-1, os.SEEK_END)
            last = capture.read_bytes()[-1]
            stream.write(bytes([last ^ 1]))
        os.utime(capture, ns=(status.st_atime_ns, status.st_mtime_ns))

    with pytest.raises(SurroundingsError, match="read differently the second time"):
        close(bench.job, bench.out, around(progress=acting("Writing", alter)))
    assert bench.left() == []


def test_a_package_that_fails_its_own_proof_is_not_kept(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    """A disk that loses a bit between writing and reading back."""

    class Losing(Disk):
        def sync_directory(self, path: Path) -> None:
            if path.name == ".TT-1.part":
                master = path / "data/audio/a.wav"
                content = bytearray(master.read_bytes())
                content[-1] ^= 1
                master.write_bytes(content)
            super().sync_directory(path)

    bench.fill()
    progress = acting("", lambda: None)
    fails(bench, around(disk=Losing(), progress=progress), MaterialError, match="judged 'fail'")
    codes = [line.partition(":")[0] for line in progress.lines]
    assert set(codes) == {"digest-differs", "essence-differs"}


def test_a_job_without_captures_has_nothing_to_pack(bench: Any, around: Callable[..., Any]) -> None:
    bench.form({})
    fails(bench, around(), MaterialError, match="TT-1 names no capture")


def test_no_job_no_close(bench: Any, around: Callable[..., Any]) -> None:
    fails(bench, around(), UsageError, match=r"no job\.toml")


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("captures/a%b.wav", "percent sign"),
        ("captures/a?.wav", "cannot stand on every system"),
        ("captures/nul.wav", "cannot stand on every system"),
        ("captures/a\u0308.wav", "normalisation form C"),
        # The capture has 255 octets, which every system holds; its side-car would have one more.
        (f"captures/{'x' * 251}.wav", "longer than 255 octets"),
        ("images/100%.jpg", "percent sign"),
        ("documents/a/B.pdf", "are one on some systems"),
    ],
)
def test_a_name_that_not_every_system_holds_is_told_with_all_else_and_nothing_is_measured(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any], name: str, why: str
) -> None:
    bench.fill(more='end_out_on_leaving = "heads"\nlast_motion = "head to tail"')
    bench.put("documents/a/b.pdf", b"x")
    bench.put(name, bench.wave())
    if name.startswith("captures/"):
        bench.form({"a": name}, more='end_out_on_leaving = "heads"\nlast_motion = "head to tail"')
    progress = acting("Measuring", lambda: None)
    outcome = close(bench.job, bench.out, around(progress=progress))
    told = {finding.code: finding for finding in outcome.judgement.findings}
    assert set(told) == {"name-unfit-for-packing", "end-out-contradicts"}
    assert why in told["name-unfit-for-packing"].text
    assert (outcome.built, bench.out.exists()) == (None, False)
    assert not progress.acted


def test_two_files_on_their_way_to_one_place_are_told_before_anything_is_measured(
    bench: Any, around: Callable[..., Any], acting: Callable[..., Any]
) -> None:
    form = 'id = "archive"\n[[roles]]\nrole = "document"\nfolder = "images"\n'
    (bench.studio / "recipients/archive.toml").write_text(form)
    bench.fill(top='recipient = "archive"')
    bench.put("images/a.jpg", b"x")
    bench.put("documents/a.jpg", b"y")
    progress = acting("Measuring", lambda: None)
    outcome = close(bench.job, bench.out, around(progress=progress))
    told = {finding.code: finding.text for finding in outcome.judgement.findings}
    assert "are one on some systems" in told["name-unfit-for-packing"]
    assert "'data/images/a.jpg'" in told["name-unfit-for-packing"]
    assert (outcome.built, bench.out.exists()) == (None, False)
    assert not progress.acted


def test_all_names_that_cannot_be_packed_are_told_at_once(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    for name in ("images/con.jpg", "images/a:b.jpg", "documents/50%.pdf"):
        bench.put(name, b"x")
    outcome = close(bench.job, bench.out, around())
    assert [str(finding.place) for finding in outcome.judgement.findings] == [
        "documents/50%.pdf",
        "images/a:b.jpg",
        "images/con.jpg",
    ]


def test_progress_counts_every_octet_once(bench: Any, around: Callable[..., Any]) -> None:
    class Counting(Silent):
        def __init__(self) -> None:
            self.told: list[list[Any]] = []

        def begin(self, doing: str, octets: int) -> None:
            self.told.append([doing.split(maxsplit=1)[0], octets, 0])

        def advance(self, octets: int) -> None:
            self.told[-1][2] += octets

    bench.fill()
    counting = Counting()
    close(bench.job, bench.root / "out", around(progress=counting))
    assert [one[0] for one in counting.told] == ["Measuring", "Writing", "Reading"]
    assert all(promised == passed for _, promised, passed in counting.told)


def test_what_only_the_package_shows_is_told_at_closing(
    bench: Any, around: Callable[..., Any]
) -> None:
    bench.fill()
    outcome = close(bench.job, bench.root / "out", around())
    outcomes = {check.name: check.outcome for check in outcome.judgement.checks}
    assert outcomes["fixity"] == outcomes["side-cars against audio"] == "passed"
