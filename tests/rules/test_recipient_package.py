"""What a recipient asks of the package: sorts of file, exports, manifests, version, form, paths."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.records.dossier import Dossier
from tailsout.records.facts import ArchiveFacts, FoundFile, PackageFacts
from tailsout.records.recipient import BagAsked, CopyAsked, DriveRules, Recipient, RoleAsked
from tailsout.records.transfer import Transfer
from tailsout.rules import judge
from tailsout.rules.recipient_package import EXPORTS
from tailsout.work import exports

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
ROLES, VIEWS = "files that the recipient requires", "exports that the recipient wants"
MANIFESTS, VERSION = (
    "manifests that the recipient wants",
    "version of BagIt that the recipient wants",
)
FORM, PATHS = "form that the recipient wants", "paths that the recipient takes"
AT = "data/audio/reel.json#/transfer/recipient"


@pytest.fixture
def asking(
    transfer: Callable[..., Transfer], stating: Callable[[Transfer], Dossier]
) -> Callable[..., Dossier]:
    """Make a package whose recipient asks something."""

    def make(**asked: Any) -> Dossier:
        return stating(transfer(recipient=Recipient(id="archive", **asked)))

    return make


def with_files(dossier: Dossier, *paths: str) -> Dossier:
    package = dossier.package
    assert package is not None
    more = tuple(FoundFile(path=path, octets=1, digests={}) for path in paths)
    return replace(dossier, package=replace(package, files=(*package.files, *more)))


# role-missing


@pytest.mark.parametrize(
    ("role", "path", "is_found"),
    [
        (RoleAsked(role="master", required=True), "", False),
        (RoleAsked(role="access", required=True), "", True),
        (RoleAsked(role="access", required=False), "", False),
        (RoleAsked(role="access"), "", False),
        (RoleAsked(role="access", required=True), "data/access/reel.mp3", False),
        (RoleAsked(role="access", required=True), "data/access/reel.json", True),
        (RoleAsked(role="access", folder="Service", required=True), "data/Service/a.wav", False),
        (RoleAsked(role="access", folder="Service", required=True), "data/access/a.wav", True),
        (RoleAsked(role="master", folder="Master", required=True), "", True),
    ],
)
def test_a_sort_of_file_that_is_required(
    run: RunRule, asking: Callable[..., Dossier], role: RoleAsked, path: str, is_found: bool
) -> None:
    dossier = with_files(asking(roles=(role,)), *([path] if path else []))
    assert run(ROLES, dossier) == ([("role-missing", f"{AT}/roles/0")] if is_found else [])


@pytest.mark.parametrize(
    ("role", "is_found"),
    [("master", False), ("document", False), ("image", True), ("access", True), ("edit", True)],
)
def test_before_there_is_a_package_what_cannot_come_is_told(
    run: RunRule, asking: Callable[..., Dossier], role: Any, is_found: bool
) -> None:
    dossier = asking(roles=(RoleAsked(role=role, required=True),))
    closing = replace(dossier, origin="closing", package=None)
    assert bool(run(ROLES, closing)) is is_found


def test_access_copies_that_closing_makes_are_not_missing(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    roles, copies = (RoleAsked(role="access", required=True),), (CopyAsked(format="MP3"),)
    closing = replace(asking(roles=roles, copies=copies), origin="closing", package=None)
    assert run(ROLES, closing) == []


# export-not-made


def test_an_export_that_is_not_there_is_a_query_until_it_is(
    run: RunRule, asking: Callable[..., Dossier]
) -> None:
    dossier = asking(views=("label", "PREMIS"))
    assert run(VIEWS, with_files(dossier, EXPORTS["label"])) == [
        ("export-not-made", f"{AT}/views/1")
    ]
    assert run(VIEWS, with_files(dossier, EXPORTS["label"], EXPORTS["PREMIS"])) == []
    assert judge(dossier).verdict is Verdict.OPEN
    # Neither closing nor amending has a package yet, and both make what is asked for.
    for origin in ("closing", "received"):
        assert run(VIEWS, replace(dossier, origin=origin, package=None)) == []


def test_what_closing_is_said_to_make_is_what_it_makes() -> None:
    assert {view.name: view.path for view in exports.VIEWS if view.path} == EXPORTS


# manifest-asked-missing, bag-version-asked


def test_a_manifest_that_they_want(run: RunRule, asking: Callable[..., Dossier]) -> None:
    dossier = asking(extra_algorithms=("md5",))
    assert run(MANIFESTS, dossier) == [("manifest-asked-missing", "manifest-md5.txt")]
    assert dossier.package is not None
    [one, *_] = (m for m in dossier.package.manifests if not m.is_tag)
    md5 = replace(one, name="manifest-md5.txt", algorithm="md5")
    package = replace(dossier.package, manifests=(*dossier.package.manifests, md5))
    assert run(MANIFESTS, replace(dossier, package=package)) == []
    assert run(MANIFESTS, asking()) == []


@pytest.mark.parametrize(
    ("wanted", "stated", "is_found"),
    [("0.97", "1.0", True), ("1.0", "1.0", False), (None, "0.97", False), ("1.0", "", False)],
)
def test_the_version_of_the_bag(
    run: RunRule, asking: Callable[..., Dossier], wanted: Any, stated: str, is_found: bool
) -> None:
    dossier = asking(bag=BagAsked(version=wanted))
    assert dossier.package is not None
    dossier = replace(dossier, package=replace(dossier.package, bagit_version=stated))
    found = run(VERSION, dossier)
    assert found == ([("bag-version-asked", "bagit.txt:1")] if is_found else [])


# bag-form-asked


@pytest.mark.parametrize(
    ("wanted", "form", "is_found"),
    [
        ("tar", None, True),
        ("tar", "tar", False),
        ("tar", "zip", True),
        ("folder", None, False),
        ("folder", "tar", True),
        (None, "zip", False),
    ],
)
def test_folder_or_archive_is_a_note(
    run: RunRule,
    asking: Callable[..., Dossier],
    package: Callable[..., PackageFacts],
    *,
    wanted: Any,
    form: Any,
    is_found: bool,
) -> None:
    facts = ArchiveFacts(name=f"REEL-1.{form}", form=form, octets=9, whole=True) if form else None
    dossier = replace(asking(bag=BagAsked(serialisation=wanted)), package=package(archive=facts))
    wanted_places = [("bag-form-asked", f"{AT}/bag/serialisation")] if is_found else []
    assert run(FORM, dossier) == wanted_places


# drive-path-too-long


@pytest.mark.parametrize(("length", "is_found"), [(60, False), (61, True)])
def test_paths_are_counted_in_octets_from_the_packages_own_folder(
    run: RunRule, asking: Callable[..., Dossier], length: int, is_found: bool
) -> None:
    path = "data/é" + "x" * (length - len("REEL-1/") - len("data/é".encode()))
    dossier = with_files(asking(drive=DriveRules(max_path_octets=60)), path)
    assert run(PATHS, dossier) == ([("drive-path-too-long", f"REEL-1/{path}")] if is_found else [])
    assert run(PATHS, with_files(asking(drive=DriveRules()), path)) == []


def test_nothing_is_asked_without_a_recipient(
    run: RunRule, received: Callable[..., Dossier]
) -> None:
    for name in (ROLES, VIEWS, MANIFESTS, VERSION, FORM, PATHS):
        assert run(name, received()) == []
