"""Begins a job for each row of a table of reels; what is there already is left as it is."""

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import MaterialError, RefusedError, UsageError, from_os_error
from tailsout.ground.portable import not_portable
from tailsout.ground.progress import Progress, Silent
from tailsout.ground.units import printable
from tailsout.mapping import csv_rows
from tailsout.mapping.forms.form import read_form
from tailsout.mapping.forms.reels import FOLDER, Column, columns_of, told_in
from tailsout.work.begin import Begun, Wish, begin, first_identifier, proposed_id
from tailsout.work.parallel import Done, run_each


@dataclass(frozen=True, slots=True, kw_only=True)
class Reels:
    """A table that was read: its columns are keys, its rows are not looked at yet."""

    columns: tuple[Column, ...]
    table: csv_rows.Table


def read(path: Path) -> Reels:
    """Read a table of reels.

    Raises UsageError if there is no such file, MaterialError if it is not a table or a column is no
    key, SurroundingsError if it cannot be read.
    """
    name = printable(str(path))
    try:
        with path.open("rb") as stream:
            content = stream.read(csv_rows.MOST_OCTETS + 1)
    except (FileNotFoundError, IsADirectoryError) as error:
        raise UsageError(f"There is no file {name}.", "Name a table of reels.") from error
    except OSError as error:
        raise from_os_error(error, f"Reading {name}") from error
    table = csv_rows.read(content)
    return Reels(columns=columns_of(table.columns), table=table)


def begin_all(
    reels: Reels, parent: Path, wish: Wish, *, make_id: Callable[[], str], disk: Disk
) -> Generator[Done[Begun | None], None, None]:
    """Begin a job below `parent` for each row, and yield what came of it; None: there already."""
    rows = {f"line {row.line}": row for row in reels.table.rows}
    faults = {f"line {one.line}": one.text for one in reels.table.faults}
    made: dict[str, str] = {}

    def one(name: str, _progress: Progress) -> Begun | None:
        if name in faults:
            raise MaterialError(faults[name])
        told = told_in(reels.columns, rows[name].cells)
        own = replace(wish, told=told)
        known = told.get("package_id") or proposed_id(first_identifier(own) or "")
        folder = rows[name].cells.get(FOLDER, "").strip() or str(known)
        if "/" in folder or (why := not_portable(folder)):
            reason = "it is not a plain name" if "/" in folder else why
            raise MaterialError(f"The folder {printable(folder, 100)!r} cannot be made: {reason}.")
        if folder in made:
            raise RefusedError(
                f"{made[folder]} has the folder {printable(folder)!r} already.",
                "Give each row an identifier, a package_id or a folder of its own.",
            )
        made[folder] = name
        if _is_there(parent / folder, str(known)):
            return None
        return begin(parent / folder, own, job_id=make_id(), disk=disk)

    every = sorted({**rows, **faults}, key=lambda name: int(name.rpartition(" ")[2]))
    return run_each(every, one, jobs=1, progress_of=lambda _name: Silent())


def _is_there(job: Path, package_id: str) -> bool:
    """Tell whether the row's job was begun before; `begin` refuses another one."""
    form = job / "job.toml"
    if not form.is_file():
        return False
    data, _ = read_form(form)
    return data is not None and data.get("package_id") == package_id
