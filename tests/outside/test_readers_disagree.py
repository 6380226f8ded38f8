"""Where readers and writers of wave files disagree: what each does, and what we do.

Every row is one small file. What another program makes of it is asked at every run; where it is
not what we make of it, the row holds its answer. Readers are libsndfile (by soundfile), wavinfo,
the standard library's `wave`, FFmpeg (by PyAV), scipy, ear (the EBU's renderer) and mutagen.
"""

import inspect
import io
import struct
import sys
import wave
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import soundfile

from tailsout.ground.findings import Severity
from tailsout.ground.pcm import Pcm
from tailsout.rules.damage import KIND_OF
from tailsout.wave import ds64, fmt
from tailsout.wave import riff as riff_module
from tailsout.wave import walk as walk_module
from tailsout.wave.riff import Layout, read_layout

Heard = tuple[int, int, int, str]
"""Frames, rate in Hz, channels, bits on disk; the last is empty where a reader does not say."""

PLAIN = ("libsndfile", "wavinfo", "wave")
ORACLES = ("FFmpeg", "scipy", "ear", "mutagen")

UNSTATED = 0xFFFF_FFFF
PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)


def chunk(name: bytes, payload: bytes, *, stated: int | None = None, pad: bytes = b"\0") -> bytes:
    octets = len(payload) if stated is None else stated
    return struct.pack("<4sI", name, octets) + payload + pad * (len(payload) % 2)


def riff(*chunks: bytes, stated: int | None = None, form: bytes = b"RIFF") -> bytes:
    body = b"WAVE" + b"".join(chunks)
    return form + struct.pack("<I", len(body) if stated is None else stated) + body


def rf64(
    *chunks: bytes,
    data: int = 30,
    table: bytes = b"",
    stated: int = UNSTATED,
    form: bytes = b"RF64",
    filled_in: bool = True,
    frames: int | None = None,
    rows: int | None = None,
) -> bytes:
    frames = data // 3 if frames is None else frames
    rows = len(table) // 12 if rows is None else rows
    whole = 4 + 8 + 28 + len(table) + sum(map(len, chunks)) if filled_in else 0
    sizes = struct.pack("<QQQI", whole, data, frames, rows) + table
    return riff(chunk(b"ds64", sizes), *chunks, stated=stated, form=form)


def extensible(*, extension: int = 22, valid_bits: int = 24, mask: int = 4) -> bytes:
    base = struct.pack("<HHIIHH", 0xFFFE, 1, 48_000, 144_000, 3, 24)
    guid = bytes.fromhex("0100 0000 0000 1000 8000 00AA 0038 9B71")
    return chunk(b"fmt ", base + struct.pack("<HHI", extension, valid_bits, mask) + guid)


FMT = chunk(b"fmt ", fmt.encode(PCM))
TWICE_AS_FAST = chunk(b"fmt ", struct.pack("<HHIIHH", 1, 1, 96_000, 288_000, 3, 24))
FOUR_OCTETS_A_FRAME = chunk(b"fmt ", struct.pack("<HHIIHH", 1, 1, 48_000, 192_000, 4, 24))
WRONG_OCTETS_A_SECOND = chunk(b"fmt ", struct.pack("<HHIIHH", 1, 1, 48_000, 0, 3, 24))
AUDIO = bytes(range(1, 31))
DATA = chunk(b"data", AUDIO)
NO_SIZE = chunk(b"data", AUDIO, stated=UNSTATED)
ODD = b"<BWFXML/>"
EVEN = b"<BWFXML />"


def mono(frames: int, rate: int = 48_000) -> Heard:
    return frames, rate, 1, "24"


TEN = mono(10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One file, and what is made of it."""

    content: bytes
    audio: Heard = TEN
    """What lies in the file."""
    heard: Heard | None = TEN
    """By us; None where the format is not told."""
    damage: tuple[str, ...] = ()
    others: Mapping[str, Heard | None] = field(default_factory=dict)
    """By those who hear something else; None where a file is refused."""


def refusing(*readers: str) -> dict[str, Heard | None]:
    return dict.fromkeys(readers)


def counting(frames: int, *readers: str) -> dict[str, Heard | None]:
    return dict.fromkeys(readers, mono(frames))


RIFF_ONLY = refusing("wave", "mutagen")
# Python 3.12 taught the standard library EXTENSIBLE.
NO_EXTENSIBLE = refusing(*(["wave"] if sys.version_info < (3, 12) else []))

FILES: Mapping[str, Row] = {
    "nothing odd": Row(content=riff(FMT, DATA)),
    # Sizes of the whole: we take the chunks as they lie, and tell.
    "RIFF size 0": Row(
        content=riff(FMT, DATA, stated=0),
        damage=("riff-ends-early",),
        others=refusing("wavinfo", "wave", "scipy", "mutagen"),
    ),
    "RIFF size not stated": Row(
        content=riff(FMT, DATA, stated=UNSTATED),
        damage=("riff-size",),
        others=refusing("wavinfo"),
    ),
    "RIFF size ends before the audio": Row(
        content=riff(FMT, DATA, stated=20),
        damage=("riff-ends-early",),
        others=refusing("wavinfo", "wave", "scipy") | counting(0, "mutagen"),
    ),
    "RIFF size past the end": Row(
        content=riff(FMT, DATA, stated=1000), damage=("riff-size",), others=refusing("wavinfo")
    ),
    # Streams that were never finished: what is there is counted, and told not to be all.
    "data size not stated": Row(
        content=riff(FMT, NO_SIZE),
        damage=("never-finished",),
        others=refusing("wavinfo") | counting(UNSTATED // 3, "wave", "ear", "mutagen"),
    ),
    "no size stated": Row(
        content=riff(FMT, NO_SIZE, stated=UNSTATED),
        damage=("never-finished", "riff-size"),
        others=refusing("wavinfo") | counting(UNSTATED // 3, "wave", "ear", "mutagen"),
    ),
    "RF64 with no size stated": Row(
        content=rf64(FMT, NO_SIZE, data=0, filled_in=False),
        damage=("never-finished", "riff-ends-early"),
        others=refusing("wavinfo", "scipy")
        | counting(0, "libsndfile", "FFmpeg", "ear")
        | RIFF_ONLY,
    ),
    "data size 0 before audio": Row(
        content=riff(FMT, chunk(b"data", AUDIO, stated=0)),
        heard=mono(0),
        damage=("bad-chunk-id",),
        others=counting(10, "FFmpeg"),
    ),
    # Cut files: half of the readers tell what is declared and not there.
    "cut": Row(
        content=riff(FMT, chunk(b"data", AUDIO, stated=300), stated=336),
        damage=("truncated",),
        others=counting(100, "wavinfo", "wave", "ear", "mutagen"),
    ),
    "cut within a frame": Row(
        content=riff(FMT, chunk(b"data", AUDIO[:28], stated=300), stated=336),
        audio=mono(9),
        heard=mono(9),
        damage=("truncated",),
        others=refusing("scipy") | counting(100, "wavinfo", "wave", "ear", "mutagen"),
    ),
    "an incomplete frame": Row(
        content=riff(FMT, chunk(b"data", AUDIO[:28])),
        audio=mono(9),
        heard=mono(9),
        damage=("incomplete-frame",),
        others=refusing("scipy"),
    ),
    "octets behind the end": Row(
        content=riff(FMT, DATA) + b"\xa5" * 13, damage=("trailing-octets",)
    ),
    # What should be there once: we take the first, and copy neither.
    "two data chunks": Row(
        content=riff(FMT, DATA, chunk(b"data", AUDIO[:12])),
        damage=("duplicate-data",),
        others=refusing("libsndfile") | counting(4, "FFmpeg", "scipy", "ear"),
    ),
    "two fmt chunks": Row(
        content=riff(FMT, TWICE_AS_FAST, DATA),
        damage=("duplicate-fmt",),
        others=refusing("libsndfile") | dict.fromkeys(("wave", "scipy", "ear"), mono(10, 96_000)),
    ),
    "fmt behind data": Row(
        content=riff(DATA, FMT),
        damage=("fmt-after-data",),
        others=refusing("libsndfile", "wave", "scipy"),
    ),
    "no frame": Row(
        content=riff(FMT, chunk(b"data", b"")), heard=mono(0), others=refusing("wavinfo")
    ),
    # Pad octets.
    "no pad octet before data": Row(
        content=riff(FMT, chunk(b"iXML", ODD, pad=b""), DATA),
        damage=("missing-pad",),
        others=refusing("libsndfile", "wavinfo", "wave", "FFmpeg", "scipy", "ear")
        | counting(0, "mutagen"),
    ),
    "a pad octet that is not 0": Row(
        content=riff(FMT, chunk(b"iXML", ODD, pad=b"x"), DATA), damage=("pad-not-zero",)
    ),
    "no pad octet at the end": Row(
        content=riff(FMT, chunk(b"data", AUDIO[:27], pad=b"")),
        audio=mono(9),
        heard=mono(9),
        damage=("missing-final-pad",),
    ),
    "an id that is none": Row(
        content=riff(FMT, chunk(b"\0\1\2\3", b"abcd"), DATA),
        damage=("bad-chunk-id",),
        others=refusing("libsndfile") | counting(0, "mutagen"),
    ),
    # Formats.
    "EXTENSIBLE": Row(content=riff(extensible(), DATA), others=NO_EXTENSIBLE),
    "EXTENSIBLE with 20 bits in 24": Row(
        content=riff(extensible(valid_bits=20), DATA), others=NO_EXTENSIBLE
    ),
    "octets a second wrong": Row(
        content=riff(WRONG_OCTETS_A_SECOND, DATA),
        damage=("fmt-byte-rate",),
        others=refusing("scipy"),
    ),
    "EXTENSIBLE with 32 bits in 24": Row(
        content=riff(extensible(valid_bits=32), DATA),
        damage=("fmt-valid-bits",),
        others=NO_EXTENSIBLE | {"FFmpeg": (7, 48_000, 1, "32")},
    ),
    "EXTENSIBLE with two loudspeakers for one channel": Row(
        content=riff(extensible(mask=3), DATA), damage=("fmt-mask",), others=NO_EXTENSIBLE
    ),
    "EXTENSIBLE that says it is no longer than others": Row(
        content=riff(extensible(extension=0), DATA),
        damage=("fmt-extension",),
        others=NO_EXTENSIBLE | refusing("FFmpeg", "scipy", "ear"),
    ),
    "octets a frame wrong": Row(
        content=riff(FOUR_OCTETS_A_FRAME, DATA),
        heard=None,
        damage=("fmt-inconsistent",),
        others=counting(10, "libsndfile", "wave")
        | counting(7, "wavinfo", "scipy")
        | {"FFmpeg": (7, 48_000, 1, "float 24"), "mutagen": mono(8)},
    ),
    "a fmt chunk of 14 octets": Row(
        content=riff(chunk(b"fmt ", fmt.encode(PCM)[:14]), DATA),
        heard=None,
        damage=("fmt-short",),
        others={"FFmpeg": (30, 48_000, 1, "8")},
    ),
    "no fmt chunk": Row(content=riff(DATA), heard=None, damage=("no-fmt",)),
    "no data chunk": Row(
        content=riff(FMT),
        heard=mono(0),
        damage=("no-data",),
        others=refusing("libsndfile", "wavinfo", "wave", "FFmpeg", "scipy", "ear"),
    ),
    "DATA for data": Row(
        content=riff(FMT, chunk(b"DATA", AUDIO)),
        heard=mono(0),
        damage=("id-case", "no-data"),
        others=refusing("libsndfile", "wavinfo", "wave", "FFmpeg", "scipy", "ear"),
    ),
    # RF64 and BW64.
    "RF64": Row(content=rf64(FMT, NO_SIZE), others=RIFF_ONLY),
    "BW64": Row(
        content=rf64(FMT, NO_SIZE, form=b"BW64"),
        others=refusing("libsndfile", "scipy") | RIFF_ONLY,
    ),
    "RF64 with an odd chunk before data": Row(
        # libsndfile does not skip the pad octet; so embed never writes an odd chunk there.
        content=rf64(FMT, chunk(b"iXML", ODD), NO_SIZE),
        others=refusing("libsndfile") | RIFF_ONLY,
    ),
    "RF64 with an even chunk before data": Row(
        content=rf64(FMT, chunk(b"iXML", EVEN), NO_SIZE), others=RIFF_ONLY
    ),
    "RF64 with a 32-bit RIFF size": Row(
        content=rf64(FMT, NO_SIZE, stated=82), others=refusing("wavinfo") | RIFF_ONLY
    ),
    "RF64 whose ds64 was not filled in": Row(
        content=rf64(FMT, DATA, data=0, filled_in=False),
        damage=("riff-ends-early",),
        others=refusing("wavinfo", "scipy")
        | counting(0, "libsndfile", "FFmpeg", "ear")
        | RIFF_ONLY,
    ),
    "RF64 with a small chunk in its table": Row(
        # The table is for chunks past 4 GiB; those who do not look there lose their way.
        content=rf64(
            FMT,
            chunk(b"iXML", EVEN, stated=UNSTATED),
            NO_SIZE,
            table=struct.pack("<4sQ", b"iXML", len(EVEN)),
        ),
        others=refusing("libsndfile", "FFmpeg", "scipy") | RIFF_ONLY,
    ),
    "RF64 with two chunks in its table": Row(
        # wavinfo reads the first row again for every row.
        content=rf64(
            FMT,
            chunk(b"axml", EVEN, stated=UNSTATED),
            chunk(b"iXML", EVEN, stated=UNSTATED),
            NO_SIZE,
            table=struct.pack("<4sQ4sQ", b"axml", len(EVEN), b"iXML", len(EVEN)),
        ),
        others=refusing("libsndfile", "wavinfo", "FFmpeg", "scipy") | RIFF_ONLY,
    ),
    "RF64 without ds64": Row(
        content=riff(FMT, DATA, form=b"RF64"),
        damage=("ds64-missing",),
        others=refusing("FFmpeg", "scipy", "ear") | RIFF_ONLY,
    ),
    "RF64 whose ds64 is too short": Row(
        content=riff(
            chunk(b"ds64", struct.pack("<QQ", 90, 30)), FMT, NO_SIZE, form=b"RF64", stated=UNSTATED
        ),
        damage=("ds64-short", "never-finished"),
        others=refusing("libsndfile", "wavinfo", "FFmpeg", "ear") | RIFF_ONLY,
    ),
    "RF64 whose sizes of data differ": Row(
        content=rf64(FMT, DATA, data=15),
        heard=mono(5),
        damage=("ds64-mismatch", "pad-not-zero", "bad-chunk-id"),
        others=counting(10, "wavinfo") | RIFF_ONLY,
    ),
    "RF64 whose count of frames is wrong": Row(
        content=rf64(FMT, NO_SIZE, frames=7), damage=("ds64-samples",), others=RIFF_ONLY
    ),
    "RF64 whose ds64 counts the pad octet": Row(
        # FFmpeg writes it so, with the frames counted right.
        content=rf64(FMT, chunk(b"data", AUDIO[:27] + b"\0", stated=UNSTATED), data=28, frames=9),
        audio=mono(9),
        heard=mono(9),
        damage=("ds64-pad-counted",),
        others=refusing("scipy") | RIFF_ONLY,
    ),
    "RF64 whose ds64 says that there is no audio": Row(
        content=rf64(FMT, DATA, data=0),
        damage=("ds64-mismatch",),
        others=counting(0, "libsndfile", "FFmpeg", "scipy", "ear") | RIFF_ONLY,
    ),
    "RF64 with more rows than its table holds": Row(
        content=rf64(FMT, NO_SIZE, rows=9),
        damage=("ds64-table",),
        others=refusing("libsndfile", "wavinfo", "ear") | RIFF_ONLY,
    ),
    "RF64 with a row for no chunk": Row(
        content=rf64(FMT, NO_SIZE, table=struct.pack("<4sQ", b"axml", 10)),
        damage=("ds64-row-unused",),
        others=RIFF_ONLY,
    ),
    "RF64 with a second ds64": Row(
        content=rf64(chunk(b"ds64", struct.pack("<QQQI", 128, 15, 5, 0)), FMT, NO_SIZE),
        damage=("ds64-unused",),
        others=refusing("libsndfile") | RIFF_ONLY,
    ),
    "RIFF with ds64": Row(
        content=riff(chunk(b"ds64", struct.pack("<QQQI", 98, 15, 5, 0)), FMT, DATA),
        damage=("ds64-unused",),
    ),
}

READERS = (*PLAIN, *ORACLES)
ASKED = [
    pytest.param(name, reader, marks=[pytest.mark.oracles] * (reader in ORACLES))
    for name in FILES
    for reader in READERS
]

TO_MEND = [
    name
    for name, row in FILES.items()
    if any(KIND_OF[word].severity is Severity.MEND for word in row.damage)
]


def ours(layout: Layout) -> Heard | None:
    pcm = layout.pcm
    if pcm is None:
        return None
    return layout.frames, pcm.sample_rate_hz, pcm.channels, f"{pcm.container_bits}"


@pytest.mark.parametrize("name", FILES)
def test_we_say_what_the_row_says(name: str) -> None:
    row = FILES[name]
    layout = read_layout(io.BytesIO(row.content))

    assert ours(layout) == row.heard
    assert tuple(fault.kind for fault in layout.damage) == row.damage


@pytest.mark.parametrize(("name", "reader"), ASKED)
def test_another_reader_says_what_the_row_says(
    tmp_path: Path, hear: Callable[[str, Path], Heard | None], name: str, reader: str
) -> None:
    row = FILES[name]
    (tmp_path / "file.wav").write_bytes(row.content)
    heard = hear(reader, tmp_path / "file.wav")

    if heard is not None and not heard[3]:
        heard = (*heard[:3], "24")
    assert heard == row.others.get(reader, row.heard)


@pytest.mark.parametrize("name", TO_MEND)
def test_what_is_to_mend_is_lost_on_two_readers(name: str) -> None:
    row = FILES[name]
    able = set(READERS) - set(RIFF_ONLY if row.content[:4] == b"RF64" else ())

    assert sum(row.others.get(one, row.heard) != row.audio for one in able) >= 2


def test_no_fault_of_the_walk_is_left_out() -> None:
    sources = "".join(inspect.getsource(module) for module in (ds64, fmt, riff_module, walk_module))
    words = {word for word in KIND_OF if f'"{word}"' in sources}
    seen = {word for row in FILES.values() for word in row.damage}

    # A file past 4 GiB, one of 10,000 chunks, what nobody reads, what we alone do not; and bext.
    elsewhere = {"size-wrapped", "too-many-chunks", "not-wave", "fmt-coding", "duplicate-bext"}
    assert words - seen == elsewhere


# Writers and editors.


def _write_wave(path: Path) -> None:
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(3)
        out.setframerate(48_000)
        out.writeframes(AUDIO[:27])


def _write_soundfile(path: Path) -> None:
    with soundfile.SoundFile(path, "w", 48_000, 1, "PCM_24", format="WAV") as out:
        out.buffer_write(bytes(36), dtype="int32")


def _write_scipy(path: Path) -> None:
    numpy = pytest.importorskip("numpy")
    pytest.importorskip("scipy.io.wavfile").write(path, 48_000, numpy.zeros(9, "uint8"))


def _write_av(path: Path) -> None:
    av, numpy = pytest.importorskip("av"), pytest.importorskip("numpy")
    with av.open(str(path), "w", format="wav") as out:
        stream = out.add_stream("pcm_u8", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(numpy.zeros((1, 9), "u1"), format="u8", layout="mono")
        frame.rate = 48_000
        out.mux([*stream.encode(frame), *stream.encode(None)])


@pytest.mark.parametrize(
    ("write", "damage"),
    [
        pytest.param(_write_wave, ["missing-final-pad"], id="wave"),
        pytest.param(_write_soundfile, [], id="libsndfile"),
        pytest.param(_write_scipy, ["missing-final-pad"], id="scipy", marks=pytest.mark.oracles),
        pytest.param(_write_av, [], id="FFmpeg", marks=pytest.mark.oracles),
    ],
)
def test_some_writers_leave_the_last_pad_octet_out(
    tmp_path: Path, write: Callable[[Path], None], damage: list[str]
) -> None:
    write(tmp_path / "file.wav")
    with (tmp_path / "file.wav").open("rb") as stream:
        layout = read_layout(stream)

    assert layout.frames == 9
    assert layout.data_octets % 2 == 1
    assert [fault.kind for fault in layout.damage] == damage


def _tagged(path: Path) -> Iterator[Layout]:
    """The file before and after mutagen has put a title into an ID3 tag."""
    wave_file, id3 = pytest.importorskip("mutagen.wave"), pytest.importorskip("mutagen.id3")
    yield read_layout(io.BytesIO(path.read_bytes()))
    file = wave_file.WAVE(path)
    file.add_tags()
    file.tags.add(id3.TIT2(encoding=3, text=["Side one"]))
    file.save()
    yield read_layout(io.BytesIO(path.read_bytes()))


@pytest.mark.oracles
def test_a_tagger_keeps_the_other_chunks(tmp_path: Path) -> None:
    path = tmp_path / "file.wav"
    path.write_bytes(riff(chunk(b"bext", bytes(602)), FMT, DATA, chunk(b"iXML", ODD)))
    before, after = _tagged(path)

    assert after.damage == ()
    assert after.chunks[:-1] == before.chunks
    assert after.chunks[-1].id == b"id3 "


@pytest.mark.oracles
def test_a_tagger_makes_harmless_damage_worse(tmp_path: Path) -> None:
    path = tmp_path / "file.wav"
    path.write_bytes(riff(FMT, chunk(b"data", AUDIO[:27], pad=b"")))
    before, after = _tagged(path)

    assert [fault.kind for fault in before.damage] == ["missing-final-pad"]
    assert [fault.kind for fault in after.damage] == ["missing-pad"]
    assert (after.frames, after.chunks[-1].id) == (9, b"id3 ")
