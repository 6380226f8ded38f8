"""BagIt Profiles against a second reader: the library `bagit-profile` 1.3.1, which knows 1.3.

The profiles are ours, with the keys that the specification's own example has. Where the two
readers differ the specification is named, and who has it.
"""

import importlib
import json
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.progress import Silent
from tailsout.mapping.bagit_profile import read
from tailsout.work.check import check

pytestmark = pytest.mark.oracles

URI = "https://saltpan.example/profiles/reel-1.2.json"
INFO = (("BagIt-Profile-Identifier", URI), ("Contact-Name", "a"), ("Reel-Number", "7"))


def written(**keys: Any) -> dict[str, Any]:
    return {
        "BagIt-Profile-Info": {
            "BagIt-Profile-Identifier": URI,
            "BagIt-Profile-Version": keys.pop("version", "1.3.0"),
            "Source-Organization": "Saltpan Row",
            "External-Description": "Transfers of reels",
            "Version": "1.2",
        },
        "Bag-Info": {},
        "Manifests-Required": ["sha512"],
        "Accept-BagIt-Version": ["1.0"],
        **keys,
    }


@pytest.fixture
def bag(tmp_path: Path, reseal: Callable[[Path], None]) -> Callable[..., Path]:
    def make(files: tuple[str, ...] = (), info: tuple[tuple[str, str], ...] = INFO) -> Path:
        base = tmp_path / "reel"
        for name in ("data/audio/a.txt", *files):
            (base / name).parent.mkdir(parents=True, exist_ok=True)
            (base / name).write_text("tails out\n")
        declared = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
        (base / "bagit.txt").write_text(declared)
        lines = "".join(f"{label}: {value}\n" for label, value in info)
        (base / "bag-info.txt").write_text(lines)
        for kind in ("manifest", "tagmanifest"):
            (base / f"{kind}-sha512.txt").touch()
        reseal(base)
        return base

    return make


@pytest.fixture
def theirs(bagit: Any) -> Callable[[Path, dict[str, Any]], str]:
    """What the library comes to: kept, broken, or the name of the fault it stumbles over."""
    library = importlib.import_module("bagit_profile")

    def ask(base: Path, profile: dict[str, Any]) -> str:
        logging.disable(logging.CRITICAL)
        try:
            one = library.Profile(URI, profile=json.dumps(profile))
            one.validate_serialization(str(base))
            return "kept" if one.validate(bagit.Bag(str(base))) else "broken"
        except library.ProfileValidationError:
            return "broken"
        except KeyError:
            return "KeyError"
        finally:
            logging.disable(logging.NOTSET)

    return ask


def ours(base: Path, profile: dict[str, Any]) -> str:
    one, _ = read(json.dumps(profile).encode(), "reel.json")
    if one is None:
        return "no profile"
    judgement = check(base, Silent(), bagit_profile=one).judgement
    [outcome] = [c.outcome for c in judgement.checks if c.name == "BagIt Profile"]
    return {"passed": "kept", "failed": "broken"}[outcome]


def label(name: str, **rule: Any) -> dict[str, Any]:
    return {"Bag-Info": {name: rule}}


TWICE = (*INFO, ("Reel-Number", "7"))

AGREED: dict[str, tuple[str, dict[str, Any], dict[str, Any]]] = {
    # what both say, the profile's keys, the bag
    "nothing asked": ("kept", {}, {}),
    "label there": ("kept", label("Reel-Number", required=True), {}),
    "label missing": ("broken", label("Deck", required=True), {}),
    "label of other letters missing": ("broken", label("reel-number", required=True), {}),
    "value listed": ("kept", label("Reel-Number", values=["6", "7"]), {}),
    "value not listed": ("broken", label("Reel-Number", values=["6"]), {}),
    "label once": ("kept", label("Reel-Number", repeatable=False), {}),
    "label twice": ("broken", label("Reel-Number", repeatable=False), {"info": TWICE}),
    "manifest missing": ("broken", {"Manifests-Required": ["md5"]}, {}),
    "manifest allowed": ("kept", {"Manifests-Allowed": ["sha512", "md5"]}, {}),
    "manifest not allowed": (
        "broken",
        {"Manifests-Allowed": ["md5"], "Manifests-Required": []},
        {},
    ),
    "tag manifest there": ("kept", {"Tag-Manifests-Required": ["sha512"]}, {}),
    "tag manifest missing": ("broken", {"Tag-Manifests-Required": ["md5"]}, {}),
    "tag manifest not allowed": ("broken", {"Tag-Manifests-Allowed": []}, {}),
    "tag file there": ("kept", {"Tag-Files-Required": ["m/a"]}, {"files": ("m/a",)}),
    "tag file missing": ("broken", {"Tag-Files-Required": ["m/a"]}, {"files": ("m/b",)}),
    "tag file allowed": ("kept", {"Tag-Files-Allowed": ["m/*"]}, {"files": ("m/a/b",)}),
    "tag file not allowed": ("broken", {"Tag-Files-Allowed": ["m/*"]}, {"files": ("n/a",)}),
    "the bag's own tag files need no leave": ("kept", {"Tag-Files-Allowed": []}, {}),
    "fetch.txt not there": ("kept", {"Allow-Fetch.txt": False}, {}),
    "fetch.txt there": ("broken", {"Allow-Fetch.txt": False}, {"files": ("fetch.txt",)}),
    "folder forbidden": (
        "broken",
        {"Serialization": "required", "Accept-Serialization": ["application/zip"]},
        {},
    ),
    "folder allowed": (
        "kept",
        {"Serialization": "optional", "Accept-Serialization": ["application/zip"]},
        {},
    ),
    "version accepted": ("kept", {"Accept-BagIt-Version": ["0.97", "1.0"]}, {}),
    "version not accepted": ("broken", {"Accept-BagIt-Version": ["0.97"]}, {}),
    "no profile named": ("broken", {}, {"info": INFO[1:]}),
    "another profile named": (
        "broken",
        {},
        {"info": (("BagIt-Profile-Identifier", f"{URI}2"), *INFO[1:])},
    ),
}


@pytest.mark.parametrize("case", AGREED)
def test_both_readers_agree(case: str, bag: Any, theirs: Any) -> None:
    said, keys, made = AGREED[case]
    base = bag(**made)
    if case == "fetch.txt there":  # the general library reads it when it opens a bag
        (base / "fetch.txt").write_text("")
    assert (ours(base, written(**keys)), theirs(base, written(**keys))) == (said, said)


DIFFERING: dict[str, tuple[str, str, dict[str, Any], dict[str, Any]]] = {
    # ours, theirs, the profile's keys, the bag
    # RFC 8493 §2.2.2: reserved labels in letters of either case; the library wants them alike.
    "reserved label of other letters": (
        "kept",
        "broken",
        label("contact-NAME", required=True),
        {},
    ),
    # Profiles 1.4: a list of nothing allows any value; to the library it allows none.
    "values of nothing": ("kept", "broken", label("Reel-Number", values=[]), {}),
    # Profiles 1.4: a label may be repeatable and of few values; the library compares the list.
    "allowed value twice": (
        "kept",
        "broken",
        label("Reel-Number", values=["7"]),
        {"info": TWICE},
    ),
    # Profiles 1.4: a bag may name several profiles; the library compares the list.
    "two profiles named": (
        "kept",
        "broken",
        {},
        {"info": (*INFO, ("BagIt-Profile-Identifier", f"{URI}2"))},
    ),
    # Profiles 1.4: the default allows any tag file; the library takes what begins with `data`,
    # as `database/`, for payload.
    "tag folder called like data": (
        "broken",
        "kept",
        {"Tag-Files-Allowed": ["m/*"]},
        {"files": ("database/a",)},
    ),
    # RFC 8493 §2.4: the algorithm's name is stripped for use in the name of a file.
    "algorithm in full": ("kept", "broken", {"Manifests-Required": ["SHA-512"]}, {}),
    # Profiles 1.4: `*` alone is named; the library takes the shell's other signs, too.
    "other signs in a pattern": (
        "broken",
        "kept",
        {"Tag-Files-Allowed": ["m/[ab]?"]},
        {"files": ("m/ax",)},
    ),
    # The library ignores what came with 1.4, whatever the profile declares.
    "payload file missing": (
        "broken",
        "kept",
        {"version": "1.4.0", "Payload-Files-Required": ["audio/b.txt"]},
        {},
    ),
    "payload file not allowed": (
        "broken",
        "kept",
        {"version": "1.4.0", "Payload-Files-Allowed": ["images/*"]},
        {},
    ),
    "payload not empty": ("broken", "kept", {"version": "1.4.0", "Data-Empty": True}, {}),
    "no fetch.txt": ("broken", "kept", {"version": "1.4.0", "Fetch.txt-Required": True}, {}),
    # A contradiction of the profile's own: to the library the bag breaks it; we ask, and apply
    # both keys, of which this bag keeps each.
    "required and not allowed": (
        "kept",
        "broken",
        {"Tag-Files-Required": ["bag-info.txt"], "Tag-Files-Allowed": []},
        {},
    ),
    # The version is newer than the key: the library passes over it, we tell and apply it.
    "key newer than the profile": (
        "broken",
        "kept",
        {"version": "1.2.0", "Manifests-Allowed": ["md5"]},
        {},
    ),
}


@pytest.mark.parametrize("case", DIFFERING)
def test_where_the_readers_differ(case: str, bag: Any, theirs: Any) -> None:
    own, their, keys, made = DIFFERING[case]
    base = bag(**made)
    assert (ours(base, written(**keys)), theirs(base, written(**keys))) == (own, their)


@pytest.mark.parametrize("key", ["Bag-Info", "Manifests-Required", "Accept-BagIt-Version"])
def test_what_may_be_left_out_makes_the_library_stumble(key: str, bag: Any, theirs: Any) -> None:
    profile = written()
    del profile[key]
    base = bag()
    assert (ours(base, profile), theirs(base, profile)) == ("kept", "KeyError")


EXAMPLE = written(
    version="1.4.0",
    **{
        "Bag-Info": {
            "Source-Organization": {"required": True, "values": ["Saltpan Row", "Skerrow Light"]},
            "Contact-Phone": {"required": True},
        },
        "Manifests-Required": ["sha512"],
        "Allow-Fetch.txt": False,
        "Serialization": "optional",
        "Accept-Serialization": ["application/zip"],
        "Tag-Manifests-Required": ["sha512"],
        "Tag-Files-Required": ["light/info.txt"],
        "Accept-BagIt-Version": ["1.0"],
    },
)
"""The keys that examples of the specification show together; from memory, values our own."""


def test_a_bag_made_for_such_an_example(bag: Any, theirs: Any) -> None:
    lines = (INFO[0], ("Source-Organization", "Skerrow Light"), ("Contact-Phone", "+44 1"))
    base = bag(files=("light/info.txt",), info=lines)
    assert (ours(base, EXAMPLE), theirs(base, EXAMPLE)) == ("kept", "kept")
    (base / "bag-info.txt").write_text(f"BagIt-Profile-Identifier: {URI}\n")
    assert (ours(base, EXAMPLE), theirs(base, EXAMPLE)) == ("broken", "broken")
