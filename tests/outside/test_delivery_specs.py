"""Published delivery specifications turned into recipients' forms; packages good and broken.

What each asks was read in the published text or is said to be from memory beside it. The forms are
ours: no specification is copied, and a form asks what can be asked of a transfer of a tape.
"""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.findings import Judgement, Severity, Verdict
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.records.machine import HoursSince
from tailsout.rules import GROUPS, judge
from tailsout.work.check import check
from tailsout.work.close_out import close
from tailsout.work.surroundings import Surroundings

SPOKEN_FOR = {
    kind.code for group in ("recipient", "names") for rule in GROUPS[group] for kind in rule.kinds
} | {"care-interval-passed", "fadgi-departs", "form-value"}
"""Codes that speak of what a recipient asks; of others these small packages have some."""

STUDIO = {
    "machines/left.toml": 'id = "left"\nmaker = "Tidewright"\nmodel = "Mark 3"\nserial = "0412"\n',
    "converters/c2.toml": 'id = "c2"\nmaker = "Thwart"\nmodel = "C2"\nserial = "C2-118"\n',
    "calibration_tapes/ct.toml": (
        'id = "ct"\nmaker = "Marlspike"\nnumber = "7"\nreference_fluxivity_nwb_m = 250\n'
    ),
    "people.toml": '[[people]]\nid = "isolde"\nname = "Isolde Varga-Finch"\n',
    "sessions/day.toml": (
        'id = "day"\non = 2026-03-14\nby = "isolde"\nmachine = "left"\nconverter = "c2"\n'
        '[[settings]]\nid = "7"\nspeed_ips = 7.5\ntape = "ct"\n'
        'outcome = "verified, nothing moved"\n'
    ),
}
REGION = """
[[reel.sides.regions]]
id = "{id}"
kind = "programme"
capture = "{capture}"
start = 0
speed_ips = {speed}
equalisation = {{ standard = "NAB", t1_us = 3180, t2_us = {t2} }}
tracks = "half-track stereo"
direction = "forward"
noise_reduction = "none"
basis = ["label", "voice by ear"]
confidence = "likely"
"""
JOB = (
    """
job_id = "0b4e3c1e-6a0e-4e0b-9a53-6d1f5f3b2c07"
package_id = "myd-1042"
studio = "../studio"
recipient = "archive"
[recording]
generation = "original"
rights = { holder = "Skerrow Light Trust", restriction = "none" }
[work]
id = "logs"
part = 7
[reel]
title = "Reel 7"
end_out_on_leaving = "tails"
width_mm = 6.3
diameter_in = 7
[[reel.identifiers]]
value = "quill_oran_1042"
kind = "local number"
[[reel.condition]]
moment = "on arrival"
by = "isolde"
note = "flat and dry"
[[reel.images]]
file = "images/box.jpg"
role = "box"
[[reel.images]]
file = "images/face.jpg"
role = "reel face"
[[reel.stock]]
id = "s1"
maker = "Marlspike"
number = "unknown"
base = "polyester"
thickness_um = 35
back_coat = false
[[reel.sides]]
id = "A"
"""
    + REGION.format(id="A1", capture="a", speed=7.5, t2=50)
    + REGION.format(id="A2", capture="b", speed=3.75, t2=90)
    + """overlap_seconds = 5
[[passes]]
id = "p1"
session = "day"
sides = ["A"]
[[captures]]
id = "a"
file = "captures/a.wav"
pass_id = "p1"
started = 2026-03-14T10:21:07Z
program = "Groyne recorder 4.2"
[[captures]]
id = "b"
file = "captures/b.wav"
pass_id = "p1"
started = 2026-03-14T10:51:30Z
program = "Groyne recorder 4.2"
[[listening]]
by = "isolde"
share_percent = 100
verdict = "accepted"
"""
)


def required(*keys: str, absences: str = "") -> str:
    return "".join(
        f'[[asked]]\nkey = "{key}"\nlevel = "required"\nabsences = [{absences}]\n' for key in keys
    )


REGION_KEY = "reel.sides[].regions[]"
# New York Public Library, audio specifications, vendor handling and QC, all read (early version):
# components with two digits, folders by role, no empty field, terms from lists only, overlap of
# exactly 5 s where the speed changes, 30 s heard at three places, volume of ten characters, one
# order a volume, md5 and BagIt 0.97 as a folder. Roles' folders are called so from memory.
NEW_YORK = (
    """
extra_algorithms = ["md5"]
stop_at_speed_change = true
images = ["box", "reel face"]
[names]
template = "{package}_v01f{side-number:02}[r{region-number:02}]_{role}"
allowed = "POSIX portable"
[[roles]]
role = "master"
folder = "PreservationMasters"
suffix = "pm"
required = true
[[roles]]
role = "image"
folder = "Images"
required = true
[bag]
version = "0.97"
serialisation = "folder"
[overlap]
seconds = 5
at = ["speed change"]
[listening_sample]
seconds = 30
positions = ["beginning", "middle", "end"]
[drive]
volume_name = "??????????"
one_order = true
hidden_files_refused = true
[[terms]]
key = "reel.stock[].base"
words = ["polyester", "cellulose acetate", "PVC", "paper"]
"""
    + required(
        "machines[].serial",
        "converters[].serial",
        "captures[].program",
        "reel.stock[].base",
        f"{REGION_KEY}.speed_ips",
        f"{REGION_KEY}.tracks",
        f"{REGION_KEY}.noise_reduction",
    )
    + required("reel.stock[].maker", "reel.stock[].number", absences='"unknown"')
)
# Columbia University Libraries, file naming and BEXT specification of 2010, read: person and number
# of the library system, tape, face, a letter for the role; folders Master, Rendered, Service; md5.
COLUMBIA = """
extra_algorithms = ["md5"]
[names]
template = "{identifier:local-number}_{work-part:03}_{side-number:02}_{capture-number}_{role}"
[[roles]]
role = "master"
folder = "Master"
suffix = "m"
required = true
[[embedded]]
chunk = "bext"
field = "OriginatorReference"
text = "{identifier:local-number}_{work-part:03}_{side-number:02}"
"""
# U.S. National Archives, preservation products AUD-P1, read: 24 bit and 96 kHz; recorded
# technical values are those of the file.
NATIONAL = """
[[terms]]
key = "this_file.pcm.sample_rate_hz"
words = ["96000"]
[[terms]]
key = "this_file.pcm.valid_bits"
words = ["24"]
""" + required("this_file.pcm.channels", "captures[].program")
# FADGI, guideline on metadata in Broadcast WAVE, read at second hand: country code, comma, blank
# and archiving body as Originator; identifiers as Description; IARL in INFO.
FADGI = 'originator = "IE, Harbour Archive"\nembedding_guideline = "FADGI"\n'
# IASA-TC 04 §5.4.7, read: clean after 4 h, demagnetise after 8 h, check after 30 h, full alignment
# every 6 months; §5.4.10: equalisation with its time constants; §3.7: the transfer's machines.
TC_04 = """
[care_intervals]
clean_hours = 4
demagnetise_hours = 8
check_hours = 30
full_check_months = 6
""" + required(
    f"{REGION_KEY}.equalisation.t2_us",
    "machines[].model",
    "sessions[].settings[].tape",
    "calibration_tapes[].reference_fluxivity_nwb_m",
)
# IASA-TC 05 §2.2.1.1.4, read: recalibration after 50 to 100 playing hours; here the longer one.
TC_05 = "[care_intervals]\ncheck_hours = 100\n"
# Carnegie Hall archives, QC workflow, read: a quarter of the assets is heard. Here: of each.
QUARTER = "[listening_sample]\nshare_percent = 25\n"
SPECS: Mapping[str, str] = {
    "New York": NEW_YORK,
    "Columbia": COLUMBIA,
    "U.S. National Archives": NATIONAL,
    "FADGI": FADGI,
    "IASA-TC 04": TC_04,
    "IASA-TC 05": TC_05,
    "a quarter heard": QUARTER,
}

BROKEN: list[tuple[str, str, str, set[str]]] = [
    ("New York", "overlap_seconds = 5", "overlap_seconds = 4.9", {"overlap-short"}),
    ("New York", "overlap_seconds = 5", "", {"overlap-unsaid"}),
    ("New York", 'program = "Groyne recorder 4.2"', "", {"asked-not-told"}),
    ("New York", 'program = "Groyne recorder 4.2"', 'program = "unknown"', {"asked-not-told"}),
    ("New York", 'base = "polyester"', 'base = "other"', {"term-not-taken"}),
    ("New York", 'base = "polyester"', 'base = "unknown"', {"asked-of-reel-not-told"}),
    ("New York", 'role = "reel face"', 'role = "spine"', {"photograph-asked"}),
    ("New York", 'by = "isolde"\nshare_percent', "share_percent", set()),
    ("New York", 'maker = "Marlspike"', 'maker = "unknown"', set()),
    ("New York", 'maker = "Marlspike"', 'maker = "not examined"', {"asked-of-reel-not-told"}),
    ("IASA-TC 04", "t2_us = 90", 't2_us = "unknown"', {"asked-not-told"}),
    ("a quarter heard", "share_percent = 100", "share_percent = 20", {"listened-too-little"}),
    ("a quarter heard", "share_percent = 100", "share_percent = 25", set()),
]
"""Specification, what is taken out of the job, what stands there instead, and what is then told."""


class Delivery:
    """A whole job of one reel, delivered to somebody."""

    def __init__(self, bench: Any, around: Surroundings) -> None:
        self.bench, self.around = bench, around
        for name, text in STUDIO.items():
            path = bench.studio / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(text)
        for name in ("box", "face"):
            bench.put(f"images/{name}.jpg", b"\xff\xd8\xff\xe0")

    def fill(self, spec: str, job: str = JOB, *, rate_hz: int = 96_000) -> None:
        form = f'id = "archive"\nname = "Harbour Archive"\n{SPECS[spec]}'
        (self.bench.studio / "recipients/archive.toml").write_text(form)
        pcm = Pcm(
            is_float=False, sample_rate_hz=rate_hz, channels=2, container_bits=24, valid_bits=24
        )
        for name in ("a", "b"):
            self.bench.put(f"captures/{name}.wav", self.bench.wave(pcm))
        (self.bench.job / "job.toml").write_text(job)

    def planned(self) -> Judgement:
        return close(self.bench.job, self.bench.out, self.around, only_plan=True).judgement

    def packed(self) -> Path:
        outcome = close(self.bench.job, self.bench.out, self.around)
        assert outcome.built is not None, outcome.judgement.findings
        package: Path = self.bench.out / "myd-1042"
        return package


@pytest.fixture
def delivery(bench: Any, around: Surroundings) -> Delivery:
    return Delivery(bench, around)


def asked(judgement: Judgement) -> set[str]:
    return {one.code for one in judgement.findings if one.code in SPOKEN_FOR}


@pytest.mark.parametrize("spec", SPECS)
def test_a_package_that_is_as_they_want_it_leaves_no_question_of_theirs(
    delivery: Delivery, spec: str
) -> None:
    delivery.fill(spec)
    judgement = check(delivery.packed(), Silent()).judgement
    assert asked(judgement) == set()
    assert judgement.verdict is not Verdict.FAIL


@pytest.mark.parametrize(("spec", "there", "instead", "codes"), BROKEN)
def test_what_they_would_send_back_is_told_while_the_reel_is_there(
    delivery: Delivery, spec: str, there: str, instead: str, codes: set[str]
) -> None:
    assert there in JOB
    delivery.fill(spec, JOB.replace(there, instead))
    assert asked(delivery.planned()) == codes


def test_a_speed_changed_on_the_run_is_told_and_no_overlap_is_asked_of_it(
    delivery: Delivery,
) -> None:
    job = JOB.replace('capture = "b"', 'capture = "a"').replace("overlap_seconds = 5", "")
    second = job.index('[[captures]]\nid = "b"')
    delivery.fill("New York", job[:second] + job[job.index("[[listening]]") :])
    assert asked(delivery.planned()) == {"speed-change-unstopped"}


def test_a_name_that_cannot_be_made_is_told_with_what_is_missing(delivery: Delivery) -> None:
    delivery.fill("Columbia", JOB.replace("part = 7", ""))
    told = [one for one in delivery.planned().findings if one.code == "name-not-made"]
    assert told
    assert all("nothing is known for work-part" in one.text for one in told)


def test_names_and_folders_are_theirs(delivery: Delivery) -> None:
    delivery.fill("New York")
    package = delivery.packed()
    audio = sorted(path.name for path in (package / "data/PreservationMasters").iterdir())
    assert audio == [
        "myd-1042_v01f01r01_pm.json",
        "myd-1042_v01f01r01_pm.wav",
        "myd-1042_v01f01r02_pm.json",
        "myd-1042_v01f01r02_pm.wav",
    ]
    assert sorted(path.name for path in (package / "data/Images").iterdir()) == [
        "box.jpg",
        "face.jpg",
    ]
    assert (package / "bagit.txt").read_text().startswith("BagIt-Version: 0.97\n")
    assert (package / "manifest-md5.txt").is_file()


def test_the_other_librarys_names(delivery: Delivery) -> None:
    delivery.fill("Columbia")
    names = sorted(path.stem for path in (delivery.packed() / "data/Master").glob("*.wav"))
    assert names == ["quill_oran_1042_007_01_1_m", "quill_oran_1042_007_01_2_m"]


def test_a_capture_left_at_48_khz_is_told_of_the_file_itself(delivery: Delivery) -> None:
    delivery.fill("U.S. National Archives", rate_hz=48_000)
    judgement = check(delivery.packed(), Silent()).judgement
    told = [one for one in judgement.findings if one.code == "term-not-taken"]
    assert len(told) == 2
    assert {one.text for one in told} == {
        "this_file.pcm.sample_rate_hz is '48000'; they take: 96000."
    }
    assert {one.severity for one in told} == {Severity.QUERY}


def test_originator_without_a_country_departs_from_the_guideline(delivery: Delivery) -> None:
    delivery.fill("FADGI")
    package = delivery.packed()
    for path in sorted((package / "data/audio").glob("*.wav")):
        changed = path.read_bytes().replace(b"IE, Harbour Archive", b"Ie: Harbour Archive")
        path.write_bytes(changed)
    assert "fadgi-departs" in asked(check(package, Silent()).judgement)


@pytest.mark.parametrize(
    ("spec", "since", "hours", "is_found"),
    [
        ("IASA-TC 04", "cleaned", "4.1", True),
        ("IASA-TC 04", "cleaned", "4", False),
        ("IASA-TC 04", "demagnetised", "8.1", True),
        ("IASA-TC 04", "calibrated", "31", True),
        ("IASA-TC 05", "calibrated", "31", False),
        ("IASA-TC 05", "calibrated", "101", True),
        ("IASA-TC 05", "cleaned", "31", False),
    ],
)
def test_two_guidelines_differ_on_how_long_a_machine_may_run(
    delivery: Delivery, spec: str, since: Any, *, hours: str, is_found: bool
) -> None:
    delivery.fill(spec)
    dossier = check(delivery.packed(), Silent()).dossier
    assert dossier.transfer is not None
    [machine] = dossier.transfer.machines
    ran = HoursSince(since=since, on="2026-03-01", at_least_hours=Decimal(hours))
    transfer = replace(dossier.transfer, machines=(replace(machine, hours_since=(ran,)),))
    found = asked(judge(replace(dossier, transfer=transfer)))
    assert ("care-interval-passed" in found) is is_found
