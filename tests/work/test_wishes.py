"""What a recipient wants inside the masters: written, read by others, judged, and nothing else."""

import io
from collections.abc import Callable
from typing import Any

import pytest
import wavinfo

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.wave import info, marks
from tailsout.wave.info import Entry
from tailsout.wave.marks import Mark
from tailsout.wave.riff import read_layout
from tailsout.work import replaced
from tailsout.work.check import check
from tailsout.work.close_out import close

REGIONS = """
[[reel.sides]]
id = "A"
[[reel.sides.regions]]
id = "A1"
kind = "programme"
title = "entry one"
capture = "a"
start = 0
end = 4000
[[reel.sides.regions]]
id = "A2"
kind = "leader"
capture = "a"
start = 4000
"""
OWN_INFO = info.encode([Entry(id="INAM", text="Take 7"), Entry(id="ISFT", text="Groyne 4.2")])
OWN_MARKS = marks.write([Mark(frame=5, label="take")], 9600)


def wished(bench: Any, around: Callable[..., Any], wishes: str, **wave: Any) -> bytes:
    (bench.studio / "recipients/archive.toml").write_text(f'id = "archive"\n{wishes}\n')
    bench.fill(bench.wave(own=bench.own_bext(), **wave), top='recipient = "archive"', more=REGIONS)
    before = bench.sources()
    outcome = close(bench.job, bench.out, around())
    assert {k: v for k, v in bench.sources().items() if "/logbook" not in k} == before
    assert outcome.judgement.verdict is Verdict.PASS
    assert check(bench.package, Silent()).judgement.verdict is Verdict.PASS
    octets: bytes = (bench.package / "data/audio/a.wav").read_bytes()
    return octets


def ids(octets: bytes) -> list[bytes]:
    layout = read_layout(io.BytesIO(octets))
    assert layout.damage == ()
    return [chunk.id for chunk in layout.chunks]


def kept(bench: Any) -> dict[str, bytes]:
    folder = bench.package / "metadata/as-captured"
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_without_wishes_the_master_has_no_marks_and_no_info(
    bench: Any, around: Callable[..., Any]
) -> None:
    octets = wished(bench, around, "")
    assert ids(octets) == [b"bext", b"fmt ", b"data"]
    assert list(kept(bench)) == ["a.bext"]


def test_all_wishes_at_once_are_read_by_another_reader(
    bench: Any, around: Callable[..., Any]
) -> None:
    wishes = (
        'originator = "IE, HARBOUR"\numid = true\nembedding_guideline = "FADGI"\n'
        'marks = ["cue", "axml", "iXML"]\n[[info]]\nid = "INAM"\nsays = "title"\n'
    )
    octets = wished(bench, around, wishes)
    assert ids(octets) == [
        b"bext", b"LIST", b"fmt ", b"data", b"cue ", b"LIST", b"axml", b"iXML",
    ]  # fmt: skip
    seen = wavinfo.WavInfoReader(str(bench.package / "data/audio/a.wav"))
    assert seen.info.title == "Reel 1"
    assert seen.info.archival_location == "IE, HARBOUR"
    assert seen.bext.originator == "IE, HARBOUR"
    assert any(seen.bext.umid)
    assert [(at, seen.cues.label_and_note(one)[0]) for one, at in seen.cues.each_cue()] == [
        (0, "side A: programme, entry one"),
        (4000, "side A: leader"),
    ]
    assert seen.ixml.tape == "TT-1"


def test_what_the_capture_said_itself_gives_way_and_is_kept(
    bench: Any, around: Callable[..., Any]
) -> None:
    octets = wished(
        bench,
        around,
        'marks = ["cue"]\n[[info]]\nid = "INAM"\nsays = "title"\n',
        before=[(b"LIST", OWN_INFO)],
        after=[(b"cue ", OWN_MARKS[0]), (b"LIST", OWN_MARKS[1]), (b"zzzz", b"theirs")],
    )
    assert ids(octets) == [b"bext", b"LIST", b"fmt ", b"data", b"zzzz", b"cue ", b"LIST"]
    layout = read_layout(io.BytesIO(octets))
    one = layout.chunks[1]
    assert info.decode(octets[one.offset : one.offset + one.octets])[0] == (
        Entry(id="INAM", text="Reel 1"),
        Entry(id="ISFT", text="Groyne 4.2"),
    )
    assert kept(bench) == {
        "a.INFO": OWN_INFO,
        "a.adtl": OWN_MARKS[1],
        "a.bext": bench.own_bext(),
        "a.cue": OWN_MARKS[0],
    }


def test_a_list_too_large_to_be_kept_is_refused_before_a_byte_is_written(
    bench: Any, around: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(replaced, "MAX_AROUND_OCTETS", 20)
    bench.fill(bench.wave(before=[(b"LIST", OWN_INFO)]))
    with pytest.raises(MaterialError, match="The LIST chunk at octet 12 has"):
        close(bench.job, bench.out, around())
    assert not bench.out.exists()
