"""A small studio and job with tiny captures, for the rooms that work on whole jobs."""

import array
import contextlib
import hashlib
import importlib
import io
import os
import random
import struct
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.wave import bext, fmt
from tailsout.wave.bext import Bext
from tailsout.wave.riff import read_layout

# Tests say themselves where they want the official schemas; those who run them in further processes
# find the folder under another name.
if "TAILSOUT_SCHEMAS" in os.environ:
    os.environ["TESTS_WITH_SCHEMAS"] = os.environ.pop("TAILSOUT_SCHEMAS")
_OFFICIAL_SCHEMAS = os.environ.get("TESTS_WITH_SCHEMAS")

JOB_ID = "0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c07"
LONG_AGO = 1_700_000_000
PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)
FRAMES = 9600  # 0.2 s


def chunk(name: bytes, payload: bytes) -> bytes:
    return struct.pack("<4sI", name, len(payload)) + payload + b"\0" * (len(payload) % 2)


def samples(pcm: Pcm, frames: int, seed: int = 1) -> bytes:
    """Noise, full scale in integers, a quarter of it in floats."""
    noise = random.Random(seed)
    if pcm.is_float:
        return array.array(
            "f", (noise.uniform(-0.25, 0.25) for _ in range(frames * pcm.channels))
        ).tobytes()
    return noise.randbytes(frames * pcm.frame_octets)


def wave(
    pcm: Pcm = PCM,
    frames: int = FRAMES,
    *,
    own: bytes | None = None,
    before: Sequence[tuple[bytes, bytes]] = (),
    after: Sequence[tuple[bytes, bytes]] = (),
    rf64: bool = False,
) -> bytes:
    """A wave file as a recorder leaves it; `own` is the payload of its bext chunk."""
    audio = samples(pcm, frames)
    chunks = b"".join(
        (
            *([chunk(b"bext", own)] if own is not None else []),
            *(chunk(*one) for one in before),
            chunk(b"fmt ", fmt.encode(pcm)),
            chunk(b"data", audio),
            *(chunk(*one) for one in after),
        )
    )
    if not rf64:
        return struct.pack("<4sI4s", b"RIFF", 4 + len(chunks), b"WAVE") + chunks
    # EBU Tech 3306: the sizes stand in ds64, the 32-bit ones read FFFFFFFF.
    sizes = struct.pack("<QQQI", 4 + 36 + len(chunks), len(audio), frames, 0)
    unstated = chunks.replace(struct.pack("<4sI", b"data", len(audio)), b"data\xff\xff\xff\xff")
    return b"RF64\xff\xff\xff\xffWAVE" + chunk(b"ds64", sizes) + unstated


def flac(content: bytes, *, changed: Mapping[int, bytes] | None = None) -> bytes:
    """A wave file compressed, its chunks kept; octets may be changed afterwards, by their place."""
    from tailsout.wave.flac_encode import encode  # noqa: PLC0415  it loads the library

    source, target = io.BytesIO(content), io.BytesIO()
    encode(source, read_layout(source), target, essence=bytearray().extend, advance=lambda _: None)
    made = bytearray(target.getvalue())
    for place, octets in (changed or {}).items():
        at = place % len(made)
        made[at : at + len(octets)] = octets
    return bytes(made)


def own_bext(**fields: Any) -> bytes:
    given: dict[str, Any] = {
        "description": "Untitled take",
        "originator": "Groyne recorder 4.2",
        "origination_date": "2026-03-14",
        "origination_time": "10:21:07",
        "time_reference": 1_788_816_000,
        "coding_history": "A=PCM,F=48000,W=24,M=mono,T=Groyne recorder 4.2\r\n",
    } | fields
    return bext.encode(Bext(**given))


def tree(base: Path, *, times: bool = False) -> dict[str, tuple[Any, ...]]:
    """Every path below with its mode and content, and its time if wanted; links unfollowed."""
    found = {}
    for path in sorted(base.rglob("*")):
        status = path.lstat()
        plain = path.is_file() and not path.is_symlink()
        facts = (status.st_mode, path.read_bytes() if plain else b"")
        when = (status.st_mtime_ns,) if times and plain else ()
        found[path.relative_to(base).as_posix()] = (*facts, *when)
    return found


class Bench:
    """`studio/`, `job/` and a place `out/` for packages that is not there yet."""

    wave = staticmethod(wave)
    flac = staticmethod(flac)
    samples = staticmethod(samples)
    own_bext = staticmethod(own_bext)
    tree = staticmethod(tree)
    pcm = PCM
    frames = FRAMES
    package_id = "TT-1"

    def __init__(self, root: Path) -> None:
        self.root = root
        self.studio, self.job, self.out = root / "studio", root / "job", root / "out"
        (self.studio / "machines").mkdir(parents=True)
        (self.studio / "recipients").mkdir()
        (self.job / "captures").mkdir(parents=True)
        (self.studio / "studio.toml").write_text('name = "Saltpan Row"\n')
        (self.studio / "machines" / "left.toml").write_text(
            'id = "left"\nmaker = "Tidewright"\nmodel = "Mark 3"\n'
        )
        (self.studio / "recipients" / "archive.toml").write_text(
            'id = "archive"\nname = "Harbour Archive"\nextra_algorithms = ["md5"]\n'
        )

    @property
    def package(self) -> Path:
        return self.out / self.package_id

    @property
    def receipt(self) -> Path:
        return self.out / f"{self.package_id}.receipt.json"

    def put(self, name: str, content: bytes) -> Path:
        """Lay a capture into the job, last written long ago."""
        path = self.job / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        os.utime(path, (LONG_AGO, LONG_AGO))
        return path

    def form(self, captures: Mapping[str, str], *, top: str = "", more: str = "") -> None:
        """Write job.toml; `captures` gives the file of each by its id."""
        lines = [f'job_id = "{JOB_ID}"', f'package_id = "{self.package_id}"']
        lines += ['studio = "../studio"', top, '[reel]\ntitle = "Reel 1"', more]
        for one, name in captures.items():
            text = name.replace("\\", "\\\\").replace('"', '\\"')
            text = "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in text)
            lines.append(f'[[captures]]\nid = "{one}"\nfile = "{text}"\nstarted = 2026-03-14')
        (self.job / "job.toml").write_text("\n".join(lines) + "\n")

    def fill(self, content: bytes | None = None, *, top: str = "", more: str = "") -> Path:
        """Make a whole job of one capture and return the capture."""
        path = self.put("captures/a.wav", wave() if content is None else content)
        self.form({"a": "captures/a.wav"}, top=top, more=more)
        return path

    def sources(self) -> dict[str, tuple[Any, ...]]:
        """Everything that work may only read, with times."""
        return {
            f"{base.name}/{name}": facts
            for base in (self.studio, self.job)
            for name, facts in tree(base, times=True).items()
        }

    def left(self) -> list[str]:
        """What stands where packages are written, hidden things too."""
        return [str(p.relative_to(self.out)) for p in sorted(self.out.rglob("*"))]


@pytest.fixture(autouse=True)
def no_wait_for_the_device(request: pytest.FixtureRequest) -> Iterator[None]:
    """Have `fsync` take an open descriptor and be done: nobody pulls a plug here.

    Processes that a test starts sync as ever, and so do tests that watch or fail system calls.
    """
    # A context of its own: what a test patches is put back before its folder is cleared away.
    with pytest.MonkeyPatch.context() as patch:
        if request.node.get_closest_marker("apt") is None:
            patch.setattr(os, "fsync", os.fstat)
        yield


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.fixture(scope="session")
def around() -> Callable[..., Any]:
    # Other rooms' tests must not wait for the meters to load.
    from tailsout.bag.disk import Disk  # noqa: PLC0415
    from tailsout.work.surroundings import Surroundings  # noqa: PLC0415

    def make(**changed: Any) -> Surroundings:
        given: dict[str, Any] = {
            "instant": datetime(2026, 3, 15, 8, 0, tzinfo=UTC),
            "software": "tailsout test",
            "seconds_now": time.time,
            "disk": Disk(),
            "progress": Silent(),
        } | changed
        return Surroundings(**given)

    return make


@pytest.fixture(scope="session")
def official_schemas() -> Path:
    """The folder of the official schemas; nothing else may skip a test of the marker `xsd`."""
    if _OFFICIAL_SCHEMAS is None:
        pytest.skip("needs TAILSOUT_SCHEMAS")
    return Path(_OFFICIAL_SCHEMAS)


def _shorten_demo(patch: pytest.MonkeyPatch) -> None:
    from tailsout.work.demo import scenario  # noqa: PLC0415  it loads the meters

    cut = tuple(
        (name, tuple(replace(one, seconds=one.seconds / 10) for one in stretches), day, hour)
        for name, stretches, day, hour in scenario.CAPTURES
    )
    patch.setattr(scenario, "CAPTURES", cut)
    forms = dict(scenario.forms())
    job = forms["job/job.toml"].decode()
    for second in range(32, -1, -1):
        job = job.replace(f'"0:{second:02d}"', f'"0:{second / 10:04.1f}"')
    forms["job/job.toml"] = job.encode()
    patch.setattr(scenario, "forms", lambda: list(forms.items()))


@pytest.fixture
def short_demo(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tenth of the demonstration's tape; the times in its form shrink with it."""
    _shorten_demo(monkeypatch)


@pytest.fixture(scope="session")
def short_demo_made(tmp_path_factory: pytest.TempPathFactory, around: Callable[..., Any]) -> Path:
    """Where the short demonstration lies once it is made, only to be read."""
    from tailsout.work.demo import run as demo  # noqa: PLC0415  it loads the meters

    folder = tmp_path_factory.mktemp("demo")
    with pytest.MonkeyPatch.context() as patch:
        _shorten_demo(patch)
        demo.run(folder, around())
    return folder


def _reseal(package: Path) -> None:
    """Make all manifests anew over what lies there, and the descriptions that quote them.

    The receipt beside it, which tells of the package as it was, goes.
    """
    package.with_name(f"{package.name}.receipt.json").unlink(missing_ok=True)
    for kind in ("manifest", "tagmanifest"):
        if kind == "tagmanifest":
            _redescribe(package)
        names = [p.relative_to(package).as_posix() for p in sorted(package.rglob("*"))]
        names = [n for n in names if (package / n).is_file() and not n.startswith("tagmanifest-")]
        names = [n for n in names if n.startswith("data/") == (kind == "manifest")]
        for place in package.glob(f"{kind}-*.txt"):
            algorithm = place.stem.partition("-")[2]
            lines = [
                f"{hashlib.new(algorithm, (package / n).read_bytes()).hexdigest()}  {n}\n"
                for n in names
            ]
            place.write_text("".join(lines))


def _redescribe(package: Path) -> None:
    from tailsout.ground.errors import TailsoutError  # noqa: PLC0415  few tests want all of it
    from tailsout.work.export import export_in, named  # noqa: PLC0415

    views = [named(name) for name in ("PREMIS", "METS")]
    views = [view for view in views if (package / view.path).is_file()]
    with contextlib.suppress(TailsoutError):
        for view, made in zip(views, export_in(package, views, Silent()), strict=True):
            (package / view.path).write_bytes(made.content)


@pytest.fixture
def reseal() -> Callable[[Path], None]:
    return _reseal


@pytest.fixture
def bagit() -> Any:
    """The Library of Congress's own library: a second opinion on every bag."""
    return importlib.import_module("bagit")
