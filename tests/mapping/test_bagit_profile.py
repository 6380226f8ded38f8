"""BagIt Profiles read from octets: what can be used, and what is told of it (Profiles 1.3, 1.4)."""

import json
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailsout.ground.findings import Verdict
from tailsout.mapping.bagit_profile import NEWER, read
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.bagit_profile import BagItProfile, LabelRule

URI = "https://saltpan.example/profiles/reel-1.2.json"
NAME = "reel.json"


def profile(version: str | None = "1.4.0", /, **keys: Any) -> dict[str, Any]:
    """A small profile that keeps its specification; the keys of the call beside it."""
    info = {
        "BagIt-Profile-Identifier": URI,
        "Source-Organization": "Saltpan Row",
        "External-Description": "Transfers of reels",
        "Version": "1.2",
    }
    if version is not None:
        info["BagIt-Profile-Version"] = version
    return {"BagIt-Profile-Info": info, "Accept-BagIt-Version": ["1.0"], **keys}


def found(data: object) -> list[tuple[str, str]]:
    """Code and place of everything found."""
    _, findings = read(json.dumps(data).encode(), NAME)
    assert all(one.text.endswith((".", "?")) for one in findings)
    return [(one.code, one.place.part) for one in findings]


def of(data: object) -> BagItProfile:
    one, findings = read(json.dumps(data).encode(), NAME)
    assert one is not None
    assert one.reading == findings
    assert one.sha256 == sha256(json.dumps(data).encode()).hexdigest()
    return replace(one, sha256="")


# What is read

EVERY_KEY: dict[str, Any] = {
    "Bag-Info": {
        "Contact-Name": {
            "required": True,
            "values": ["a", "b"],
            "repeatable": False,
            "description": "who",
        },
        "Reel-Number": {},
    },
    "Manifests-Required": ["sha512"],
    "Manifests-Allowed": ["sha512", "SHA-256"],
    "Allow-Fetch.txt": True,
    "Fetch.txt-Required": True,
    "Data-Empty": True,
    "Serialization": "required",
    "Accept-Serialization": ["application/x-tar"],
    "Accept-BagIt-Version": ["0.97", "1.0"],
    "Tag-Manifests-Required": ["sha512"],
    "Tag-Manifests-Allowed": ["sha512"],
    "Tag-Files-Required": ["metadata/list.txt"],
    "Tag-Files-Allowed": ["metadata/*"],
    "Payload-Files-Required": ["audio/"],
    "Payload-Files-Allowed": ["audio/*"],
}


def test_all_sixteen_keys_are_taken() -> None:
    assert len({*profile(), *EVERY_KEY}) == 16
    assert of(profile(**EVERY_KEY)) == BagItProfile(
        identifier=URI,
        specification="1.4.0",
        labels=(
            LabelRule(label="Contact-Name", required=True, values=("a", "b"), repeatable=False),
            LabelRule(label="Reel-Number"),
        ),
        manifests_required=("sha512",),
        manifests_allowed=("sha512", "sha256"),
        tag_manifests_required=("sha512",),
        tag_manifests_allowed=("sha512",),
        tag_files_required=("metadata/list.txt",),
        tag_files_allowed=("metadata/*",),
        payload_files_required=("audio/",),
        payload_files_allowed=("audio/*",),
        data_empty=True,
        allow_fetch=True,
        fetch_required=True,
        serialization="required",
        accept_serialization=("application/x-tar",),
        accept_bagit_version=("0.97", "1.0"),
    )


def test_what_is_left_out_has_the_value_the_specification_gives() -> None:
    assert of(profile()) == BagItProfile(
        identifier=URI, specification="1.4.0", accept_bagit_version=("1.0",)
    )


def test_lists_of_nothing_are_not_lists_left_out() -> None:
    keys = ("Tag-Manifests-Allowed", "Tag-Files-Allowed", "Payload-Files-Allowed")
    one = of(profile(**{key: [] for key in keys}))
    assert one.tag_manifests_allowed == one.tag_files_allowed == one.payload_files_allowed == ()


# Versions


@pytest.mark.parametrize(
    ("key", "since"),
    [
        ("Tag-Files-Allowed", "1.2.0"),
        ("Manifests-Allowed", "1.3.0"),
        ("Tag-Manifests-Allowed", "1.3.0"),
        ("Fetch.txt-Required", "1.4.0"),
        ("Data-Empty", "1.4.0"),
        ("Payload-Files-Required", "1.4.0"),
        ("Payload-Files-Allowed", "1.4.0"),
    ],
)
def test_a_key_newer_than_the_version_declared_is_told_and_applied(key: str, since: str) -> None:
    value: Any = True if key in {"Fetch.txt-Required", "Data-Empty"} else ["a"]
    asking = {key: value}
    before = f"1.{int(since[2]) - 1}.0"
    assert found(profile(since, **asking)) == []
    assert found(profile(before, **asking)) == [("bagit-profile-key-newer", f"/{key}")]
    assert found(profile(None, **asking)) == [("bagit-profile-key-newer", f"/{key}")]
    field = {"Fetch.txt-Required": "fetch_required"}.get(key, key.lower().replace("-", "_"))
    assert getattr(of(profile(before, **asking)), field) == (value if value is True else (*value,))


def test_descriptions_of_labels_came_with_1_3() -> None:
    labels = {"Bag-Info": {label: {"description": "what it is"} for label in ("A", "B", "C")}}
    assert found(profile("1.3.0", **labels)) == []
    assert found(profile("1.2.0", **labels)) == [("bagit-profile-key-newer", "/Bag-Info")]


def test_a_profile_that_declares_no_version_is_of_1_1() -> None:
    assert of(profile(None)).specification == "1.1.0"
    assert of(profile("1.3")).specification == "1.3.0"


@pytest.mark.parametrize("version", ["1.4.1", "1.5.0", "2.0", "9999.0.0"])
def test_a_version_that_is_not_known_leaves_the_bag_unjudged(version: str) -> None:
    assert found(profile(version)) == [
        ("bagit-profile-newer", "/BagIt-Profile-Info/BagIt-Profile-Version")
    ]
    assert NEWER.verdict is Verdict.NOT_EXAMINED


# Keys that are not known


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (profile(**{"Manifest-Required": ["md5"]}), "/Manifest-Required"),
        (profile(**{"manifests-required": ["md5"]}), "/manifests-required"),
        (profile(**{"Bag-Info": {"A": {"requried": True}}}), "/Bag-Info/A/requried"),
        (
            {
                **profile(),
                "BagIt-Profile-Info": {**profile()["BagIt-Profile-Info"], "Rights": "none"},
            },
            "/BagIt-Profile-Info/Rights",
        ),
    ],
)
def test_a_key_that_is_not_known_is_told_and_the_rest_is_used(data: Any, part: str) -> None:
    assert found(data) == [("bagit-profile-key-unknown", part)]
    assert of(data).identifier == URI


def test_a_misspelt_key_is_told_with_the_one_that_was_meant() -> None:
    _, (finding,) = read(json.dumps(profile(**{"Manifest-Required": ["md5"]})).encode(), NAME)
    assert "did you mean 'Manifests-Required'?" in finding.text


# Contradictions


@pytest.mark.parametrize(
    ("key", "keys", "mended"),
    [
        (
            "Manifests-Required",
            {"Manifests-Required": ["sha512"], "Manifests-Allowed": ["sha256"]},
            {"Manifests-Allowed": ["sha256", "sha512"]},
        ),
        ("Manifests-Allowed", {"Manifests-Allowed": []}, {"Manifests-Allowed": ["md5"]}),
        (
            "Tag-Manifests-Required",
            {"Tag-Manifests-Required": ["sha512"], "Tag-Manifests-Allowed": []},
            {"Tag-Manifests-Allowed": ["sha512"]},
        ),
        (
            "Tag-Files-Required",
            {"Tag-Files-Required": ["metadata/a.txt"], "Tag-Files-Allowed": ["*.xml"]},
            {"Tag-Files-Allowed": ["*.txt"]},
        ),
        (
            "Tag-Files-Required",
            {"Tag-Files-Required": ["bag-info.txt"]},
            {"Tag-Files-Required": ["metadata/bag-info.txt"]},
        ),
        (
            "Tag-Files-Required",
            {"Tag-Files-Required": ["manifest-md5.txt"], "Tag-Files-Allowed": []},
            {"Tag-Files-Required": []},
        ),
        (
            "Tag-Files-Required",
            {"Tag-Files-Required": ["data/a.txt"]},
            {"Tag-Files-Required": ["database/a.txt"]},
        ),
        (
            "Tag-Files-Required",
            {"Tag-Files-Required": ["*.txt"]},
            {"Tag-Files-Required": ["a.txt"]},
        ),
        (
            "Payload-Files-Required",
            {"Payload-Files-Required": ["audio/"], "Payload-Files-Allowed": ["images/*"]},
            {"Payload-Files-Allowed": ["data/audio/*"]},
        ),
        (
            "Payload-Files-Required",
            {"Payload-Files-Required": ["data/a.wav"], "Payload-Files-Allowed": ["b.wav"]},
            {"Payload-Files-Allowed": ["a.wav"]},
        ),
        (
            "Payload-Files-Required",
            {"Payload-Files-Required": ["audio/*"]},
            {"Payload-Files-Required": ["audio/"]},
        ),
        (
            "Data-Empty",
            {"Data-Empty": True, "Payload-Files-Required": ["a", "data/b"]},
            {"Payload-Files-Required": ["a", "data/a"]},
        ),
        (
            "Data-Empty",
            {"Data-Empty": True, "Payload-Files-Required": ["a/", "b/"]},
            {"Payload-Files-Required": ["a/", "data/a/b/", "a/b/c", "data/"]},
        ),
        (
            "Tag-Files-Required",
            {"Tag-Files-Required": ["metadata/"]},
            {"Tag-Files-Required": ["metadata/a"]},
        ),
        (
            "Tag-Files-Required",
            {"Tag-Files-Required": ["metadata", "metadata/a"]},
            {"Tag-Files-Required": ["metadata.txt", "metadata/a"]},
        ),
        *(
            (key, {key: [f"{no_path}"]}, {key: [f"a{no_path}"]})
            for key, no_path in (
                ("Tag-Files-Required", "../b"),
                ("Tag-Files-Required", "/b"),
                ("Payload-Files-Required", "./b"),
                ("Payload-Files-Required", "/"),
            )
        ),
        (
            "Bag-Info/BagIt-Profile-Identifier",
            {"Bag-Info": {"BagIt-Profile-Identifier": {"values": [f"{URI}2"]}}},
            {"Bag-Info": {"BagIt-Profile-Identifier2": {"values": [f"{URI}2"]}}},
        ),
        (
            "Fetch.txt-Required",
            {"Fetch.txt-Required": True, "Allow-Fetch.txt": False},
            {"Allow-Fetch.txt": True},
        ),
        (
            "Serialization",
            {"Serialization": "required"},
            {"Accept-Serialization": ["application/zip"]},
        ),
        (
            "Serialization",
            {"Serialization": "required", "Accept-Serialization": []},
            {"Serialization": "forbidden"},
        ),
        ("Accept-BagIt-Version", {"Accept-BagIt-Version": []}, {"Accept-BagIt-Version": ["1.0"]}),
    ],
)
def test_a_contradiction_is_told_and_the_profile_is_used(
    key: str, keys: dict[str, Any], mended: dict[str, Any]
) -> None:
    told = [one for one in found(profile(**keys)) if one[0] != "bagit-profile-departs"]
    assert told == [("bagit-profile-contradictory", f"/{key}")]
    assert of(profile(**keys)).identifier == URI
    assert found(profile(**{**keys, **mended})) == []


# Departures that alter nothing


@pytest.mark.parametrize("key", ["Source-Organization", "External-Description", "Version"])
@pytest.mark.parametrize("spoil", [lambda info, key: info.pop(key), dict.__setitem__])
def test_what_a_profile_must_say_of_itself(key: str, spoil: Callable[..., Any]) -> None:
    data = profile()
    spoil(data["BagIt-Profile-Info"], key, *([""] if spoil is dict.__setitem__ else []))
    assert found(data) == [("bagit-profile-departs", "/BagIt-Profile-Info")]
    assert of(data).identifier == URI


def test_other_departures_are_notes() -> None:
    unlimited = profile()
    del unlimited["Accept-BagIt-Version"]
    assert found(unlimited) == [("bagit-profile-departs", "")]
    assert of(unlimited).accept_bagit_version is None
    optional = profile(Serialization="optional")
    assert found(optional) == [("bagit-profile-departs", "/Serialization")]
    identifier = profile(**{"Bag-Info": {"BagIt-Profile-Identifier": {"required": True}}})
    assert found(identifier) == [("bagit-profile-departs", "/Bag-Info/BagIt-Profile-Identifier")]


# What cannot be used


@pytest.mark.parametrize(
    ("data", "part"),
    [
        ([], ""),
        ({}, "/BagIt-Profile-Info"),
        ({"BagIt-Profile-Info": {}}, "/BagIt-Profile-Info/BagIt-Profile-Identifier"),
        (profile("one"), "/BagIt-Profile-Info/BagIt-Profile-Version"),
        (profile("1.4.0\n"), "/BagIt-Profile-Info/BagIt-Profile-Version"),
        (profile(**{"Allow-Fetch.txt": "false"}), "/Allow-Fetch.txt"),
        (profile(**{"Manifests-Required": "md5"}), "/Manifests-Required"),
        (profile(**{"Accept-BagIt-Version": [1.0]}), "/Accept-BagIt-Version/0"),
        (profile(Serialization="maybe"), "/Serialization"),
        (profile(**{"Bag-Info": {"A": {"required": "true"}}}), "/Bag-Info/A/required"),
        (profile(**{"Tag-Files-Required": [""]}), "/Tag-Files-Required/0"),
        (profile(**{"Tag-Files-Allowed": ["a"] * 1001}), "/Tag-Files-Allowed"),
        (profile(**{"Tag-Files-Allowed": ["a" * 1000 + "*"] * 100}), "/Tag-Files-Allowed"),
        (profile(**{"Payload-Files-Allowed": ["a*" * 500] * 101}), "/Payload-Files-Allowed"),
    ],
)
def test_another_shape_cannot_be_used(data: Any, part: str) -> None:
    one, findings = read(json.dumps(data).encode(), NAME)
    assert one is None
    assert [(f.code, f.place.part) for f in findings] == [("bagit-profile-unfit", part)]
    assert findings[0].verdict is Verdict.FAIL


def test_patterns_of_the_greatest_length_are_used() -> None:
    assert found(profile(**{"Payload-Files-Allowed": ["a*" * 500] * 100 + ["a" * 1000]})) == []


def test_all_faults_are_told_at_once() -> None:
    data = profile(Serialization="maybe", Colour="red", **{"Data-Empty": 1})
    assert found(data) == [
        ("bagit-profile-key-unknown", "/Colour"),
        ("bagit-profile-unfit", "/Data-Empty"),
        ("bagit-profile-unfit", "/Serialization"),
    ]


WHOLE = json.dumps(profile(**EVERY_KEY)).encode()


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "it is not JSON"),
        (b"\xef\xbb\xbf" + WHOLE, "byte-order mark"),
        (WHOLE.decode().encode("utf-16"), "not UTF-8"),
        (WHOLE[:-1] + b', "Data-Empty": false}', "'Data-Empty' stands twice"),
        (WHOLE.replace(b'"1.2"', b"NaN"), "NaN is not a JSON number"),
        (b'{"a":' * 65 + b"1" + b"}" * 65, "nests deeper"),
        (b"[" * 1_000_000, "nests deeper"),
        (b"1" * 33, "more than 32 digits"),
        (WHOLE + b" " * (50 << 20), "more than 4 MiB"),
        (b'{"a": "\\ud800"}', "half a character"),
    ],
    ids=["empty", "mark", "utf-16", "twice", "nan", "deep", "endless", "digits", "50MB", "half"],
)
def test_bad_json_cannot_be_used(content: bytes, told: str) -> None:
    one, (finding,) = read(content, NAME)
    assert one is None
    assert finding.code == "bagit-profile-not-json"
    assert told in finding.text


def test_a_profile_of_the_greatest_size_is_read() -> None:
    one, findings = read(WHOLE + b" " * (MAX_JSON_OCTETS - len(WHOLE)), NAME)
    assert one is not None
    assert findings == ()


def test_a_cut_profile_is_never_a_profile() -> None:
    for end in range(len(WHOLE)):
        one, findings = read(WHOLE[:end], NAME)
        assert one is None
        assert [f.code for f in findings] == ["bagit-profile-not-json"]


def test_a_strangers_text_is_safe_to_print() -> None:
    _, findings = read(json.dumps(profile(**{"\x1b[2J\u202e": 1})).encode(), NAME)
    assert all(text.isprintable() for f in findings for text in (f.text, str(f.place)))
    required = profile(**{"Tag-Files-Required": ["\x1b*"], "Tag-Manifests-Required": ["\x1b"]})
    _, findings = read(json.dumps(required).encode(), NAME)
    assert findings
    assert all(text.isprintable() for f in findings for text in (f.text, str(f.place)))


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.sampled_from(["", "a/", "*", "sha512", "1.0"]),
    lambda inside: (
        st.lists(inside, max_size=3)
        | st.dictionaries(st.sampled_from(["required", "values", "A", "repeatable"]), inside)
    ),
    max_leaves=6,
)


@given(keys=st.dictionaries(st.sampled_from([*EVERY_KEY, "BagIt-Profile-Info", "x"]), JSON))
def test_whatever_the_keys_hold_it_is_a_profile_or_told(keys: dict[str, Any]) -> None:
    one, findings = read(json.dumps({**profile(), **keys}).encode(), NAME)
    assert one is not None or findings
    assert one is None or one.reading == findings
