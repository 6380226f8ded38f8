"""Makes the report of a package: one page for people, of ours or of anybody's."""

from pathlib import Path

from tailsout.bag.notes import Caps
from tailsout.bag.readable import ReadableBag
from tailsout.ground.digests import Hashing
from tailsout.ground.progress import Progress
from tailsout.rules import judge
from tailsout.views import report as page
from tailsout.views.report import owner
from tailsout.work.opened import open_package
from tailsout.work.package import read_package
from tailsout.work.pictures import in_bag, of_report


def report(path: Path, progress: Progress) -> bytes:
    """Return the report of the package at `path`, a folder or an archive, in HTML.

    What stands in it is read and judged; no file is read through. Raises UsageError if it is
    neither a directory nor an archive, SurroundingsError if it cannot be opened.
    """
    with open_package(path, progress) as bag:
        dossier = read_package(bag)
        pictures = of_report(dossier, in_bag(bag))
    return page.render(dossier, judge(dossier).findings, pictures)


def for_owner(path: Path, progress: Progress) -> bytes:
    """Return the one page for the owner of what is in a package. Raises as `report`."""
    with open_package(path, progress) as bag:
        dossier = read_package(bag)
        seal = _seal(bag)
    return owner.render(dossier, judge(dossier).findings, {"seal": seal})


def _seal(bag: ReadableBag) -> bytes:
    """Return the digest of the list that proves every other list; nothing where there is none."""
    name = "tagmanifest-sha512.txt"
    if not any(one.name == name for one in bag.facts.manifests):
        return b""
    with Hashing(["sha512"]) as hashing:
        hashing.update(bag.read(name, Caps().manifest_octets))
        return f"{name}, SHA-512: {hashing.hexdigests()['sha512']}".encode()
