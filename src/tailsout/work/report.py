"""Makes the report of a package: one page for people, of ours or of anybody's."""

from pathlib import Path

from tailsout.ground.progress import Progress
from tailsout.rules import judge
from tailsout.views import report as page
from tailsout.work.check import read_package
from tailsout.work.opened import open_package
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
