"""Looks into pictures and documents of a package for the version of their format."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from tailsout.ground.errors import MaterialError, SurroundingsError
from tailsout.mapping import pronom
from tailsout.records.dossier import Dossier
from tailsout.work.pictures import Opens


def with_formats(dossier: Dossier, opens: Opens, order: Sequence[str] = ()) -> Dossier:
    """Return a dossier whose package tells the formats that octets of its payload say.

    Only files that are named like a picture or a PDF are opened, by `order` where there is one.
    """
    package = dossier.package
    if package is None:
        return dossier
    named = {file.path for file in package.files if pronom.is_named_like(file.path)}
    there = [path for path in order if path in named] if order else sorted(named)
    told = {path: _format(path, opens) for path in there}
    files = (replace(file, pronom=told.get(file.path, "")) for file in package.files)
    return replace(dossier, package=replace(package, files=tuple(files)))


def _format(path: str, opens: Opens) -> str:
    # Whoever cannot read it has been told elsewhere: it is a file of no known version here.
    with suppress(MaterialError, SurroundingsError, OSError):
        stream = opens(path)
        if stream is not None:
            with stream:
                return pronom.identifier(stream)
    return ""
