"""Wave files with one thing wrong: what is told of each, and how it weighs.

Two lists are worked through: 23 malformations met in the wild (M01 to M23) and the hostile wave
files E01 to E31. Cue lists, INFO lists and XML chunks (M15 to M17, E10 to E12, E19 and E22) are
tried beside their decoders. The first list speaks of invalid, warning, refused and limit; here
that is fail, open questions or pass, fail and not examined, unless a comment says why not.
"""

import array
import io
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.errors import SurroundingsError
from tailsout.ground.findings import Finding, Judgement, Verdict
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.rules import judge
from tailsout.wave import bext
from tailsout.wave.riff import Layout, read_layout
from tailsout.work.survey import Survey, survey

PASS, OPEN, FAIL, LIMIT = Verdict.PASS, Verdict.OPEN, Verdict.FAIL, Verdict.NOT_EXAMINED

ALL_ONES = 0xFFFF_FFFF
BEXT = bext.encode(bext.Bext(originator="Saltpan Row", coding_history="A=PCM,F=48000\r\n"))
EXTENSION = bytes.fromhex(
    "1600"  # cbSize
    "1800"  # wValidBitsPerSample: 24
    "03000000"  # dwChannelMask: front left and right
    "01000000 0000 1000 8000 00AA00389B71"  # SubFormat: PCM
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One file, and what must be told of it: no more and no less."""

    make: Callable[[Any], bytes]
    told: tuple[str, ...] = ()
    """Words of the readers, in the order they are met."""
    verdict: Verdict = PASS
    findings: tuple[str, ...] = ()
    """Codes of findings that are not damage."""


def with_fmt(at: int, octets: bytes) -> Callable[[Any], bytes]:
    """The good file, some octets of its format replaced."""

    def make(m: Any) -> bytes:
        payload = m.FMT[:at] + octets + m.FMT[at + len(octets) :]
        return bytes(m.wave(m.fmt(payload), m.data()))

    return make


def off_by(octets: int) -> Callable[[Any], bytes]:
    """The good file, its RIFF size wrong."""
    return lambda m: m.wave(m.fmt(), m.data(), riff_octets=60 + octets)


def extensible(at: int = 0, octets: bytes = b"") -> Callable[[Any], bytes]:
    """The good file with an EXTENSIBLE format, some octets of its extension replaced."""

    def make(m: Any) -> bytes:
        extension = EXTENSION[:at] + octets + EXTENSION[at + len(octets) :]
        return bytes(m.wave(m.fmt(b"\xfe\xff" + m.FMT[2:] + extension), m.data()))

    return make


def with_bext(field: str = "description", octets: bytes = b"") -> Callable[[Any], bytes]:
    """The good file with a bext chunk, some octets at the start of a field replaced."""

    def make(m: Any) -> bytes:
        at = bext.FIXED_OCTETS if field == "history" else bext.LAYOUT[field].offset
        payload = BEXT[:at] + octets + BEXT[at + len(octets) :]
        return bytes(m.wave(m.chunk(b"bext", payload), m.fmt(), m.data()))

    return make


def before(chunk_id: bytes, payload: bytes = b"", **how: Any) -> Callable[[Any], bytes]:
    """The good file with one more chunk before its format."""
    return lambda m: m.wave(m.chunk(chunk_id, payload, **how), m.fmt(), m.data())


def behind(octets: bytes) -> Callable[[Any], bytes]:
    return lambda m: m.good() + octets


def rf64(*chunks: Callable[[Any], bytes], riff: int = ALL_ONES) -> Callable[[Any], bytes]:
    """An RF64 file of these chunks, its format and audio of unstated size."""

    def make(m: Any) -> bytes:
        parts = [one(m) for one in chunks]
        return bytes(
            m.wave(*parts, m.fmt(), m.data(octets=ALL_ONES), form=b"RF64", riff_octets=riff)
        )

    return make


def floats(*samples: float) -> Callable[[Any], bytes]:
    """A mono file of 32-bit floats."""
    payload = array.array("f", samples).tobytes()
    fmt = bytes.fromhex("0300 0100 80BB0000 00EE0200 0400 2000 0000")
    return lambda m: m.wave(m.fmt(fmt), m.data(payload))


SOUND: Mapping[str, Case] = {
    "a plain file": Case(make=lambda m: m.good()),
    "a file with bext": Case(make=with_bext()),
    "an EXTENSIBLE format": Case(make=extensible()),
    "RF64": Case(make=lambda m: m.rf64()),
    "BW64": Case(make=lambda m: m.rf64(form=b"BW64")),
    "room for ds64, not used": Case(make=before(b"JUNK", bytes(28))),
}

MALFORMED: Mapping[str, Case] = {
    # M01 RIFF size; whoever reads the audio by its own chunk hears all of it.
    "M01 RIFF size 0": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), riff_octets=0),
        told=("riff-ends-early",),
        verdict=FAIL,
    ),
    "M01 RIFF size all ones": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), riff_octets=ALL_ONES),
        told=("riff-size",),
        verdict=OPEN,
    ),
    **{
        f"M01 RIFF size {off:+}": Case(make=off_by(off), told=("riff-size",), verdict=OPEN)
        for off in (-12, -8, -1, 1, 12)
    },
    "M02 data size 0 before audio": Case(
        make=lambda m: m.wave(m.fmt(), m.data(octets=0)),
        told=("bad-chunk-id",),
        verdict=FAIL,
        findings=("no-audio",),
    ),
    "M02 sizes of a stream": Case(
        make=lambda m: m.wave(m.fmt(), m.data(octets=ALL_ONES), riff_octets=ALL_ONES),
        told=("never-finished", "riff-size"),
        verdict=FAIL,
    ),
    "M02 data size larger than the file": Case(
        make=lambda m: m.wave(m.fmt(), m.data(octets=25)), told=("truncated",), verdict=FAIL
    ),
    "M03 cut inside a chunk": Case(make=lambda m: m.good()[:-7], told=("truncated",), verdict=FAIL),
    "M03 cut inside its first header": Case(
        make=lambda m: m.good()[:13], told=("truncated", "no-fmt", "no-data"), verdict=FAIL
    ),
    "M04 zeros behind the end": Case(
        make=behind(bytes(512)), told=("trailing-octets",), verdict=OPEN
    ),
    "M04 garbage behind the end": Case(
        make=behind(b"\xa5\x5a" * 99), told=("trailing-octets",), verdict=OPEN
    ),
    "M05 no pad octet": Case(
        make=before(b"note", b"INFOx", pad=b""), told=("missing-pad",), verdict=FAIL
    ),
    "M05 no pad octet at the end": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), m.chunk(b"id3 ", b"ID3", pad=b"")),
        told=("missing-final-pad",),
    ),
    "M06 pad octet not zero": Case(
        make=before(b"note", b"INFOx", pad=b"\x07"), told=("pad-not-zero",)
    ),
    # Nothing shows that the sixth octet was meant as a pad.
    "M07 pad octet counted in the size": Case(make=before(b"note", b"INFOx\0")),
    "M08 two bext": Case(
        make=lambda m: m.wave(*[m.chunk(b"bext", BEXT)] * 2, m.fmt(), m.data()),
        told=("duplicate-bext",),
        verdict=FAIL,
    ),
    "M08 two fmt": Case(
        make=lambda m: m.wave(m.fmt(), m.fmt(), m.data()), told=("duplicate-fmt",), verdict=FAIL
    ),
    "M08 two data": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), m.data()), told=("duplicate-data",), verdict=FAIL
    ),
    "M08 two id3": Case(make=lambda m: m.wave(m.fmt(), m.data(), *[m.chunk(b"id3 ", b"ID3")] * 2)),
    "M09 bext too short": Case(
        make=before(b"bext", bytes(601)), told=("bext-short",), verdict=FAIL
    ),
    "M09 no history": Case(make=before(b"bext", BEXT[:602])),
    "M09 history of NULs": Case(make=before(b"bext", BEXT[:602] + bytes(512))),
    "M09 garbage behind the history": Case(
        make=before(b"bext", BEXT[:602] + b"A=PCM\r\n\0\xa5\xa5"), told=("bext-after-nul",)
    ),
    "M09 history without an end of line": Case(
        make=before(b"bext", BEXT[:602] + b"A=PCM"), findings=("history-not-r98",)
    ),
    "M10 bext not in ASCII": Case(
        make=with_bext("description", "Hörfunk".encode()), told=("bext-not-ascii",)
    ),
    "M10 date with colons": Case(make=with_bext("origination_date", b"2019:01:01")),
    "M10 date with slashes": Case(make=with_bext("origination_date", b"2006/01/02")),
    "M10 date that is a word": Case(
        make=with_bext("origination_date", b"BWDate\0\0\0\0"), told=("bext-date",)
    ),
    "M10 date of blanks": Case(
        make=with_bext("origination_date", b" " * 10), told=("bext-space-padded",)
    ),
    "M10 date of NULs": Case(make=with_bext("origination_date", bytes(10))),
    "M11 UMID in version 0": Case(
        make=with_bext("version", b"\0\0\x06\x0a"), told=("bext-reserved",)
    ),
    "M11 version 2 that was never measured": Case(
        make=with_bext("loudness_value", bytes(10)), told=("bext-loudness-zero",)
    ),
    "M12 forty octets of plain PCM": Case(
        make=lambda m: m.wave(m.fmt(m.FMT + bytes(24)), m.data())
    ),
    "M12 extension that is not there": Case(
        make=lambda m: m.wave(m.fmt(m.FMT + b"\x16\0"), m.data()),
        told=("fmt-extension",),
        verdict=OPEN,
    ),
    "M12 block align off": Case(
        make=with_fmt(12, b"\x08\0"), told=("fmt-inconsistent",), verdict=FAIL
    ),
    # All readers hear the same of it, so that no more than a person's answer is asked for.
    "M12 octets a second off": Case(
        make=with_fmt(8, bytes(4)), told=("fmt-byte-rate",), verdict=OPEN
    ),
    "M12 no bits": Case(make=with_fmt(14, bytes(2)), told=("fmt-inconsistent",), verdict=FAIL),
    "M13 list": Case(make=before(b"list", b"adtl"), told=("id-case",)),
    # Fillers say nothing in any case, and both ways to write ID3 are in use.
    "M13 junk": Case(make=before(b"junk", bytes(4))),
    "M13 ID3": Case(make=before(b"ID3 ", b"ID3\x04")),
    "M13 BEXT": Case(make=before(b"BEXT", BEXT), told=("id-case",)),
    "M13 FMT": Case(
        make=lambda m: m.wave(m.chunk(b"FMT ", m.FMT), m.data()),
        told=("id-case", "no-fmt"),
        verdict=FAIL,
    ),
    "M13 Data": Case(
        make=lambda m: m.wave(m.fmt(), m.chunk(b"Data", m.AUDIO)),
        told=("id-case", "no-data"),
        verdict=FAIL,
    ),
    "M14 RF64 without ds64": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), form=b"RF64"),
        told=("ds64-missing",),
        verdict=FAIL,
    ),
    "M14 ds64 behind another chunk": Case(
        make=rf64(lambda m: m.chunk(b"JUNK", b""), lambda m: m.ds64(104, 24)),
        told=("ds64-missing", "ds64-unused", "never-finished"),
        verdict=FAIL,
    ),
    "M14 ds64 RIFF size off": Case(
        make=lambda m: m.rf64(riff=90), told=("riff-size",), verdict=OPEN
    ),
    "M14 no sample count": Case(make=rf64(lambda m: m.ds64(96, 24, samples=0))),
    "M14 sample count off": Case(
        make=rf64(lambda m: m.ds64(96, 24, samples=5)), told=("ds64-samples",)
    ),
    "M18 RIFX": Case(make=lambda m: b"RIFX" + m.good()[4:], told=("not-wave",), verdict=FAIL),
    "M19 data before fmt": Case(
        make=lambda m: m.wave(m.data(), m.fmt()), told=("fmt-after-data",), verdict=FAIL
    ),
    "M20 no audio": Case(
        make=lambda m: m.wave(m.fmt(), m.data(b"")), verdict=FAIL, findings=("no-audio",)
    ),
    "M21 no fmt": Case(make=lambda m: m.wave(m.data()), told=("no-fmt",), verdict=FAIL),
    "M21 bext alone": Case(
        make=lambda m: m.wave(m.chunk(b"bext", BEXT)), told=("no-fmt", "no-data"), verdict=FAIL
    ),
    "M22 chunk size of 2^31": Case(
        make=before(b"LIST", b"", octets=2**31),
        told=("truncated", "no-fmt", "no-data"),
        verdict=FAIL,
    ),
    "M23 id of control octets": Case(
        make=before(b"\1\2\3\4", b"ab"), told=("bad-chunk-id",), verdict=FAIL
    ),
    "M23 id of control octets, odd": Case(
        make=before(b"\1\2\3\4", b"abc"), told=("bad-chunk-id",), verdict=FAIL
    ),
    "M23 zeros where a chunk should be": Case(
        make=lambda m: m.wave(m.fmt(), bytes(99), m.data()),
        told=("bad-chunk-id", "no-data"),
        verdict=FAIL,
    ),
}

HOSTILE: Mapping[str, Case] = {
    "E01 data larger than the file": Case(
        make=lambda m: m.wave(m.fmt(), m.data(octets=5000)), told=("truncated",), verdict=FAIL
    ),
    "E02 data never finished, RIFF size right": Case(
        make=lambda m: m.wave(m.fmt(), m.data(octets=ALL_ONES)),
        told=("never-finished",),
        verdict=FAIL,
    ),
    "E02 another chunk of no size": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), m.chunk(b"axml", b"", octets=ALL_ONES)),
        told=("never-finished",),
        verdict=FAIL,
    ),
    # Invalid by the list; but every reader asked hears the audio, so that a person is asked.
    "E03 RIFF size ends inside the audio": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), riff_octets=40),
        told=("riff-size",),
        verdict=OPEN,
    ),
    "E03 RIFF size ends before the audio": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), riff_octets=28),
        told=("riff-ends-early",),
        verdict=FAIL,
    ),
    "E03 RIFF size ends before the first chunk": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), riff_octets=4),
        told=("riff-ends-early",),
        verdict=FAIL,
    ),
    "E03 RIFF size without the last pad octet": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), m.chunk(b"id3 ", b"abc"), riff_octets=71),
        told=("riff-size",),
        verdict=OPEN,
    ),
    "E04 bext of 4 GB": Case(
        make=before(b"bext", BEXT[:602], octets=ALL_ONES - 1),
        told=("truncated", "no-fmt", "no-data", "bext-after-nul", "bext-control"),
        findings=("history-not-r98",),
        verdict=FAIL,
    ),
    "E05 bext of 10 octets": Case(
        make=before(b"bext", bytes(10)), told=("bext-short",), verdict=FAIL
    ),
    "E05 bext of no octet": Case(make=before(b"bext"), told=("bext-short",), verdict=FAIL),
    "E06 fmt of two octets": Case(
        make=lambda m: m.wave(m.fmt(b"\1\0"), m.data()), told=("fmt-short",), verdict=FAIL
    ),
    "E06 no data": Case(make=lambda m: m.wave(m.fmt()), told=("no-data",), verdict=FAIL),
    "E07 rate 0": Case(make=with_fmt(4, bytes(4)), told=("fmt-inconsistent",), verdict=FAIL),
    "E07 no channels": Case(make=with_fmt(2, bytes(2)), told=("fmt-inconsistent",), verdict=FAIL),
    "E07 align 0": Case(make=with_fmt(12, bytes(2)), told=("fmt-inconsistent",), verdict=FAIL),
    "E08 another fmt behind the audio": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), m.fmt(m.FMT[:2] + b"\1" + m.FMT[3:])),
        told=("duplicate-fmt",),
        verdict=FAIL,
    ),
    "E09 a great many chunks": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), b"JUNK\0\0\0\0" * 20_000),
        told=("too-many-chunks",),
        verdict=LIMIT,
    ),
    "E13 RF64 without ds64 and sizes": Case(
        make=rf64(), told=("ds64-missing", "never-finished"), verdict=FAIL
    ),
    "E13 ds64 of 8 octets": Case(
        make=lambda m: m.wave(m.chunk(b"ds64", bytes(8)), m.fmt(), m.data(), form=b"RF64"),
        told=("ds64-short",),
        verdict=FAIL,
    ),
    "E13 RF64 that ends inside its ds64 header": Case(
        make=lambda m: m.wave(b"ds64\x1c", form=b"RF64", riff_octets=ALL_ONES),
        told=("ds64-missing", "truncated", "no-fmt", "no-data"),
        verdict=FAIL,
    ),
    "E13 a second ds64": Case(make=rf64(*[lambda m: m.ds64(132, 24)] * 2), told=("ds64-unused",)),
    "E13 ds64 in a RIFF file": Case(
        make=lambda m: m.wave(m.ds64(96, 24), m.fmt(), m.data()), told=("ds64-unused",)
    ),
    "E14 ds64 data of 2^63": Case(
        make=lambda m: m.rf64(data=2**63), told=("truncated",), verdict=FAIL
    ),
    "E14 ds64 sizes of 2^64-1": Case(
        make=lambda m: m.rf64(riff=2**64 - 1, data=2**64 - 1), told=("truncated",), verdict=FAIL
    ),
    "E14 ds64 RIFF size of 2^63": Case(
        make=lambda m: m.rf64(riff=2**63), told=("riff-size",), verdict=OPEN
    ),
    "E14 ds64 row of 2^64-1": Case(
        make=rf64(
            lambda m: m.ds64(124, 24, table=b"axml" + b"\xff" * 8),
            lambda m: m.chunk(b"axml", b"<a/>", octets=ALL_ONES),
        ),
        told=("truncated", "no-fmt", "no-data"),
        verdict=FAIL,
    ),
    "E15 ds64 table of 2^32-1 rows": Case(
        make=rf64(lambda m: m.ds64(96, 24, rows=ALL_ONES)), told=("ds64-table",), verdict=FAIL
    ),
    "E15 ds64 rows that no chunk takes": Case(
        make=rf64(lambda m: m.ds64(120, 24, table=(b"axml" + bytes(8)) * 2)),
        told=("ds64-row-unused",),
    ),
    "E16 ds64 RIFF size 0": Case(
        make=lambda m: m.rf64(riff=0), told=("riff-ends-early",), verdict=FAIL
    ),
    "E16 ds64 never filled in": Case(
        make=lambda m: m.rf64(riff=0, data=0),
        told=("never-finished", "riff-ends-early"),
        verdict=FAIL,
    ),
    "E17 RF64 with sizes of 32 bits": Case(
        make=lambda m: m.wave(m.ds64(96, 24), m.fmt(), m.data(), form=b"RF64", riff_octets=96)
    ),
    "E17 data size against ds64": Case(
        make=lambda m: m.wave(
            m.ds64(96, 24), m.fmt(), m.data(octets=18), form=b"RF64", riff_octets=ALL_ONES
        ),
        told=("ds64-mismatch",),
        verdict=FAIL,
    ),
    "E18 odd audio without pad at the end": Case(
        make=lambda m: m.wave(m.fmt(), m.data(bytes(23), pad=b"")),
        told=("missing-final-pad", "incomplete-frame"),
        verdict=OPEN,
    ),
    "E18 the pad at the end is counted but not there": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), m.chunk(b"id3 ", b"abc", pad=b""), riff_octets=72),
        told=("missing-final-pad",),
    ),
    "E18 no pad at the RIFF end, and garbage": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), m.chunk(b"id3 ", b"abc", pad=b"")) + b"\xff" * 9,
        told=("missing-final-pad", "trailing-octets"),
        verdict=OPEN,
    ),
    "E18 no pad before audio sized by ds64": Case(
        make=rf64(lambda m: m.ds64(109, 24), lambda m: m.chunk(b"note", b"INFOx", pad=b"")),
        told=("missing-pad",),
        verdict=FAIL,
    ),
    # Read from the pad octet, the next header would be "xfmt" with 4128 octets, and fit.
    "E18 pad octet that could begin a chunk": Case(
        make=lambda m: m.wave(m.chunk(b"note", b"INFOx", pad=b"x"), m.fmt(), m.data(bytes(6000))),
        told=("pad-not-zero",),
    ),
    "E18 a few octets left inside the RIFF": Case(
        make=lambda m: m.wave(m.fmt(), m.data(), b"abc"), told=("trailing-octets",), verdict=OPEN
    ),
    "E18 a few octets left inside the RIFF, before any audio": Case(
        make=lambda m: m.wave(m.fmt(), b"abc"), told=("truncated", "no-data"), verdict=FAIL
    ),
    # What is in an id3 chunk is not looked at: not what was squeezed into it, nor its size.
    "E20 id3 that unpacks to a great deal": Case(
        make=before(b"id3 ", b"ID3\4\0\0\0\0\x0f\x76COMP\0\0\x0f\x6c\0\x08zlib" + bytes(2000))
    ),
    "E21 id3 larger than its chunk": Case(make=before(b"id3 ", b"ID3\4\0\0\x7f\x7f\x7f\x7f")),
    "E23 text without a NUL": Case(make=with_bext("originator", b"A" * 32)),
    "E23 text with an escape": Case(
        make=with_bext("originator", b"\x1b]2;tape\0"), told=("bext-after-nul", "bext-control")
    ),
    "E23 text with HTML": Case(make=with_bext("description", b"<script>alert(1)</script>")),
    "E23 octets behind the NUL": Case(
        make=with_bext("description", b"tape\0what stood there before"), told=("bext-after-nul",)
    ),
    # A field that is wrong is a note: it is kept, and what a recorder wrote cannot be put right.
    "E24 date 9999-99-99": Case(
        make=with_bext("origination_date", b"9999-99-99"), told=("bext-date",)
    ),
    "E24 TimeReference of 2^64-1": Case(
        make=with_bext("time_reference", b"\xff" * 8), findings=("bext-time-reference-late",)
    ),
    "E24 version 65535": Case(make=with_bext("version", b"\xff\xff"), told=("bext-version",)),
    # What is not read is no reason to doubt the file; it is hashed with the rest.
    "E25 history of two mebibytes": Case(
        make=before(b"bext", BEXT[:602] + b"A=PCM\r\n" * 300_000),
        told=("bext-oversize",),
        findings=("history-not-r98",),
    ),
    # Nothing in it is unsafe to keep, so the verdict is fail; it is never decoded.
    "E26 IMA ADPCM": Case(make=with_fmt(0, b"\x11\0"), told=("fmt-coding",), verdict=FAIL),
    "E26 MS ADPCM": Case(make=with_fmt(0, b"\x02\0"), told=("fmt-coding",), verdict=FAIL),
    "E27 EXTENSIBLE without its extension": Case(
        make=with_fmt(0, b"\xfe\xff"), told=("fmt-short",), verdict=FAIL
    ),
    "E27 a GUID of no WAVE tag": Case(
        make=extensible(23, b"\0"), told=("fmt-coding",), verdict=FAIL
    ),
    "E27 size of the extension off": Case(
        make=extensible(0, b"\0\0"), told=("fmt-extension",), verdict=OPEN
    ),
    "E27 more valid bits than there are": Case(
        make=extensible(2, b"\x19\0"), told=("fmt-valid-bits",), verdict=OPEN
    ),
    "E27 more loudspeakers than channels": Case(
        make=extensible(4, b"\x07"), told=("fmt-mask",), verdict=OPEN
    ),
    "E28 65,535 channels": Case(
        make=with_fmt(2, b"\xff\xff"), told=("fmt-inconsistent",), verdict=FAIL
    ),
    # No figure contradicts another; what a tape cannot have given is a question.
    "E28 65,535 channels of one octet": Case(
        make=with_fmt(2, bytes.fromhex("FFFF 80BB0000 8044FFBB FFFF 0800")),
        told=("fmt-byte-rate", "incomplete-frame"),
        verdict=FAIL,
        findings=("no-audio", "wave-format-unlikely"),
    ),
    "E28 4 GHz": Case(
        make=with_fmt(2, bytes.fromhex("0100 00286BEE 00286BEE 0100 0800")),
        verdict=OPEN,
        findings=("wave-format-unlikely",),
    ),
    "E29 a second file behind the end": Case(
        make=lambda m: m.good() + m.good(), told=("trailing-octets",), verdict=OPEN
    ),
    "E30 no octet": Case(make=lambda _: b"", told=("not-wave",), verdict=FAIL),
    "E30 four octets": Case(make=lambda m: m.good()[:4], told=("not-wave",), verdict=FAIL),
    "E30 twelve octets": Case(
        make=lambda m: m.good()[:12], told=("riff-size", "no-fmt", "no-data"), verdict=FAIL
    ),
    "E30 twenty octets": Case(
        make=lambda m: m.good()[:20], told=("truncated", "no-data", "fmt-short"), verdict=FAIL
    ),
    "E30 zeros": Case(make=lambda m: bytes(len(m.good())), told=("not-wave",), verdict=FAIL),
    "E30 AIFF": Case(make=lambda _: b"FORM\0\0\0\4AIFF", told=("not-wave",), verdict=FAIL),
    "E30 MP3": Case(make=lambda _: b"ID3\4" + bytes(90), told=("not-wave",), verdict=FAIL),
    "E31 samples that are not numbers": Case(
        make=floats(0.5, math.nan, -math.inf), verdict=OPEN, findings=("samples-not-finite",)
    ),
    "E31 samples too small to be normal": Case(make=floats(1e-40, -1e-45)),
}

CASES: Mapping[str, Case] = {**SOUND, **MALFORMED, **HOSTILE}


def layout_of(content: bytes) -> Layout:
    return read_layout(io.BytesIO(content))


def seen(content: bytes) -> Survey:
    return survey(io.BytesIO(content), "data/audio/reel.wav")


def measured(record: FileRecord, layout: Layout, content: bytes) -> FileRecord:
    """Add what the samples show, for the one class of case that lies in them."""
    from tailsout.measure.onepass import measure  # noqa: PLC0415  it loads the meters

    assert layout.pcm is not None
    assert layout.data is not None
    facts = measure(
        io.BytesIO(content),
        layout.pcm,
        data_offset=layout.data.offset,
        data_octets=layout.data_octets,
        file_octets=len(content),
        advance=lambda _: None,
    ).facts
    figures = (facts.sample_peak_dbfs, facts.true_peak_dbtp, facts.integrated_lufs)
    assert all(one is None or one.is_finite() for one in figures)
    return replace(record, measured=facts)


def judged(name: str, content: bytes) -> Judgement:
    found = seen(content)
    record = found.record
    if name.startswith("E31"):
        record = measured(record, found.layout, content)
    return judge(Dossier(origin="closing", files=(record,), examined=frozenset({"headers"})))


@pytest.mark.parametrize("name", CASES)
def test_what_is_told_and_how_it_weighs(maker: Any, name: str) -> None:
    case = CASES[name]
    content = case.make(maker)
    damage = seen(content).record.container.damage
    judgement = judged(name, content)

    assert tuple(one.kind for one in damage) == case.told
    assert judgement.verdict is case.verdict
    others = [one.code for one in judgement.findings if not _is_damage(one, damage)]
    assert sorted(others) == sorted(case.findings)


def _is_damage(finding: Finding, damage: Any) -> bool:
    return any(finding.text.endswith(one.text) for one in damage)


@pytest.mark.parametrize("name", CASES)
def test_no_more_audio_is_claimed_than_there_is(maker: Any, name: str) -> None:
    content = CASES[name].make(maker)
    layout = layout_of(content)

    assert layout.data_octets <= len(content)
    if layout.data is not None:
        assert layout.data.offset + layout.data_octets <= len(content)
    if layout.pcm is not None:
        assert layout.frames * layout.pcm.frame_octets <= layout.data_octets


@pytest.mark.parametrize("name", CASES)
def test_whatever_bears_on_the_walk_says_whether_it_goes_on(maker: Any, name: str) -> None:
    about_the_whole = ("no-", "fmt-", "bext-", "duplicate-", "incomplete-", "ds64-samples")
    for one in seen(CASES[name].make(maker)).record.container.damage:
        assert one.text.endswith(".")
        assert one.text.isprintable()
        if not one.kind.startswith(about_the_whole):
            said = ("goes on", "stops", "walked", "nothing is lost")
            assert any(words in one.text for words in said), one


@pytest.mark.parametrize(
    ("name", "code", "exit_verdict"),
    [
        ("M06 pad octet not zero", "wave-untidy", PASS),
        ("M04 zeros behind the end", "wave-octets-behind-end", OPEN),
        ("E01 data larger than the file", "wave-cut-short", FAIL),
        ("E09 a great many chunks", "wave-too-many-chunks", LIMIT),
    ],
)
def test_a_package_is_judged_by_its_wave_file(
    maker: Any, tmp_path: Path, name: str, code: str, exit_verdict: Verdict
) -> None:
    from tailsout.ground.digests import digests_of  # noqa: PLC0415
    from tailsout.ground.progress import Silent  # noqa: PLC0415
    from tailsout.work.check import check  # noqa: PLC0415

    content = CASES[name].make(maker)
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "reel.wav").write_bytes(content)
    declaration = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    (tmp_path / "bagit.txt").write_text(declaration)
    digest = digests_of(content, ["sha512"])["sha512"]
    (tmp_path / "manifest-sha512.txt").write_text(f"{digest}  data/reel.wav\n")

    judgement = check(tmp_path, Silent()).judgement

    assert judgement.verdict is exit_verdict
    assert code in {one.code for one in judgement.findings}


# Where each fault is: a rule shows this offset to people who look with a hex editor.
PLACES: list[tuple[str, list[tuple[str, int]]]] = [
    ("M02 sizes of a stream", [("never-finished", 36), ("riff-size", 4)]),
    ("M13 BEXT", [("id-case", 12)]),
    ("M14 RF64 without ds64", [("ds64-missing", 12)]),
    (
        "M14 ds64 behind another chunk",
        [("ds64-missing", 12), ("ds64-unused", 20), ("never-finished", 80)],
    ),
    ("M14 sample count off", [("ds64-samples", 36)]),
    ("M19 data before fmt", [("fmt-after-data", 44)]),
    ("M21 no fmt", [("no-fmt", 12)]),
    ("E06 no data", [("no-data", 12)]),
    ("E07 rate 0", [("fmt-inconsistent", 22)]),
    ("M08 two data", [("duplicate-data", 68)]),
    ("E13 ds64 of 8 octets", [("ds64-short", 20)]),
    ("E15 ds64 table of 2^32-1 rows", [("ds64-table", 44)]),
    ("E15 ds64 rows that no chunk takes", [("ds64-row-unused", 20)]),
    ("E16 ds64 RIFF size 0", [("riff-ends-early", 20)]),
    ("E17 data size against ds64", [("ds64-mismatch", 72)]),
    ("M05 no pad octet", [("missing-pad", 25)]),
    ("M06 pad octet not zero", [("pad-not-zero", 25)]),
    ("M04 garbage behind the end", [("trailing-octets", 68)]),
    (
        "E18 odd audio without pad at the end",
        [("missing-final-pad", 67), ("incomplete-frame", 62)],
    ),
    ("M23 zeros where a chunk should be", [("bad-chunk-id", 36), ("no-data", 12)]),
]


@pytest.mark.parametrize(("name", "places"), PLACES)
def test_a_fault_is_placed_at_its_octet(
    maker: Any, name: str, places: list[tuple[str, int]]
) -> None:
    damage = layout_of(CASES[name].make(maker)).damage

    assert [(fault.kind, fault.offset) for fault in damage] == places


def test_the_likely_chunk_is_named_where_the_case_is_wrong(maker: Any) -> None:
    for name, likely in (("M13 FMT", "fmt"), ("M13 BEXT", "bext"), ("M13 list", "LIST")):
        assert f"'{likely}'" in layout_of(CASES[name].make(maker)).damage[0].text


def test_a_second_file_behind_the_end_is_called_one(maker: Any) -> None:
    (second,) = layout_of(CASES["E29 a second file behind the end"].make(maker)).damage
    (garbage,) = layout_of(CASES["M04 garbage behind the end"].make(maker)).damage

    assert "68 octets follow" in second.text
    assert "as another RIFF file" in second.text
    assert "another" not in garbage.text


def small_file(m: Any) -> bytes:
    """Every sort of chunk that the walk treats in a way of its own."""
    return bytes(
        m.wave(
            m.ds64(
                4 + 48 + 8 + len(BEXT) + 14 + 24 + 32 + 12 + 12,
                24,
                table=b"axml" + (4).to_bytes(8, "little"),
            ),
            m.chunk(b"bext", BEXT),
            m.chunk(b"note", b"INFOx"),
            m.fmt(),
            m.data(octets=ALL_ONES),
            m.chunk(b"cue ", bytes(4)),
            m.chunk(b"axml", b"<a/>", octets=ALL_ONES),
            form=b"RF64",
            riff_octets=ALL_ONES,
        )
    )


def test_a_file_cut_at_any_octet_is_told_and_claims_nothing(maker: Any) -> None:
    whole = small_file(maker)
    assert layout_of(whole).damage == ()
    data = layout_of(whole).data
    assert data is not None

    for octets in range(len(whole)):
        found = seen(whole[:octets])
        present = max(0, min(24, octets - data.offset))

        assert found.record.container.damage, octets
        assert found.layout.data_octets == (present if found.layout.data else 0)
        assert (found.record.frames or 0) * 6 <= present


@pytest.mark.parametrize("name", [*CASES, "every sort of chunk"])
def test_a_device_that_fails_at_any_operation_stops_the_work_and_nothing_else(
    maker: Any, failing: Any, name: str
) -> None:
    content = small_file(maker) if name not in CASES else CASES[name].make(maker)
    if name.startswith("E09"):
        content = content[:200]
    whole = seen(content)
    for good_operations in range(400):
        try:
            found = survey(failing(content, good_operations), "data/audio/reel.wav")
        except SurroundingsError:
            continue
        assert found == whole
        assert good_operations > 2
        return
    pytest.fail("it never came to an end")


@pytest.mark.parametrize("name", [*CASES, "every sort of chunk"])
def test_short_reads_make_no_difference(maker: Any, dribbling: Any, name: str) -> None:
    content = small_file(maker) if name not in CASES else CASES[name].make(maker)[:100_000]

    assert survey(dribbling(content), "data/audio/reel.wav") == seen(content)


@given(st.data())
def test_two_faults_at_once_are_survived(maker: Any, data: Any) -> None:
    first, second = (data.draw(st.sampled_from(sorted({*SOUND, *MALFORMED}))) for _ in range(2))
    head, tail = CASES[first].make(maker), CASES[second].make(maker)
    cut = data.draw(st.integers(0, len(head)))
    content = head[:cut] + tail[data.draw(st.integers(0, len(tail))) :]
    found = seen(content)

    assert found.layout.data_octets <= len(content)
    assert found == seen(content)
