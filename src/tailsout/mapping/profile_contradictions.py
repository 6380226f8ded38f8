"""Where a BagIt Profile asks for what it forbids, so that no bag can keep it."""

import re
from collections.abc import Collection, Iterator

from tailsout.ground.units import printable
from tailsout.mapping.path_patterns import Patterns
from tailsout.records.bagit_profile import BagItProfile

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
    allowed = Patterns(profile.tag_files_allowed)
    for one in profile.tag_files_required:
        shown = repr(printable(one, 200))
        if OF_BAGIT.fullmatch(one) or one.startswith("data/"):
            yield "Tag-Files-Required", f"{shown} is none of the tag files this key is for."
        elif not allowed.match(one):
            yield "Tag-Files-Required", f"{shown} is required, and Tag-Files-Allowed has it not."
        if "*" in one:
            yield "Tag-Files-Required", f"{shown} is a pattern; what is required is a file."


def _of_payload(profile: BagItProfile) -> Iterator[Told]:
    allowed = Patterns(profile.payload_files_allowed)
    files = {below_data(one) for one in profile.payload_files_required if not one.endswith("/")}
    if profile.data_empty and len(files) > 1:
        text = f"it is true, and Payload-Files-Required has {len(files)} files."
        yield "Data-Empty", text
    for one in profile.payload_files_required:
        shown = repr(printable(one, 200))
        spellings = (below_data(one), f"data/{below_data(one)}")
        covers = allowed.reach_below if one.endswith("/") else allowed.match
        if not any(covers(path) for path in spellings):
            text = f"{shown} is required, and Payload-Files-Allowed has it not."
            yield "Payload-Files-Required", text
        if "*" in one:
            text = f"{shown} is a pattern; what is required is a file or a directory."
            yield "Payload-Files-Required", text


def below_data(path: str) -> str:
    """Return a payload path as from `data/`: profiles have it from there or from the base."""
    return path.removeprefix("data/")
