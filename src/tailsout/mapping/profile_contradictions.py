"""Where a BagIt Profile asks for what it forbids, so that no bag can keep it."""

import re
from collections.abc import Collection, Iterator

from tailsout.ground.units import printable
from tailsout.mapping.path_patterns import Patterns
from tailsout.records.bagit_profile import BagItProfile

IDENTIFIER = "BagIt-Profile-Identifier"
OF_BAGIT = re.compile(r"bagit\.txt|bag-info\.txt|fetch\.txt|(?:tag)?manifest-[^/]+\.txt", re.DOTALL)
"""Tag files that RFC 8493 defines: other keys speak of them, Tag-Files-… do not."""

Told = tuple[str, str]
"""Key, and what contradicts what."""


def contradictions(profile: BagItProfile, keys: Collection[str]) -> Iterator[Told]:
    """Yield each contradiction; `keys` are those that stand in the profile."""
    yield from _of_manifests(profile)
    yield from _of_tag_files(profile)
    yield from _of_payload(profile)
    if profile.fetch_required and not profile.allow_fetch:
        yield "Fetch.txt-Required", "it is true, and Allow-Fetch.txt is false."
    if profile.serialization == "required" and not profile.accept_serialization:
        text = "it is required, and Accept-Serialization lists no media type."
        yield "Serialization", text
    for rule in profile.labels:
        if rule.label == IDENTIFIER and rule.values and profile.identifier not in rule.values:
            text = f"it allows no {IDENTIFIER} that is the profile's own."
            yield f"Bag-Info/{IDENTIFIER}", text
    if "Accept-BagIt-Version" in keys and not profile.accept_bagit_version:
        yield "Accept-BagIt-Version", "it lists no version, so that no bag can be of one."


def _of_manifests(profile: BagItProfile) -> Iterator[Told]:
    if profile.manifests_allowed == ():
        yield "Manifests-Allowed", "it lists nothing, and a bag has one payload manifest at least."
    for stem, required, allowed in (
        ("Manifests", profile.manifests_required, profile.manifests_allowed),
        ("Tag-Manifests", profile.tag_manifests_required, profile.tag_manifests_allowed),
    ):
        for one in required:
            if allowed is not None and one not in allowed:
                text = f"{printable(one)!r} is required, and {stem}-Allowed does not list it."
                yield f"{stem}-Required", text


def _of_tag_files(profile: BagItProfile) -> Iterator[Told]:
    key, allowed = "Tag-Files-Required", Patterns(profile.tag_files_allowed)
    for one in profile.tag_files_required:
        shown = repr(printable(one, 200))
        if OF_BAGIT.fullmatch(one) or one.startswith("data/"):
            yield key, f"{shown} is none of the tag files this key is for."
        elif not allowed.match(one):
            yield key, f"{shown} is required, and Tag-Files-Allowed has it not."
        if one.endswith("/"):
            yield key, f"{shown} is a directory; what is required is a file."
    yield from ((key, text) for text in _never_there(profile.tag_files_required))


def _of_payload(profile: BagItProfile) -> Iterator[Told]:
    key, allowed = "Payload-Files-Required", Patterns(profile.payload_files_allowed)
    required = [below_data(one) for one in profile.payload_files_required]
    longest = max(required, key=len, default="")
    if profile.data_empty and not all(_is_on_the_way(one, longest) for one in required):
        yield "Data-Empty", f"it is true, and {key} asks for more than one file."
    for one in required:
        covers = allowed.reach_below if one.endswith("/") or not one else allowed.match
        if not covers(one) and not covers(f"data/{one}"):
            text = f"{printable(one, 200)!r} is required, and Payload-Files-Allowed has it not."
            yield key, text
    yield from ((key, text) for text in _never_there(required))


def _is_on_the_way(path: str, longest: str) -> bool:
    """Tell whether a file of the longest path gives what another path asks for, too."""
    return path == longest or (path.endswith("/") and longest.startswith(path)) or not path


def _never_there(required: Collection[str]) -> Iterator[str]:
    """Yield why paths can never be there: patterns, no paths at all, a file that is a folder."""
    folders = {one[:end] for one in required for end, sign in enumerate(one) if sign == "/"}
    for one in required:
        shown = repr(printable(one, 200))
        if "*" in one:
            yield f"{shown} is a pattern; what is required is called by its name."
        if one and not {"", ".", ".."}.isdisjoint(one.removesuffix("/").split("/")):
            yield f"{shown} is not a path within a bag."
        if one in folders:
            yield f"{shown} is required as a file and as a folder."


def below_data(path: str) -> str:
    """Return a payload path as from `data/`: profiles have it from there or from the base."""
    return path.removeprefix("data/")
