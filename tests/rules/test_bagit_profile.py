"""Every key of BagIt Profiles 1.4 with a bag that keeps it and one that breaks it.

`[1.4]` beside a case stands for the meaning the specification gives the key.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.bagit_profile import BagItProfile, LabelRule
from tailsout.records.dossier import Dossier
from tailsout.records.facts import ArchiveFacts, FoundFile, InfoLine, PackageFacts
from tailsout.rules import judge
from tailsout.rules.bagit_profile import MEDIA_TYPES
from tailsout.rules.rule import MOST_OF_A_KIND

Run = Callable[[str, Dossier], list[tuple[str, str]]]
Package = Callable[..., PackageFacts]
RULE, NAMED = "BagIt Profile", "BagIt Profiles that the bag names"
URI = "https://saltpan.example/profiles/reel-1.2.json"
OTHER = "https://harbour.example/profiles/sound-3.json"


class Bag:
    """A bag of few files and a profile; each may be changed."""

    def __init__(self, package: PackageFacts, make: Callable[..., Dossier]) -> None:
        self._package, self._make = package, make

    def of(self, *, info: Any = (), files: Any = (), profile: Any, **facts: Any) -> Dossier:
        """Lines after the one that names the profile; files beside tag files and manifests."""
        lines = [("BagIt-Profile-Identifier", URI), *info]
        given = {
            "bag_info": tuple(
                InfoLine(label=label, value=value, line=number)
                for number, (label, value) in enumerate(lines, start=1)
            ),
            "files": tuple(
                FoundFile(path=path, octets=octets)
                for path, octets in sorted({**dict.fromkeys(TAGS, 100), **dict(files)}.items())
            ),
            **facts,
        }
        return self._make(
            package=replace(self._package, **given),
            bagit_profile=BagItProfile(identifier=URI, specification="1.4.0", **profile),
            files=(),
            examined=frozenset({"structure", "bagit-profile"}),
            unasked=frozenset({"manifests", "fixity", "headers"}),
        )


TAGS = ("bag-info.txt", "bagit.txt", "manifest-sha512.txt", "tagmanifest-sha512.txt")


@pytest.fixture
def bag(package: Package, received: Callable[..., Dossier]) -> Bag:
    return Bag(package(), received)


def labels(*rules: LabelRule) -> dict[str, Any]:
    return {"labels": rules}


def archive(form: Any, *, whole: bool = True) -> ArchiveFacts:
    return ArchiveFacts(name=f"reel.{form}", form=form, octets=10_240, whole=whole)


TWICE = (("Reel-Number", "7"), ("Reel-Number", "8"))

KEPT: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    # key, the profile, the bag
    ("Bag-Info required", labels(LabelRule(label="Reel-Number", required=True)), {"info": TWICE}),
    ("Bag-Info not required", labels(LabelRule(label="Reel-Number")), {}),
    ("Bag-Info repeatable", labels(LabelRule(label="Reel-Number")), {"info": TWICE}),
    (
        "Bag-Info once",
        labels(LabelRule(label="Reel-Number", repeatable=False)),
        {"info": TWICE[:1]},
    ),
    (
        "Bag-Info values",
        labels(LabelRule(label="Reel-Number", values=("7", "8"))),
        {"info": TWICE},
    ),
    # [1.4] a list of nothing allows any value
    ("Bag-Info any value", labels(LabelRule(label="Reel-Number", values=())), {"info": TWICE}),
    (
        "Bag-Info folded value",
        labels(LabelRule(label="Reel-Number", values=("seven of nine",))),
        {"info": [("Reel-Number", "seven\nof nine")]},
    ),
    # RFC 8493 §2.2.2: reserved labels in letters of either case
    (
        "Bag-Info reserved label",
        labels(LabelRule(label="Contact-Name", required=True, repeatable=False, values=("a",))),
        {"info": [("CONTACT-NAME", "a")]},
    ),
    ("Bag-Info other labels", {}, {"info": TWICE}),
    ("Manifests-Required", {"manifests_required": ("sha512",)}, {}),
    ("Manifests-Allowed", {"manifests_allowed": ("md5", "sha512")}, {}),
    ("Tag-Manifests-Required", {"tag_manifests_required": ("sha512",)}, {}),
    ("Tag-Manifests-Allowed", {"tag_manifests_allowed": ("sha512",)}, {}),
    (
        "Tag-Files-Required",
        {"tag_files_required": ("metadata/list.txt",)},
        {"files": {"metadata/list.txt": 0}},
    ),
    (
        "Tag-Files-Allowed",
        {"tag_files_allowed": ("metadata/*",)},
        {"files": {"metadata/a/b": 0, "fetch.txt": 0, "data/x": 1}},
    ),
    ("Tag-Files-Allowed nothing", {"tag_files_allowed": ()}, {}),
    (
        "Payload-Files-Required",
        {"payload_files_required": ("audio/", "data/audio/a/", "data/x", "y")},
        {"files": {"data/audio/a/b.wav": 1, "data/x": 1, "data/y": 0}},
    ),
    (
        "Payload-Files-Required below another data",
        {"payload_files_required": ("data/x",)},
        {"files": {"data/data/x": 1}},
    ),
    (
        "Payload-Files-Required to be fetched",
        {"payload_files_required": ("data/x",)},
        {"holes": ("data/x",)},
    ),
    (
        "Payload-Files-Allowed",
        {"payload_files_allowed": ("audio/*", "data/images/*.jpg", "*.json")},
        {"files": {"data/audio/a/b": 1, "data/images/c/d.jpg": 1, "data/e.json": 1, "x": 1}},
    ),
    ("Data-Empty", {"data_empty": True}, {}),
    ("Data-Empty with one file of no octets", {"data_empty": True}, {"files": {"data/.keep": 0}}),
    ("Data-Empty false", {"data_empty": False}, {"files": {"data/a": 1}}),
    ("Allow-Fetch.txt", {"allow_fetch": True}, {"files": {"fetch.txt": 1}}),
    ("Allow-Fetch.txt false", {"allow_fetch": False}, {"files": {"data/fetch.txt": 1}}),
    ("Fetch.txt-Required", {"fetch_required": True}, {"files": {"fetch.txt": 1}}),
    ("Serialization forbidden", {"serialization": "forbidden"}, {}),
    (
        "Serialization optional",
        {"serialization": "optional", "accept_serialization": ("application/zip",)},
        {},
    ),
    (
        "Serialization required",
        {"serialization": "required", "accept_serialization": ("Application/X-Tar",)},
        {"archive": archive("tar")},
    ),
    (
        "Serialization optional, packed",
        {"accept_serialization": ("application/zip", "application/gzip")},
        {"archive": archive("tar.gz")},
    ),
    ("Accept-Serialization any", {}, {"archive": archive("tar.xz")}),
    ("Accept-BagIt-Version", {"accept_bagit_version": ("0.97", "1.0")}, {}),
    ("Accept-BagIt-Version any", {}, {"bagit_version": "0.96"}),
]


@pytest.mark.parametrize(
    ("profile", "facts"), [one[1:] for one in KEPT], ids=[one[0] for one in KEPT]
)
def test_a_bag_that_keeps_the_profile(
    run: Run, bag: Bag, profile: dict[str, Any], facts: dict[str, Any]
) -> None:
    dossier = bag.of(profile=profile, **facts)
    assert run(RULE, dossier) == []
    assert judge(dossier).verdict is Verdict.PASS


Broken = tuple[str, dict[str, Any], dict[str, Any], list[tuple[str, str]]]
BROKEN: list[Broken] = [
    # key, the profile, the bag, what is found
    (
        "Bag-Info required",
        labels(
            LabelRule(label="Reel-Number", required=True),
            LabelRule(label="Contact-Name", required=True),
        ),
        {"info": [("reel-number", "7"), ("Contact-Name2", "a")]},
        [
            ("bagit-profile-label-missing", "bag-info.txt"),
            ("bagit-profile-label-missing", "bag-info.txt"),
        ],
    ),
    (
        "Bag-Info once",
        labels(LabelRule(label="Contact-Name", repeatable=False)),
        {"info": [("Contact-Name", "a"), ("contact-name", "a"), ("CONTACT-NAME", "b")]},
        [
            ("bagit-profile-label-repeated", "bag-info.txt:3"),
            ("bagit-profile-label-repeated", "bag-info.txt:4"),
        ],
    ),
    (
        "Bag-Info values",
        labels(LabelRule(label="Reel-Number", values=("7",))),
        {"info": [*TWICE, ("Reel-Number", "7 ")]},
        [
            ("bagit-profile-value-not-allowed", "bag-info.txt:3"),
            ("bagit-profile-value-not-allowed", "bag-info.txt:4"),
        ],
    ),
    (
        "Manifests-Required",
        {"manifests_required": ("sha256", "sha512", "md5")},
        {},
        [
            ("bagit-profile-manifest-missing", "manifest-sha256.txt"),
            ("bagit-profile-manifest-missing", "manifest-md5.txt"),
        ],
    ),
    (
        "Manifests-Allowed",
        {"manifests_allowed": ("sha256",)},
        {"files": {"manifest-md5.txt": 1, "data/manifest-sha1.txt": 1}},
        [
            ("bagit-profile-manifest-not-allowed", "manifest-md5.txt"),
            ("bagit-profile-manifest-not-allowed", "manifest-sha512.txt"),
        ],
    ),
    (
        "Tag-Manifests-Required",
        {"tag_manifests_required": ("md5",)},
        {"files": {"manifest-md5.txt": 1}},
        [("bagit-profile-manifest-missing", "tagmanifest-md5.txt")],
    ),
    (
        "Tag-Manifests-Allowed",
        {"tag_manifests_allowed": ()},
        {},
        [("bagit-profile-manifest-not-allowed", "tagmanifest-sha512.txt")],
    ),
    (
        "Tag-Files-Required",
        {"tag_files_required": ("metadata/list.txt", "bag-info.txt", "README")},
        {"files": {"data/README": 1, "metadata/LIST.txt": 1}},
        [
            ("bagit-profile-file-missing", "metadata/list.txt"),
            ("bagit-profile-file-missing", "README"),
        ],
    ),
    (
        "Tag-Files-Allowed",
        {"tag_files_allowed": ("metadata/*",)},
        {"files": {"README": 1, "database/x": 1, "metadata2/bagit.txt": 1}},
        [
            ("bagit-profile-file-not-allowed", "README"),
            ("bagit-profile-file-not-allowed", "database/x"),
            ("bagit-profile-file-not-allowed", "metadata2/bagit.txt"),
        ],
    ),
    (
        "Payload-Files-Required",
        {"payload_files_required": ("audio/", "data/images/", "x.wav")},
        {"files": {"data/audio": 1, "data/images2/a": 1, "x.wav": 1}},
        [
            ("bagit-profile-file-missing", "data/audio/"),
            ("bagit-profile-file-missing", "data/images/"),
            ("bagit-profile-file-missing", "data/x.wav"),
        ],
    ),
    (
        "Payload-Files-Allowed",
        {"payload_files_allowed": ("audio/*", "data/x")},
        {"files": {"data/audio2/a": 1, "data/x/y": 1}, "holes": ("data/z",)},
        [
            ("bagit-profile-file-not-allowed", "data/audio2/a"),
            ("bagit-profile-file-not-allowed", "data/x/y"),
            ("bagit-profile-file-not-allowed", "data/z"),
        ],
    ),
    (
        "Data-Empty",
        {"data_empty": True},
        {"files": {"data/a": 1}},
        [("bagit-profile-data-not-empty", "data")],
    ),
    (
        "Data-Empty with two files",
        {"data_empty": True},
        {"files": {"data/a": 0, "data/b": 0}},
        [("bagit-profile-data-not-empty", "data")],
    ),
    (
        "Allow-Fetch.txt",
        {"allow_fetch": False},
        {"files": {"fetch.txt": 0}},
        [("bagit-profile-fetch-not-allowed", "fetch.txt")],
    ),
    (
        "Fetch.txt-Required",
        {"fetch_required": True},
        {"files": {"data/fetch.txt": 0}},
        [("bagit-profile-fetch-missing", "fetch.txt")],
    ),
    (
        "Serialization required",
        {"serialization": "required", "accept_serialization": ("application/x-tar",)},
        {},
        [("bagit-profile-serialization", "REEL-1")],
    ),
    (
        "Serialization forbidden",
        {"serialization": "forbidden"},
        {"archive": archive("tar")},
        [("bagit-profile-serialization", "reel.tar")],
    ),
    *(
        (
            f"Accept-Serialization {form}",
            {"serialization": serialization, "accept_serialization": ("application/zip",)},
            {"archive": archive(form)},
            [("bagit-profile-serialization", f"reel.{form}")],
        )
        for serialization in ("required", "optional")
        for form in ("tar", "tar.gz", "tar.xz")
    ),
    (
        "Accept-BagIt-Version",
        {"accept_bagit_version": ("0.97", "1")},
        {},
        [("bagit-profile-version-not-accepted", "bagit.txt:1")],
    ),
]


@pytest.mark.parametrize(
    ("profile", "facts", "found"), [one[1:] for one in BROKEN], ids=[one[0] for one in BROKEN]
)
def test_a_bag_that_breaks_the_profile(
    run: Run,
    bag: Bag,
    profile: dict[str, Any],
    facts: dict[str, Any],
    found: list[tuple[str, str]],
) -> None:
    dossier = bag.of(profile=profile, **facts)
    assert run(RULE, dossier) == found
    # Whoever gives a profile wants it kept.
    assert judge(dossier).verdict is Verdict.FAIL
    [check] = [one for one in judge(dossier).checks if one.name == RULE]
    assert check.outcome == "failed"


def test_no_breach_hides_another(run: Run, bag: Bag) -> None:
    profile = {
        "labels": (LabelRule(label="Reel-Number", required=True),),
        "manifests_required": ("md5",),
        "manifests_allowed": (),
        "tag_files_required": ("README",),
        "tag_files_allowed": (),
        "payload_files_required": ("x.wav",),
        "payload_files_allowed": (),
        "data_empty": True,
        "fetch_required": True,
        "serialization": "required",
        "accept_bagit_version": (),
    }
    files = {"notes.txt": 1, "data/y.wav": 1}
    assert run(RULE, bag.of(profile=profile, bag_info=(), files=files)) == [
        ("bagit-profile-version-not-accepted", "bagit.txt:1"),
        ("bagit-profile-serialization", "REEL-1"),
        ("bagit-profile-not-named", "bag-info.txt"),
        ("bagit-profile-label-missing", "bag-info.txt"),
        ("bagit-profile-manifest-missing", "manifest-md5.txt"),
        ("bagit-profile-manifest-not-allowed", "manifest-sha512.txt"),
        ("bagit-profile-file-missing", "README"),
        ("bagit-profile-file-not-allowed", "notes.txt"),
        ("bagit-profile-file-missing", "data/x.wav"),
        ("bagit-profile-file-not-allowed", "data/y.wav"),
        ("bagit-profile-data-not-empty", "data"),
        ("bagit-profile-fetch-missing", "fetch.txt"),
    ]


# BagIt-Profile-Identifier


def lines(*pairs: tuple[str, str]) -> tuple[InfoLine, ...]:
    return tuple(InfoLine(label=a, value=b, line=n) for n, (a, b) in enumerate(pairs, start=1))


NAME = "BagIt-Profile-Identifier"


def test_one_identifier_of_several_must_be_the_profiles(run: Run, bag: Bag) -> None:
    # [1.4] a bag may name several profiles
    dossier = bag.of(profile={}, bag_info=lines((NAME, OTHER), (NAME, URI)))
    assert run(RULE, dossier) == []
    assert run(NAMED, dossier) == [("bagit-profile-not-given", "bag-info.txt:1")]
    assert judge(dossier).verdict is Verdict.PASS


def test_a_bag_that_names_another_profile_breaks_the_one_given(run: Run, bag: Bag) -> None:
    dossier = bag.of(profile={}, bag_info=lines((NAME, OTHER), (NAME, URI.upper())))
    assert run(RULE, dossier) == [
        ("bagit-profile-not-named", "bag-info.txt:1"),
        ("bagit-profile-not-named", "bag-info.txt:2"),
    ]
    assert run(NAMED, dossier) == []


@pytest.mark.parametrize(
    ("pair", "words"),
    [
        (("Reel-Number", "7"), f"there is no {NAME}: {URI}."),
        ((NAME.lower(), URI), f"there is no {NAME}: {URI}; line 1 has {NAME.lower()}."),
    ],
)
def test_a_bag_that_names_no_profile_breaks_the_one_given(
    run: Run,
    told: Callable[[str, Dossier], list[str]],
    bag: Bag,
    pair: tuple[str, str],
    words: str,
) -> None:
    dossier = bag.of(profile={}, bag_info=lines(pair))
    assert run(RULE, dossier) == [("bagit-profile-not-named", "bag-info.txt")]
    assert told(RULE, dossier) == [words]


def test_a_profile_that_is_named_and_not_given_was_not_examined(run: Run, bag: Bag) -> None:
    whole = bag.of(profile={}, bag_info=lines((NAME, OTHER), (NAME, URI)))
    dossier = replace(whole, bagit_profile=None, examined=whole.examined - {"bagit-profile"})
    assert run(NAMED, dossier) == [
        ("bagit-profile-not-given", "bag-info.txt:1"),
        ("bagit-profile-not-given", "bag-info.txt:2"),
    ]
    judgement = judge(dossier)
    assert judgement.verdict is Verdict.PASS
    [check] = [one for one in judgement.checks if one.name == RULE]
    assert (check.outcome, check.why) == ("not examined", "no BagIt Profile was given")


def test_a_bag_that_names_none_is_not_told_of_any(run: Run, foreign: Dossier) -> None:
    assert run(NAMED, foreign) == []


# What was not seen is not called missing

MISSING = {
    "labels": (LabelRule(label="Reel-Number", required=True),),
    "manifests_required": ("md5",),
    "tag_files_required": ("metadata/list.txt",),
    "payload_files_required": ("audio/", "images/a.jpg"),
    "fetch_required": True,
}


@pytest.mark.parametrize(
    ("unseen", "left"),
    [
        ((), 6),
        (("",), 0),
        (("bag-info.txt",), 5),
        (("metadata",), 5),
        (("data/audio",), 5),
        (("data/audio/deep",), 5),
        (("data",), 4),
        (("data/images", "fetch.txt", "audio"), 4),
    ],
)
def test_what_was_not_looked_at_is_not_missing(
    run: Run, bag: Bag, unseen: tuple[str, ...], left: int
) -> None:
    assert len(run(RULE, bag.of(profile=MISSING, unseen=unseen))) == left


def test_nothing_is_missing_from_an_archive_that_was_not_read_to_its_end(
    run: Run, bag: Bag
) -> None:
    for whole, count in ((True, 6), (False, 0)):
        dossier = bag.of(profile=MISSING, archive=archive("tar", whole=whole))
        assert len(run(RULE, dossier)) == count


@pytest.mark.parametrize("form", ["tar", "tar.gz", "tar.xz", "zip"])
def test_every_form_of_archive_has_media_types_of_its_own(form: str) -> None:
    others = [types for other, types in MEDIA_TYPES.items() if other != form]
    assert MEDIA_TYPES[form]
    assert all(one == one.lower() for one in MEDIA_TYPES[form])
    assert MEDIA_TYPES[form].isdisjoint(frozenset().union(*others))


def test_a_version_that_could_not_be_read_is_told_by_the_reader(run: Run, bag: Bag) -> None:
    dossier = bag.of(profile={"accept_bagit_version": ("1.0",)}, bagit_version="")
    assert run(RULE, dossier) == []


# Words


def test_the_words_name_what_is_there_and_what_is_wanted(
    told: Callable[[str, Dossier], list[str]], bag: Bag
) -> None:
    asked = LabelRule(label="Reel-Number", required=True, values=tuple("abcdefghijkl"))
    rules = labels(asked, LabelRule(label="Deck", required=True))
    profile = {**rules, "data_empty": True}
    dossier = bag.of(
        profile=profile,
        info=[("Reel-Number", "7"), ("deck", "left")],
        files={"data/a": 3, "data/b": 4},
    )
    assert told(RULE, dossier) == [
        "Reel-Number is '7'; allowed: 'a', 'b', 'c', 'd', 'e', 'f', 'g', 'h', 'i', 'j' and 2 more.",
        "there is no Deck; line 3 has deck.",
        "it has 2 files of 7 octets; one of none is the most.",
    ]


def test_what_strangers_wrote_is_safe_to_print(bag: Bag) -> None:
    bad = "\x1b[2J\u202e"
    profile = {
        "labels": (
            LabelRule(label=bad, values=(bad,), repeatable=False),
            LabelRule(label=f"{bad}2", required=True),
        ),
        "manifests_required": (bad,),
        "manifests_allowed": (bad,),
        "tag_files_required": (bad,),
        "tag_files_allowed": (f"{bad}3",),
        "payload_files_required": (bad,),
        "payload_files_allowed": (f"{bad}3",),
        "serialization": "required",
        "accept_serialization": (bad,),
        "accept_bagit_version": (bad,),
    }
    dossier = bag.of(
        profile=profile,
        bag_info=lines((NAME, bad), (bad, "a"), (bad, "b")),
        files={f"{bad}4": 0, f"data/{bad}4": 0, f"manifest-{bad}4.txt": 0},
    )
    found = [one for one in judge(dossier).findings if one.code.startswith("bagit-profile-")]
    assert len(found) >= 12
    assert all(text.isprintable() for f in found for text in (f.text, str(f.place)))


def test_two_spellings_of_one_letter_are_one_name(run: Run, bag: Bag) -> None:
    # RFC 8493 §6.1.1.3: lists and disks are compared in one form
    composed, apart = "\u00e9.wav", "e\u0301.wav"
    profile = {
        "payload_files_required": (composed,),
        "payload_files_allowed": (composed,),
        "tag_files_required": (composed,),
        "tag_files_allowed": (composed,),
    }
    assert run(RULE, bag.of(profile=profile, files={f"data/{apart}": 1, apart: 1})) == []


def test_ten_thousand_of_a_kind_are_told_and_the_rest_counted(bag: Bag) -> None:
    files = {f"data/{n:05}": 0 for n in range(MOST_OF_A_KIND + 3)}
    dossier = bag.of(profile={"payload_files_allowed": ()}, files=files, manifests=())
    found = [f for f in judge(dossier).findings if f.code == "bagit-profile-file-not-allowed"]
    assert len(found) == MOST_OF_A_KIND + 1


def test_a_dossier_without_the_profile_it_was_judged_by_is_a_bug(bag: Bag, run: Run) -> None:
    with pytest.raises(ValueError, match="there is one"):
        run(RULE, replace(bag.of(profile={}), bagit_profile=None))
