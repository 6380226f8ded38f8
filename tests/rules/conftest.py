"""One small transfer, its master and its bag, as values; a test changes what it is about."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import Any, get_args

import pytest

from tailsout.ground.findings import Place
from tailsout.ground.pcm import Pcm
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.capture import Capture
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.dossier import Dossier, Examined, FileRecord
from tailsout.records.facts import (
    ChunkFacts,
    ContainerFacts,
    Embedded,
    EmbeddedHistoryLine,
    FoundFile,
    InfoLine,
    Manifest,
    ManifestLine,
    PackageFacts,
)
from tailsout.records.machine import Machine
from tailsout.records.playing import Pass
from tailsout.records.reel import Reel, Region, Side
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import SideCar, SourceFile, Studio, ThisFile, Transfer
from tailsout.rules import RULES

AUDIO, BESIDE = "data/audio/reel.wav", "data/audio/reel.json"
FRAMES, OCTETS = 48_000, 144_700
FIRST_RUN = "p1"
PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)
EVERYTHING: frozenset[Examined] = frozenset(get_args(Examined))

MEASURED = AudioFacts(
    frames=FRAMES,
    sample_rate_hz=48_000,
    essence_sha256="e" * 64,
    channels=(),
    integrated_lufs=Decimal("-23.10"),
    range_lu=Decimal("4.20"),
    true_peak_dbtp=Decimal("-1.05"),
    momentary_max_lufs=Decimal("-18.30"),
    short_term_max_lufs=Decimal("-20.00"),
)
TRANSFER = Transfer(
    job_id="0b7d6c1e-8a54-4f39-9c2b-27d0a3f6e518",
    package_id="REEL-1",
    studio=Studio(name="Saltpan Row"),
    reel=Reel(
        sides=(
            Side(
                id="A",
                regions=(
                    Region(
                        id="A1",
                        kind="programme",
                        capture="reel",
                        start=0,
                        end=FRAMES,
                        speed_ips=Decimal("7.5"),
                    ),
                ),
            ),
        )
    ),
    machines=(Machine(id="left", maker="Tidewright", model="Mark 3"),),
    passes=(
        Pass(id=FIRST_RUN, machine="left", on="2026-03-14T10:20:00Z", tape_ran="head to tail"),
    ),
    chain=Chain(
        steps=(
            ChainStep(kind="transformer", device="Brass Coil", signal="analogue"),
            ChainStep(kind="converter", device="Thwart C2", signal="digital"),
        )
    ),
    captures=(
        Capture(
            id="reel", file="captures/reel.wav", pass_id=FIRST_RUN, started="2026-03-14T10:21:07Z"
        ),
    ),
)


def _line(**parameters: str) -> EmbeddedHistoryLine:
    return EmbeddedHistoryLine(parameters=tuple(parameters.items()))


EMBEDDED = Embedded(
    version=2,
    description="REEL-1",
    originator="Saltpan Row",
    originator_reference="reel",
    origination_date="2026-03-14",
    origination_time="10:21:07",
    time_reference=0,
    umid="",
    loudness_value=Decimal("-23.1"),
    loudness_range=Decimal("4.2"),
    max_true_peak_level=Decimal("-1.05"),
    max_momentary_loudness=Decimal("-18.3"),
    max_short_term_loudness=Decimal(-20),
    coding_history=(
        _line(A="ANALOGUE", M="mono", T="Tidewright Mark 3; 19.05 cm/s"),
        _line(A="PCM", F="48000", W="24", M="mono", T="Thwart C2; A/D"),
    ),
)
THIS_FILE = ThisFile(
    id="6b0a3f0e-1d5b-5c7c-8a34-0a2f6f3b9f51",
    path=AUDIO,
    capture="reel",
    octets=OCTETS,
    sha256="2" * 64,
    sha512="5" * 128,
    made="as captured",
    sources=(SourceFile(file="captures/reel.wav", octets=300, frames=48_000, sha256="c" * 64),),
    pcm=PCM,
    measured=MEASURED,
    methods={},
)
SIDECAR = SideCar(
    schema="urn:tailsout:schema:sidecar:0.1",
    software="tailsout test",
    written="2026-03-15T08:00:00Z",
    transfer=TRANSFER,
    this_file=THIS_FILE,
)
FILE = FileRecord(
    path=AUDIO,
    octets=OCTETS,
    capture="reel",
    container=ContainerFacts(
        form="RIFF",
        chunks=(
            ChunkFacts(id="fmt ", offset=20, octets=16),
            ChunkFacts(id="data", offset=44, octets=FRAMES * 3),
        ),
    ),
    pcm=PCM,
    frames=FRAMES,
    embedded=EMBEDDED,
    essence_sha256="e" * 64,
    sidecar=SIDECAR,
)

_PAYLOAD = {AUDIO: ("2" * 64, "5" * 128), BESIDE: ("a" * 64, "b" * 128)}
_TAGS = {
    "bag-info.txt": ("3" * 64, "6" * 128),
    "bagit.txt": ("4" * 64, "7" * 128),
    "manifest-sha256.txt": ("8" * 64, "9" * 128),
    "manifest-sha512.txt": ("c" * 64, "d" * 128),
}


def _found(path: str, octets: int, digests: tuple[str, str]) -> FoundFile:
    taken = dict(zip(("sha256", "sha512"), digests, strict=True))
    return FoundFile(path=path, octets=octets, digests=taken)


def _manifest(kind: str, algorithm: str) -> Manifest:
    digests = _PAYLOAD if kind == "manifest" else _TAGS
    which = ("sha256", "sha512").index(algorithm)
    return Manifest(
        name=f"{kind}-{algorithm}.txt",
        algorithm=algorithm,
        is_tag=kind == "tagmanifest",
        lines=tuple(
            ManifestLine(path=path, digest=both[which], line=number)
            for number, (path, both) in enumerate(digests.items(), start=1)
        ),
    )


PROFILE = BagItProfile(
    identifier="https://saltpan.example/profiles/reel-1.2.json", specification="1.4.0"
)
PACKAGE = PackageFacts(
    name="REEL-1",
    bagit_version="1.0",
    encoding="UTF-8",
    bag_info=(
        InfoLine(label="Source-Organization", value="Saltpan Row", line=1),
        InfoLine(label="Payload-Oxum", value=f"{OCTETS + 9_000}.2", line=2),
        InfoLine(label="BagIt-Profile-Identifier", value=PROFILE.identifier, line=3),
    ),
    manifests=(
        _manifest("manifest", "sha256"),
        _manifest("manifest", "sha512"),
        _manifest("tagmanifest", "sha256"),
        _manifest("tagmanifest", "sha512"),
    ),
    files=(
        *(_found(path, 100, both) for path, both in _TAGS.items()),
        _found(BESIDE, 9_000, _PAYLOAD[BESIDE]),
        _found(AUDIO, OCTETS, _PAYLOAD[AUDIO]),
        FoundFile(path="tagmanifest-sha256.txt", octets=100),
        FoundFile(path="tagmanifest-sha512.txt", octets=100),
    ),
)
RECEIVED = Dossier(
    origin="received",
    transfer=TRANSFER,
    files=(FILE,),
    package=PACKAGE,
    bagit_profile=PROFILE,
    examined=EVERYTHING,
    places={"": Place(file=BESIDE, part="/transfer")},
)


@pytest.fixture
def received() -> Callable[..., Dossier]:
    """Make a package of ours with nothing wrong; everything was examined."""
    return partial(replace, RECEIVED)


@pytest.fixture
def stating() -> Callable[[Transfer], Dossier]:
    """Make that package with another transfer stated, in its side-car too."""

    def make(transfer: Transfer) -> Dossier:
        file = replace(FILE, sidecar=replace(SIDECAR, transfer=transfer))
        return replace(RECEIVED, transfer=transfer, files=(file,))

    return make


@pytest.fixture
def foreign() -> Dossier:
    """Somebody else's bag: no side-car, nothing stated, otherwise sound."""
    return Dossier(
        origin="received",
        files=(replace(FILE, sidecar=None, capture=None),),
        package=replace(PACKAGE, bag_info=PACKAGE.bag_info[:2]),
        examined=frozenset({"structure", "manifests", "headers", "fixity", "essence", "versions"}),
    )


@pytest.fixture
def transfer() -> Callable[..., Transfer]:
    return partial(replace, TRANSFER)


@pytest.fixture
def package() -> Callable[..., PackageFacts]:
    return partial(replace, PACKAGE)


@pytest.fixture
def file() -> Callable[..., FileRecord]:
    return partial(replace, FILE)


@pytest.fixture
def embedded() -> Callable[..., Embedded]:
    return partial(replace, EMBEDDED)


@pytest.fixture
def beside() -> Callable[..., SideCar]:
    """Make the side-car, with changes to what it says of its file."""

    def make(**changes: Any) -> SideCar:
        return replace(SIDECAR, this_file=replace(THIS_FILE, **changes))

    return make


@pytest.fixture
def measured() -> Callable[..., AudioFacts]:
    """Make what the side-car says was measured."""
    return partial(replace, MEASURED)


@pytest.fixture
def run() -> Callable[[str, Dossier], list[tuple[str, str]]]:
    """Run one rule; give code and place of what it found, which must be kinds it declares."""

    def told(name: str, dossier: Dossier) -> list[tuple[str, str]]:
        rule = next(rule for rule in RULES if rule.name == name)
        found = list(rule.run(dossier))
        assert {one.kind for one in found} <= set(rule.kinds)
        assert all(one.text.endswith((".", "?")) for one in found)
        return [(one.code, str(one.place)) for one in found]

    return told


@pytest.fixture
def told() -> Callable[[str, Dossier], list[str]]:
    """Run one rule; give the words of what it found."""

    def words(name: str, dossier: Dossier) -> list[str]:
        rule = next(rule for rule in RULES if rule.name == name)
        return [one.text for one in rule.run(dossier)]

    return words
