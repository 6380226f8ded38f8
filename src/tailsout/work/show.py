"""Shows a package, a job or an audio file as a page of plain text; nothing is read through."""

from pathlib import Path

from tailsout.bag.open import open_bag
from tailsout.ground.errors import MaterialError, UsageError, from_os_error
from tailsout.ground.findings import Finding
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping.forms.reading import read_job
from tailsout.records.dossier import Dossier
from tailsout.views import page
from tailsout.work import captures
from tailsout.work.check import read_package
from tailsout.work.job import state
from tailsout.work.located import find, wants_interleaved
from tailsout.work.survey import survey


def show(path: Path, progress: Progress) -> bytes:
    """Return the page in UTF-8.

    Raises UsageError if nothing is there, MaterialError if it is neither package, job nor audio.
    """
    name = printable(str(path))
    try:
        if path.is_dir():
            dossier, findings = (
                _job(path, progress) if (path / "job.toml").is_file() else _package(path)
            )
        elif path.is_file():
            dossier, findings = _audio(path), ()
        else:
            raise UsageError(f"There is nothing at {name}.", "Name a package, a job or a file.")
    except OSError as error:
        raise from_os_error(error, f"Looking at {name}") from error
    return page.render(dossier, findings, {})


def _package(path: Path) -> tuple[Dossier, tuple[Finding, ...]]:
    with open_bag(path) as bag:
        dossier = read_package(bag)
    return dossier, dossier.reading


def _job(folder: Path, progress: Progress) -> tuple[Dossier, tuple[Finding, ...]]:
    folder = folder.resolve()
    forms, found = read_job(folder)
    if forms is None:
        return Dossier(origin="closing"), found
    found_captures, missing = find(folder, forms)
    taken = captures.look(found_captures, folder, interleave=wants_interleaved(forms))
    stated = state(folder, forms, tuple(one.survey.record for one in taken), progress)
    met = (finding for one in taken for finding in one.survey.findings)
    return stated.dossier, (*stated.findings, *stated.dossier.reading, *missing, *met)


def _audio(path: Path) -> Dossier:
    name = printable(str(path))
    with path.open("rb") as stream:
        record = survey(stream, name).record
    if not record.container.chunks:
        raise MaterialError(
            f"{name} is no package, job or wave file: it is {record.container.form}.",
            "Name a package, a job folder or a broadcast wave file.",
        )
    return Dossier(origin="received", files=(record,))
