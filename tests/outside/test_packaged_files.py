"""Wave files that other projects keep for their own tests, read by us and by six other readers.

They are those of the wheels of scipy and ear (the EBU's renderer) and of the source archives of
mutagen, soundfile and wave-chunk-parser, fetched by `.ci/run`; nothing of them is kept here.

What a file holds is asked of every reader at every run. Where one says otherwise than we do, its
answer stands in the row, and why; no row stands on our word alone.
"""

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import soundfile
import wavinfo

from tailsout.ground.errors import MaterialError
from tailsout.wave import bext
from tailsout.wave.bext import Bext
from tailsout.wave.embed import copy, plan
from tailsout.wave.riff import Layout, read_layout
from tailsout.work.survey import survey

pytestmark = pytest.mark.oracles

Heard = tuple[int, int, int, str]
"""Frames, rate in Hz, channels, bits on disk; the last is empty where a reader does not say."""

OTHERS = ("libsndfile", "wavinfo", "FFmpeg", "scipy", "ear", "mutagen")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What we make of one file."""

    heard: Heard | None
    """None where the format is not told, or is none that we read."""
    form: str = "RIFF"
    damage: tuple[str, ...] = ()
    refused: str = ""
    """The damage for which no copy is made."""
    dissent: Mapping[str, tuple[Heard | None, str]] = field(default_factory=dict)
    """What another reader says instead, None if nothing, and why."""


WIDTHS = {"ear": (None, "it reads integers of 16, 24 and 32 bits only")}
NO_RF64 = {"mutagen": (None, "it knows no form but RIFF")}
FLOAT_AS_INTEGER = "it takes float for integer"
DECLARED = "it tells what the header declares and does not look whether it is there"
ODD_WIDTH = "it takes any width up to 64 bits; we take those that recorders write"
TWO_TRUTHS = "three channels of 24 bits take 9 octets, the header says 4: we choose neither"
NO_DATA = dict.fromkeys(
    ("libsndfile", "wavinfo", "FFmpeg", "scipy", "ear"),
    (None, "it refuses a file without data; we tell the format that the fmt chunk states"),
)


def _wide(bits: int) -> Row:
    octets = f"{(bits + 7) // 8 * 8}"
    named, unnamed = ((5, 8000, 3, octets), ODD_WIDTH), ((5, 8000, 3, ""), ODD_WIDTH)
    dissent = {"wavinfo": named, "mutagen": named, "scipy": unnamed}
    if bits == 64:
        dissent["FFmpeg"] = named
    return Row(heard=None, damage=("fmt-coding",), refused="fmt-coding", dissent=dissent)


def _big_endian(**said: Heard) -> Row:
    why = "it reads the big-endian form, which is none of the broadcast wave family"
    dissent = {reader: (heard, why) for reader, heard in said.items()}
    return Row(heard=None, form="RIFX", damage=("not-wave",), refused="not-wave", dissent=dissent)


FILES: Mapping[str, Row] = {
    "scipy/test-1234Hz-le-1ch-10S-20bit-extra.wav": Row(heard=(10, 1234, 1, "24"), dissent=WIDTHS),
    "scipy/test-44100Hz-2ch-32bit-float-be.wav": _big_endian(
        libsndfile=(441, 44_100, 2, "float 32"), scipy=(441, 44_100, 2, "float 32")
    ),
    "scipy/test-44100Hz-2ch-32bit-float-le.wav": Row(
        heard=(441, 44_100, 2, "float 32"),
        dissent={"ear": ((441, 44_100, 2, "32"), FLOAT_AS_INTEGER)},
    ),
    "scipy/test-44100Hz-be-1ch-4bytes.wav": _big_endian(
        libsndfile=(4410, 44_100, 1, "32"), scipy=(4410, 44_100, 1, "")
    ),
    "scipy/test-44100Hz-le-1ch-4bytes-early-eof-no-data.wav": Row(
        heard=(0, 44_100, 1, "32"),
        damage=("riff-size", "no-data"),
        refused="no-data",
        dissent=NO_DATA,
    ),
    "scipy/test-44100Hz-le-1ch-4bytes-early-eof.wav": Row(
        heard=(236, 44_100, 1, "32"),
        damage=("truncated",),
        refused="truncated",
        dissent={
            "wavinfo": ((4410, 44_100, 1, ""), DECLARED),
            "ear": ((4410, 44_100, 1, "32"), DECLARED),
            "mutagen": ((4410, 44_100, 1, ""), DECLARED),
        },
    ),
    "scipy/test-44100Hz-le-1ch-4bytes-incomplete-chunk.wav": Row(
        heard=None, damage=("truncated", "no-fmt", "no-data"), refused="truncated"
    ),
    "scipy/test-44100Hz-le-1ch-4bytes-rf64.wav": Row(
        form="RF64", heard=(4410, 44_100, 1, "32"), damage=("ds64-samples",), dissent=NO_RF64
    ),
    "scipy/test-44100Hz-le-1ch-4bytes.wav": Row(
        heard=(4410, 44_100, 1, "32"), damage=("riff-size",)
    ),
    "scipy/test-48000Hz-2ch-64bit-float-le-wavex.wav": Row(
        heard=(480, 48_000, 2, "float 64"), dissent=WIDTHS
    ),
    "scipy/test-8000Hz-be-3ch-5S-24bit.wav": _big_endian(
        libsndfile=(5, 8000, 3, "24"), scipy=(5, 8000, 3, ""), FFmpeg=(5, 8000, 3, "24")
    ),
    "scipy/test-8000Hz-le-1ch-1byte-ulaw.wav": Row(
        heard=None,
        damage=("fmt-coding",),
        refused="fmt-coding",
        dissent={
            one: ((9, 8000, 1, coding), "it reads or counts what is compressed")
            for one, coding in (
                ("libsndfile", "ULAW"),
                ("FFmpeg", "pcm_mulaw"),
                ("wavinfo", ""),
                ("mutagen", ""),
            )
        },
    ),
    "scipy/test-8000Hz-le-2ch-1byteu.wav": Row(heard=(800, 8000, 2, "8"), dissent=WIDTHS),
    "scipy/test-8000Hz-le-3ch-5S-24bit-inconsistent.wav": Row(
        heard=None,
        damage=("fmt-inconsistent",),
        refused="fmt-inconsistent",
        dissent={
            "libsndfile": ((5, 8000, 3, "24"), TWO_TRUTHS),
            "FFmpeg": ((5, 8000, 3, "24"), TWO_TRUTHS),
            "wavinfo": ((11, 8000, 3, "24"), TWO_TRUTHS),
            "mutagen": ((11, 8000, 3, "24"), TWO_TRUTHS),
        },
    ),
    "scipy/test-8000Hz-le-3ch-5S-24bit-rf64.wav": Row(
        form="RF64", heard=(5, 8000, 3, "24"), dissent=NO_RF64
    ),
    "scipy/test-8000Hz-le-3ch-5S-24bit.wav": Row(heard=(5, 8000, 3, "24")),
    "scipy/test-8000Hz-le-3ch-5S-36bit.wav": _wide(36),
    "scipy/test-8000Hz-le-3ch-5S-45bit.wav": _wide(45),
    "scipy/test-8000Hz-le-3ch-5S-53bit.wav": _wide(53),
    "scipy/test-8000Hz-le-3ch-5S-64bit.wav": _wide(64),
    "scipy/test-8000Hz-le-4ch-9S-12bit.wav": Row(heard=(9, 8000, 4, "16"), dissent=WIDTHS),
    "scipy/test-8000Hz-le-5ch-9S-5bit.wav": Row(
        heard=(9, 8000, 5, "8"), damage=("missing-final-pad",), dissent=WIDTHS
    ),
    "ear/empty_extradata.wav": Row(heard=(4, 48_000, 1, "16")),
    "ear/fmt_padding.wav": Row(heard=(4, 48_000, 1, "16")),
    "ear/pcm_extradata.wav": Row(heard=(4, 48_000, 1, "16")),
    "ear/rect_16bit.wav": Row(heard=(22_050, 44_100, 2, "16")),
    "ear/rect_24bit.wav": Row(heard=(22_050, 44_100, 2, "24")),
    "ear/rect_24bit_bext.wav": Row(heard=(22_050, 44_100, 2, "24")),
    "ear/rect_24bit_nods64.wav": Row(
        form="RF64",
        heard=(22_050, 44_100, 2, "24"),
        damage=("ds64-missing", "riff-size"),
        refused="ds64-missing",
        dissent={
            one: (None, "it refuses RF64 without ds64; the 32-bit sizes are filled in and fit")
            for one in OTHERS
            if one != "libsndfile"
        },
    ),
    "ear/rect_24bit_noriff.wav": Row(
        form="unknown", heard=None, damage=("not-wave",), refused="not-wave"
    ),
    "ear/rect_24bit_nowave.wav": Row(
        form="unknown",
        heard=None,
        damage=("not-wave",),
        refused="not-wave",
        dissent={"wavinfo": ((22_050, 44_100, 2, "24"), "it does not look at the form's type")},
    ),
    "ear/rect_24bit_rf64.wav": Row(form="RF64", heard=(22_050, 44_100, 2, "24"), dissent=NO_RF64),
    "ear/rect_24bit_wrong_fmt_size.wav": Row(
        heard=(0, 44_100, 2, "24"),
        damage=("pad-not-zero", "bad-chunk-id", "no-data", "fmt-extension"),
        refused="bad-chunk-id",
        dissent=NO_DATA,
    ),
    "ear/rect_32bit.wav": Row(heard=(22_050, 44_100, 2, "32")),
    "ear/test.wav": Row(heard=(12_000, 48_000, 4, "24")),
    "ear/test_bwf.wav": Row(heard=(12_000, 48_000, 4, "24")),
    "mutagen/silence-2s-PCM-16000-08-ID3v23.wav": Row(
        heard=(32_000, 16_000, 2, "8"), dissent=WIDTHS
    ),
    "mutagen/silence-2s-PCM-16000-08-notags.wav": Row(
        heard=(32_000, 16_000, 2, "8"), dissent=WIDTHS
    ),
    "mutagen/silence-2s-PCM-44100-16-ID3v23.wav": Row(heard=(88_200, 44_100, 2, "16")),
    "soundfile/mono.wav": Row(heard=(5, 44_100, 1, "16")),
    "soundfile/stereo.wav": Row(
        heard=(4, 44_100, 2, "float 32"),
        dissent={"ear": ((4, 44_100, 2, "32"), FLOAT_AS_INTEGER)},
    ),
    "wave-chunk-parser/invalid_wrong_order.wav": Row(
        heard=(111_020, 44_100, 2, "16"),
        damage=("fmt-after-data",),
        refused="fmt-after-data",
        dissent=dict.fromkeys(
            ("libsndfile", "scipy"), (None, "it does not look for a format behind the audio")
        ),
    ),
    "wave-chunk-parser/valid_no_markers.wav": Row(heard=(111_020, 44_100, 2, "16")),
    "wave-chunk-parser/valid_with_markers.wav": Row(heard=(111_020, 44_100, 2, "16")),
    "wave-chunk-parser/valid_with_odd_len_chunk.wav": Row(heard=(15_753, 44_100, 1, "24")),
}

COPIED = [name for name, row in FILES.items() if not row.refused]
REFUSED = [name for name, row in FILES.items() if row.refused]


@pytest.fixture
def file(packaged: Mapping[str, bytes], tmp_path: Path) -> Callable[[str], Path]:
    """Lay one of the files down."""

    def lay(name: str) -> Path:
        if name not in packaged:
            pytest.skip(f"the package that has {name} was not fetched: see .ci/run")
        path = tmp_path / "file.wav"
        path.write_bytes(packaged[name])
        return path

    return lay


def ours(layout: Layout) -> Heard | None:
    pcm = layout.pcm
    if pcm is None:
        return None
    coding = f"{'float ' * pcm.is_float}{pcm.container_bits}"
    return layout.frames, pcm.sample_rate_hz, pcm.channels, coding


def agree(ours: Heard | None, theirs: Heard | None) -> bool:
    if ours is None or theirs is None:
        return ours is theirs
    return theirs[:3] == ours[:3] and theirs[3] in {"", ours[3]}


def test_every_file_gets_an_answer(packaged: Mapping[str, bytes]) -> None:
    if not packaged:
        pytest.skip("no package with wave files was fetched: see .ci/run")
    for name, content in packaged.items():
        record = survey(io.BytesIO(content), name).record
        assert record.octets == len(content)
        assert record.pcm is not None or record.container.damage, name


@pytest.mark.parametrize("name", FILES)
def test_a_file_is_read_as_its_row_says(file: Callable[[str], Path], name: str) -> None:
    row = FILES[name]
    with file(name).open("rb") as stream:
        found = survey(stream, name)

    assert found.layout.form == row.form
    assert ours(found.layout) == row.heard
    assert tuple(fault.kind for fault in found.record.container.damage) == row.damage


@pytest.mark.parametrize("name", FILES)
def test_other_readers_agree_or_the_row_says_why_not(
    file: Callable[[str], Path], hear: Callable[[str, Path], Heard | None], name: str
) -> None:
    path, row = file(name), FILES[name]
    said = {reader: hear(reader, path) for reader in OTHERS}

    others = {reader: heard for reader, heard in said.items() if not agree(row.heard, heard)}
    assert others == {reader: heard for reader, (heard, _) in row.dissent.items()}
    assert len(others) < len(OTHERS)
    assert all(why for _, why in row.dissent.values())


@pytest.mark.parametrize("name", [name for name in COPIED if FILES[name].form == "RIFF"])
def test_bits_that_count_are_those_wavinfo_reads(file: Callable[[str], Path], name: str) -> None:
    path = file(name)
    with path.open("rb") as stream:
        pcm = read_layout(stream).pcm
    shape = wavinfo.WavInfoReader(str(path)).fmt

    assert pcm is not None
    # Of an EXTENSIBLE format wavinfo reads the width of the container only.
    bits = pcm.container_bits if shape.audio_format == 0xFFFE else pcm.valid_bits
    assert shape.bits_per_sample == bits


def samples_of(path: Path) -> Any:
    with soundfile.SoundFile(path) as sound:
        return bytes(sound.buffer_read(dtype="float64"))


@pytest.mark.parametrize("name", COPIED)
def test_a_copy_has_every_sample_as_before_and_our_bext(
    file: Callable[[str], Path], tmp_path: Path, name: str
) -> None:
    source, target = file(name), tmp_path / "master.wav"
    chunk = Bext(description=name, originator="Saltpan Row", time_reference=1 << 33)
    with source.open("rb") as stream, target.open("wb") as out:
        recipe = plan(read_layout(stream), bext=bext.encode(chunk))
        copy(stream, recipe, out.write, essence=len, advance=lambda _: None)

    row = FILES[name]
    assert row.heard is not None
    before = samples_of(source)
    assert len(before) == row.heard[0] * row.heard[2] * 8
    assert samples_of(target) == before
    found = wavinfo.WavInfoReader(str(target)).bext
    assert found.version == 2
    assert (found.description, found.originator) == (name, "Saltpan Row")
    assert found.time_reference == 1 << 33


@pytest.mark.parametrize("name", REFUSED)
def test_no_copy_is_made_for_the_reason_of_the_row(file: Callable[[str], Path], name: str) -> None:
    with file(name).open("rb") as stream:
        layout = read_layout(stream)

    (reason, *_) = [one.text for one in layout.damage if one.kind == FILES[name].refused]
    with pytest.raises(MaterialError) as raised:
        plan(layout, bext=bext.encode(Bext()))
    assert reason in raised.value.sentence
