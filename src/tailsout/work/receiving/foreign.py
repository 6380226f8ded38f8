"""Holds the file lists of foreign documents in a package against what is in its bag."""

import posixpath
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from tailsout.bag.tree import Tree
from tailsout.ground.errors import TailsoutError
from tailsout.ground.units import printable
from tailsout.mapping import foreign_lists
from tailsout.mapping.foreign_lists import ForeignList
from tailsout.records.facts import FoundFile, PackageFacts

_NAMED = re.compile(r"(premis|mets|pbcore)[^/]*\.xml$", re.IGNORECASE)
_MOST = 5
"""Documents of one package that are looked into."""


def compared(place: Path, package: PackageFacts) -> Iterator[str]:
    """Say of each document of another standard what it is, and whether its list agrees.

    `place` is where the package lies; of one in an archive they are only named.
    """
    paths = [file.path for file in package.files if _NAMED.search(file.path)][:_MOST]
    if not paths or not place.is_dir():
        yield from (f"it holds {printable(path, 200)}" for path in paths)
        return
    files = {file.path: file for file in package.files}
    try:
        tree = Tree(place)
    except OSError:
        # The judgement has told of it.
        return
    try:
        for path in paths:
            try:
                told = foreign_lists.read(tree.read(path, foreign_lists.MAX_OCTETS), path)
            except TailsoutError as error:
                told = ForeignList(standard="", trouble=error.sentence)
            yield f"it holds {printable(path, 200)}{_said(told, path, files)}"
    finally:
        tree.close()


def _said(told: ForeignList, document: str, files: Mapping[str, FoundFile]) -> str:
    if told.trouble:
        return f", which was not read: {printable(told.trouble, 200)}"
    if not told.standard:
        return ""
    if not told.files:
        return f" ({told.standard})"
    agree, open_, wrong = 0, 0, []
    for claim in told.files:
        file = next((f for name in claim.names if (f := _file(name, document, files))), None)
        if file is None:
            # A name that it had before tells of no place: that is not known to be wrong.
            if claim.is_a_path:
                wrong.append(f"{printable(claim.names[0], 200)} is not in the bag")
            else:
                open_ += 1
            continue
        outcomes = {_agrees(file, *one) for one in claim.digests}
        if False in outcomes:
            wrong.append(f"the digest of {printable(file.path, 200)} differs")
        elif True in outcomes:
            agree += 1
        else:
            open_ += 1
    parts = [f"lists {len(told.files)} files", f"{agree} digests agree"]
    parts += [f"{open_} cannot be compared"] if open_ else []
    parts += wrong[:3]
    parts += [f"and {len(wrong) - 3} more are otherwise"] if len(wrong) > 3 else []
    return f" ({told.standard}), which {', '.join(parts)}"


def _file(name: str, document: str, files: Mapping[str, FoundFile]) -> FoundFile | None:
    """Find the file that is meant: by its path, seen from the document, in the payload, by name."""
    beside = posixpath.normpath(posixpath.join(posixpath.dirname(document), name))
    for path in (name, beside, f"data/{name}"):
        if path in files:
            return files[path]
    ending = f"/{name}"
    alike = [file for path, file in files.items() if path.endswith(ending)]
    return alike[0] if len(alike) == 1 else None


def _agrees(file: FoundFile, algorithm: str, digest: str) -> bool | None:
    """Tell whether a digest is that of the file; None if that one was not taken."""
    found = file.digests.get(algorithm)
    return None if found is None else found == digest
