"""In which folder of a package a file lies: the default tree, or the recipient's by roles."""

from collections.abc import Mapping

from tailsout.mapping import naming
from tailsout.records.recipient import Recipient
from tailsout.records.vocab import FileRole

_FOLDERS: Mapping[FileRole, str] = {
    "master": naming.AUDIO,
    "edit": "data/edit",
    "access": "data/access",
    "image": "data/images",
    "document": "data/documents",
    "calibration": naming.CALIBRATION,
}
_OF_JOB: Mapping[str, FileRole] = {"images": "image", "documents": "document"}


def folder(recipient: Recipient | None, role: FileRole) -> str:
    """Return the folder of files of a role, as a path in the package."""
    listed = recipient.roles if recipient is not None else ()
    name = next((one.folder for one in listed if one.role == role and one.folder), None)
    return _FOLDERS[role] if name is None else f"data/{name}"


def kept_path(recipient: Recipient | None, path: str) -> str:
    """Return where a photograph or document, named by its path in the job, is packed."""
    first, _, rest = path.partition("/")
    return f"{folder(recipient, _OF_JOB[first])}/{rest}" if first in _OF_JOB else f"data/{path}"


def job_paths(recipient: Recipient | None, path: str) -> tuple[str, ...]:
    """Return by which paths in a job a file of the payload may be known: the way back."""
    paths = [path.removeprefix("data/")]
    for first, role in _OF_JOB.items():
        lies = f"{folder(recipient, role)}/"
        if path.startswith(lies):
            paths.append(f"{first}/{path.removeprefix(lies)}")
    return tuple(dict.fromkeys(paths))


def default_role(path: str) -> FileRole | None:
    """Return the role of files in a folder of the default tree; None for any other folder."""
    return next((one for one, lies in _FOLDERS.items() if path.startswith(f"{lies}/")), None)
