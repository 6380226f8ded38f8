"""The protocol of building: J01, J03 to J06, crash at every call, and what then stands there."""

import errno
import hashlib
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag import disk as disk_module
from tailsout.bag.build import Built, build
from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.bag.plan import Made, Plan, Streamed, Written, make_plan
from tailsout.bag.prove import prove
from tailsout.ground.errors import (
    MaterialError,
    RefusedError,
    SurroundingsError,
)
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent

AUDIO = bytes(range(256)) * 1200  # 300 kB: blocks large enough for threads
JOURNAL = ".reel-0001.part.journal"
CALLS = (
    "is_there",
    "free_octets",
    "make_directory",
    "set_mode",
    "create",
    "write",
    "sync_file",
    "close",
    "sync_directory",
    "rename_no_replace",
    "lock",
    "append_line",
    "remove",
)


def stream(take: Callable[[bytes | memoryview], object]) -> None:
    """Hands over one buffer again and again, as readers do."""
    buffer = bytearray(100_000)
    for start in range(0, len(AUDIO), len(buffer)):
        block = AUDIO[start : start + len(buffer)]
        buffer[: len(block)] = block
        take(memoryview(buffer)[: len(block)])
    buffer[:] = bytes(len(buffer))


def sidecar(written: Mapping[str, Written]) -> bytes:
    return f"{written['data/audio/reel.wav'].digests['sha256']}\n".encode()


def inventory(written: Mapping[str, Written]) -> bytes:
    return "".join(f"{path}\n" for path in sorted(written)).encode()


def make(name: str = "reel-0001", octets: int = len(AUDIO)) -> Plan:
    return make_plan(
        name=name,
        payload=[
            Streamed(path="data/audio/reel.wav", octets=octets, write=stream, source="reel"),
            Made(path="data/audio/reel.json", make=sidecar),
            Made(path="data/audio-b/Ä b.txt", make=lambda _written: b""),
        ],
        tags=[Made(path="metadata/inventory.txt", make=inventory)],
        bag_info=[("Source-Organization", "Sound archive"), ("Contact-Name", "x" * 200)],
    )


def passing(_stage: Path) -> Verdict:
    return Verdict.PASS


def run(parent: Path, disk: Disk | None = None, **changed: Any) -> Built:
    arguments: dict[str, Any] = {"judge": passing, "progress": Silent(), "plan": make(), **changed}
    return build(arguments.pop("plan"), parent, disk=disk or Disk(), **arguments)


def tree(base: Path) -> dict[str, tuple[int, bytes]]:
    """Every path below with its mode and content."""
    return {
        p.relative_to(base).as_posix(): (
            p.lstat().st_mode,
            p.read_bytes() if p.is_file() else b"",
        )
        for p in sorted(base.rglob("*"))
    }


class Logged(Disk):
    """Records every call; raises when told to."""

    def __init__(self) -> None:
        super().__init__()
        self.log: list[tuple[str, str]] = []
        self.names: dict[int, str] = {}
        self.fail_at: tuple[str, int] = ("", 0)
        self.for_good = False
        self.error: BaseException = OSError(errno.EIO, os.strerror(errno.EIO))
        self.count: dict[str, int] = {}
        self.failed: list[tuple[str, str]] = []

    def note(self, call: str, *arguments: Any) -> None:
        what = str(arguments[0])
        if call in {"write", "sync_file", "close"}:
            what = self.names.get(arguments[0], "the journal")
        self.log.append((call, what))
        self.count[call] = self.count.get(call, 0) + 1
        kind, number = self.fail_at
        reached = self.count.get(kind, 0) >= number > 0
        if (call == kind and self.count[call] == number) or (self.for_good and reached):
            self.failed.append((call, what))
            raise self.error


def logged(call: str) -> Any:
    def method(self: Logged, *arguments: Any) -> Any:
        if call == "close":
            # A close that fails has closed all the same.
            Disk.close(self, arguments[0])
            try:
                self.note(call, *arguments)
            finally:
                self.names.pop(arguments[0], None)
            return None
        self.note(call, *arguments)
        result = getattr(Disk, call)(self, *arguments)
        if call == "create":
            self.names[result] = str(arguments[0])
        return result

    return method


for _call in (*CALLS, "remove_tree"):
    setattr(Logged, _call, logged(_call))


# What is built


def test_the_bag_as_it_stands(tmp_path: Path) -> None:
    built = run(tmp_path / "out")
    base = tmp_path / "out" / "reel-0001"
    assert built.path == base
    assert built.durability == "fsynced"
    files = {p: c for p, (_, c) in tree(base).items() if (base / p).is_file()}
    sha = {
        n: {p: hashlib.new(n, c).hexdigest() for p, c in files.items()}
        for n in ("sha256", "sha512")
    }
    payload = ["data/audio-b/Ä b.txt", "data/audio/reel.json", "data/audio/reel.wav"]
    tags = [
        "bag-info.txt",
        "bagit.txt",
        "manifest-sha256.txt",
        "manifest-sha512.txt",
        "metadata/inventory.txt",
    ]
    expected = {
        "data/audio/reel.wav": AUDIO,
        "data/audio/reel.json": f"{sha['sha256'][payload[2]]}\n".encode(),
        "data/audio-b/Ä b.txt": b"",
        "metadata/inventory.txt": "".join(
            f"{p}\n" for p in sorted([*payload, *tags[2:4]])
        ).encode(),
        "bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": (
            f"Source-Organization: Sound archive\nContact-Name: {'x' * 200}\n"
            f"Bag-Size: 307.26 kB\nPayload-Oxum: {len(AUDIO) + 65}.3\n"
        ).encode(),
    }
    for name, digests in sha.items():
        expected[f"manifest-{name}.txt"] = "".join(f"{digests[p]}  {p}\n" for p in payload).encode()
        expected[f"tagmanifest-{name}.txt"] = "".join(f"{digests[p]}  {p}\n" for p in tags).encode()
    assert files == expected


def test_what_is_returned_is_what_stands_there(tmp_path: Path) -> None:
    built = run(tmp_path)
    contents = [p.read_bytes() for p in built.path.rglob("*") if p.is_file()]
    assert (built.files, built.octets) == (len(contents), sum(map(len, contents)))
    assert {n: sorted(d) for n, d in sorted(built.tag_manifests.items(), reverse=True)} == {
        "tagmanifest-sha512.txt": ["sha256", "sha512"],
        "tagmanifest-sha256.txt": ["sha256", "sha512"],
    }
    for name, digests in built.tag_manifests.items():
        content = (built.path / name).read_bytes()
        assert digests["sha256"] == hashlib.sha256(content).hexdigest()


def test_our_own_reader_finds_nothing_odd(tmp_path: Path) -> None:
    built = run(tmp_path)
    with open_bag(built.path) as bag:
        facts = prove(bag, spans={}, progress=Silent())
    assert facts.observations == ()
    assert [(i.label, i.value) for i in facts.bag_info][:2] == list(make().bag_info)
    found = {f.path: f.digests for f in facts.files}
    for manifest in facts.manifests:
        for line in manifest.lines:
            assert found[line.path][manifest.algorithm] == line.digest


def test_md5_if_a_recipient_asks(tmp_path: Path) -> None:
    plan = make_plan(
        name="x", payload=[Made(path="data/a", make=lambda _w: b"a")], algorithms=("md5", "sha256")
    )
    built = run(tmp_path, plan=plan)
    names = sorted(p.name for p in built.path.glob("*manifest-*"))
    assert names == [
        "manifest-md5.txt",
        "manifest-sha256.txt",
        "tagmanifest-md5.txt",
        "tagmanifest-sha256.txt",
    ]
    assert sorted(built.tag_manifests["tagmanifest-md5.txt"]) == ["sha256", "sha512"]


@pytest.fixture(params=[0o000, 0o022, 0o077])
def umask(request: pytest.FixtureRequest) -> Iterator[int]:
    old = os.umask(request.param)
    yield int(request.param)
    os.umask(old)


@pytest.fixture(scope="session")
def reference(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[int, bytes]]:
    return tree(run(tmp_path_factory.mktemp("reference")).path)


def test_octets_and_modes_do_not_depend_on_the_umask(
    tmp_path: Path, umask: int, reference: dict[str, tuple[int, bytes]]
) -> None:
    built = run(tmp_path)
    assert tree(built.path) == reference
    assert {mode & 0o777 for mode, _ in reference.values()} == {0o755, 0o644}
    assert built.path.stat().st_mode & 0o777 == 0o755


IN_LOCALE = """
import sys
sys.path[:0] = sys.argv[2:]
from pathlib import Path
import test_build
test_build.run(Path(sys.argv[1]))
print(sys.getfilesystemencoding())
"""


def test_octets_and_names_do_not_depend_on_the_locale(
    tmp_path: Path, reference: dict[str, tuple[int, bytes]]
) -> None:
    """J06: names go to the disk as UTF-8 even where the system's own text is ASCII."""
    done = in_a_child(
        IN_LOCALE,
        tmp_path,
        PYTHONUTF8="0",
        PYTHONCOERCECLOCALE="0",
        LC_ALL="C",
        TZ="Asia/Tokyo",
    )
    assert (done.stderr, done.stdout) == ("", "ascii\n")
    assert tree(tmp_path / "reel-0001") == reference


# The order of calls


def test_sync_of_files_then_directories_then_rename_then_parent(tmp_path: Path) -> None:
    disk = Logged()
    parent = tmp_path / "new" / "out"
    run(parent, disk)
    stage = f"{parent}/.reel-0001.part"
    calls = disk.log
    for name in {what for call, what in calls if call == "create"}:
        assert [call for call, what in calls if what == name and call != "write"] == [
            "create",
            "sync_file",
            "close",
        ]
        last_write = max(
            (i for i, (call, what) in enumerate(calls) if what == name and call == "write"),
            default=0,
        )
        assert last_write < calls.index(("sync_file", name))
    last_file = max(i for i, (call, _) in enumerate(calls) if call == "sync_file")
    syncs = [what for call, what in calls[last_file:] if call == "sync_directory"]
    assert syncs == [
        f"{stage}/data/audio",
        f"{stage}/data/audio-b",
        f"{stage}/data",
        f"{stage}/metadata",
        stage,
        str(parent),
        str(parent),
    ]
    journal = f"{stage}.journal"
    assert calls[-5:] == [
        ("rename_no_replace", stage),
        ("sync_directory", str(parent)),
        ("is_there", journal),
        ("remove", journal),
        ("sync_directory", str(parent)),
    ]
    named = [what for call, what in calls if call == "append_line"]
    assert named == [journal, journal]
    made = [what for call, what in calls if call == "make_directory"]
    assert made[:3] == [str(parent.parent), str(parent), stage]
    for place in made[:2]:
        assert calls.index(("sync_directory", str(Path(place).parent))) < calls.index(
            ("make_directory", stage)
        )


def test_the_judge_sees_the_whole_bag_before_it_has_its_name(tmp_path: Path) -> None:
    seen: list[dict[str, tuple[int, bytes]]] = []

    def judge(stage: Path) -> Verdict:
        assert stage == tmp_path / ".reel-0001.part"
        assert stage.stat().st_mode & 0o777 == 0o755
        assert not (tmp_path / "reel-0001").exists()
        seen.append(tree(stage))
        return Verdict.OPEN

    assert tree(run(tmp_path, judge=judge).path) == seen[0]


def test_the_stage_is_closed_to_others_while_it_is_written(tmp_path: Path) -> None:
    modes: list[int] = []

    def look(_written: Mapping[str, Written]) -> bytes:
        modes.append((tmp_path / ".x.part").stat().st_mode & 0o777)
        return b""

    run(tmp_path, plan=make_plan(name="x", payload=[Made(path="data/a", make=look)]))
    assert modes == [0o700]


# What is refused


def on(kind: str, **more: Any) -> Disk:
    """A disk on another file system."""

    class Elsewhere(Disk):
        def file_system(self, path: Path) -> str:
            return kind

        def free_files(self, path: Path) -> int | None:
            return more.get("files")

        def free_octets(self, path: Path) -> int:
            return 1 << 40

    return Elsewhere()


def test_a_file_beyond_what_the_file_system_holds_is_refused_before_the_first_octet(
    tmp_path: Path,
) -> None:
    """FAT: a length is 32 bits (J08)."""

    def never(_take: object) -> None:
        raise AssertionError

    for octets, stops in (((1 << 32) - 1, False), (1 << 32, True)):
        item = Streamed(path="data/a", octets=octets, write=never)
        plan = make_plan(name="x", payload=[item])
        for kind in ("vfat", "msdos"):
            error = SurroundingsError if stops else AssertionError
            with pytest.raises(error):
                run(tmp_path, on(kind), plan=plan)
        with pytest.raises(AssertionError):
            run(tmp_path, on("ext4"), plan=plan)
    assert list(tmp_path.iterdir()) == []


def test_a_file_system_that_takes_no_more_files(tmp_path: Path) -> None:
    """J05. Twelve: the bag's own 10 files, folders and the base, its journal and receipt."""
    stands = len(tree(run(tmp_path / "count").path)) + 3
    with pytest.raises(SurroundingsError, match=f"can take {stands - 1} more files"):
        run(tmp_path / "few", on("ext4", files=stands - 1))
    assert list((tmp_path / "few").iterdir()) == []
    assert run(tmp_path / "few", on("ext4", files=stands)).path.is_dir()


@pytest.mark.parametrize(
    ("kind", "said"),
    [("nfs4", "another machine"), ("tmpfs", "memory"), ("exfat", "no journal"), ("ext4", "")],
)
def test_what_a_file_system_cannot_promise_is_said(tmp_path: Path, kind: str, said: str) -> None:
    told = run(tmp_path, on(kind)).not_promised
    assert [said in sentence for sentence in told] == ([True] if said else [])


def test_what_the_system_did_not_offer_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(disk_module, "_renameat2", None)
    monkeypatch.setattr(disk_module, "fcntl", None)
    monkeypatch.setattr(disk_module, "_SYNCS_DIRECTORIES", False)
    built = run(tmp_path, on("ext4"))
    assert built.durability == "best effort"
    assert [s.partition(" ")[2][:16] for s in built.not_promised] == [
        "does not confirm",
        "does not keep tw",
        "does not refuse ",
    ]


@pytest.mark.parametrize("verdict", [Verdict.FAIL, Verdict.REFUSED])
def test_a_bag_that_is_not_passed_is_thrown_away(tmp_path: Path, verdict: Verdict) -> None:
    with pytest.raises(MaterialError, match=str(verdict)):
        run(tmp_path, judge=lambda _stage: verdict)
    assert list(tmp_path.iterdir()) == []


def test_a_tag_manifest_that_the_disk_keeps_otherwise(tmp_path: Path) -> None:
    """Upper case says the same to every reader (RFC 8493 §2.4), yet it is not what was written."""

    class Lying(Disk):
        last = ""

        def create(self, path: Path) -> int:
            self.last = path.name
            return super().create(path)

        def write(self, descriptor: int, block: memoryview) -> int:
            lies = self.last == "tagmanifest-sha512.txt"
            return super().write(descriptor, memoryview(bytes(block).upper() if lies else block))

    with pytest.raises(MaterialError, match="reads back differently"):
        run(tmp_path, Lying())
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("stands", ["directory", "file", "link", "dangling"])
def test_what_stands_there_is_not_touched(tmp_path: Path, stands: str) -> None:
    place, other = tmp_path / "reel-0001", tmp_path / "other"
    if stands == "directory":
        place.mkdir()
    elif stands == "file":
        place.write_bytes(b"x")
    else:
        place.symlink_to("other")
        if stands == "link":
            other.mkdir()
    before = tree(tmp_path)
    disk = Logged()
    with pytest.raises(RefusedError):
        run(tmp_path, disk)
    assert tree(tmp_path) == before
    assert {call for call, _ in disk.log} == {"is_there"}


@pytest.mark.parametrize("native", [True, False])
def test_what_comes_to_stand_there_meanwhile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, native: bool
) -> None:
    if not native:
        monkeypatch.setattr(disk_module, "_renameat2", None)

    def judge(_stage: Path) -> Verdict:
        (tmp_path / "reel-0001").mkdir()
        return Verdict.PASS

    with pytest.raises(RefusedError):
        run(tmp_path, judge=judge)
    assert [p.name for p in tmp_path.iterdir()] == ["reel-0001"]
    assert list((tmp_path / "reel-0001").iterdir()) == []


def test_what_another_build_finished_while_we_waited_for_the_lock(tmp_path: Path) -> None:
    class Late(Logged):
        def lock(self, path: Path) -> int:
            (tmp_path / "reel-0001").mkdir()
            return super().lock(path)

    disk = Late()
    with pytest.raises(RefusedError):
        run(tmp_path, disk)
    assert "create" not in {call for call, _ in disk.log}
    assert [p.name for p in tmp_path.iterdir()] == ["reel-0001"]


def test_a_disk_with_too_little_room(tmp_path: Path) -> None:
    class Small(Logged):
        free = 0

        def free_octets(self, path: Path) -> int:
            return self.free

    needed = len(AUDIO) + len(AUDIO) // 50 + 10_000_000
    disk = Small()
    disk.free = needed - 1
    with pytest.raises(SurroundingsError, match="free"):
        run(tmp_path, disk)
    assert not {"create", "make_directory"} & {call for call, _ in disk.log}
    disk.free = needed
    run(tmp_path, disk)


def test_a_source_that_changed_its_length(tmp_path: Path) -> None:
    for octets in (len(AUDIO) - 1, len(AUDIO) + 1):
        with pytest.raises(SurroundingsError, match="changed"):
            run(tmp_path, plan=make(octets=octets))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "error",
    [
        OSError(errno.EIO, "x"),
        KeyboardInterrupt(),
        MemoryError(),
        MaterialError("No."),
        ValueError(),
    ],
)
def test_an_error_of_the_source_leaves_nothing(tmp_path: Path, error: BaseException) -> None:
    def broken(take: Callable[[bytes | memoryview], object]) -> None:
        take(b"x" * 100_000)
        raise error

    plan = make_plan(name="x", payload=[Streamed(path="data/a", octets=1, write=broken)])
    expected = SurroundingsError if isinstance(error, OSError) else type(error)
    with pytest.raises(expected):
        run(tmp_path, plan=plan)
    assert list(tmp_path.iterdir()) == []


# Locks and crashes


def test_another_build_that_is_running(tmp_path: Path) -> None:
    def judge(stage: Path) -> Verdict:
        before = tree(stage)
        with pytest.raises(SurroundingsError, match="another build"):
            run(tmp_path)
        assert tree(stage) == before
        return Verdict.PASS

    assert run(tmp_path, judge=judge).path.is_dir()


class Told(Silent):
    def __init__(self) -> None:
        self.lines: list[str] = []

    def say(self, line: str) -> None:
        self.lines.append(line)


def test_what_a_crash_left_is_thrown_away_and_said(
    tmp_path: Path, reference: dict[str, tuple[int, bytes]]
) -> None:
    stage = tmp_path / ".reel-0001.part"
    (stage / "data").mkdir(parents=True)
    (stage / "data" / "half").write_bytes(b"x")
    told = Told()
    assert tree(run(tmp_path, progress=told).path) == reference
    assert [line.startswith(f"{stage} was left") for line in told.lines] == [True]
    assert "nothing in it was finished" in told.lines[0]
    assert [p.name for p in tmp_path.iterdir()] == ["reel-0001"]


@pytest.mark.parametrize("stands", ["file", "link"])
def test_what_is_no_stage_is_not_thrown_away(tmp_path: Path, stands: str) -> None:
    stage = tmp_path / ".reel-0001.part"
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "precious").touch()
    if stands == "file":
        stage.write_bytes(b"x")
    else:
        stage.symlink_to("other")
    before = tree(tmp_path)
    with pytest.raises(SurroundingsError):
        run(tmp_path)
    assert tree(tmp_path) == before


def test_without_locks_an_old_stage_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(disk_module, "fcntl", None)
    stage = tmp_path / ".reel-0001.part"
    stage.mkdir()
    with pytest.raises(SurroundingsError, match="no locks"):
        run(tmp_path)
    assert stage.is_dir()
    stage.rmdir()
    assert run(tmp_path).path.is_dir()


def test_a_stage_that_vanishes_before_it_is_locked(tmp_path: Path) -> None:
    class Slow(Disk):
        turns = 0

        def lock(self, path: Path) -> int:
            self.turns += 1
            if self.turns < 3:
                path.rmdir()
            return super().lock(path)

    assert run(tmp_path, Slow()).path.is_dir()


def test_a_stage_that_vanishes_for_ever(tmp_path: Path) -> None:
    class Hopeless(Disk):
        def lock(self, path: Path) -> int:
            path.rmdir()
            return super().lock(path)

    with pytest.raises(SurroundingsError):
        run(tmp_path, Hopeless())


def counted(below: str) -> list[tuple[str, int]]:
    """Every call of one build, by its name and number."""
    with tempfile.TemporaryDirectory() as place:
        disk = Logged()
        run(Path(place) / below, disk)
    return [(call, n + 1) for call in CALLS for n in range(disk.count[call])]


@pytest.mark.parametrize("for_good", [False, True])
@pytest.mark.parametrize("code", [errno.EIO, errno.ENOSPC])
def test_a_disk_that_fails_at_any_call(
    tmp_path: Path, code: int, for_good: bool, reference: dict[str, tuple[int, bytes]]
) -> None:
    points = counted("out")
    assert len(points) > 60
    for number, point in enumerate(points):
        parent = tmp_path / str(number) / "out"
        parent.parent.mkdir()
        disk = Logged()
        disk.error, disk.fail_at, disk.for_good = OSError(code, os.strerror(code)), point, for_good
        with pytest.raises(SurroundingsError) as caught:
            run(parent, disk)
        final = parent / "reel-0001"
        left = sorted(p.name for p in parent.iterdir()) if parent.exists() else []
        if final.exists():
            # The rename was done and something behind it was not: whole, and said to be in doubt.
            assert ("rename_no_replace", f"{parent}/.reel-0001.part") in disk.log
            assert "stands complete" in caught.value.sentence
            assert tree(final) == reference
            resumes = JOURNAL in left
            assert left == [*([JOURNAL] if resumes else []), "reel-0001"]
        else:
            # What can be taken up is taken up; of anything less nothing is left.
            resumes = left == [".reel-0001.part", JOURNAL]
            assert resumes or not left or for_good, point
        if resumes or not final.exists():
            assert tree(run(parent, resume=resumes).path) == reference
        assert [p.name for p in parent.iterdir()] == ["reel-0001"]


def test_an_interrupt_at_any_call(tmp_path: Path) -> None:
    for number, point in enumerate(counted("")):
        parent = tmp_path / str(number)
        parent.mkdir()
        disk = Logged()
        disk.error, disk.fail_at = KeyboardInterrupt(), point
        with pytest.raises(KeyboardInterrupt):
            run(parent, disk)
        left = {p.name for p in parent.iterdir()}
        renamed = disk.count.get("rename_no_replace") and point[0] != "rename_no_replace"
        if renamed:
            assert left in ({"reel-0001", JOURNAL}, {"reel-0001"})
        else:
            assert left == set()


def test_a_stage_that_cannot_be_removed_is_said(tmp_path: Path) -> None:
    told = Told()
    disk = Logged()
    disk.fail_at = ("remove_tree", 1)
    with pytest.raises(MaterialError):
        run(tmp_path, disk, judge=lambda _stage: Verdict.FAIL, progress=told)
    assert ["could not be removed" in line for line in told.lines] == [True]
    assert sorted(p.name for p in tmp_path.iterdir()) == [".reel-0001.part", JOURNAL]


LIMITED = """
import resource, sys
sys.path[:0] = sys.argv[2:]
from pathlib import Path
import test_build
resource.setrlimit(resource.RLIMIT_FSIZE, (150_000, 150_000))
try:
    test_build.run(Path(sys.argv[1]))
except test_build.SurroundingsError as error:
    print(error.sentence)
"""


def in_a_child(program: str, *arguments: object, **environment: str) -> Any:
    """Run a program that may import this module."""
    paths = [str(Path(__file__).parent), *(p for p in sys.path if p)]
    return subprocess.run(
        [sys.executable, "-c", program, *map(str, arguments), *paths],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_limit_on_the_size_of_files(tmp_path: Path) -> None:
    done = in_a_child(LIMITED, tmp_path)
    assert done.stderr == ""
    assert os.strerror(errno.EFBIG) in done.stdout
    assert list(tmp_path.iterdir()) == []


KILLED = """
import os, signal, sys
sys.path[:0] = sys.argv[3:]
from pathlib import Path
import test_build
class Killing(test_build.Logged):
    def note(self, call, *arguments):
        super().note(call, *arguments)
        if len(self.log) == int(sys.argv[2]):
            os.kill(os.getpid(), signal.SIGKILL)
test_build.run(Path(sys.argv[1]), Killing())
"""


@pytest.mark.parametrize("at", [4, 12, 28, 32, 45, 60, 79])
def test_a_build_that_is_killed_can_be_run_again(
    tmp_path: Path, at: int, reference: dict[str, tuple[int, bytes]]
) -> None:
    done = in_a_child(KILLED, tmp_path, at)
    assert done.returncode == -signal.SIGKILL, done.stderr
    assert not (tmp_path / "reel-0001").exists()
    disk = Logged()
    if at < 30:
        run(tmp_path, disk)
    else:
        with pytest.raises(SurroundingsError, match="--resume"):
            run(tmp_path)
        run(tmp_path, disk, resume=True)
        # The one large file stood already.
        assert not [what for call, what in disk.log if call == "create" and "reel.wav" in what]
    assert tree(tmp_path / "reel-0001") == reference
    assert [p.name for p in tmp_path.iterdir()] == ["reel-0001"]
