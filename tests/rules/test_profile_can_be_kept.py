"""A profile that does not contradict itself can be kept, and the bag that keeps it is found to.

The bag is made here from what the profile asks for, the least that will do.
"""

import json
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from tailsout.mapping.bagit_profile import read
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.dossier import Dossier
from tailsout.records.facts import ArchiveFacts, FoundFile, InfoLine, PackageFacts
from tailsout.rules.bagit_profile import RULES

URI = "https://saltpan.example/profiles/reel-1.2.json"
[RULE] = [rule for rule in RULES if rule.name == "BagIt Profile"]

ALGORITHMS = st.lists(st.sampled_from(["md5", "sha256", "sha512"]), max_size=2)
NAMES = st.sampled_from(["a", "a/", "a/b", "a/b/", "b/c.wav", "data/a/b", "data/d", "data/", "e"])
PATTERNS = st.sampled_from(["*", "a*", "a/*", "*.wav", "*b", "data/*", "b/*", "d", "e", "data/a/*"])
LABEL = st.fixed_dictionaries(
    {},
    optional={
        "required": st.booleans(),
        "values": st.lists(st.sampled_from(["7", "8"]), max_size=2),
        "repeatable": st.booleans(),
    },
)
KEYS = st.fixed_dictionaries(
    {"Accept-BagIt-Version": st.lists(st.sampled_from(["0.97", "1.0"]), max_size=2)},
    optional={
        "Bag-Info": st.dictionaries(
            st.sampled_from(["Contact-Name", "Reel", "BagIt-Profile-Identifier"]), LABEL
        ),
        "Manifests-Required": ALGORITHMS,
        "Manifests-Allowed": ALGORITHMS,
        "Tag-Manifests-Required": ALGORITHMS,
        "Tag-Manifests-Allowed": ALGORITHMS,
        "Tag-Files-Required": st.lists(NAMES, max_size=2),
        "Tag-Files-Allowed": st.lists(PATTERNS, max_size=2),
        "Payload-Files-Required": st.lists(NAMES, max_size=2),
        "Payload-Files-Allowed": st.lists(PATTERNS, max_size=2),
        "Data-Empty": st.booleans(),
        "Allow-Fetch.txt": st.booleans(),
        "Fetch.txt-Required": st.booleans(),
        "Serialization": st.sampled_from(["forbidden", "required", "optional"]),
        "Accept-Serialization": st.lists(st.sampled_from(["application/zip"]), max_size=1),
    },
)


def written(keys: dict[str, Any]) -> bytes:
    info = {
        "BagIt-Profile-Identifier": URI,
        "BagIt-Profile-Version": "1.4.0",
        "Source-Organization": "Saltpan Row",
        "External-Description": "Transfers of reels",
        "Version": "1.2",
    }
    return json.dumps({"BagIt-Profile-Info": info, **keys}).encode()


def payload_of(profile: BagItProfile) -> set[str]:
    """Files below `data/`: those required, and one below each folder that is."""
    wanted = {one.removeprefix("data/") for one in profile.payload_files_required}
    files = {one for one in wanted if one and not one.endswith("/")}
    for folder in sorted((one for one in wanted if one not in files), key=len, reverse=True):
        if not any(one.startswith(folder) for one in files):
            files.add(_some_file(folder, profile.payload_files_allowed))
    return {f"data/{one}" for one in files}


def _some_file(folder: str, allowed: tuple[str, ...]) -> str:
    for pattern in allowed:
        for above in (folder, f"data/{folder}"):
            if "*" not in pattern:
                if pattern.startswith(above) and pattern != above:
                    return pattern.removeprefix("data/")
                continue
            start, _, end = pattern.partition("*")
            if start.startswith(above):
                return f"{start}x{end}".removeprefix("data/")
            if above.startswith(start):
                return f"{above}x{end}".removeprefix("data/")
    raise AssertionError(folder)


def kept_by(profile: BagItProfile) -> PackageFacts:
    lines = [("BagIt-Profile-Identifier", URI)] + [
        (rule.label, (*rule.values, "9")[0])
        for rule in profile.labels
        if rule.required and rule.label != "BagIt-Profile-Identifier"
    ]
    required = profile.manifests_required or (profile.manifests_allowed or ("sha512",))[:1]
    files = {"bagit.txt", "bag-info.txt", *profile.tag_files_required, *payload_of(profile)}
    files |= {f"manifest-{one}.txt" for one in required}
    files |= {f"tagmanifest-{one}.txt" for one in profile.tag_manifests_required}
    files |= {"fetch.txt"} if profile.fetch_required else set()
    packed = ArchiveFacts(name="reel.zip", form="zip", octets=9, whole=True)
    return PackageFacts(
        name="reel",
        bagit_version=(profile.accept_bagit_version or ("1.0",))[0],
        encoding="UTF-8",
        bag_info=tuple(
            InfoLine(label=label, value=value, line=number)
            for number, (label, value) in enumerate(lines, start=1)
        ),
        manifests=(),
        files=tuple(FoundFile(path=path, octets=0) for path in sorted(files)),
        archive=packed if profile.serialization == "required" else None,
    )


@given(keys=KEYS)
def test_a_profile_without_a_contradiction_can_be_kept(keys: dict[str, Any]) -> None:
    profile, findings = read(written(keys), "reel.json")
    assert profile is not None
    assume(not any(one.code == "bagit-profile-contradictory" for one in findings))
    dossier = Dossier(origin="received", package=kept_by(profile), bagit_profile=profile)
    assert [(one.code, one.text) for one in RULE.run(dossier)] == []
