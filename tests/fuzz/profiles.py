"""Mutates BagIt Profiles and holds their reader, and the rule that judges by them, to its promises.

    python tests/fuzz/profiles.py --inputs 100000 --seed 1
    python tests/fuzz/profiles.py --seconds 20
    python tests/fuzz/profiles.py --seed 1 --only 4711

Input n of a seed is always the same octets. The first broken promise stops it: `--only` shows that
input again.
"""

import copy
import json
import random
from collections import Counter
from collections.abc import Iterator
from typing import Any

import rounds
from rounds import promise

from tailsout.ground.findings import Finding, Severity
from tailsout.mapping.bagit_profile import KINDS, NOT_JSON, UNFIT, read
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.dossier import Dossier
from tailsout.records.facts import ArchiveFacts, FoundFile, InfoLine, PackageFacts
from tailsout.rules.bagit_profile import RULES

EVIL = "\x1b[2J\u202e"
URI = "https://saltpan.example/profiles/reel-1.2.json"
RULE = next(rule for rule in RULES if rule.name == "BagIt Profile")
BREACHES = frozenset(kind.code for kind in RULE.kinds)

SEED: dict[str, Any] = {
    "BagIt-Profile-Info": {
        "BagIt-Profile-Identifier": URI,
        "BagIt-Profile-Version": "1.4.0",
        "Source-Organization": "Saltpan Row",
        "External-Description": "Transfers of reels",
        "Version": "1.2",
        "Contact-Name": "Somebody",
    },
    "Bag-Info": {
        "Contact-Name": {"required": True, "values": ["a", "b"], "description": "who"},
        "Reel-Number": {"repeatable": False},
    },
    "Manifests-Required": ["sha512"],
    "Manifests-Allowed": ["sha512", "sha256"],
    "Allow-Fetch.txt": True,
    "Fetch.txt-Required": True,
    "Data-Empty": False,
    "Serialization": "required",
    "Accept-Serialization": ["application/x-tar"],
    "Accept-BagIt-Version": ["0.97", "1.0"],
    "Tag-Manifests-Required": ["sha512"],
    "Tag-Manifests-Allowed": ["sha512"],
    "Tag-Files-Required": ["metadata/list.txt"],
    "Tag-Files-Allowed": ["metadata/*"],
    "Payload-Files-Required": ["audio/", "data/a.txt"],
    "Payload-Files-Allowed": ["audio/*", "*.txt"],
}
VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, 1.5, "", "*", "**a*", "/", "../x", "a/", "data/", EVIL, "sha512"),
    *("1.3.0", "1.1", "9.9.9", "required", "forbidden", [], {}, [""], ["*"], ["a", "a/b"], [[]]),
    *({"required": True}, {"values": [EVIL]}, ["a*" * 200], ["x"] * 1001, "é", "e\u0301"),
)
OCTETS = (b"\x00", b"\xff", b"\xef\xbb\xbf", b"NaN", b'"', b"\\ud800", b"{", b"[" * 70, b"1" * 40)


def package(archive: ArchiveFacts | None, names: tuple[str, ...], version: str) -> PackageFacts:
    lines = [("BagIt-Profile-Identifier", URI), ("contact-name", "a"), ("Reel-Number", EVIL)]
    if archive is None:
        lines *= 2
    return PackageFacts(
        name=f"reel{EVIL}",
        bagit_version=version,
        encoding="UTF-8",
        bag_info=tuple(
            InfoLine(label=label, value=value, line=number)
            for number, (label, value) in enumerate(lines, start=1)
        ),
        manifests=(),
        files=tuple(FoundFile(path=name, octets=1) for name in sorted(names)),
        archive=archive,
    )


NAMES = ("bagit.txt", "bag-info.txt", "manifest-sha512.txt", "tagmanifest-sha512.txt", "fetch.txt")
MADE = ("metadata/list.txt", "data/audio/a.wav", "data/a.txt")
KEEPING = package(
    ArchiveFacts(name="reel.tar", form="tar", octets=9, whole=True), (*NAMES, *MADE), "1.0"
)
BREAKING = package(None, (f"x{EVIL}", f"data/{EVIL}", f"manifest-{EVIL}.txt"), "0.96")


def judge_octets(content: bytes) -> Counter[str]:
    """Read one profile and judge two bags by it; give the codes met."""
    profile, findings = read(content, "reel.json")
    _can_be_shown(findings)
    promise({one.kind for one in findings} <= {*KINDS}, "the reader finds what it declares")
    unusable = any(one.kind in {NOT_JSON, UNFIT} for one in findings)
    promise((profile is None) == unusable, "what cannot be used is told, and nothing else")
    met = Counter(one.code for one in findings)
    if profile is None:
        return met
    promise(profile.reading == findings, "what was met stands in the record")
    for facts in (KEEPING, BREAKING):
        found = list(_judged(profile, facts))
        _can_be_shown(found)
        promise({one.code for one in found} <= BREACHES, "the rule finds what it declares")
        promise(all(one.severity is Severity.MEND for one in found), "a breach is to be mended")
        met.update(one.code for one in found)
    return met


def _judged(profile: BagItProfile, facts: PackageFacts) -> Iterator[Finding]:
    yield from RULE.run(Dossier(origin="received", package=facts, bagit_profile=profile))


def _can_be_shown(findings: Any) -> None:
    for one in findings:
        promise(one.text.isprintable() and str(one.place).isprintable(), "a text can be printed")
        promise(one.text.endswith((".", "?")), "a text is a sentence")


# Inputs


def draw(chance: random.Random) -> bytes:
    """Make one profile: values changed, keys renamed, then perhaps octets spoilt."""
    data: Any = copy.deepcopy(SEED)
    for _ in range(chance.choice((0, 1, 1, 2, 4))):
        _change(data, chance)
    content = json.dumps(data, ensure_ascii=chance.randrange(2) == 0).encode()
    if chance.randrange(4) == 0:
        at = chance.randrange(len(content))
        match chance.randrange(4):
            case 0:
                content = content[:at]
            case 1:
                content = content[:at] + chance.choice(OCTETS) + content[at:]
            case 2:
                content = content[:-1] + b"," + content[1:]
            case _:
                content = content[:at] + bytes([content[at] ^ 1 << chance.randrange(8)])
    return content


def _change(data: Any, chance: random.Random) -> None:
    holder = chance.choice([one for one in _holders(data) if one])
    keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
    key = chance.choice(keys)
    match chance.randrange(7):
        case 6 if isinstance(data.get("BagIt-Profile-Info"), dict):
            version = chance.choice(("1.1", "1.2.0", "1.3.0", "1.5.0", "2.0"))
            data["BagIt-Profile-Info"]["BagIt-Profile-Version"] = version
        case 0:
            del holder[key]
        case 1 if isinstance(holder, dict):
            name = chance.choice((f"{key}s", str(key).lower(), EVIL, "A" * 3000, *SEED))
            holder[name] = holder.pop(key)
        case 2 if isinstance(holder, dict):
            holder[chance.choice((*SEED, "description", EVIL))] = chance.choice(VALUES)
        case 3 if isinstance(holder[key], list):
            holder[key] = [*holder[key], chance.choice(VALUES)]
        case _:
            holder[key] = copy.deepcopy(chance.choice(VALUES))


def _holders(data: Any) -> Iterator[Any]:
    """Every table and list, the whole one oftener than each within."""
    yield from (data, data)
    waiting = [data]
    while waiting:
        one = waiting.pop()
        for inside in one.values() if isinstance(one, dict) else one:
            if isinstance(inside, dict | list):
                yield inside
                waiting.append(inside)


def input_of(seed: int, number: int) -> bytes:
    """Return one input of a campaign."""
    return draw(rounds.chance(seed, number))


# The campaign


def run(seed: int, *, inputs: int, seconds: float) -> rounds.Report:
    """Judge inputs until there were so many, or the time is up."""
    return rounds.run(seed, input_of, judge_octets, inputs=inputs, seconds=seconds)


def _show(seed: int, number: int) -> None:
    content = input_of(seed, number)
    print(content)
    print(dict(judge_octets(content)))


if __name__ == "__main__":
    rounds.main("BagIt Profiles", run, _show, {kind.code for kind in KINDS} | BREACHES)
