"""Makes the report of a package: one page for people, of ours or of anybody's."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.plan import Made, Written
from tailsout.ground.findings import Finding
from tailsout.ground.progress import Progress
from tailsout.mapping import masters, naming
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import FoundFile, InfoLine, PackageFacts
from tailsout.rules import judge
from tailsout.views import report as page
from tailsout.work.check import read_package
from tailsout.work.opened import open_package


def report(path: Path, progress: Progress) -> bytes:
    """Return the report of the package at `path`, a folder or an archive, in HTML.

    What stands in it is read and judged; no file is read through. Raises UsageError if it is
    neither a directory nor an archive, SurroundingsError if it cannot be opened.
    """
    with open_package(path, progress) as bag:
        dossier = read_package(bag)
    return page.render(dossier, judge(dossier).findings, {})


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What the report of a package that is being made has to say of the package."""

    name: str
    bag_info: tuple[tuple[str, str], ...]
    instant: str
    software: str


def made(dossier: Dossier, findings: tuple[Finding, ...], sheet: Sheet) -> Made:
    """Return the report that is packed into a package, made when the payload has been written."""
    assets = {"written": sheet.instant.encode(), "software": sheet.software.encode()}

    def make(written: Mapping[str, Written]) -> bytes:
        return page.render(as_written(dossier, sheet, written), findings, assets)

    return Made(path=naming.REPORT, make=make)


def as_written(dossier: Dossier, sheet: Sheet, written: Mapping[str, Written]) -> Dossier:
    """Return what is known of a package by the files of it that were written."""
    payload = sorted(path for path in written if path.startswith("data/"))
    package = PackageFacts(
        name=sheet.name,
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=tuple(
            InfoLine(label=label, value=value, line=line)
            for line, (label, value) in enumerate(sheet.bag_info, start=1)
        ),
        manifests=(),
        files=tuple(
            FoundFile(path=path, octets=one.octets, digests=one.digests)
            for path, one in ((path, written[path]) for path in payload)
        ),
    )
    files = tuple(_lying(file, dossier, written) for file in dossier.files)
    return replace(dossier, package=package, files=files)


def _lying(file: FileRecord, dossier: Dossier, written: Mapping[str, Written]) -> FileRecord:
    """Return a file as it lies in the package: a capture is packed under another name."""
    path = file.path if file.path in written else masters.master_path(dossier.transfer, file)
    octets = written[path].octets if path in written else file.octets
    return replace(file, path=path, octets=octets)
