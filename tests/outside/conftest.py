"""Others' programs as oracles: a package for them to read, and readers of wave files to ask."""

import contextlib
import ctypes
import os
import re
import sys
import tarfile
import time
import warnings
import wave
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path, PurePosixPath
from types import MappingProxyType
from typing import Any

import pytest
import soundfile
import wavinfo

from tailsout.bag.disk import Disk
from tailsout.ground.progress import Silent
from tailsout.work.demo.run import run
from tailsout.work.surroundings import Surroundings

INSTANT = datetime(2026, 3, 15, 8, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def around() -> Surroundings:
    return Surroundings(
        instant=INSTANT,
        software="tailsout test",
        seconds_now=time.time,
        disk=Disk(),
        progress=Silent(),
    )


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, around: Surroundings) -> Path:
    """Return the folder of the demonstration: studio, job and packages."""
    folder = tmp_path_factory.mktemp("demo")
    assert run(folder, around).checked is not None
    return folder


@pytest.fixture(scope="session")
def package(demo: Path) -> Path:
    return demo / "packages" / "SKL-0007"


# Readers of wave files. Each tells frames, rate in Hz, channels and the coding: the bits a sample
# takes on disk, with "float " before them where it is, or "" where the reader does not say.

Heard = tuple[int, int, int, str]


def _coding(tag: int, bits: int) -> str:
    word = {1: "", 3: "float "}.get(tag)
    return "" if word is None else f"{word}{(bits + 7) // 8 * 8}"


def _libsndfile(path: Path) -> Heard:
    words = {"FLOAT": "float 32", "DOUBLE": "float 64", "PCM_U8": "8"}
    with soundfile.SoundFile(path) as file:
        coding = words.get(file.subtype, file.subtype.removeprefix("PCM_"))
        return file.frames, file.samplerate, file.channels, coding


def _wavinfo(path: Path) -> Heard:
    info = wavinfo.WavInfoReader(str(path))
    shape = info.fmt
    # An EXTENSIBLE format is not looked into.
    coding = _coding(shape.audio_format, shape.bits_per_sample)
    return info.data.frame_count, shape.sample_rate, shape.channel_count, coding


def _wave(path: Path) -> Heard:
    with wave.open(str(path), "rb") as file:
        coding = f"{8 * file.getsampwidth()}"
        return file.getnframes(), file.getframerate(), file.getnchannels(), coding


def _ffmpeg(path: Path) -> Heard:
    av = pytest.importorskip("av")
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        frames = sum(frame.samples for frame in container.decode(stream))
        name = stream.codec_context.name
        match = re.fullmatch(r"pcm_([suf])([0-9]+)(le)?", name)
        coding = name if match is None else match[1].replace("f", "float ").strip("su") + match[2]
        return frames, stream.rate, stream.channels, coding


def _scipy(path: Path) -> Heard:
    io = pytest.importorskip("scipy.io.wavfile")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", io.WavFileWarning)
        rate, samples = io.read(path)
    bits = 8 * samples.dtype.itemsize
    # What is wider than 16 bits comes in the next wider integer.
    coding = f"float {bits}" if samples.dtype.kind == "f" else f"{bits}" if bits <= 16 else ""
    return len(samples), rate, samples.shape[1] if samples.ndim > 1 else 1, coding


def _ear(path: Path) -> Heard:
    bw64 = _import_ear()
    with path.open("rb") as stream:
        reader = bw64.Bw64Reader(stream)
        return len(reader), reader.sampleRate, reader.channels, f"{reader.bitdepth}"


def _mutagen(path: Path) -> Heard:
    info = pytest.importorskip("mutagen.wave").WAVE(path).info
    coding = _coding(info.audio_format, info.bits_per_sample)
    return round(info.length * info.sample_rate), info.sample_rate, info.channels, coding


def _import_ear() -> Any:
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*pkg_resources", category=UserWarning)
        warnings.filterwarnings("ignore", message=".*pkg_resources", category=DeprecationWarning)
        return pytest.importorskip("ear.fileio.bw64")


READERS: Mapping[str, Callable[[Path], Heard]] = {
    "libsndfile": _libsndfile,
    "wavinfo": _wavinfo,
    "wave": _wave,
    "FFmpeg": _ffmpeg,
    "scipy": _scipy,
    "ear": _ear,
    "mutagen": _mutagen,
}


@pytest.fixture(scope="session")
def hear() -> Callable[[str, Path], Heard | None]:
    """Ask a reader by its name what a file holds; None where it does not read it."""

    def ask(reader: str, path: Path) -> Heard | None:
        try:
            return READERS[reader](path)
        except Exception:  # noqa: BLE001  readers refuse by whatever comes to hand
            return None

    return ask


@pytest.fixture(scope="session")
def ear() -> Any:
    """The EBU's own reader and writer of BW64."""
    return _import_ear()


# libsndfile by its C interface: soundfile brings the library and says nothing of bext or cue.


class BroadcastInfo(ctypes.Structure):
    """`SF_BROADCAST_INFO` of libsndfile's public header, with room for the history."""

    _fields_ = (
        ("description", ctypes.c_char * 256),
        ("originator", ctypes.c_char * 32),
        ("originator_reference", ctypes.c_char * 32),
        ("origination_date", ctypes.c_char * 10),
        ("origination_time", ctypes.c_char * 8),
        ("time_reference_low", ctypes.c_uint32),
        ("time_reference_high", ctypes.c_uint32),
        ("version", ctypes.c_short),
        ("umid", ctypes.c_ubyte * 64),
        ("loudness_value", ctypes.c_int16),
        ("loudness_range", ctypes.c_int16),
        ("max_true_peak_level", ctypes.c_int16),
        ("max_momentary_loudness", ctypes.c_int16),
        ("max_shortterm_loudness", ctypes.c_int16),
        ("reserved", ctypes.c_char * 180),
        ("coding_history_size", ctypes.c_uint32),
        ("coding_history", ctypes.c_char * 10_240),
    )


class CuePoint(ctypes.Structure):
    """`SF_CUE_POINT` of libsndfile's public header."""

    _fields_ = (
        ("indx", ctypes.c_int32),
        ("position", ctypes.c_uint32),
        ("fcc_chunk", ctypes.c_int32),
        ("chunk_start", ctypes.c_int32),
        ("block_start", ctypes.c_int32),
        ("sample_offset", ctypes.c_uint32),
        ("name", ctypes.c_char * 256),
    )


class Cues(ctypes.Structure):
    """`SF_CUES` of libsndfile's public header."""

    _fields_ = (("cue_count", ctypes.c_uint32), ("cue_points", CuePoint * 100))


class Info(ctypes.Structure):
    """`SF_INFO` of libsndfile's public header."""

    _fields_ = (
        ("frames", ctypes.c_int64),
        ("samplerate", ctypes.c_int),
        ("channels", ctypes.c_int),
        ("format", ctypes.c_int),
        ("sections", ctypes.c_int),
        ("seekable", ctypes.c_int),
    )


class Sndfile:
    """The library as a caller in C has it."""

    READ, WRITE = 0x10, 0x20
    WAV_PCM_24 = 0x01_0003
    GET_BROADCAST_INFO, SET_BROADCAST_INFO = 0x10F0, 0x10F1
    GET_CUE, SET_CUE = 0x10CE, 0x10CF
    STRINGS: Mapping[str, int] = MappingProxyType(
        {"INAM": 1, "ICOP": 2, "ISFT": 3, "IART": 4, "ICMT": 5, "ICRD": 6, "IPRD": 7, "IGNR": 16}
    )
    """The number of a string by the id that it has in INFO."""

    def __init__(self, library: Path) -> None:
        self._library = ctypes.CDLL(str(library))
        self._library.sf_open.restype = ctypes.c_void_p
        self._library.sf_get_string.restype = ctypes.c_char_p
        self._library.sf_writef_int.restype = ctypes.c_int64

    @contextlib.contextmanager
    def opened(self, path: Path, mode: int, info: Info) -> Iterator[ctypes.c_void_p]:
        shown = str(path).encode()
        handle = ctypes.c_void_p(self._library.sf_open(shown, mode, ctypes.byref(info)))
        assert handle, f"libsndfile does not open {path.name}"
        try:
            yield handle
        finally:
            self._library.sf_close(handle)

    def command(self, handle: ctypes.c_void_p, number: int, data: ctypes.Structure) -> int:
        size = ctypes.sizeof(data)
        return int(self._library.sf_command(handle, number, ctypes.byref(data), size))

    def broadcast_info(self, path: Path) -> BroadcastInfo | None:
        """Return what it reads of a bext chunk, None if it finds none."""
        found = BroadcastInfo()
        with self.opened(path, self.READ, Info()) as handle:
            return found if self.command(handle, self.GET_BROADCAST_INFO, found) else None

    def write(self, path: Path, samples: Sequence[int], **fields: bytes | int) -> None:
        """Write 24-bit mono at 48 kHz with such a bext chunk; the samples are of 32 bits."""
        info = Info(samplerate=48_000, channels=1, format=self.WAV_PCM_24)
        with self.opened(path, self.WRITE, info) as handle:
            assert self.command(handle, self.SET_BROADCAST_INFO, BroadcastInfo(**fields))
            self._put(handle, samples)

    def cues(self, path: Path) -> list[CuePoint]:
        """Return the points it reads of a cue chunk, with the names it takes from labels."""
        found = Cues()
        with self.opened(path, self.READ, Info()) as handle:
            assert self.command(handle, self.GET_CUE, found)
        return list(found.cue_points[: found.cue_count])

    def strings(self, path: Path) -> dict[str, str]:
        """Return the texts it reads of an INFO list, by their ids there."""
        with self.opened(path, self.READ, Info()) as handle:
            found = {
                name: self._library.sf_get_string(handle, number)
                for name, number in self.STRINGS.items()
            }
        return {name: text.decode() for name, text in found.items() if text is not None}

    def write_told(
        self, path: Path, samples: Sequence[int], cues: Sequence[int], strings: Mapping[str, str]
    ) -> None:
        """Write 24-bit mono at 48 kHz with cue points at those frames, and such an INFO list."""
        info = Info(samplerate=48_000, channels=1, format=self.WAV_PCM_24)
        wanted = Cues(cue_count=len(cues))
        for index, frame in enumerate(cues):
            wanted.cue_points[index] = CuePoint(
                indx=index + 1,
                position=frame,
                fcc_chunk=int.from_bytes(b"data", "little"),
                sample_offset=frame,
            )
        with self.opened(path, self.WRITE, info) as handle:
            assert self.command(handle, self.SET_CUE, wanted)
            for name, text in strings.items():
                number = self.STRINGS[name]
                assert self._library.sf_set_string(handle, number, text.encode()) == 0
            self._put(handle, samples)

    def _put(self, handle: ctypes.c_void_p, samples: Sequence[int]) -> None:
        buffer = (ctypes.c_int * len(samples))(*samples)
        count = ctypes.c_int64(len(samples))
        assert self._library.sf_writef_int(handle, buffer, count) == len(samples)


def _sndfile() -> Sndfile:
    packed = pytest.importorskip("_soundfile_data", reason="this soundfile brings no libsndfile")
    (library,) = Path(packed.__file__).parent.glob("*sndfile*.*")
    return Sndfile(library)


@pytest.fixture(scope="session")
def sndfile() -> Sndfile:
    return _sndfile()


# Readers of bext. Each tells the fields by the names of `wave.bext`, as text, those it has: NULs
# behind a text and the half of a UMID that is zero are left out, loudness is in units.

Fields = Mapping[str, str]


def _sndfile_bext(path: Path) -> Fields | None:
    found = _sndfile().broadcast_info(path)
    if found is None:
        return None
    history = found.coding_history[: found.coding_history_size]
    reference = (found.time_reference_high << 32) + found.time_reference_low
    texts = ("description", "originator", "originator_reference")
    moments = ("origination_date", "origination_time")
    figures = ("loudness_value", "loudness_range", "max_true_peak_level", "max_momentary_loudness")
    return {
        **{name: getattr(found, name).decode("latin-1") for name in (*texts, *moments)},
        "time_reference": f"{reference}",
        "version": f"{found.version}",
        "umid": _umid(bytes(found.umid)),
        **{name: f"{getattr(found, name) / 100:.2f}" for name in figures},
        "max_short_term_loudness": f"{found.max_shortterm_loudness / 100:.2f}",
        "coding_history": history.decode("latin-1").rstrip("\0"),
    }


def _wavinfo_bext(path: Path) -> Fields | None:
    found = wavinfo.WavInfoReader(str(path)).bext
    if found is None:
        return None
    figures = {
        "loudness_value": found.loudness_value,
        "loudness_range": found.loudness_range,
        "max_true_peak_level": found.max_true_peak,
        "max_momentary_loudness": found.max_momentary_loudness,
        "max_short_term_loudness": found.max_shortterm_loudness,
    }
    return {
        "description": found.description,
        "originator": found.originator,
        "originator_reference": found.originator_ref,
        "origination_date": found.originator_date,
        "origination_time": found.originator_time,
        "time_reference": f"{found.time_reference}",
        "version": f"{found.version}",
        "umid": _umid(found.umid or b""),
        **{name: "" if one is None else f"{one:.2f}" for name, one in figures.items()},
        "coding_history": found.coding_history,
    }


def _ffmpeg_bext(path: Path) -> Fields | None:
    # FFmpeg calls two of them by names that every form has, and leaves out what is empty.
    tags = {
        "description": "comment",
        "originator": "encoded_by",
        "originator_reference": "originator_reference",
        "origination_date": "date",
        "origination_time": "creation_time",
        "time_reference": "time_reference",
        "umid": "umid",
        "coding_history": "coding_history",
    }
    with pytest.importorskip("av").open(str(path)) as container:
        found = {name: container.metadata.get(tag, "") for name, tag in tags.items()}
    found["umid"] = found["umid"].removeprefix("0x").lower()
    return found if found["time_reference"] else None


def _ear_bext(path: Path) -> Fields | None:
    with path.open("rb") as stream:
        raw = _import_ear().Bw64Reader(stream).bext
    return None if raw is None else {"octets": raw.hex()}


def _umid(octets: bytes) -> str:
    half = octets if octets[32:].strip(b"\0") else octets[:32]
    return half.hex() if half.strip(b"\0") else ""


BEXT_READERS: Mapping[str, Callable[[Path], Fields | None]] = {
    "libsndfile": _sndfile_bext,
    "wavinfo": _wavinfo_bext,
    "FFmpeg": _ffmpeg_bext,
    "ear": _ear_bext,
}


@pytest.fixture(scope="session")
def hear_bext() -> Callable[[str, Path], Fields | None]:
    """Ask a reader by its name for the bext chunk; None where it tells of none, or does not read.

    Of ear there is one field, `octets`: the payload.
    """

    def ask(reader: str, path: Path) -> Fields | None:
        try:
            return BEXT_READERS[reader](path)
        except Exception:  # noqa: BLE001  readers refuse by whatever comes to hand
            return None

    return ask


# Wave files that lie in others' packages: those of scipy and ear where they are installed, those
# of source archives in the folder that TAILSOUT_ORACLE_FILES names. None is kept here.


def _installed(package: str) -> Iterator[tuple[str, bytes]]:
    spec = find_spec(package)
    for place in (spec.submodule_search_locations or ()) if spec else ():
        for path in sorted(Path(place).rglob("*.wav")):
            yield f"{package}/{path.name}", path.read_bytes()


def _archived(archive: Path) -> Iterator[tuple[str, bytes]]:
    package = archive.name.rpartition("-")[0]
    with tarfile.open(archive) as tar:
        for member in tar:
            stream = tar.extractfile(member) if member.name.endswith(".wav") else None
            if stream is not None:
                yield f"{package}/{PurePosixPath(member.name).name}", stream.read()


@pytest.fixture(scope="session")
def packaged() -> Mapping[str, bytes]:
    """Return the content of every such file by `package/name`."""
    folder = Path(os.environ.get("TAILSOUT_ORACLE_FILES") or Path(sys.prefix) / "oracle-files")
    return {
        **dict(_installed("scipy")),
        **dict(_installed("ear")),
        **{
            name: content
            for one in sorted(folder.glob("*.tar.gz"))
            for name, content in _archived(one)
        },
    }
