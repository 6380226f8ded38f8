"""Take any one rule away, and what is said of some package changes.

Kept packages show it for some rules. For the others one of them is changed in one or two places,
as values; each change is the smallest that the rule speaks of.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, get_args

import pytest

from tailsout import rules
from tailsout.ground.damage import Damage
from tailsout.ground.findings import Judgement, Place
from tailsout.ground.progress import Silent
from tailsout.mapping.amendments import KINDS as OF_AMENDMENTS
from tailsout.records.access import AccessCopy
from tailsout.records.amendment import Amendment
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.calibration import AtRest, CalibrationFacts
from tailsout.records.capture import Part
from tailsout.records.carrier import Condition, Image
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.description import Departure, DescribedFile, Loose
from tailsout.records.dossier import Dossier, Examined
from tailsout.records.echo import EchoSide, PrintThrough
from tailsout.records.facts import InfoLine
from tailsout.records.listening import SignalNote
from tailsout.records.machine import CareEvent, Head, HoursSince
from tailsout.records.playing import Azimuth, Channel
from tailsout.records.recipient import (
    BagAsked,
    DriveRules,
    EmbeddedText,
    KeyAsked,
    ListeningSample,
    NamesAsked,
    OverlapAsked,
    Recipient,
    RoleAsked,
    TermList,
)
from tailsout.records.recording import Recording, Work
from tailsout.records.reel import Event, Identifier, Inscription, Side
from tailsout.records.scale import ChannelScale, Scale
from tailsout.records.sound import Hum
from tailsout.records.statements import Jotting
from tailsout.records.tags import SourceIdentifier
from tailsout.records.tones import FoundTone, ToneFacts, ToneLevel
from tailsout.rules import RULES, judge
from tailsout.rules.rule import Rule
from tailsout.work.check import check

KEPT = Path(__file__).resolve().parents[2] / "sample_packages"
SOUND = "files[0].sidecar.this_file.measured"
REGION = "transfer.reel.sides[0].regions[2]"
SESSION = "transfer.sessions[0]"

Changes = Mapping[str, Any]
"""By where it stands: a value, or what makes one of the value that stands there."""


def put(dossier: Dossier, changes: Changes) -> Dossier:
    for where, value in changes.items():
        way = [int(n) if n else name for n, name in re.findall(r"\[(\d+)\]|(\w+)", where)]
        dossier = _put(dossier, way, value)
    return dossier


def _put(inside: Any, way: list[str | int], value: Any) -> Any:
    if not way:
        return value(inside) if callable(value) else value
    first, *rest = way
    if isinstance(first, int):
        items = list(inside)
        items[first] = _put(items[first], rest, value)
        return tuple(items)
    return replace(inside, **{first: _put(getattr(inside, first), rest, value)})


def more(*values: Any) -> Callable[[tuple[Any, ...]], tuple[Any, ...]]:
    return lambda there: (*there, *values)


def line(label: str, value: str) -> InfoLine:
    return InfoLine(label=label, value=value, line=99)


def chain(*kinds: Any, **more_of_the_first: Any) -> Chain:
    first, *others = kinds
    steps = (ChainStep(kind=first, **more_of_the_first), *(ChainStep(kind=k) for k in others))
    return Chain(steps=steps)


def hum(frequency: str) -> Hum:
    return Hum(mains_hz=50, frequency_hz=Decimal(frequency), harmonics=5, levels=(), start=0)


AMENDMENT = Amendment(
    version=2,
    supersedes="SKL-0008",
    manifests={},
    by="isolde",
    on="2026-04-01",
    why="a slip",
    written="2026-04-01T08:00:00Z",
    software="tailsout test",
)
CALIBRATION = CalibrationFacts(
    session="2026-03-14-mk3",
    setting="7-nab",
    moment="as left",
    file="ct.wav",
    octets=1,
    sha256="0" * 64,
    packed_in="SKL-0008",
    path="data/calibration/ct.wav",
)
TONE = FoundTone(
    start=0,
    end=1,
    frequency_hz=Decimal(1000),
    channels=(ToneLevel(channel=1, relative_db=Decimal(5)),),
)
tones = partial(ToneFacts, frames=1, sample_rate_hz=48_000, channels=(), methods={})
AT_REST = AtRest(
    captures=("side-a",), file="rest.wav", path="data/calibration/rest.wav", octets=1, sha256=""
)

COPY = AccessCopy(
    path="data/access/skl7-side-a.mp3",
    octets=1,
    sha256="a" * 64,
    sha512="b" * 128,
    format="MP3",
    start=0,
    end=1,
    regions=(),
    sample_rate_hz=48_000,
    channels=2,
    frames=1,
    clipped_samples=0,
    steps=(),
)
CASES: Mapping[str, Changes] = {
    # The bag, its files, its side-cars
    "BagIt Profile": {
        "bagit_profile": BagItProfile(identifier="urn:example:reel", specification="1.4.0")
    },
    "BagIt Profiles that the bag names": {
        "package.bag_info": more(line("BagIt-Profile-Identifier", "urn:example:reel"))
    },
    "containers": {
        "files[0].container.damage": (Damage(kind="truncated", offset=9, text="it ends here."),)
    },
    "files of a capture": {
        "transfer.captures[0].parts": (Part(file="captures/skl8-side-a.wav", frames=1),)
    },
    "embedded metadata against itself": {
        "files[0].tags.source": SourceIdentifier(
            country="SK", organisation="SAL", serial="1", time="000000", random="1"
        )
    },
    "side-cars present": {"files[1].sidecar": None},
    "captures of calibration tapes and of the chain at rest": {"calibrations": (CALIBRATION,)},
    "access copies": {"files[0].sidecar.this_file.copies": (COPY,)},
    "list of amendments": {"reading": more(OF_AMENDMENTS[0].at(Place(file="a"), "it is none."))},
    "amendments in the side-cars": {"amendments": (AMENDMENT,)},
    # What the files say of themselves
    "dates of the captures": {"transfer.captures[0].started": "2026-03-16T10:21:07Z"},
    "coding history against EBU R 98": {"files[0].tags.history_remarks": ("a line without end.",)},
    "guideline of the recipient": {"transfer.recipient.embedding_guideline": "FADGI"},
    "samples measured again": {
        "files[0]": lambda file: replace(
            file, measured=replace(file.stated.measured, integrated_lufs=Decimal(-40))
        )
    },
    # Which reel it is, and whether all of it is there
    "identifiers of one kind": {
        "transfer.reel.identifiers": more(
            Identifier(value="HA/SKL/9", kind="shelf mark", assigned_by="Harbour Archive")
        )
    },
    "name of the package against identifiers": {"transfer.package_id": "SKL-0009"},
    "box, reel and list against identifiers": {
        "transfer.reel.inscriptions": more(Inscription(place="reel", text="HA/SKL/9"))
    },
    "parts of a work as stated": {"transfer.work": Work(id="w", part=6, parts=5)},
    "parts of a work as counted in bag-info.txt": {
        "package.bag_info": more(line("Bag-Count", "6 of 5"))
    },
    "bag-info.txt against what is stated of the work": {
        "transfer.work": Work(id="w"),
        "package.bag_info": more(line("Bag-Group-Identifier", "v")),
    },
    "jottings": {"transfer.jottings": more(Jotting(at="2026-03-14T10:30:00Z", text="a squeal"))},
    "sides against captures": {"transfer.reel.sides": more(Side(id="C"))},
    "photographs in the package": {"transfer.reel.images": more(Image(file="images/box.jpg"))},
    # The tape and its past
    "heat against the base": {
        "transfer.reel.events": more(Event(kind="treatment", temperature_c=Decimal(60)))
    },
    "state of the reel and what followed": {
        "transfer.reel.condition": more(Condition(moment="before playing", mould="slight"))
    },
    "how the base was told": {
        "transfer.reel.stock[1].back_coat": True,
        "transfer.reel.stock[1].base_told_by": ("light through the pack",),
    },
    "print-through": {
        "files[0].print_through": PrintThrough(
            shortest_s=Decimal(1),
            longest_s=Decimal(2),
            before=EchoSide(tried=9, found=3),
            after=EchoSide(tried=9),
        )
    },
    # The machine
    "hours of contact": {
        "transfer.machines[0].hours_since": (
            HoursSince(since="cleaned", on="2026-03-01", at_least_hours=Decimal(12)),
        )
    },
    "how the machine was cleaned": {"transfer.machines[0].care[0].dry_before_threading": False},
    "repairs and calibration": {
        "transfer.machines[0].care": (CareEvent(kind="repaired", on="2026-03-13"),),
        f"{SESSION}.settings": (),
    },
    "settings against regions": {f"{SESSION}.settings[0].speed_ips": Decimal(15)},
    "settings against calibration tapes": {"transfer.calibration_tapes[0].speed_ips": Decimal(15)},
    "passes within their session": {f"{SESSION}.on": "2026-03-10"},
    "azimuth from pass to pass": {
        "transfer.passes[0].azimuth": Azimuth(set_to="programme", put_back=False)
    },
    "calibration captures against their tape": {
        "calibrations": (replace(CALIBRATION, tones=tones(tones=(), fit="no tones")),)
    },
    "readings against calibration captures": {
        "calibrations": (replace(CALIBRATION, tones=tones(tones=(TONE,), fit="fits")),)
    },
    "output of readings and of the transfer": {f"{SESSION}.settings[0].reading_point": "phones"},
    "levels as flux": {
        "files[0].scales": (
            Scale(
                session="2026-03-14-mk3",
                setting="7-nab",
                moment="as left",
                tape="ct-7-nab",
                stated_nwb_m=Decimal(250),
                ring_head_nwb_m=Decimal(250),
                channels=(
                    ChannelScale(
                        channel=1, reference_dbfs=Decimal(-6), full_scale_nwb_m=Decimal(500)
                    ),
                ),
            ),
        )
    },
    # When, and by which way
    "minutes of a pass": {"transfer.passes[0].programme_minutes": Decimal(30)},
    "clocks of form and recorder": {"transfer.captures[0].started": "2026-03-14T11:21:07+00:00"},
    "order of the chain": {"transfer.chain": chain("reproduce amplifier", "reproduce head")},
    "converter of the chain": {"transfer.chain": chain("converter", serial="C2-119")},
    "output against the chain": {"transfer.chain": chain("transformer", "converter")},
    "noise reduction and decoding": {
        f"{REGION}.noise_reduction": "Dolby A",
        "transfer.passes[0].set_up.noise_reduction": None,
    },
    "flat transfer": {"transfer.captures[0].normalised": True},
    "channel map against captures": {"transfer.passes[0].channels": (Channel(channel=2),)},
    "tracks of the channel map": {
        "transfer.passes[0].channels": (
            Channel(channel=1, track="1"),
            Channel(channel=2, track="1"),
        )
    },
    "stereo on two channels": {f"{REGION}.tracks": "half-track stereo"},
    # Regions and speeds
    "captures against regions": {"transfer.reel.sides[1].regions": ()},
    "regions against the sides that were played": {"transfer.passes[0].sides": ("B",)},
    "notes inside the audio": {
        "transfer.signal_notes": (SignalNote(capture="side-a", start=10**9, heard="a bump"),)
    },
    "tape played against the reel": {
        "transfer.reel.diameter_in": Decimal(5),
        f"{REGION}.speed_ips": Decimal(10**6),
    },
    "speeds of regions against the machine": {"transfer.machines[0].speeds_ips": (Decimal(15),)},
    "tracks against heads": {"transfer.machines[0].heads": (Head(track_format="full-track mono"),)},
    # What the samples show
    "speed by recorded hum": {"files[0].regions[2].sound.hum": (hum("50"), hum("48"))},
    "bandwidth by speed": {"files[0].regions[2].sound.bandwidth_hz": Decimal(40_000)},
    "end of the spectrum": {f"{SOUND}.brick_wall_hz": Decimal(16_000)},
    "channels by their sound": {f"{SOUND}.channels[0].sample_peak_dbfs": None},
    "bits in use": {f"{SOUND}.channels[0].effective_bits": 16},
    "levels of the samples": {f"{SOUND}.channels[0].clipped_runs": 3},
    "chain at rest": {
        "": lambda dossier: replace(
            dossier, at_rest=(replace(AT_REST, measured=dossier.files[0].stated.measured),)
        )
    },
    # Rights, names
    "rights against sensitivity": {
        "transfer.recording": Recording(sensitivity="names of the drowned")
    },
    "what is withheld": {"transfer.recording.absent": {"speakers": "withheld"}},
    "personal data": {"transfer.note": "ask oran@lamp.example"},
    "names by the recipient's template": {"transfer.recipient.names": NamesAsked(template="{")},
    "names as the recipient takes them": {"transfer.recipient.names": NamesAsked(max_length=3)},
    "folders as the recipient wants them": {
        "transfer.recipient.roles": (RoleAsked(role="master", folder="masters"),)
    },
    # What the recipient asks
    "what the recipient asks": {
        "transfer.recipient.asked": (KeyAsked(key="reel.hub", level="required"),)
    },
    "words that the recipient takes": {
        "transfer.recipient.terms": (TermList(key="reel.title", words=("Log",)),)
    },
    "what is not to travel": {"transfer.recipient.withheld": ("reel.title",)},
    "copy of the recipient's form": {"recipient_form": Recipient(id="another")},
    "joins as the recipient wants them": {
        "transfer.recipient.overlap": OverlapAsked(seconds=Decimal(5), at=("speed change",)),
        "transfer.reel.sides[1].regions[0].capture": "side-a",
    },
    "a file for each speed": {"transfer.recipient.stop_at_speed_change": True},
    "house rule of the recipient": {
        "transfer.recipient.house_rule_end_out": "heads",
        "transfer.reel.sides": lambda sides: (replace(sides[0], regions=(sides[0].regions[2],)),),
    },
    "photographs that the recipient asks for": {"transfer.recipient.images": ("box",)},
    "listening that the recipient asks for": {
        "transfer.recipient.listening_sample": ListeningSample(),
        "transfer.listening": (),
    },
    "files that the recipient requires": {
        "transfer.recipient.roles": (RoleAsked(role="access", required=True),)
    },
    # Descriptions
    "descriptions by their official schemas": {
        "descriptions": lambda all_of_them: tuple(
            replace(one, departures=(Departure(line=1, text="no such element"),))
            for one in all_of_them
        )
    },
    "descriptions within themselves": {
        "descriptions[0].loose": more(Loose(line=1, kind="ADMID", to="nothing"))
    },
    "descriptions against files and manifests": {
        "descriptions[0].files": more(DescribedFile(path="data/nothing.wav", line=1))
    },
    "exports that the recipient wants": {
        "package.files": lambda files: tuple(f for f in files if f.path != "metadata/label.svg")
    },
    "manifests that the recipient wants": {"transfer.recipient.extra_algorithms": ("sha1",)},
    "version of BagIt that the recipient wants": {
        "transfer.recipient.bag": BagAsked(version="0.97")
    },
    "form that the recipient wants": {"transfer.recipient.bag": BagAsked(serialisation="tar")},
    "paths that the recipient takes": {"transfer.recipient.drive": DriveRules(max_path_octets=20)},
    "texts that the recipient wants in the masters": {
        "transfer.recipient.embedded": (
            EmbeddedText(chunk="bext", field="Description", text="{package}"),
        )
    },
}


@pytest.fixture(scope="module")
def kept() -> Mapping[str, Dossier]:
    """Every kept package as it is read, by its name."""
    return {
        path.name: check(path / "package", Silent()).dossier
        for path in sorted((*(KEPT / "good").iterdir(), *(KEPT / "broken").iterdir()))
    }


def changed_by(changes: Changes, good: Dossier) -> Dossier:
    """Change a good package; all was examined, but for a profile where none is given."""
    dossier = put(good, changes)
    asked: frozenset[Examined] = frozenset(get_args(Examined))
    if dossier.bagit_profile is None:
        asked -= {"bagit-profile"}
    if all(one.departures is None for one in dossier.descriptions):
        asked -= {"official-schemas"}
    return replace(dossier, examined=asked)


def told(judgement: Judgement, rule: Rule) -> tuple[object, ...]:
    """Return all that a judgement says, without the bare name of a check that passed."""
    failed = any(one.name == rule.name and one.outcome == "failed" for one in judgement.checks)
    return (judgement.verdict, judgement.findings, failed)


def matters(
    rule: Rule, dossier: Dossier, whole: Judgement, monkeypatch: pytest.MonkeyPatch
) -> bool:
    """Tell whether a dossier is judged otherwise than by all rules, without one."""
    with monkeypatch.context() as patch:
        patch.setattr(rules, "RULES", tuple(one for one in RULES if one is not rule))
        return told(judge(dossier), rule) != told(whole, rule)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_without_it_something_goes_unsaid(
    rule: Rule, kept: Mapping[str, Dossier], monkeypatch: pytest.MonkeyPatch
) -> None:
    if rule.name in CASES:
        dossiers = [changed_by(CASES[rule.name], kept["skerrow-light"])]
    else:
        # Packages that are kept for what it finds are asked first.
        codes = {kind.code for kind in rule.kinds}
        names = sorted(kept, key=lambda name: name not in codes)
        dossiers = [kept[name] for name in names if rule.needs <= kept[name].examined]
    assert any(matters(rule, one, judge(one), monkeypatch) for one in dossiers)


def test_every_case_is_of_a_rule() -> None:
    assert sorted(CASES.keys() - {rule.name for rule in RULES}) == []


def test_a_package_that_nothing_is_wrong_with_would_not_do(
    kept: Mapping[str, Dossier], monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that no case passes because of what the kept package shows by itself."""
    good = changed_by({}, kept["skerrow-light"])
    whole = judge(good)
    shown = [r.name for r in RULES if r.name in CASES and matters(r, good, whole, monkeypatch)]
    assert shown == []
