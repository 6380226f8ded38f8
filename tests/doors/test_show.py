"""`tailsout show` for people, for programs, and for one chunk: output and exit codes."""

import json
import os
import pty
import struct
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.doors.cli import run
from tailsout.mapping import schemas
from tailsout.wave import info, marks, umid

Cli = Callable[..., Any]
EVIL = "\x1b[2J\x1b]0;x\x07\u202e"


def lines(text: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in text.splitlines()]


def rich(bench: Any) -> bytes:
    """A file with one of everything that is read."""
    cues, labels = marks.write(
        [marks.Mark(frame=0, label="slate", frames=48, text="spoken"), marks.Mark(frame=96)], 480
    )
    row = struct.pack("<H12s14s11sx", 1, b"ATU_00000001", b"AT_00010001_01", b"AP_00010001")
    envelope = struct.pack("<8I88x", 0, 2, 1, 256, 1, 0, 0xFFFFFFFF, 128)
    ixml = (
        b"<BWFXML><SPEED><FILE_SAMPLE_RATE>48000</FILE_SAMPLE_RATE></SPEED><TRACK_LIST><TRACK>"
        b"<NAME>left</NAME></TRACK></TRACK_LIST><BEXT><BWF_UMID>0</BWF_UMID></BEXT></BWFXML>"
    )
    own = bench.own_bext(
        umid=umid.basic(bytes(16)), originator_reference="XXSPRGRY42  0001710210700820630"
    )
    return bytes(
        bench.wave(
            frames=480,
            own=own,
            after=(
                (b"CSET", struct.pack("<HHHH", 1252, 0, 0, 0)),
                (b"fact", (480).to_bytes(4, "little")),
                (b"cue ", cues),
                (b"LIST", labels),
                (b"LIST", info.encode([info.Entry(id="INAM", text="Fog")])),
                (b"chna", struct.pack("<HH", 1, 1) + row),
                (b"levl", envelope),
                (b"cart", b"0101".ljust(684, b"\0") + b"SEGs" + bytes(1360)),
                (b"iXML", ixml + b" " * (len(ixml) % 2)),
                (b"axml", b'<a xmlns="urn:b"/>'),
                (b"id3 ", b"ID3"),
            ),
        )
    )


def damaged(bench: Any) -> bytes:
    content: bytes = rich(bench)
    return content.replace(b"<a xmlns", b"<a!xmlns").replace(b"Fog\0", b"Fog!")[:-3]


def test_help_names_what_it_takes(cli: Cli) -> None:
    ran = cli("show", "--help")
    assert ran.code == 0
    assert "LIST:2 is the second LIST" in " ".join(ran.out.split())


def test_several_files_come_one_behind_the_other(cli: Cli, bench: Any) -> None:
    good, cut = bench.put("a.wav", rich(bench)), bench.put("b.wav", damaged(bench))
    ran = cli("show", good, cut, bench.put("c.wav", b""), good)
    assert ran.code == 1
    assert ran.out.count(f"{good}\n-") == 2
    assert f"\n\n{cut}\n-" in ran.out
    assert ran.err == (
        f"tailsout: {bench.job}/c.wav is not a package, job or audio file: it is empty. "
        "Name a package, a job folder or a wave or FLAC file.\n"
    )
    assert cli("show", good, good).code == 0
    assert cli("show", good, bench.root / "nothing").code == 2


def test_programs_get_one_line_a_file(cli: Cli, bench: Any) -> None:
    good, bad = bench.put("a.wav", rich(bench)), bench.put("b.wav", damaged(bench))
    strange = bench.put("c.wav", b"FORM\0\0\0\x10AIFFCOMM")
    ran = cli("show", "--json", good, bad, strange, bench.root / "nothing")
    told = lines(ran.out)
    assert [schemas.faults(one, "show-0.1") for one in told] == [()] * 4
    assert ran.code == 2
    assert [one.get("exit_code") for one in told] == [None, None, 1, 2]
    assert cli("show", "--json", good).code == 0
    assert cli("show", "--json", good, bad).code == 1

    first, second = told[:2]
    properties = schemas.schema("show-0.1")["$defs"]["tags"]["properties"]
    assert set(properties) - set(first["tags"]) == {"history_remarks", "source"}
    assert first["tags"]["reference_remark"] == ""
    assert first["findings"] == first["damage"] == []
    assert first["chunks"][0] == {
        "id": "bext",
        "offset": 20,
        "octets": first["chunks"][0]["octets"],
        "pad": 0,
        "what": "broadcast extension (EBU Tech 3285)",
    }
    assert first["bext"]["originator"] == "Groyne recorder 4.2"
    assert [one["kind"] for one in second["damage"]] == ["truncated", "info-unended"]
    assert [one["code"] for one in second["findings"]] == [
        "wave-cut-short",
        "xml-malformed",
        "wave-chunk-faulty",
    ]


@pytest.mark.parametrize(
    "spoilt",
    [
        {"form": "AIFF"},
        {"octets": -1},
        {"chunks": [{"id": "fmt "}]},
        {"damage": None},
        {"findings": [{}]},
        {"tags": {"more": 1}},
        {"bext": {}},
        {"exit_code": 1, "error": "x"},
        {"more": 1},
    ],
)
def test_a_line_told_otherwise_is_not_allowed(
    cli: Cli, bench: Any, spoilt: dict[str, object]
) -> None:
    (told,) = lines(cli("show", "--json", bench.put("a.wav", rich(bench))).out)
    assert schemas.faults(told, "show-0.1") == ()
    assert schemas.faults({**told, **spoilt}, "show-0.1")


def test_of_a_package_and_a_job_each_audio_file_is_a_line(
    cli: Cli, closed: Path, bench: Any
) -> None:
    told = lines(cli("show", "--json", closed, bench.job).out)
    assert [schemas.faults(one, "show-0.1") for one in told] == [(), ()]
    assert [one["path"] for one in told] == [
        f"{closed}/data/audio/a.wav",
        f"{bench.job}/captures/a.wav",
    ]


def test_a_file_inside_a_package(cli: Cli, closed: Path) -> None:
    ran = cli("show", closed / "data/audio/a.wav")
    assert ran.code == 0
    assert "originator            Saltpan Row\n" in ran.out
    assert "What is wrong: nothing" in ran.out


def test_no_text_of_a_file_reaches_the_terminal_raw(cli: Cli, bench: Any) -> None:
    evil = EVIL.encode()
    own = bytearray(bench.own_bext(umid=umid.basic(bytes(16))))
    own[: len(evil)] = evil
    own += evil + b"\r\n"
    cues, _ = marks.write([marks.Mark(frame=0)], 480)
    label = b"labl" + struct.pack("<II", 4 + len(evil) + 1, 1) + evil + b"\0"
    name = b"INAM" + struct.pack("<I", len(evil) + 1) + evil + b"\0"
    ixml = "<BWFXML><NOTE>\u202e\x9b</NOTE><BEXT><BWF_\u0301/></BEXT></BWFXML>".encode()
    row = struct.pack("<H12s14s11sx", 1, evil[:12], evil[:14], evil[:11])
    content = bench.wave(
        frames=480,
        own=bytes(own),
        after=(
            (b"cue ", cues),
            (b"LIST", b"adtl" + label),
            (b"LIST", b"INFO" + name),
            (b"LIST", evil[:4]),
            (b"iXML", ixml),
            (b"chna", struct.pack("<HH", 1, 1) + row),
            (b"cart", (b"0101" + evil).ljust(2048, b"\0")),
            (evil[:4], b"x"),
        ),
    )
    path = bench.put(f"{EVIL}.wav", content)
    for arguments in (["show", path], ["show", "--json", path], ["show", "--raw", EVIL, path]):
        ran = cli(*arguments)
        assert ran.code in {0, 1}
        for text in (ran.out, ran.err):
            assert text.replace("\n", "").isprintable()
    assert "\\x1b[2J" in cli("show", path).out


# Octets of one chunk


def test_a_payload_is_written_octet_for_octet(
    bench: Any, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    octets = bytes(range(256)) * 12_000 + b"\r\n\0"
    path = bench.put("a.wav", bench.wave(frames=4, after=((b"blob", octets),)))
    assert run(["show", "--raw", "blob", str(path)]) == 0
    assert capfdbinary.readouterr() == (octets, b"")


def test_what_a_cut_payload_lacks_is_told(
    bench: Any, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    path = bench.put("a.wav", bench.wave(frames=480)[:-10])
    assert run(["show", "--raw", "data", str(path)]) == 1
    out, err = capfdbinary.readouterr()
    assert out == bench.samples(bench.pcm, 480)[:-10]
    assert err == b"tailsout: the file lacks the last 10 octets of it.\n"


def test_a_chunk_that_is_not_there(cli: Cli, bench: Any) -> None:
    ran = cli("show", "--raw", "bext", bench.put("a.wav", bench.wave(frames=4)))
    assert (ran.code, ran.out) == (1, "")
    assert ran.err.endswith("a.wav has no chunk 'bext'; it has fmt, data.\n")
    assert cli("show", "--raw", "bext", bench.root / "nothing").code == 2
    assert cli("show", "--raw", "bext", bench.root).code == 2


@pytest.mark.parametrize(
    ("payload", "is_written"),
    [
        ("<note>fog, ½ mile</note>\r\n\tend".encode(), True),
        (b"", True),
        ("½".encode() * 800_000, True),
        (b"\x1b[2J", False),
        (b"text\0", False),
        (b"one line\rup and away", False),
        (b"x" * ((1 << 20) - 1) + b"\r\nend", True),
        (b"\xff", False),
        ("½".encode()[:1], False),
        ("\u202e".encode(), False),
        (b"x" * 1_500_000 + b"\x07", False),
    ],
)
def test_a_terminal_gets_nothing_but_text(bench: Any, payload: bytes, *, is_written: bool) -> None:
    path = bench.put("a.wav", bench.wave(frames=4, after=((b"blob", payload),)))
    code, shown = in_a_terminal(["show", "--raw", "blob", str(path)])
    if is_written:
        assert (code, shown) == (0, payload.replace(b"\n", b"\r\n"))
    else:
        assert code == 2
        assert b"nothing was written" in shown
        assert payload[-3:] not in shown


def in_a_terminal(arguments: list[str]) -> tuple[int, bytes]:
    """Run a command line in a process of its own that has a terminal; exit code and output."""
    child, terminal = pty.fork()
    if child == 0:
        os.execv(sys.executable, [sys.executable, "-m", "tailsout", *arguments])  # noqa: S606
    shown = bytearray()
    try:
        while block := os.read(terminal, 1 << 16):
            shown += block
    except OSError:
        pass  # Linux tells so that the other end of a terminal is closed.
    os.close(terminal)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), bytes(shown)


def test_what_lies_beside_packages_is_not_shown(cli: Cli, closed: Path) -> None:
    named = sorted(closed.parent.iterdir())
    assert [one.name for one in named if one.is_file()] == ["TT-1.label.svg", "TT-1.receipt.json"]
    ran = cli("show", *named)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == cli("show", closed).out
    alone = cli("show", closed.with_name("TT-1.receipt.json"))
    assert alone.code == 2
    assert "lies beside a package and is not one" in alone.err
