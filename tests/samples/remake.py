"""Makes the kept packages anew: three good ones, and broken ones that are one mutation each.

    python tests/samples/remake.py [FOLDER]

Writes `good` and `broken` below FOLDER, else below sample_packages. Everything that goes in is
fixed, so the same program makes the same octets. What a package is expected to show stands here by
hand and is never taken from what the program says of it.
"""

import hashlib
import json
import math
import os
import random
import shutil
import struct
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tailsout.bag.disk import Disk
from tailsout.ground.errors import TailsoutError
from tailsout.ground.pcm import Pcm
from tailsout.ground.progress import Silent
from tailsout.wave import bext, fmt
from tailsout.wave.bext import Bext
from tailsout.work.amend import amend
from tailsout.work.close_out import Outcome, close
from tailsout.work.export import export_in
from tailsout.work.exports import VIEWS
from tailsout.work.surroundings import Surroundings

HERE = Path(__file__).resolve().parent
INSTANT = datetime(2026, 3, 15, 8, tzinfo=UTC)
SOFTWARE = "tailsout sample"
RATE_HZ = 48_000
PCM = Pcm(is_float=False, sample_rate_hz=RATE_HZ, channels=1, container_bits=24, valid_bits=24)

AUDIO_A, AUDIO_B = "data/audio/skl8-side-a.wav", "data/audio/skl8-side-b.wav"
SIDECAR_A, SIDECAR_B = "data/audio/skl8-side-a.json", "data/audio/skl8-side-b.json"

Stretches = tuple[tuple[str, float], ...]
"""What passes the head, and for how many seconds."""
Found = tuple[str, str]
"""Code and place of a finding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Good:
    """One good package; its studio and job lie in the folder of its name beside this module."""

    name: str
    captures: tuple[tuple[str, str | None, Stretches], ...] = ()
    """Stem, time of day in the recorder's header, and what is on it; None: it wrote no header."""
    findings: tuple[Found, ...] = ()
    amends: str = ""
    """Good package of which it is a later version."""
    forms: tuple[str, ...] = ()
    """The amendments that made it, in order."""


ANSWERED: Found = ("region-overlap", f"{SIDECAR_A}#/transfer/reel/sides/0/regions/2")
"""What the job of the first package answers, so that it counts as a note."""

TOLD_AFTERWARDS: Found = ("told-afterwards", "data/audio/skl3-1.json#/transfer/kind")

GOOD = (
    Good(
        name="skerrow-light",
        captures=(
            ("skl8-side-a", "10:21:07", (("leader", 0.05), ("tone", 0.15), ("voice", 0.4))),
            ("skl8-side-b", "10:51:30", (("voice", 0.25), ("voice", 0.25))),
        ),
        findings=(ANSWERED,),
    ),
    Good(
        name="skerrow-light-told-afterwards",
        captures=(("skl3-1", None, (("voice", 0.3),)), ("skl3-2", None, (("voice", 0.25),))),
        findings=(TOLD_AFTERWARDS,),
    ),
    Good(
        name="skerrow-light-amended",
        amends="skerrow-light-told-afterwards",
        forms=("second.toml", "third.toml"),
        findings=(TOLD_AFTERWARDS,),
    ),
)
AMENDED = GOOD[2].name


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """One broken package, named after the finding it is there for."""

    code: str
    mutation: Mapping[str, Any]
    reseal: bool
    """True if the manifests and tag manifests are made again after the mutation."""
    findings: tuple[Found, ...]
    """Everything that is found, in the order of the report."""
    verdict: str = "fail"
    exit: int = 1
    source: str = GOOD[0].name
    """Good package that it was before."""


BROKEN = (
    Broken(
        code="digest-differs",
        mutation={"change": "flip bit", "file": AUDIO_A, "octet": 50_000, "bit": 0},
        reseal=False,
        findings=(
            ("digest-differs", AUDIO_A),
            ("essence-differs", f"{AUDIO_A}#data"),
            ANSWERED,
        ),
    ),
    Broken(
        code="essence-differs",
        mutation={"change": "flip bit", "file": AUDIO_B, "octet": 50_000, "bit": 0},
        reseal=True,
        findings=(
            ("sidecar-audio-differs", f"{SIDECAR_B}#/this_file"),
            ("essence-differs", f"{AUDIO_B}#data"),
            ANSWERED,
        ),
    ),
    Broken(
        code="file-not-in-every-manifest",
        mutation={"change": "remove line", "file": "manifest-sha256.txt", "line": 4},
        reseal=False,
        findings=(
            ("file-not-in-every-manifest", AUDIO_B),
            ("digest-differs", "manifest-sha256.txt"),
            ANSWERED,
        ),
    ),
    Broken(
        code="file-missing",
        mutation={"change": "remove file", "file": AUDIO_B},
        reseal=False,
        findings=(
            ("oxum-differs", "bag-info.txt:10"),
            ("file-missing", AUDIO_B),
            ANSWERED,
        ),
    ),
    Broken(
        code="bext-loudness-differs",
        # -23.00 LUFS, in hundredths and little-endian (EBU Tech 3285 v2 §2.3).
        mutation={"change": "put octets", "file": AUDIO_A, "octet": 432, "hex": "04f7"},
        reseal=True,
        findings=(
            ("sidecar-audio-differs", f"{SIDECAR_A}#/this_file"),
            ("bext-loudness-differs", f"{AUDIO_A}#bext.LoudnessValue"),
            ANSWERED,
        ),
    ),
    Broken(
        code="sidecar-schema",
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A],
            "old": '"base": "polyester"',
            "new": '"base": "plastic"',
        },
        reseal=True,
        findings=(
            ("sidecar-schema", f"{SIDECAR_A}#/transfer/reel/stock/1/base"),
            # With the other side-car alone to tell of it.
            (ANSWERED[0], ANSWERED[1].replace(SIDECAR_A, SIDECAR_B)),
        ),
    ),
    Broken(
        code="region-outside",
        # One sample past the end of side A; the side-cars of one package say the same.
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A, SIDECAR_B],
            "old": '"end": 28800,\n              "equalisation"',
            "new": '"end": 28801,\n              "equalisation"',
        },
        reseal=True,
        findings=(
            ("region-outside", f"{SIDECAR_A}#/transfer/reel/sides/0/regions/3"),
            ANSWERED,
        ),
    ),
    Broken(
        code="sidecars-disagree",
        mutation={
            "change": "replace text",
            "files": [SIDECAR_B],
            "old": '"place": "lamp room, Skerrow Light"',
            "new": '"place": "engine room, Skerrow Light"',
        },
        reseal=True,
        findings=(("sidecars-disagree", f"{SIDECAR_B}#/transfer"), ANSWERED),
    ),
    Broken(
        code="sidecar-newer",
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A, SIDECAR_B],
            "old": '"urn:tailsout:schema:sidecar:0.1"',
            "new": '"urn:tailsout:schema:sidecar:0.2"',
        },
        reseal=True,
        findings=(
            ("sidecar-newer", f"{SIDECAR_A}#/schema"),
            ("sidecar-newer", f"{SIDECAR_B}#/schema"),
            ANSWERED,
        ),
        verdict="not examined",
        exit=4,
    ),
    Broken(
        code="end-out-contradicts",
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A, SIDECAR_B],
            "old": '"end_out_on_leaving": "tails"',
            "new": '"end_out_on_leaving": "heads"',
        },
        reseal=True,
        findings=(
            ("end-out-contradicts", f"{SIDECAR_A}#/transfer/reel/end_out_on_leaving"),
            ANSWERED,
        ),
        verdict="open questions",
        exit=0,
    ),
    Broken(
        code="dates-out-of-order",
        # Inspected a day after it had been wound for leaving.
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A, SIDECAR_B],
            "old": '"on": "2026-03-12T15:00:00Z"',
            "new": '"on": "2026-03-15T15:00:00Z"',
        },
        reseal=True,
        findings=(
            ("dates-out-of-order", f"{SIDECAR_A}#/transfer/reel/events/1/on"),
            ANSWERED,
        ),
        verdict="open questions",
        exit=0,
    ),
    Broken(
        code="history-chain-differs",
        # The histories in both masters name the Mark 3 that played the reel.
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A, SIDECAR_B],
            "old": '"model": "Mark 3"',
            "new": '"model": "Mark 5"',
        },
        reseal=True,
        findings=(
            ("history-chain-differs", f"{AUDIO_A}#bext.CodingHistory"),
            ("history-chain-differs", f"{AUDIO_B}#bext.CodingHistory"),
            ANSWERED,
        ),
        verdict="open questions",
        exit=0,
    ),
    Broken(
        code="image-missing",
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A, SIDECAR_B],
            "old": '"place": "box"',
            "new": '"image": "images/box.jpg",\n          "place": "box"',
        },
        reseal=True,
        findings=(
            ("image-missing", f"{SIDECAR_A}#/transfer/reel/inscriptions/0/image"),
            ANSWERED,
        ),
    ),
    Broken(
        code="personal-data",
        mutation={
            "change": "replace text",
            "files": [SIDECAR_A, SIDECAR_B],
            "old": '"purpose": "long-term keeping"',
            "new": '"purpose": "for oran@lamp.example"',
        },
        reseal=True,
        findings=(
            ("personal-data", f"{SIDECAR_A}#/transfer/commission/purpose"),
            ANSWERED,
        ),
        verdict="pass",
        exit=0,
    ),
    Broken(
        code="bag-path-unsafe",
        mutation={
            "change": "replace text",
            "files": ["manifest-sha256.txt"],
            "old": f"  {AUDIO_B}",
            "new": "  data/../../skl8-side-b.wav",
        },
        reseal=False,
        findings=(
            ("file-not-in-every-manifest", AUDIO_B),
            ("digest-differs", "manifest-sha256.txt"),
            ("bag-path-unsafe", "manifest-sha256.txt:4"),
            ANSWERED,
        ),
        verdict="refused",
        exit=3,
    ),
    Broken(
        code="superseded-differs",
        # One name in a manifest that is kept of the second version.
        source=AMENDED,
        mutation={
            "change": "replace text",
            "files": ["metadata/superseded/v2/manifest-sha256.txt"],
            "old": "  data/documents/letter.txt",
            "new": "  data/documents/letter2.txt",
        },
        reseal=True,
        findings=(
            ("superseded-differs", "metadata/superseded/v2/manifest-sha256.txt"),
            TOLD_AFTERWARDS,
        ),
    ),
    Broken(
        code="amended-differs",
        source=AMENDED,
        mutation={
            "change": "replace text",
            "files": ["data/audio/skl3-1.json", "data/audio/skl3-2.json"],
            "old": '"title": "Skerrow Light, spoken log of the keeper, winter of 1962"',
            "new": '"title": "Skerrow Light, spoken log of the keeper, winter of 1963"',
        },
        reseal=True,
        findings=(
            ("amended-differs", "data/audio/skl3-1.json#/transfer/reel/title"),
            TOLD_AFTERWARDS,
        ),
    ),
)


def remake(folder: Path) -> None:
    """Write `good` and `broken` below a folder; what stands there under these names goes."""
    with tempfile.TemporaryDirectory() as place:
        packages: dict[str, Path] = {}
        for good in GOOD:
            before = packages.get(good.amends)
            packages[good.name] = (
                amended(good, before, Path(place)) if before else close_out(good, Path(place))
            )
        for name in ("good", "broken"):
            shutil.rmtree(folder / name, ignore_errors=True)
        for good in GOOD:
            sample = folder / "good" / good.name
            sample.mkdir(parents=True)
            shutil.move(packages[good.name], sample / "package")
            write_json(sample / "expected.json", expected("pass", 0, good.findings))
    for one in BROKEN:
        sample = folder / "broken" / one.code
        shutil.copytree(folder / "good" / one.source / "package", sample / "package")
        mutate(sample / "package", one.mutation)
        if one.reseal:
            reseal(sample / "package")
        made = {"from": one.source, "reseal": one.reseal, "mutation": one.mutation}
        write_json(sample / "how_made.json", made)
        write_json(sample / "expected.json", expected(one.verdict, one.exit, one.findings))


def expected(verdict: str, code: int, findings: tuple[Found, ...]) -> dict[str, Any]:
    """Return what a check of the package must show."""
    found = [
        {"code": one, "place": place, "answered": one == ANSWERED[0]} for one, place in findings
    ]
    return {"verdict": verdict, "exit": code, "findings": found}


def write_json(path: Path, value: object) -> None:
    """Write a small file for people and tests to read."""
    path.write_text(json.dumps(value, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")


# The good packages


def close_out(good: Good, place: Path) -> Path:
    """Close out the job that lies beside this module; return the package."""
    shutil.copytree(HERE / good.name, place / good.name)
    captures = place / good.name / "job" / "captures"
    captures.mkdir()
    for number, (stem, hour, stretches) in enumerate(good.captures):
        path = captures / f"{stem}.wav"
        path.write_bytes(capture(hour, b"".join(sound(stretches, seed=number))))
        age(path)
    return built(close(place / good.name / "job", place / "packages", around()))


def age(path: Path) -> None:
    """Make a file an hour old: what has just changed is not packed."""
    os.utime(path, (INSTANT.timestamp() - 3600, INSTANT.timestamp() - 3600))


def amended(good: Good, package: Path, place: Path) -> Path:
    """Amend another good package by the forms that lie beside this module."""
    for form in good.forms:
        outcome = amend(package, HERE / good.name / form, place / "packages", around()).outcome
        package = built(outcome)
    return package


def around() -> Surroundings:
    """Return what is fixed for every package."""
    return Surroundings(
        instant=INSTANT,
        software=SOFTWARE,
        seconds_now=INSTANT.timestamp,
        disk=Disk(),
        progress=Silent(),
    )


def built(outcome: Outcome) -> Path:
    """Return where a package stands now."""
    if outcome.built is None:
        raise SystemExit(f"Nothing was built: {outcome.judgement.findings}")
    return outcome.built.path


def capture(hour: str | None, samples: bytes) -> bytes:
    """Return a wave file as the recorder left it."""
    parts = [(b"fmt ", fmt.encode(PCM)), (b"data", samples)]
    if hour is not None:
        parts.insert(0, (b"bext", bext.encode(header(hour))))
    chunks = b"".join(struct.pack("<4sI", name, len(part)) + part for name, part in parts)
    return struct.pack("<4sI4s", b"RIFF", 4 + len(chunks), b"WAVE") + chunks


def header(hour: str) -> Bext:
    """Return what the recorder wrote of a capture begun at that hour."""
    hours, minutes, seconds = map(int, hour.split(":"))
    return Bext(
        description="Untitled take",
        originator="Groyne recorder 4.2",
        origination_date="2026-03-14",
        origination_time=hour,
        time_reference=((hours * 60 + minutes) * 60 + seconds) * RATE_HZ,
        coding_history=f"A=PCM,F={RATE_HZ},W=24,M=mono,T=Groyne recorder 4.2\r\n",
    )


def sound(stretches: Stretches, *, seed: int) -> Iterator[bytes]:
    """Yield samples, 24 bits each.

    Plain arithmetic and `Random.random`, whose numbers are promised to stay the same for ever.
    """
    chance = random.Random(seed)
    for holds, seconds in stretches:
        make = SOUNDS[holds]
        for n in range(round(seconds * RATE_HZ)):
            value = make(n / RATE_HZ) + 2e-5 * (chance.random() - 0.5)
            yield round(value * 0x7FFFFF).to_bytes(3, "little", signed=True)


def _leader(_seconds: float) -> float:
    return 0.0


def _tone(seconds: float) -> float:
    return 0.125 * math.sin(math.tau * 1000 * seconds)


def _voice(seconds: float) -> float:
    """Syllables of 125 ms at 120 Hz with harmonics that fall by 6 dB an octave."""
    harmonics = sum(math.sin(math.tau * 120 * h * seconds) / h for h in range(1, 9))
    return 0.15 * abs(math.sin(math.tau * 4 * seconds)) * harmonics


SOUNDS: Mapping[str, Callable[[float], float]] = {"leader": _leader, "tone": _tone, "voice": _voice}


# The broken ones


def mutate(package: Path, mutation: Mapping[str, Any]) -> None:
    """Change one thing of a package, as `how_made.json` records it."""
    names = mutation.get("files", [mutation.get("file")])
    for path in (package / name for name in names):
        content = path.read_bytes()
        match mutation["change"]:
            case "remove file":
                path.unlink()
            case "remove line":
                lines = content.splitlines(keepends=True)
                del lines[mutation["line"] - 1]
                path.write_bytes(b"".join(lines))
            case "flip bit":
                at = mutation["octet"]
                path.write_bytes(_put(content, at, bytes([content[at] ^ 1 << mutation["bit"]])))
            case "put octets":
                octets = bytes.fromhex(mutation["hex"])
                path.write_bytes(_put(content, mutation["octet"], octets))
            case "replace text":
                old, new = mutation["old"].encode(), mutation["new"].encode()
                if content.count(old) != 1:
                    raise SystemExit(f"{path} holds {old!r} {content.count(old)} times, not once")
                path.write_bytes(content.replace(old, new))


def _put(content: bytes, at: int, octets: bytes) -> bytes:
    return content[:at] + octets + content[at + len(octets) :]


def reseal(package: Path, *, describing: bool = True) -> None:
    """Make Payload-Oxum, manifests, descriptions and tag manifests anew, as if nothing had been."""
    payload = _files(package, lambda name: name.startswith("data/"))
    oxum = f"{sum((package / name).stat().st_size for name in payload)}.{len(payload)}"
    info = (package / "bag-info.txt").read_text(encoding="utf-8").splitlines()
    info = [f"Payload-Oxum: {oxum}" if one.startswith("Payload-Oxum:") else one for one in info]
    (package / "bag-info.txt").write_bytes("".join(f"{one}\n" for one in info).encode())
    _seal(package, "manifest", payload)
    if describing:
        redescribe(package)
    tags = _files(package, lambda name: not name.startswith(("data/", "tagmanifest-")))
    _seal(package, "tagmanifest", tags)


def redescribe(package: Path) -> None:
    """Make the descriptions in XML of a package anew, where it has some and can be read."""
    views = [v for v in VIEWS if v.path.endswith(".xml") and (package / v.path).is_file()]
    with suppress(TailsoutError):
        for view, made in zip(views, export_in(package, views, Silent()), strict=True):
            (package / view.path).write_bytes(made.content)


def _files(package: Path, wanted: Callable[[str], bool]) -> list[str]:
    every = (p.relative_to(package).as_posix() for p in package.rglob("*") if p.is_file())
    return sorted(name for name in every if wanted(name))


def _seal(package: Path, kind: str, names: list[str]) -> None:
    for path in package.glob(f"{kind}-*.txt"):
        algorithm = path.stem.rpartition("-")[2]
        lines = (
            f"{hashlib.new(algorithm, (package / name).read_bytes()).hexdigest()}  {name}\n"
            for name in names
        )
        path.write_bytes("".join(lines).encode())


if __name__ == "__main__":
    remake(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE.parents[1] / "sample_packages")
