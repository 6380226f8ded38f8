"""The `bext` chunk both ways: what we write is read elsewhere, what others write is read by us.

EBU Tech 3285 v2 §2.3. The first table is of chunks that readers take in different ways: whose
answer is not ours stands in the row, and each is asked at every run. Readers and writers are
libsndfile (by its C interface), wavinfo, FFmpeg (by PyAV) and ear (the EBU's renderer).
"""

import ctypes
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.wave import bext
from tailsout.wave.bext import Bext
from tailsout.wave.history import parse
from tailsout.work.survey import Survey, survey

LABEL = bytes.fromhex("060A2B34 01010105 0101 0F 20 13")
"""How a basic UMID begins (SMPTE ST 330, from memory)."""
READERS = ("libsndfile", "wavinfo", "FFmpeg")

OWN = bext.encode(
    Bext(
        description="Side one",
        originator="Saltpan Row",
        origination_date="2026-03-14",
        umid=LABEL + bytes(range(14, 33)),
        coding_history="A=ANALOGUE\r\n",
    )
)
UMID = (LABEL + bytes(range(14, 33))).hex()


def but(name: str, octets: bytes, payload: bytes = OWN) -> bytes:
    """Put octets into one field, the rest of which becomes NUL."""
    place = bext.LAYOUT[name]
    filled = octets.ljust(place.octets, b"\0")
    return payload[: place.offset] + filled + payload[place.offset + place.octets :]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Payloads of `bext` chunks, and what is made of one field."""

    payloads: tuple[bytes, ...]
    of: str
    ours: str | None
    """None where no chunk is read."""
    damage: tuple[str, ...] = ()
    others: Mapping[str, str | None] = field(default_factory=dict)
    """By those who read something else; None where they tell nothing."""


HISTORY_LIMIT = 10_240 - bext.FIXED_OCTETS
UNREADABLE: dict[str, str | None] = {"wavinfo": None, "FFmpeg": None}
NO_LOUDNESS: dict[str, str | None] = {"FFmpeg": None}

CHUNKS: Mapping[str, Row] = {
    "nothing odd": Row(payloads=(OWN,), of="originator", ours="Saltpan Row"),
    "two chunks": Row(
        payloads=(but("originator", b"first"), but("originator", b"second")),
        of="originator",
        ours="first",
        damage=("duplicate-bext",),
        others={"libsndfile": "second", "FFmpeg": "second"},
    ),
    "a UMID in the first of two chunks": Row(
        # FFmpeg puts one together from both.
        payloads=(OWN, but("umid", b"")),
        of="umid",
        ours=UMID,
        damage=("duplicate-bext",),
        others={"libsndfile": ""},
    ),
    "an octet too short": Row(
        payloads=(OWN[:601],),
        of="originator",
        ours=None,
        damage=("bext-short",),
        others={"FFmpeg": "Saltpan Row"},
    ),
    "without a history": Row(payloads=(OWN[:602],), of="coding_history", ours=""),
    "Latin-1": Row(
        payloads=(but("originator", b"Saltpfannenstra\xdfe"),),
        of="originator",
        ours="Saltpfannenstraße",
        damage=("bext-not-ascii",),
        others=UNREADABLE,
    ),
    "UTF-8": Row(
        payloads=(but("originator", "Saltpfannenstraße".encode()),),
        of="originator",
        ours="Saltpfannenstraße",
        damage=("bext-not-ascii",),
        others={
            "wavinfo": None,
            "libsndfile": "Saltpfannenstraße".encode().decode("latin-1"),
        },
    ),
    "octets behind a NUL": Row(
        payloads=(but("originator", b"new\0old letters"),),
        of="originator",
        ours="new",
        damage=("bext-after-nul",),
    ),
    "a text that fills its field": Row(
        payloads=(but("description", b"D" * 256),), of="description", ours="D" * 256
    ),
    "filled up with spaces": Row(
        payloads=(but("originator", b"abc".ljust(32)),),
        of="originator",
        ours="abc",
        damage=("bext-space-padded",),
        others=dict.fromkeys(READERS, "abc".ljust(32)),
    ),
    "a UMID in version 0": Row(
        payloads=(but("version", b"\0\0"),),
        of="umid",
        ours="",
        damage=("bext-reserved",),
        others={"libsndfile": UMID},
    ),
    "loudness in version 1": Row(
        payloads=(but("version", b"\1\0", but("loudness_value", b"\xfa\xf6")),),
        of="loudness_value",
        ours="",
        damage=("bext-reserved",),
        others=NO_LOUDNESS | {"libsndfile": "-23.10"},
    ),
    "loudness": Row(
        payloads=(but("loudness_value", b"\xfa\xf6"),),
        of="loudness_value",
        ours="-23.10",
        others=NO_LOUDNESS,
    ),
    "loudness not known": Row(
        payloads=(OWN,),
        of="loudness_value",
        ours="",
        others=NO_LOUDNESS | {"libsndfile": "327.67", "wavinfo": "327.67"},
    ),
    "loudness out of range": Row(
        payloads=(but("max_true_peak_level", (-12_000).to_bytes(2, "little", signed=True)),),
        of="max_true_peak_level",
        ours="",
        damage=("bext-loudness",),
        others=NO_LOUDNESS | {"libsndfile": "-120.00", "wavinfo": "-120.00"},
    ),
    "the longest history that libsndfile reads": Row(
        payloads=(OWN[:602] + b"A" * HISTORY_LIMIT,),
        of="coding_history",
        ours="A" * HISTORY_LIMIT,
    ),
    "a longer history": Row(
        payloads=(OWN[:602] + b"A" * (HISTORY_LIMIT + 2),),
        of="coding_history",
        ours="A" * (HISTORY_LIMIT + 2),
        others={"libsndfile": None},
    ),
    "a history behind a NUL": Row(
        payloads=(OWN[:602] + b"A=PCM\r\n\0A=PCM\r\n\0",),
        of="coding_history",
        ours="A=PCM\r\n",
        damage=("bext-after-nul",),
    ),
    "a chunk of odd size": Row(
        payloads=(OWN[:602] + b"A=PCM\r\n",), of="coding_history", ours="A=PCM\r\n"
    ),
}


ASKED = [
    pytest.param(name, reader, marks=[pytest.mark.oracles] * (reader == "FFmpeg"))
    for name in CHUNKS
    for reader in READERS
]


def with_bext(bench: Any, row: Row) -> bytes:
    content: bytes = bench.wave(frames=10, before=[(b"bext", one) for one in row.payloads])
    return content


@pytest.mark.parametrize("name", CHUNKS)
def test_we_read_of_bext_what_the_row_says(bench: Any, name: str) -> None:
    row = CHUNKS[name]
    found = survey(io.BytesIO(with_bext(bench, row)), name)
    value = getattr(found.bext, row.of) if found.bext else None
    if isinstance(value, bytes):
        value = value.hex()
    elif found.bext and value is None:
        value = ""

    assert (None if value is None else str(value)) == row.ours
    assert tuple(fault.kind for fault in found.record.container.damage) == row.damage


@pytest.mark.parametrize(("name", "reader"), ASKED)
def test_another_reader_reads_of_bext_what_the_row_says(
    tmp_path: Path,
    hear_bext: Callable[[str, Path], Mapping[str, str] | None],
    bench: Any,
    name: str,
    reader: str,
) -> None:
    row = CHUNKS[name]
    (tmp_path / "file.wav").write_bytes(with_bext(bench, row))
    found = hear_bext(reader, tmp_path / "file.wav")

    assert (found and found.get(row.of)) == row.others.get(reader, row.ours)


# What we write.

FULL = Bext(
    description="D" * 256,
    originator="Saltpan Row",
    originator_reference="R" * 32,
    origination_date="2026-05-09",
    origination_time="07:35:25",
    time_reference=(7 << 32) + 11,
    umid=LABEL[:-1] + b"\x33" + bytes(range(14, 65)),
    loudness_value=Decimal("-23.10"),
    loudness_range=Decimal("7.25"),
    max_true_peak_level=Decimal("-1.05"),
    max_momentary_loudness=Decimal("-99.99"),
    max_short_term_loudness=Decimal("99.99"),
    coding_history="A=ANALOGUE,M=mono,T=deck; 19.05 cm/s\r\nA=PCM,F=48000,W=24,T=A/D\r\n",
)
WRITTEN = {
    "every field": FULL,
    "a basic UMID and an odd history": replace(
        FULL, umid=LABEL + bytes(range(14, 33)), coding_history="A=PCM\r\n"
    ),
    "as little as can be": replace(
        FULL,
        description="",
        originator="",
        originator_reference="",
        origination_date="",
        origination_time="",
        time_reference=0,
        umid=b"",
        coding_history="",
    ),
    "the highest time reference": replace(FULL, time_reference=(1 << 64) - 1),
}
TOLD_BY_FFMPEG = {
    "description",
    "originator",
    "originator_reference",
    "origination_date",
    "origination_time",
    "time_reference",
    "umid",
    "coding_history",
}


def texts_of(chunk: Bext) -> dict[str, str]:
    """Write every field as `hear_bext` does."""
    values = {one.name: getattr(chunk, one.name) for one in fields(chunk)}
    return {
        name: value.hex() if isinstance(value, bytes) else str(value)
        for name, value in values.items()
    }


def lay(bench: Any, path: Path, chunk: Bext, **how: Any) -> Path:
    path.write_bytes(bench.wave(frames=10, own=bext.encode(chunk), **how))
    return path


@pytest.mark.parametrize("reader", ["libsndfile", "wavinfo"])
@pytest.mark.parametrize("name", WRITTEN)
def test_every_field_is_read_elsewhere_as_written(
    tmp_path: Path, bench: Any, hear_bext: Any, name: str, reader: str
) -> None:
    path = lay(bench, tmp_path / "file.wav", WRITTEN[name])

    assert hear_bext(reader, path) == texts_of(WRITTEN[name])


@pytest.mark.oracles
@pytest.mark.parametrize("rf64", [False, True])
@pytest.mark.parametrize("name", WRITTEN)
def test_every_field_that_ffmpeg_shows_is_ours(
    tmp_path: Path, bench: Any, hear_bext: Any, name: str, *, rf64: bool
) -> None:
    path = lay(bench, tmp_path / "file.wav", WRITTEN[name], rf64=rf64)
    ours = {one: text for one, text in texts_of(WRITTEN[name]).items() if one in TOLD_BY_FFMPEG}

    assert hear_bext("FFmpeg", path) == ours


@pytest.mark.oracles
def test_ear_hands_on_the_octets(tmp_path: Path, bench: Any, hear_bext: Any) -> None:
    path = lay(bench, tmp_path / "file.wav", FULL)

    assert hear_bext("ear", path) == {"octets": bext.encode(FULL).hex()}


# What others write.


def read(path: Path) -> Survey:
    return survey(io.BytesIO(path.read_bytes()), path.name)


def test_libsndfile_writes_what_we_read(tmp_path: Path, sndfile: Any) -> None:
    path = tmp_path / "file.wav"
    history = b"A=ANALOGUE,M=mono,T=deck\r\n"
    sndfile.write(
        path,
        [n << 20 for n in range(-4, 5)],
        description=b"D" * 256,
        originator=b"Saltpan Row",
        originator_reference=b"R" * 32,
        origination_date=b"2026-05-09",
        origination_time=b"07:35:25",
        time_reference_low=11,
        time_reference_high=7,
        umid=(ctypes.c_ubyte * 64)(*FULL.umid),
        loudness_value=-2310,
        loudness_range=725,
        max_true_peak_level=-105,
        max_momentary_loudness=-9999,
        max_shortterm_loudness=9999,
        coding_history=history,
        coding_history_size=len(history),
    )
    found = read(path)

    assert found.layout.damage == found.record.container.damage == ()
    assert (found.layout.frames, found.layout.data_octets) == (9, 27)
    assert found.bext is not None
    # It adds a line of its own to the history.
    lines, _ = parse(found.bext.coding_history)
    assert found.bext == replace(FULL, coding_history=found.bext.coding_history)
    assert found.bext.coding_history.startswith(history.decode())
    added = dict(lines[1].parameters)
    assert len(lines) == 2
    assert (added["A"], added["F"], added["W"], added["M"]) == ("PCM", "48000", "24", "mono")
    assert added["T"].startswith("libsndfile")


def test_libsndfile_writes_zeros_for_loudness_that_was_not_measured(
    tmp_path: Path, sndfile: Any
) -> None:
    sndfile.write(tmp_path / "file.wav", [0, 1 << 20], originator=b"Saltpan Row", version=1)
    found = read(tmp_path / "file.wav").bext

    # Version 2 whatever was asked for: so zeros there are no proof of a measurement.
    assert found is not None
    zero = Decimal(0)
    assert (found.version, found.loudness_value, found.max_true_peak_level) == (2, zero, zero)


TAGS = {
    "description": "D" * 256,
    "originator": "Saltpan Row",
    "originator_reference": "R" * 32,
    "origination_date": "2026-05-09",
    "origination_time": "07:35:25",
    "time_reference": f"{(7 << 32) + 11}",
    "umid": f"0x{FULL.umid.hex()}",
    "coding_history": FULL.coding_history,
}


def write_by_ffmpeg(path: Path, tags: Mapping[str, str], **options: str) -> None:
    av, numpy = pytest.importorskip("av"), pytest.importorskip("numpy")
    samples = numpy.arange(-4, 5, dtype="i4").reshape(1, 9) << 20
    with av.open(str(path), "w", format="wav", options={"write_bext": "1", **options}) as out:
        out.metadata.update(tags)
        stream = out.add_stream("pcm_s24le", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(samples, format="s32", layout="mono")
        frame.rate = 48_000
        out.mux([*stream.encode(frame), *stream.encode(None)])


@pytest.mark.oracles
@pytest.mark.parametrize(
    ("rf64", "form", "damage"),
    [
        ("never", "RIFF", []),
        # Its ds64 counts the pad octet of an odd data chunk as audio; the frames it states are
        # right.
        ("always", "RF64", ["ds64-pad-counted"]),
    ],
)
def test_ffmpeg_writes_what_we_read(
    tmp_path: Path, rf64: str, form: str, damage: list[str]
) -> None:
    path = tmp_path / "file.wav"
    write_by_ffmpeg(path, TAGS, rf64=rf64)
    found = read(path)

    assert (found.layout.form, found.layout.frames) == (form, 9)
    assert [fault.kind for fault in found.record.container.damage] == damage
    # It writes version 1, so there is no loudness.
    assert found.bext == replace(
        FULL,
        version=1,
        loudness_value=None,
        loudness_range=None,
        max_true_peak_level=None,
        max_momentary_loudness=None,
        max_short_term_loudness=None,
    )


@pytest.mark.oracles
def test_ffmpeg_told_nothing_writes_a_chunk_without_anything(tmp_path: Path) -> None:
    write_by_ffmpeg(tmp_path / "file.wav", {})

    assert read(tmp_path / "file.wav").bext == Bext(version=1)


@pytest.mark.oracles
def test_a_copy_by_ffmpeg_loses_chunks_and_half_of_bext(tmp_path: Path, bench: Any) -> None:
    av = pytest.importorskip("av")
    source, target = tmp_path / "file.wav", tmp_path / "copy.wav"
    source.write_bytes(
        bench.wave(frames=10, own=OWN, after=[(b"iXML", b"<BWFXML />"), (b"axml", b"<a/>")])
    )
    with (
        av.open(str(source)) as given,
        av.open(str(target), "w", format="wav", options={"write_bext": "1"}) as out,
    ):
        out.metadata.update(given.metadata)
        stream = out.add_stream_from_template(given.streams.audio[0])
        for packet in given.demux():
            if packet.dts is not None:
                packet.stream = stream
                out.mux(packet)
    found = read(target)

    assert {one.id for one in found.layout.chunks} == {b"fmt ", b"bext", b"LIST", b"data"}
    assert found.bext is not None
    # It reads two fields under one name and writes them from another, and knows no loudness.
    assert (found.bext.description, found.bext.originator) == ("", "")
    assert (found.bext.version, found.bext.umid.hex()) == (1, UMID)
    assert found.bext.coding_history == "A=ANALOGUE\r\n"
