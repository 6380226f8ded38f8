"""What `wave.embed` writes, read by two independent readers: wavinfo and libsndfile.

Sources: EBU Tech 3285 v2 (bext), EBU R 98-1999 (coding history), EBU Tech 3306 (RF64). BW64
(ITU-R BS.2088-1) is read by wavinfo only; it is not written.
"""

import io
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import soundfile
import wavinfo

from tailsout.wave import bext, embed, fmt
from tailsout.wave.bext import Bext
from tailsout.wave.embed import copy, plan
from tailsout.wave.history import Line, render
from tailsout.wave.riff import read_layout

HISTORY = render(
    (
        Line(parameters=(("A", "ANALOGUE"), ("M", "mono"), ("T", "deck; 19.05 cm/s"))),
        Line(parameters=(("A", "PCM"), ("F", "48000"), ("W", "24"), ("T", "A/D"))),
    )
)

CHUNK = Bext(
    description="D" * 256,
    originator="An archive",
    originator_reference="R" * 32,
    origination_date="2026-05-09",
    origination_time="07:35:25",
    time_reference=(7 << 32) + 11,
    umid=bytes(range(1, 65)),
    loudness_value=Decimal("-23.10"),
    loudness_range=Decimal("7.25"),
    max_true_peak_level=Decimal("-1.05"),
    max_momentary_loudness=Decimal("-99.99"),
    max_short_term_loudness=Decimal("99.99"),
    coding_history=HISTORY,
)

SUBTYPES = ("PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE", "PCM_U8")
FORMATS = [
    (form, subtype, channels)
    for form, channels in (("WAV", 1), ("WAV", 2), ("WAVEX", 6))
    for subtype in SUBTYPES
]


def a_source(path: Path, form: str, subtype: str, channels: int, rate: int = 48_000) -> Path:
    """Let libsndfile write a source; an odd number of frames of a pattern with both signs."""
    with soundfile.SoundFile(path, "w", rate, channels, subtype, format=form) as file:
        samples = bytes((7 * n * n) % 251 for n in range(4 * 101 * channels))
        file.buffer_write(samples, dtype="int32")
    return path


def put_in(source: Path, target: Path, chunk: Bext) -> bytes:
    """Copy through, and return the audio octets that passed."""
    heard = bytearray()
    with source.open("rb") as stream, target.open("wb") as out:
        recipe = plan(read_layout(stream), bext=bext.encode(chunk))
        copy(stream, recipe, out.write, essence=heard.extend, advance=lambda _: None)
    return bytes(heard)


def samples_of(path: Path) -> Any:
    with soundfile.SoundFile(path) as file:
        return (
            file.subtype,
            file.samplerate,
            file.channels,
            file.frames,
            file.read(dtype="float64").tolist(),
        )


@pytest.mark.parametrize(("form", "subtype", "channels"), FORMATS)
def test_libsndfile_finds_format_and_every_sample_as_before(
    tmp_path: Path, form: str, subtype: str, channels: int
) -> None:
    source = a_source(tmp_path / "source.wav", form, subtype, channels)
    put_in(source, tmp_path / "master.wav", CHUNK)

    before = samples_of(source)
    assert samples_of(tmp_path / "master.wav") == before
    assert before[2:4] == (channels, 101)
    with (tmp_path / "master.wav").open("rb") as stream:
        layout = read_layout(stream)
    assert layout.damage == ()
    assert layout.pcm is not None
    assert (layout.frames, layout.pcm.channels, layout.pcm.sample_rate_hz) == (
        101,
        channels,
        48_000,
    )
    assert f"{layout.pcm.container_bits}" in {
        "FLOAT": "32",
        "DOUBLE": "64",
        "PCM_U8": "8",
    }.get(subtype, subtype)


@pytest.mark.parametrize(("form", "subtype", "channels"), FORMATS)
def test_libsndfile_reads_a_format_that_we_write(
    tmp_path: Path, form: str, subtype: str, channels: int
) -> None:
    source = a_source(tmp_path / "source.wav", form, subtype, channels)
    with source.open("rb") as stream:
        layout = read_layout(stream)
        assert layout.pcm is not None
        assert layout.data is not None
        ours = fmt.encode(layout.pcm)
        stream.seek(layout.data.offset)
        audio = stream.read(layout.data.octets)
    body = b"WAVEfmt " + len(ours).to_bytes(4, "little") + ours
    body += b"data" + len(audio).to_bytes(4, "little") + audio + b"\0" * (len(audio) % 2)
    target = tmp_path / "ours.wav"
    target.write_bytes(b"RIFF" + len(body).to_bytes(4, "little") + body)

    assert samples_of(target) == samples_of(source)


@pytest.mark.parametrize("past_the_limit", [False, True])
def test_wavinfo_reads_every_field(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, past_the_limit: bool
) -> None:
    if past_the_limit:
        monkeypatch.setattr(embed, "_LIMIT", 100)
    source = a_source(tmp_path / "source.wav", "WAV", "PCM_24", 2)
    put_in(source, tmp_path / "master.wav", CHUNK)
    info = wavinfo.WavInfoReader(str(tmp_path / "master.wav"))

    assert (tmp_path / "master.wav").read_bytes()[:4] == (b"RF64" if past_the_limit else b"RIFF")
    assert (info.fmt.channel_count, info.fmt.sample_rate, info.fmt.bits_per_sample) == (
        2,
        48_000,
        24,
    )
    assert info.data.frame_count == 101
    found = info.bext
    assert found.version == 2
    assert found.description == CHUNK.description
    assert found.originator == CHUNK.originator
    assert found.originator_ref == CHUNK.originator_reference
    assert found.originator_date == CHUNK.origination_date
    assert found.originator_time == CHUNK.origination_time
    assert found.time_reference == CHUNK.time_reference
    assert bytes(found.umid) == CHUNK.umid
    assert found.coding_history.strip() == HISTORY.strip()
    assert [
        f"{figure:.2f}"
        for figure in (
            found.loudness_value,
            found.loudness_range,
            found.max_true_peak,
            found.max_momentary_loudness,
            found.max_shortterm_loudness,
        )
    ] == ["-23.10", "7.25", "-1.05", "-99.99", "99.99"]


@pytest.mark.parametrize("channels", [1, 2])
def test_libsndfile_reads_our_rf64(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, channels: int
) -> None:
    monkeypatch.setattr(embed, "_LIMIT", 100)
    # An odd chunk before the audio: libsndfile 1.2.2 would lose its way behind it.
    source = a_source(tmp_path / "plain.wav", "WAV", "PCM_24", channels).read_bytes()
    odd = b"iXML\x09\0\0\0<BWFXML/>\0"
    (tmp_path / "source.wav").write_bytes(
        b"RIFF" + (len(source) - 8 + len(odd)).to_bytes(4, "little") + b"WAVE" + odd + source[12:]
    )
    put_in(tmp_path / "source.wav", tmp_path / "master.wav", CHUNK)

    with soundfile.SoundFile(tmp_path / "master.wav") as file:
        assert file.format == "RF64"
    assert samples_of(tmp_path / "master.wav") == samples_of(tmp_path / "source.wav")


def test_an_rf64_of_libsndfile_becomes_plain_riff(tmp_path: Path) -> None:
    source = a_source(tmp_path / "source.wav", "RF64", "PCM_24", 2)
    assert source.read_bytes()[:4] == b"RF64"
    put_in(source, tmp_path / "master.wav", CHUNK)

    assert (tmp_path / "master.wav").read_bytes()[:4] == b"RIFF"
    assert samples_of(tmp_path / "master.wav") == samples_of(source)


def test_libsndfile_reads_every_field_through_its_own_struct(tmp_path: Path, sndfile: Any) -> None:
    source = a_source(tmp_path / "source.wav", "WAV", "PCM_16", 1)
    put_in(source, tmp_path / "master.wav", CHUNK)
    found = sndfile.broadcast_info(tmp_path / "master.wav")

    assert found.description == b"D" * 256
    assert found.originator == b"An archive"
    assert found.originator_reference == b"R" * 32
    assert (found.origination_date, found.origination_time) == (b"2026-05-09", b"07:35:25")
    assert (found.time_reference_low, found.time_reference_high) == (11, 7)
    assert found.version == 2
    assert bytes(found.umid) == CHUNK.umid
    assert (
        found.loudness_value,
        found.loudness_range,
        found.max_true_peak_level,
        found.max_momentary_loudness,
        found.max_shortterm_loudness,
    ) == (-2310, 725, -105, -9999, 9999)
    assert found.coding_history[: found.coding_history_size].decode().rstrip("\0") == HISTORY


def test_wavinfo_reads_a_bw64_header_as_we_do(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(embed, "_LIMIT", 100)
    source = a_source(tmp_path / "source.wav", "WAV", "PCM_24", 2)
    put_in(source, tmp_path / "master.wav", CHUNK)
    content = b"BW64" + (tmp_path / "master.wav").read_bytes()[4:]
    (tmp_path / "master.wav").write_bytes(content)

    layout = read_layout(io.BytesIO(content))
    info = wavinfo.WavInfoReader(str(tmp_path / "master.wav"))
    assert layout.damage == ()
    assert layout.form == "BW64"
    assert info.data.frame_count == layout.frames == 101
