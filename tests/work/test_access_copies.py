"""Access copies that `close` makes for a recipient, and what `amend` does with them."""

import io
import json
import math
import os
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import mutagen
import pytest
import soundfile

from tailsout.bag.open import open_bag
from tailsout.ground.errors import SurroundingsError
from tailsout.ground.findings import Severity, Verdict
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.measure.onepass import measure
from tailsout.wave.riff import read_layout
from tailsout.work import exports
from tailsout.work.check import check
from tailsout.work.close_out import Outcome, close
from tailsout.work.package import read_package
from tailsout.work.report import report

STEREO = Pcm(is_float=False, sample_rate_hz=96_000, channels=2, container_bits=24, valid_bits=24)
FRAMES = 96_000
SIDES = """
[[reel.identifiers]]
value = "HA/SKL/8"
[[reel.sides]]
id = "A"
[[reel.sides.regions]]
id = "A1"
kind = "leader"
capture = "a"
start = 0
end = 4800
[[reel.sides.regions]]
id = "A2"
kind = "programme"
capture = "a"
start = 4800
end = 52800
{A2}
[[reel.sides.regions]]
id = "A3"
kind = "programme"
capture = "a"
start = 52801
"""
FOUR = """
[[copies]]
format = "FLAC"
sample_rate_hz = 48000
bits = 16
per = "region"
[[copies]]
format = "MP3"
sample_rate_hz = 44100
kilobits_per_second = 256
per = "side"
tags = [{ tag = "title", text = "{identifier} side {side}" }, { tag = "date", text = "{date}" }]
[[copies]]
format = "Opus"
[[copies]]
format = "WAV"
"""
TWO = """
[[copies]]
format = "FLAC"
sample_rate_hz = 48000
bits = 16
per = "region"
[[copies]]
format = "Opus"
"""
COPIES = {
    "data/access/a-A2.flac": (4800, 52800, 48_000),
    "data/access/a-A3.flac": (52801, FRAMES, 48_000),
    "data/access/a-A.mp3": (4800, FRAMES, 44_100),
    "data/access/a.opus": (0, FRAMES, 48_000),
    "data/access/a.wav": (0, FRAMES, 96_000),
}


class Job:
    """A job of one capture for a recipient who asks for access copies."""

    def __init__(
        self,
        bench: Any,
        around: Callable[..., Any],
        close_job: Callable[..., Outcome],
        amend_package: Callable[..., Path],
    ) -> None:
        self.bench, self.around = bench, around
        self._close, self.amend = close_job, amend_package

    def lay(self, roles: str = FOUR, *, a2: str = "", wave: bytes | None = None) -> None:
        (self.bench.studio / "recipients/archive.toml").write_text(f'id = "archive"\n{roles}')
        content = self.bench.wave(STEREO, FRAMES) if wave is None else wave
        more = SIDES.replace("{A2}", a2)
        self.bench.fill(content, top='recipient = "archive"', more=more)

    def close(self, **how: Any) -> Outcome:
        outcome = self._close(**how)
        assert outcome.plan is not None, outcome.judgement.findings
        return outcome


@pytest.fixture
def job(
    bench: Any,
    around: Callable[..., Any],
    close_job: Callable[..., Outcome],
    amend_package: Callable[..., Path],
) -> Job:
    return Job(bench, around, close_job, amend_package)


def told(package: Path, name: str = "a") -> dict[str, Any]:
    car = json.loads((package / f"data/audio/{name}.json").read_bytes())["this_file"]
    return {one["path"]: one for one in car["copies"]}


def heard(data: bytes, pcm: Pcm) -> Any:
    """What the meters say of samples."""
    wave = io.BytesIO(data)
    return measure(
        wave,
        pcm,
        data_offset=0,
        data_octets=len(data),
        file_octets=len(data),
        advance=lambda _octets: None,
    ).facts


def decoded(path: Path) -> tuple[bytes, Pcm]:
    samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
    pcm = Pcm(
        is_float=True,
        sample_rate_hz=rate,
        channels=samples.shape[1],
        container_bits=32,
        valid_bits=32,
    )
    return samples.tobytes(), pcm


def test_what_the_recipient_asks_for_is_made(job: Job) -> None:
    job.lay()
    assert job.close().built is not None
    package = job.bench.package
    listed = told(package)
    assert {path: (one["start"], one["end"], one["sample_rate_hz"]) for path, one in listed.items()}
    assert set(listed) == set(COPIES)
    for path, (start, end, rate) in COPIES.items():
        one = listed[path]
        assert (one["start"], one["end"], one["sample_rate_hz"]) == (start, end, rate)
        assert (package / path).stat().st_size == one["octets"]
        assert one["steps"][-2]["step"] == "encoding"
    assert listed["data/access/a-A2.flac"]["regions"] == ["A2"]
    assert listed["data/access/a-A.mp3"]["regions"] == ["A2", "A3"]
    found = check(package, Silent()).judgement
    assert found.verdict in {Verdict.PASS, Verdict.OPEN}
    assert not {one.code for one in found.findings} & {"sidecar-missing", "copy-differs"}


def tone(frames: int = FRAMES) -> bytes:
    """997 Hz at −20 dBFS in both channels, as 24-bit words."""
    wave = (math.sin(2 * math.pi * 997 * n / FRAMES) / 10 for n in range(frames))
    words = (round(one * (1 << 23)).to_bytes(3, "little", signed=True) for one in wave)
    return b"".join(2 * word for word in words)


def test_they_last_and_sound_as_the_masters_stretch(job: Job) -> None:
    content = job.bench.wave(STEREO, FRAMES)
    essence = tone()
    job.lay(wave=content.replace(job.bench.samples(STEREO, FRAMES), essence))
    job.close()
    package = job.bench.package
    with (package / "data/audio/a.wav").open("rb") as stream:
        layout = read_layout(stream)
        assert layout.data is not None
        stream.seek(layout.data.offset)
        assert stream.read(layout.data.octets) == essence
    for path, (start, end, rate) in COPIES.items():
        data, pcm = decoded(package / path)
        frames = len(data) // pcm.frame_octets
        assert pcm.sample_rate_hz == rate
        assert abs(frames / rate - (end - start) / FRAMES) <= 1 / rate, path
        assert frames == told(package)[path]["frames"]
        own = heard(essence[start * 6 : end * 6], STEREO).integrated_lufs
        copied = heard(data, pcm).integrated_lufs
        assert own is not None
        assert copied is not None
        assert abs(own - copied) <= (Decimal("0.1") if path.endswith("3") else Decimal("0.05"))


def test_the_copy_at_the_masters_own_rate_and_depth_has_its_samples(job: Job) -> None:
    job.lay()
    job.close()
    data, rate = soundfile.read(job.bench.package / "data/access/a.wav", dtype="int32")
    own = job.bench.samples(STEREO, FRAMES)
    assert rate == FRAMES
    assert data.tobytes()[1::4] == own[0::3]
    assert data.tobytes()[3::4] == own[2::3]
    copy = (job.bench.package / "data/access/a.wav").read_bytes()
    # The PRONOM identifier that descriptions state is that of a `fmt ` chunk of this size.
    assert copy[12:20] == b"fmt " + (16).to_bytes(4, "little")
    assert [one["step"] for one in told(job.bench.package)["data/access/a.wav"]["steps"]] == [
        "encoding",
        "tags",
    ]


def test_tags_say_what_was_asked_and_what_it_is_made_of(job: Job) -> None:
    job.lay()
    job.close()
    package = job.bench.package
    identity = json.loads((package / "data/audio/a.json").read_bytes())["this_file"]["id"]
    tags = mutagen.File(package / "data/access/a-A.mp3").tags
    assert str(tags["TIT2"]) == "HA/SKL/8 side A"
    assert str(tags["TDRC"]) == "2026-03-14"
    assert str(tags["COMM::und"]) == f"Made of data/audio/a.wav, file {identity}"
    opus = mutagen.File(package / "data/access/a.opus").tags
    assert opus["album"] == [job.bench.package_id]
    assert opus["title"] == ["Reel 1"]


def test_the_same_job_makes_the_same_octets(job: Job) -> None:
    made = []
    for number in range(2):
        job.lay()
        job.close()
        made.append(job.bench.tree(job.bench.package))
        job.bench.package.rename(job.bench.root / f"kept-{number}")
        job.bench.receipt.unlink()
    assert made[0] == made[1]


def test_a_plan_names_them(job: Job) -> None:
    job.lay()
    plan = job.close(only_plan=True).plan
    assert plan is not None
    assert set(COPIES) <= {one.path for one in plan.payload}
    assert not job.bench.out.exists()


def test_they_are_called_by_the_recipients_template(job: Job) -> None:
    names = '[names]\ntemplate = "{identifier}_{side}[_{region}]_{role}"\nseparator = "-"\n'
    role = '[[roles]]\nrole = "access"\nfolder = "Service"\nsuffix = "ac"\n'
    job.lay(f'{names}{role}[[copies]]\nformat = "FLAC"\nper = "region"\n')
    # The master holds two programmes, so that its name has no region.
    job.close()
    copies = told(job.bench.package, "HA-SKL-8_A_master")
    assert set(copies) == {
        "data/Service/HA-SKL-8_A_A2_ac.flac",
        "data/Service/HA-SKL-8_A_A3_ac.flac",
    }


@pytest.mark.parametrize(
    ("copies", "says"),
    [
        ('format = "WAV"\n[[roles]]\nrole = "access"\nfolder = "audio"', "folder of the masters"),
        ('format = "MP3"\nbits = 16', "16 bits a sample as MP3"),
        ('format = "FLAC"\nkilobits_per_second = 192', "kilobits as FLAC"),
        ('format = "MP3"\nkilobits_per_second = 64', "64 kbit/s as MP3"),
        ('format = "MP3"\nsample_rate_hz = 96000', "32000, 44100, 48000"),
        ('format = "Opus"\nsample_rate_hz = 44100', "44100 Hz as Opus"),
        ('format = "WAV"\ncorrections = ["speed"]', "not of one region each"),
        (
            'format = "WAV"\ntags = [{ tag = "title", text = "{colour}" }]',
            "tag title",
        ),
        (
            'format = "WAV"\n[[copies]]\nformat = "WAV"',
            "Two access copies",
        ),
    ],
)
def test_what_cannot_be_made_is_refused_before_the_first_pass(
    job: Job, copies: str, says: str
) -> None:
    job.lay(f"[[copies]]\n{copies}\n")
    assert says in impossible(job)
    assert not job.bench.out.exists()


def impossible(job: Job) -> str:
    """What is told of a copy that cannot be made, at the recipient's wish for it."""
    outcome = close(job.bench.job, job.bench.out, job.around())
    (told,) = (f for f in outcome.judgement.findings if f.code == "access-copy-impossible")
    assert (outcome.built, outcome.judgement.verdict) == (None, Verdict.FAIL)
    assert told.place.part == "copies"
    return told.text


def test_a_format_that_holds_two_channels_is_refused_for_more(job: Job) -> None:
    pcm = Pcm(is_float=False, sample_rate_hz=48_000, channels=4, container_bits=24, valid_bits=24)
    wave = job.bench.wave(pcm, FRAMES)
    job.lay('[[copies]]\nformat = "MP3"\n', wave=wave)
    assert "2 channels at most, and it has 4" in impossible(job)


def test_a_full_disk_stops_it(job: Job, full_disk: Callable[[int], Any]) -> None:
    job.lay('[[copies]]\nformat = "Opus"\n')
    with pytest.raises(SurroundingsError):
        close(job.bench.job, job.bench.out, job.around(disk=full_disk(20_000)))
    assert not job.bench.package.exists()


CORRECTED = """
[[copies]]
format = "WAV"
bits = 24
per = "region"
corrections = ["speed", "equalisation"]
"""


def test_speed_and_curve_are_put_right_where_a_region_says_so(job: Job) -> None:
    played = "speed_ips = 7.5\nequalisation = { t1_us = 3180, t2_us = 50 }\n"
    recorded = "recorded_speed_ips = 3.75\nrecorded_equalisation = { t1_us = 3180, t2_us = 90 }\n"
    job.lay(CORRECTED, a2=played + recorded)
    job.close()
    copies = told(job.bench.package)
    one = copies["data/access/a-A2.wav"]
    assert one["frames"] == 2 * (one["end"] - one["start"])
    steps = {step["step"]: step["how"] for step in one["steps"]}
    assert "2:1" in steps["speed correction"]
    # A tape of 3¾ ips captured at 7½ NAB has 0.64 and 0.66 dB too much (τ · k, derived).
    assert "10000 Hz -0.64 dB" in steps["equalisation correction"]
    assert "15000 Hz -0.66 dB" in steps["equalisation correction"]
    assert [step["step"] for step in copies["data/access/a-A3.wav"]["steps"]] == [
        "encoding",
        "tags",
    ]
    assert check(job.bench.package, Silent()).judgement.verdict is not Verdict.FAIL


def test_a_correction_of_which_half_is_unsaid_is_refused(job: Job) -> None:
    job.lay(CORRECTED, a2="recorded_speed_ips = 3.75\n")
    assert "speed at which it was played" in impossible(job)
    job.lay(CORRECTED, a2="recorded_equalisation = { t2_us = 35 }\n")
    assert "time constants of both" in impossible(job)


def test_an_amendment_carries_them_over(job: Job) -> None:
    job.lay(TWO)
    job.close()
    new = job.amend('[[statements]]\nat = "note"\nchange = "added"\nnow = "found later"')
    assert told(new) == told(job.bench.package)
    for path in told(new):
        assert (new / path).read_bytes() == (job.bench.package / path).read_bytes()
    told_of = (new / "metadata/premis.xml").read_bytes()
    assert told_of.count(b"<dateCreatedByApplication>/2026-") == len(told(new))
    assert check(new, Silent()).judgement.verdict is not Verdict.FAIL


def test_a_region_that_moves_has_its_copy_made_anew(job: Job) -> None:
    job.lay()
    job.close()
    new = job.amend(
        '[[statements]]\nat = "reel.sides[1].regions[2].start"\nchange = "corrected"\nnow = 9600',
    )
    before, after = told(job.bench.package), told(new)
    assert after["data/access/a-A2.flac"]["start"] == 9600
    assert after["data/access/a-A.mp3"]["start"] == 9600
    assert after["data/access/a-A3.flac"] == before["data/access/a-A3.flac"]
    changed = json.loads((new / "metadata/amendments.json").read_bytes())["amendments"][0]["files"]
    assert {"path": "data/access/a-A2.flac", "change": "replaced"} in changed
    assert check(new, Silent()).judgement.verdict is not Verdict.FAIL


def test_a_withdrawn_copy_is_told_of_no_more(job: Job) -> None:
    job.lay(TWO)
    job.close()
    new = job.amend('[[files]]\npath = "data/access/a.opus"\nchange = "withdrawn"')
    assert not (new / "data/access/a.opus").exists()
    assert set(told(new)) == {"data/access/a-A2.flac", "data/access/a-A3.flac"}


def test_a_copy_that_was_exchanged_is_told(job: Job, reseal: Callable[[Path], None]) -> None:
    job.lay(TWO)
    job.close()
    package = job.bench.package
    (package / "data/access/a-A2.flac").write_bytes(
        (package / "data/access/a-A3.flac").read_bytes()
    )
    (package / "data/access/a.opus").unlink()
    reseal(package)
    codes = {one.code for one in check(package, Silent()).judgement.findings}
    assert {"copy-differs", "copy-missing"} <= codes


def test_the_package_is_told_alike_when_it_is_received(job: Job) -> None:
    job.lay()
    judged = job.close()
    assert judged.built is not None
    package = job.bench.package
    with open_bag(package) as bag:
        dossier = read_package(bag)
    told_then = json.loads((package / "metadata/checks.json").read_text("utf-8"))
    found = [(one["code"], Severity(one["severity"])) for one in told_then["findings"]]
    checks = exports.summary(Verdict(told_then["verdict"]), found).encode()
    packed = [view for view in exports.packed_views(dossier) if view.lost]
    assert packed
    for view in packed:
        made = view.render(dossier, (), {"checks": checks})
        assert made == (package / view.path).read_bytes(), view.path
    page = report(package, Silent()).decode()
    assert "1 audio file, 1 s in all." in page
    assert "1 audio file, 1 s in all." in (package / "metadata/report.html").read_text("utf-8")


def test_a_better_transfer_has_copies_of_its_own(job: Job) -> None:
    job.lay(TWO)
    job.close()
    better = job.bench.root / "a.wav"
    sound, other = (job.bench.samples(STEREO, FRAMES, seed) for seed in (1, 2))
    better.write_bytes(job.bench.wave(STEREO, FRAMES).replace(sound, other))
    os.utime(better, (1_700_000_000, 1_700_000_000))
    new = job.amend(
        '[[files]]\npath = "data/audio/a.wav"\nchange = "replaced"\nfrom = "a.wav"',
    )
    before, after = told(job.bench.package), told(new)
    assert set(after) == set(before)
    assert all(after[path]["sha256"] != before[path]["sha256"] for path in after)
    assert check(new, Silent()).judgement.verdict is not Verdict.FAIL


def test_copies_of_a_flac_master_are_made_anew_from_it(job: Job) -> None:
    job.lay(f'master_format = "FLAC"\n{TWO}')
    job.close()
    assert (job.bench.package / "data/audio/a.flac").is_file()
    new = job.amend(
        '[[statements]]\nat = "reel.sides[1].regions[2].end"\nchange = "corrected"\nnow = 40000',
    )
    after = told(new)
    assert after["data/access/a-A2.flac"]["end"] == 40_000
    assert after["data/access/a.opus"] == told(job.bench.package)["data/access/a.opus"]
    assert check(new, Silent()).judgement.verdict is not Verdict.FAIL
