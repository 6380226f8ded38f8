"""Rebuilds a studio's logbooks from its packages; what is there already is left as it is."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.open import open_bag
from tailsout.ground.errors import UsageError
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import logbook as lines
from tailsout.records.dossier import Dossier
from tailsout.records.logbook import LogLine
from tailsout.work import logbook
from tailsout.work.package import read_package


@dataclass(frozen=True, slots=True, kw_only=True)
class Recounted:
    """What was found and written."""

    packages: int
    with_statements: int
    added: int


def recount(folders: Iterable[Path], studio: Path, *, disk: Disk, progress: Progress) -> Recounted:
    """Read every package in or below some folders and add its lines to the studio's logbooks.

    Raises UsageError if a folder is not there or the studio is none.
    """
    if not (studio / "studio.toml").is_file():
        raise UsageError(
            f"{printable(str(studio))} holds no studio.toml.", "Name the studio folder."
        )
    packages = 0
    found: list[tuple[str, tuple[LogLine, ...]]] = []
    for package in packages_in(folders):
        packages += 1
        with open_bag(package) as bag:
            dossier = read_package(bag)
        if dossier.transfer is not None:
            told = tuple(lines.lines_of(dossier.transfer, lines.seconds_of(dossier), held(dossier)))
            found.append((_written(dossier), told))
    # In the order of closing: what a session put on a machine is told by its first package. One
    # without audio does not say when it was closed; it comes last.
    found.sort(key=lambda one: (not one[0], one[0]))
    added = sum(logbook.add(studio, told, disk, progress) for _, told in found)
    return Recounted(packages=packages, with_statements=len(found), added=added)


def _written(dossier: Dossier) -> str:
    """Return when a package was closed; nothing for one without audio."""
    return next((file.sidecar.written for file in dossier.files if file.sidecar is not None), "")


def held(dossier: Dossier) -> tuple[str, ...]:
    """Return the SHA-256 of the captures of calibration tapes that a package holds, each once."""
    return tuple(dict.fromkeys(c.sha256 for c in dossier.calibrations if c.path is not None))


def packages_in(folders: Iterable[Path]) -> Iterator[Path]:
    """Yield every package in or below some folders. Raises UsageError if one is not there."""
    for folder in folders:
        if not folder.is_dir():
            raise UsageError(f"There is no folder {printable(str(folder))}.", "Name a folder.")
        if (folder / "bagit.txt").is_file():
            yield folder
            continue
        yield from (
            inside for inside in sorted(folder.iterdir()) if (inside / "bagit.txt").is_file()
        )
