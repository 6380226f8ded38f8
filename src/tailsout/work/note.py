"""Adds a jotting to a job while the tape runs; on the disk before the prompt comes back."""

import tomllib
from datetime import datetime
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground.errors import UsageError, from_os_error
from tailsout.ground.units import printable
from tailsout.mapping import jottings


def note(job: Path, text: str, *, instant: datetime, pass_id: str | None, disk: Disk) -> str:
    """Append one jotting and return it as written.

    Without `pass_id` the job's last pass is taken; a form that cannot be read just now, because
    somebody is writing in it, never keeps a jotting from being kept.
    """
    if not job.is_dir():
        raise UsageError(f"There is no job folder {printable(str(job))}.", "Name the job's folder.")
    if not text.strip():
        raise UsageError("There is nothing to note.", "Type what happened.")
    line = jottings.write(text, instant, pass_id or _last_pass(job))
    path = job / jottings.FILE_NAME
    try:
        disk.append_line(path, line)
    except OSError as error:
        raise from_os_error(error, f"Writing to {printable(str(path))}") from error
    return line.decode("utf-8", "replace").rstrip("\n")


def _last_pass(job: Path) -> str | None:
    try:
        form = tomllib.loads((job / "job.toml").read_text("utf-8-sig"))
        found = form["passes"][-1]["id"]
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return None
    return found if isinstance(found, str) else None
